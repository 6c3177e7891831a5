"""The draft's one way to say no."""

from __future__ import annotations

from typing import Any, ClassVar, Final

from coutil.words import REFUSAL, Key, Refusal, RefusingError, Told, keys_said

_ROOM: Final = "draft"
_BODY: Final = "body"


class DraftError(RefusingError, ValueError):
    """The pattern cannot be drafted: `conflict` names the measurements or style values that contradict each other.

    Its refusal's argument `because` says why, without their names.
    """

    room: ClassVar[str] = _ROOM

    def __init__(self, conflict: tuple[str, ...], code: str, /, **args: Any) -> None:
        """`code` is that of the reason."""
        said = {"keys": keys_said(conflict), "because": Told(f"{REFUSAL}.{_ROOM}.because.{code}", args)}
        about = tuple(Key(k if "." in k else f"{_BODY}.{k}") for k in conflict)
        self._tell((Refusal(f"{_ROOM}.{'unusable' if len(conflict) == 1 else 'conflict'}", said, about),))

    @property
    def conflict(self) -> tuple[str, ...]:
        said = self.refusal.args["keys"]
        keys = (said,) if isinstance(said, Key) else (*said.args["first"], said.args["last"])
        return tuple(k.key for k in keys)


def level_told(level: str) -> Told | str:
    """A level as a refusal names it; "" for none."""
    return Told(f"draft.level.{level}") if level else ""
