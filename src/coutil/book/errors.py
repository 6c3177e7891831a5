"""What the book refuses, each told in one clear sentence."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from coutil.words import RefusingError

if TYPE_CHECKING:
    from coutil.book.model import ClientEntry, OrderEntry


class BookError(RefusingError, ValueError):
    """Something that the book cannot do or be given; the message is one line for the maker.

    Whatever was to be written is then not in the book; what was there before is untouched.
    """

    room: ClassVar[str] = "book"


class MissingError(BookError):
    """A client, tape, order or version that is not, or no longer, in the book."""


class DamagedError(BookError):
    """A file that is a book but no longer whole; a backup helps."""


class ConflictError(BookError):
    """Somebody else changed the entry first. `newer` is how it stands now; nothing was overwritten."""

    def __init__(self, newer: OrderEntry | ClientEntry, based_on: int) -> None:
        self.newer = newer
        self.based_on = based_on
        super().__init__("changed_elsewhere", based_on=based_on, newer=newer.edit)
