"""A shape on its way to a panel: upright, its net line or cut line split as the person said, its marks in place."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal, cast

from kurbopy import Affine, Point

from coutil.order.own import OwnPanel, Place
from coutil.pattern.model import Side
from coutil.pattern.refs import PanelRef
from coutil.plane import Curve, Pt
from coutil.seaming import LEVELS, USUAL_ROLES
from coutil.trace.model import Shape, TraceError
from coutil.trace.sides import Placed, placed, run
from coutil.trace.words import side_of

# A corner that a person names may lie this far beside the outline, in mm: what a ruler's reading is good for.
BESIDE = 6.0
# A grain line that leans by less than this, in radians, stands upright but for rounding (1 mm on 5 m); one that leans
# by more than the other is cut on the bias, not photographed askew (30 degrees, judgement).
LEANS = 2e-4
LEANS_MUCH = math.radians(30.0)
# Sides of a cut line that are shorter than this, in mm, may be the slants of its corners, and are no edge alone: at the
# half inch and at 2 cm they are 13 to 30 mm long, and no panel's top or hem is as narrow (judgement).
SLANT = 30.0
# Levels that lean by more than this, in radians, belong to a panel that was laid askew (10 degrees, judgement).
LIES_ASKEW = math.radians(10.0)
# A corner nearer than this to one that is there already is that one, in mm.
SAME_CORNER = 1.0


@dataclass(frozen=True, slots=True)
class Work:
    """A shape and what was said of it. `sides`: those that roles are given to, anticlockwise, upright.

    `line` is what they are, None where nobody knows yet. `points`, `levels`, `notches` and `grain` are the file's marks
    and those that were said, upright too. `turned` says by what a shape was turned that did not stand upright in the
    file, empty for one that did; `tilt` by how many degrees more to the left, so that its grain is upright; `stands`
    whether anything told how it stands.
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
    tilt: float
    stands: bool
    # Whether the order says that it is a cut line.
    cut: bool = False
    # Whether its roles, where they were said, put the edge towards the centre front on the left; None: not known.
    inner_left: bool | None = None


def work_of(shape: Shape, said: OwnPanel, *, lying: bool = False, cut: bool = False) -> Work:
    """Put a shape upright and add what was said of it. Raises TraceError where that does not fit the outline.

    Upright by the roles that were said, else by its levels, else by its grain; with `lying` by a quarter turn to the
    left where none of them tells. `cut`: its line is said to be the cut line, where the file does not say it.
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
    slants = SLANT if not shape.net and (shape.line or (cut and "cut")) == "cut" else 0.0
    tilt = 0.0
    if grain is not None:
        # Pieces have their grain upright, whatever the file's own sheet: cloth is laid by that.
        (x0, y0), (x1, y1) = (_turned(p, quarters, 0.0) for p in grain)
        tilt = math.remainder(math.pi / 2.0 - math.atan2(y1 - y0, x1 - x0), math.pi)
        tilt = tilt if abs(tilt) > LEANS else 0.0
    # How the levels lie tells how the panel is worn, whichever way its grain runs.
    lies = _lies(levels, quarters)
    if lies is not None and tilt and math.cos(lies + tilt) < 0.0:
        # A grain line has no upper end: of both ways to stand it up, the one that the levels say.
        tilt -= math.copysign(math.pi, tilt)

    sides = tuple(_curve_turned(c, quarters, tilt) for c in sides)
    # Places are told best of a shape that stands upright; one that is cut on the bias stands so by its levels, or else
    # as it lay.
    back = 0.0
    if lies is not None and abs(math.remainder(lies + tilt, 2.0 * math.pi)) > LIES_ASKEW:
        back = -(lies + tilt)
    elif lies is None and abs(tilt) >= LEANS_MUCH:
        back = -tilt
    where = placed([_curve_turned(c, 0, back) for c in sides] if back else sides, slants=slants)
    if grain is not None:
        a, b = sorted((_turned(p, quarters, tilt) for p in grain), key=lambda p: p[1])
        grain = (a, b)
    side = said.side if said.side != "both" else cast(Side, side_of(shape.name) or "both")
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
        {k: _turned(p, quarters, tilt) for k, p in points.items()},
        _heights(
            {k: (_turned(a, quarters, tilt), _turned(b, quarters, tilt)) for k, (a, b) in levels.items()}, said, sides
        ),
        tuple(_turned(p, quarters, tilt) for p in shape.notches),
        grain,
        tuple(_curve_turned(c, quarters, tilt) for c in shape.inner),
        by if quarters else "",
        math.degrees(tilt),
        bool(by),
        cut,
        _inner_left(sides, said.roles, where),
    )


def straightened(w: Work, edge: Curve) -> Work:
    """The shape turned so that a straight edge of it stands upright: its fold, which lies along the grain."""
    (x0, y0), (x1, y1) = edge.start, edge.end
    tilt = math.remainder(math.pi / 2.0 - math.atan2(y1 - y0, x1 - x0), math.pi)
    if abs(tilt) < LEANS:
        return w
    sides = tuple(_curve_turned(c, 0, tilt) for c in w.sides)
    levels = {k: (_turned(a, 0, tilt), _turned(b, 0, tilt)) for k, (a, b) in w.levels.items()}
    return replace(
        w,
        sides=sides,
        points={k: _turned(p, 0, tilt) for k, p in w.points.items()},
        levels=_heights(levels, w.said, sides),
        notches=tuple(_turned(p, 0, tilt) for p in w.notches),
        inner=tuple(_curve_turned(c, 0, tilt) for c in w.inner),
        tilt=w.tilt + math.degrees(tilt),
    )


def _heights(levels: Mapping[str, tuple[Pt, Pt]], said: OwnPanel, sides: Sequence[Curve]) -> dict[str, tuple[Pt, Pt]]:
    """The levels, those that were said as heights put in: they count once the panel stands upright, as it is worn."""
    low, right = _lower_left(sides), _rightmost(sides)
    return {
        **levels,
        **{k: ((low[0] - 1.0, low[1] + y), (right + 1.0, low[1] + y)) for k, y in said.levels.items()},
    }


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


def _lies(levels: Mapping[str, tuple[Pt, Pt]], quarters: int) -> float | None:
    """By how many radians to the left a shape's levels are turned from lying level, once it is turned by quarters.

    None where fewer than two levels are known, or their heights do not lie one above the other.
    """
    known = [name for name in LEVELS if name in levels]
    if len(known) < 2:
        return None
    (x0, y0), (x1, y1) = (_turned(p, quarters, 0.0) for p in levels[known[-1]])
    (lx, ly), (hx, hy) = (_turned(_centre(levels[name]), quarters, 0.0) for name in (known[0], known[-1]))
    # The level's direction to the right of upwards.
    if (x1 - x0) * (hy - ly) - (y1 - y0) * (hx - lx) < 0.0:
        x0, y0, x1, y1 = x1, y1, x0, y0
    return math.atan2(y1 - y0, x1 - x0) if (x0, y0) != (x1, y1) else None


def _centre(points: Sequence[Pt]) -> Pt:
    return sum(p[0] for p in points) / len(points), sum(p[1] for p in points) / len(points)


def _quarters(low: Pt, high: Pt) -> int:
    """By how many quarters to the left the direction from `low` to `high` must be turned to point upwards, nearly."""
    return round((math.pi / 2.0 - math.atan2(high[1] - low[1], high[0] - low[0])) / (math.pi / 2.0)) % 4


def _inner_left(sides: Sequence[Curve], roles: Sequence[str], where: Placed) -> bool | None:
    rank = {role: k for k, role in enumerate(USUAL_ROLES)}
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
            raise TraceError("corner_off", PanelRef(name), panel=name, x=p[0], y=p[1], off=off)
        if SAME_CORNER < s < out[k].length - SAME_CORNER:
            out[k : k + 1] = [out[k].part(0.0, s), out[k].part(s, out[k].length)]
    return tuple(out)


def _turned(p: Pt, quarters: int, tilt: float) -> Pt:
    """A point turned to the left by quarters, exactly, and by `tilt` radians more."""
    q = _turning(quarters, tilt) * Point(*p)
    return q.x, q.y


def _curve_turned(curve: Curve, quarters: int, tilt: float) -> Curve:
    return curve.mapped(_turning(quarters, tilt)) if quarters or tilt else curve


def _turning(quarters: int, tilt: float) -> Affine:
    c, s = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[quarters % 4]
    if tilt:
        d, t = math.cos(tilt), math.sin(tilt)
        c, s = c * d - s * t, s * d + c * t
    return Affine(c, s, -s, c, 0.0, 0.0)
