"""What this room refuses, as data: an order, a value of it, a packed drawing. The texts stand in the catalogue."""

from __future__ import annotations

from typing import Any, ClassVar, Final

from coutil.words import Refusal, RefusingError, line

_ROOM: Final = "order"


class OrderError(RefusingError, ValueError):
    """An order that cannot be used. Each of `refusals` is one thing that is wrong; the first is the main one."""

    room: ClassVar[str] = _ROOM

    @property
    def problems(self) -> tuple[str, ...]:
        """Each refusal in one line, which names the file, the table, the key, the value and what is allowed."""
        return tuple(line(r) for r in self.refusals)


class WrongError(RefusingError):
    """A value that is not allowed, before it is known where it stands."""

    room: ClassVar[str] = _ROOM

    def __init__(self, code: str, allowed: str = "", /, **args: Any) -> None:
        """`allowed` is told after the text, where the text does not tell it already."""
        if allowed:
            self._tell((Refusal(f"{_ROOM}.{code}", args, allowed=allowed),))
        else:
            super().__init__(code, **args)


class PackedError(RefusingError, ValueError):
    """A text that is no packed drawing, or a drawing too large to be packed; says what is wrong."""

    room: ClassVar[str] = _ROOM
