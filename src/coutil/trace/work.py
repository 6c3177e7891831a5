"""A shape on its way to a panel: upright, its net line or cut line split as the person said, its marks in place."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, cast

from kurbopy import CubicBez, Point

from coutil.order.own import OwnPanel, Place
from coutil.pattern.model import LEVELS, Side
from coutil.plane import Curve, Pt
from coutil.trace.model import Shape, TraceError
from coutil.trace.sides import Placed, placed, run
from coutil.trace.words import side_of

# A corner that a person names may lie this far beside the outline, in mm: what a ruler's reading is good for.
BESIDE = 6.0
# A corner nearer than this to one that is there already is that one, in mm.
SAME_CORNER = 1.0


@dataclass(frozen=True, slots=True)
class Work:
    """A shape and what was said of it. `sides`: those that roles are given to, anticlockwise, upright.

    `line` is what they are, None where nobody knows yet. `points`, `levels`, `notches` and `grain` are the file's marks
    and those that were said, upright too. `turned` says by what a shape was turned that did not stand upright in the
    file, empty for one that did; `stands` whether anything told how it stands.
    """

    shape: Shape
    said: OwnPanel
    side: Side
    sides: tuple[Curve, ...]
    line: Literal["net", "cut"] | None
    placed: Placed
    points: Mapping[str, Pt]
    levels: Mapping[str, tuple[Pt, Pt]]
    notches: tuple[Pt, ...]
    grain: tuple[Pt, Pt] | None
    inner: tuple[Curve, ...]
    turned: str
    stands: bool
    # Whether its roles, where they were said, put the edge towards the centre front on the left; None: not known.
    inner_left: bool | None = None


def work_of(shape: Shape, said: OwnPanel, *, lying: bool = False) -> Work:
    """Put a shape upright and add what was said of it. Raises TraceError where that does not fit the outline.

    Upright by the roles that were said, else by its levels, else by its grain; with `lying` by a quarter turn to the
    left where none of them tells.
    """
    sides = shape.net or shape.sides
    line: Literal["net", "cut"] | None = "net" if shape.net else shape.line
    low = _lower_left(sides)
    corners = [_at(low, p) for p in said.corners]
    sides = _split(sides, corners, shape.name)
    points = dict(shape.points)
    if said.bust_point is not None:
        points["bust_point"] = _at(low, said.bust_point)
    levels = {k: v for k, v in shape.levels.items() if k not in said.levels}
    grain = shape.grain
    if said.grain:
        grain = (_at(low, said.grain[0]), _at(low, said.grain[1]))
    quarters, by = _stance(sides, said.roles, levels, grain)
    if not by and lying:
        quarters, by = 1, "how its edges fit"
    for _ in range(quarters):
        sides = tuple(_quarter(c) for c in sides)
        points = {k: _turn(p) for k, p in points.items()}
        levels = {k: (_turn(a), _turn(b)) for k, (a, b) in levels.items()}
        grain = (_turn(grain[0]), _turn(grain[1])) if grain else None
    inner, notches = shape.inner, shape.notches
    for _ in range(quarters):
        inner, notches = tuple(_quarter(c) for c in inner), tuple(_turn(p) for p in notches)
    if grain is not None and grain[0][1] > grain[1][1]:
        grain = grain[::-1]
    # Heights were said of the panel as it is worn, so they count once it is upright.
    low, right = _lower_left(sides), _rightmost(sides)
    for name, height in said.levels.items():
        levels[name] = ((low[0] - 1.0, low[1] + height), (right + 1.0, low[1] + height))
    side = said.side if said.side != "both" else cast(Side, side_of(shape.name) or "both")
    where = placed(sides)
    if quarters and by in ("its grain line", "how its edges fit"):
        # Neither tells which end is the top.
        where = Placed(where.places, where.sure * 0.5)
    return Work(
        shape,
        said,
        side,
        sides,
        line,
        where,
        points,
        levels,
        notches,
        grain,
        inner,
        by if quarters else "",
        bool(by),
        _inner_left(sides, said.roles, where),
    )


def _stance(
    sides: Sequence[Curve],
    roles: Sequence[str],
    levels: Mapping[str, tuple[Pt, Pt]],
    grain: tuple[Pt, Pt] | None,
) -> tuple[int, str]:
    """By how many quarters to the left a shape must be turned to stand upright, and what tells so; 0 and "" if nothing.

    A grain line does not tell which end is the top: one that lies is turned by one quarter, one that stands by none.
    """
    if len(roles) == len(sides) and "top" in roles and "hem" in roles:
        top, hem = (
            _centre([c.point(c.length / 2.0) for c, r in zip(sides, roles, strict=True) if r == role])
            for role in ("top", "hem")
        )
        return _quarters(hem, top), "its roles"
    known = [name for name in LEVELS if name in levels]
    if len(known) > 1:
        return _quarters(_centre(levels[known[0]]), _centre(levels[known[-1]])), "its levels"
    if grain is not None:
        (x0, y0), (x1, y1) = grain
        return (1 if abs(x1 - x0) > abs(y1 - y0) else 0), "its grain line"
    return 0, ""


def _centre(points: Sequence[Pt]) -> Pt:
    return sum(p[0] for p in points) / len(points), sum(p[1] for p in points) / len(points)


def _quarters(low: Pt, high: Pt) -> int:
    """By how many quarters to the left the direction from `low` to `high` must be turned to point upwards, nearly."""
    return round((math.pi / 2.0 - math.atan2(high[1] - low[1], high[0] - low[0])) / (math.pi / 2.0)) % 4


def _inner_left(sides: Sequence[Curve], roles: Sequence[str], where: Placed) -> bool | None:
    rank = {"centre_front": 0, "front_princess": 1, "side": 2, "back_princess": 3, "centre_back": 4}
    if len(roles) != len(sides):
        return None
    found = [(rank[r], k) for k, r in enumerate(roles) if r in rank]
    if not found or min(found)[0] == max(found)[0]:
        return None
    inner = [k for r, k in found if r == min(found)[0]]
    outer = [k for r, k in found if r == max(found)[0]]

    def middle(numbers: Sequence[int]) -> float:
        c = run(sides, numbers[:1])
        return 0.0 if c is None else c.point(c.length / 2.0)[0]

    return middle(inner) < middle(outer)


def _lower_left(sides: Sequence[Curve]) -> Pt:
    pts = [p for c in sides for p in c.points(tolerance=0.05)]
    return min(p[0] for p in pts), min(p[1] for p in pts)


def _rightmost(sides: Sequence[Curve]) -> float:
    return max(p[0] for c in sides for p in c.points(tolerance=0.05))


def _at(low: Pt, place: Place) -> Pt:
    return low[0] + place[0], low[1] + place[1]


def _split(sides: Sequence[Curve], corners: Sequence[Pt], name: str) -> tuple[Curve, ...]:
    out = list(sides)
    for p in corners:
        found = [(c.nearest(p), k) for k, c in enumerate(out)]
        (s, off), k = min(found, key=lambda f: f[0][1])
        if off > BESIDE:
            raise TraceError(
                f"{name}: the corner said to be at {p[0]:.0f}, {p[1]:.0f} mm in the file lies {off:.0f} mm off the "
                "outline; give it to the right of the outline's leftmost and above its lowest point"
            )
        if SAME_CORNER < s < out[k].length - SAME_CORNER:
            out[k : k + 1] = [out[k].part(0.0, s), out[k].part(s, out[k].length)]
    return tuple(out)


def _turn(p: Pt) -> Pt:
    """A quarter turn to the left."""
    return -p[1], p[0]


def _quarter(c: Curve) -> Curve:
    return Curve(tuple(CubicBez(*(Point(-q.y, q.x) for q in (s.p0, s.p1, s.p2, s.p3))) for s in c.segments))
