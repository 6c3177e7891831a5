"""Names of panels in patterns that coutil did not draft: what a name means, and what to call a panel without one."""

from __future__ import annotations

from typing import Final

from coutil.seaming.model import Part
from coutil.seaming.ready import PRINCESS_4

# The usual names of a half's four panels, from the centre front to the centre back.
USUAL: Final = tuple(p.name for p in PRINCESS_4.panels)
_CENTRE_FRONT, _SIDE_FRONT, _SIDE_BACK, _CENTRE_BACK = USUAL

# Roles of the upright edges of such a half, from the centre front to the centre back: those that an order tells of a
# pattern that exists already.
USUAL_ROLES: Final = tuple(dict.fromkeys(r for k in range(len(PRINCESS_4.panels)) for r in PRINCESS_4.edges(k)))
# The one of its seams that passes over the bust point.
CUP_ROLE: Final = next(s.role for s in PRINCESS_4.seams if s.cup)

# Names proposed where a half has another number of panels than four, from the centre front to the centre back.
_PROPOSED: Final = {
    1: ("panel",),
    2: ("front", "back"),
    3: (_CENTRE_FRONT, "side", _CENTRE_BACK),
    4: USUAL,
    5: (_CENTRE_FRONT, _SIDE_FRONT, "side", _SIDE_BACK, _CENTRE_BACK),
}

# Other ways to write the usual names. Common practice, no source.
_WRITTEN: Final = {
    **{name: name for name in USUAL},
    "cf": _CENTRE_FRONT,
    "sf": _SIDE_FRONT,
    "sb": _SIDE_BACK,
    "cb": _CENTRE_BACK,
    "front side": _SIDE_FRONT,
    "back side": _SIDE_BACK,
    "front centre": _CENTRE_FRONT,
    "back centre": _CENTRE_BACK,
}


def usual_name(said: str) -> str | None:
    """The usual name that plain lower-case words mean; None where they mean none of the four."""
    return _WRITTEN.get(said)


def proposed_names(n: int) -> tuple[str, ...]:
    """What to call the n panels of a half that bear no names, from the centre front to the centre back."""
    return _PROPOSED.get(n) or (_CENTRE_FRONT, *(f"panel {k}" for k in range(2, n)), _CENTRE_BACK)


def seam_roles(n: int) -> tuple[str, ...]:
    """Roles proposed for the seams of a half of n panels, from the centre front on.

    The first is taken for the cup's, the last for the back's, those between for sides.
    """
    _, cup, side, back, _ = USUAL_ROLES
    if n <= 2:
        return (side,) * (n - 1)
    return (cup, *((side,) * (n - 3)), back)


def part_named(name: str) -> Part:
    """Whether a panel is drawn as a front or as a back, by its name; a front where it does not say."""
    return "back" if name.endswith("back") else "front"


def place_named(name: str | None, n: int) -> int | None:
    """The place, from the centre front on, that a usual name gives a panel among n; None where it gives none."""
    if name not in USUAL or n < 2:
        return None
    place = {_CENTRE_FRONT: 0, _SIDE_FRONT: 1, _SIDE_BACK: n - 2, _CENTRE_BACK: n - 1}[name]
    return place if n > 2 or name in (_CENTRE_FRONT, _CENTRE_BACK) else None
