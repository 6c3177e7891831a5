"""The steps from each form of the book's tables to the next, run when a book is opened."""
