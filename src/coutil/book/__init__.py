"""The book: clients, their tapes and their orders, every version kept, saved as the maker types.

    with open_book() as book:                       # COUTIL_BOOK, or the user's data folder
        order = book.add_order(text)                # the text of an order file
        order = book.save(order.id, newer_text, based_on=order.edit)
        order = book.undo(order.id, based_on=order.edit)

A method that returns has committed: the change outlives a kill at any moment. Each write of an order names the edit
that it was based on; if the book is further on, ConflictError brings the newer entry and nothing is overwritten.
What the book refuses is a BookError of one clear message; TextError has the problems of an order's text one by one.
"""

from coutil.book.address import VARIABLE
from coutil.book.changes import text_changes
from coutil.book.edits import ONE_VERSION
from coutil.book.errors import BookError, ConflictError, DamagedError, MissingError
from coutil.book.model import (
    Change,
    ClientEntry,
    Erased,
    ErasedTape,
    Fault,
    Imported,
    OrderEntry,
    OrderLine,
    Restored,
    Tape,
    TapeChange,
    TapeInOrder,
    Version,
)
from coutil.book.opening import Book, book_address, open_book, restore_book
from coutil.book.tapes import tape_changes
from coutil.book.texts import TextError, readings

__all__ = [
    "ONE_VERSION",
    "VARIABLE",
    "Book",
    "BookError",
    "Change",
    "ClientEntry",
    "ConflictError",
    "DamagedError",
    "Erased",
    "ErasedTape",
    "Fault",
    "Imported",
    "MissingError",
    "OrderEntry",
    "OrderLine",
    "Restored",
    "Tape",
    "TapeChange",
    "TapeInOrder",
    "TextError",
    "Version",
    "book_address",
    "open_book",
    "readings",
    "restore_book",
    "tape_changes",
    "text_changes",
]
