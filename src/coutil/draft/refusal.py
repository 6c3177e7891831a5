"""The draft's one way to say no."""

from __future__ import annotations

from typing import Any, ClassVar, Final

from coutil.body import Body
from coutil.words import REFUSAL, Key, Length, Refusal, RefusingError, Told, keys_said

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


def hold_lengths(body: Body) -> None:
    """Refuse a body whose underbust would lie at the waist or below it; for a side, by that side's names."""
    # A garment that ends at the underbust may do without both.
    used = "bust_to_waist" in body.needed or body.state("underbust_to_waist") == "by_rule"
    sides = (("", body.left), ("", body.right)) if body.symmetric else (("left.", body.left), ("right.", body.right))
    for name, m in sides:
        if used and m.bust_to_underbust >= m.bust_to_waist:
            both = (m.bust_to_underbust, m.bust_to_waist) == (body.bust_to_underbust, body.bust_to_waist)
            prefix = "" if both or not name else f"{_BODY}.{name}"
            raise DraftError(
                (f"{prefix}bust_to_underbust", f"{prefix}bust_to_waist"),
                "underbust_under_waist",
                underbust=Length(m.bust_to_underbust, "both"),
                waist=Length(m.bust_to_waist, "both"),
            )


def level_told(level: str) -> Told | str:
    """A level as a refusal names it; "" for none."""
    return Told(f"level.{level}") if level else ""
