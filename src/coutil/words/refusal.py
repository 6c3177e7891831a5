"""What a room refuses, as data: a code for its text, what it is about, and what fills the text.

A `Refusal` is said in two ways. `line` is for whoever has the file or the command line before her: the file and the
place in it lead, and values are called by their keys. `says` with a `naming` is for the page: values are called by
their names, and a text that must be put otherwise there has the form `CODE.named` in the catalogue.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, ClassVar, Final, Protocol, Self

from coutil.words.catalogue import say
from coutil.words.telling import Key, Naming, Told, in_words, tell

# Where the texts of refusals stand in the catalogue.
REFUSAL: Final = "refusal"


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why something was refused. `code` names its text in the catalogue (`refusal.CODE`), `args` fill it.

    `about`: what it is about, the chief thing first: values of the order (`Key`, by its full key), panels, seams.
    `place`: where in a file what is wrong stands. `source`: what leads a line on the command line, the outermost first:
    a file, an order. `allowed`: what may stand there; "" where the text tells.
    """

    code: str
    args: Mapping[str, Any] = field(default_factory=dict)
    about: tuple[Any, ...] = ()
    place: Any = None
    source: tuple[str, ...] = ()
    allowed: str = ""

    @property
    def told(self) -> Told:
        """What it says, as a part of something else."""
        return Told(f"{REFUSAL}.{self.code}", self.args)

    def led(self, *source: str) -> Refusal:
        """The refusal with a file or an order before it that it is told of."""
        return replace(self, source=(*source, *self.source))


def says(refusal: Refusal, naming: Naming | None = None) -> str:
    """Why, without the file and the place and what is allowed; values by their keys, or as `naming` calls them.

    Raises KeyError for a code that is not in the catalogue.
    """
    return tell(f"{REFUSAL}.{refusal.code}", refusal.args, naming)


def line(refusal: Refusal) -> str:
    """The whole refusal in one line: file, place, why, what is allowed."""
    why = says(refusal)
    if refusal.allowed:
        why = say(f"{REFUSAL}.allowed", says=why, allowed=refusal.allowed)
    place = () if refusal.place is None else (in_words(refusal.place),)
    return ": ".join(p for p in (*refusal.source, *place, why) if p)


class RefusingError(Exception):
    """What rooms raise to refuse: one or more refusals; the message is their lines.

    A room's own class names in `room` the table of the catalogue in which its codes stand.
    """

    room: ClassVar[str] = ""

    def __init__(self, code: str, /, *about: Any, **args: Any) -> None:
        """The refusal of a code below the room's table; `about` and `args` as in `Refusal`."""
        self._tell((Refusal(f"{self.room}.{code}" if self.room else code, args, about),))

    @classmethod
    def of(cls, *refusals: Refusal) -> Self:
        """An error of refusals that were made already."""
        made = cls.__new__(cls)
        made._tell(refusals)
        return made

    def _tell(self, refusals: tuple[Refusal, ...]) -> None:
        self.refusals = refusals
        Exception.__init__(self, "\n".join(line(r) for r in refusals))

    @property
    def refusal(self) -> Refusal:
        """The first, which is the main one."""
        return self.refusals[0]

    def led(self, *source: str) -> tuple[Refusal, ...]:
        """The refusals with a file or an order before them."""
        return tuple(r.led(*source) for r in self.refusals)

    def __reduce__(self) -> tuple[Any, ...]:
        return _again, (type(self), self.refusals)


def _again(cls: type[RefusingError], refusals: tuple[Refusal, ...]) -> RefusingError:
    return cls.of(*refusals)


class Coded(Protocol):
    """An error of a room that comes before the texts, or shall know none: a code, and what fills its text."""

    @property
    def code(self) -> str: ...

    @property
    def fill(self) -> Mapping[str, Any]: ...


def reason(room: str, error: Coded) -> Told:
    """What such an error says, as a part of something else; its text stands in the catalogue (`refusal.ROOM.CODE`)."""
    return Told(f"{REFUSAL}.{room}.{error.code}", error.fill)


def keys_said(keys: tuple[str, ...]) -> Key | Told:
    """Keys as a list in a sentence: "bust, waist and hip"."""
    said = tuple(Key(k) for k in keys)
    return said[0] if len(said) == 1 else Told(f"{REFUSAL}.and", {"first": said[:-1], "last": said[-1]})
