"""From body and style to panels, written as drafting steps that also print the lesson."""
