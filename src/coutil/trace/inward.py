"""From a cut line to the net line: every side moved inwards by its allowance, and the corners found again."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from coutil.order.own import OwnPattern
from coutil.pattern.refs import PanelRef
from coutil.plane import Curve, closed_points, pinned
from coutil.plane.offset import OffsetError, meet, parallel
from coutil.trace.model import TraceError
from coutil.trace.work import Work
from coutil.words import Key, reason

# Net lines lie this close to the true parallel of the cut line, in mm: that of the cut lines that coutil draws.
TOLERANCE = 0.01
# A segment shorter than this at the end of a trimmed side, in mm, is left over from trimming: its bend means nothing.
SLIVER = 0.05
# A side shorter than this many times its allowance may be the slant of a corner of the cut line, and vanish.
SLANT = 3.0
# A slant of which less than this part is left between its neighbours' parallels was only a corner. By trial on flush
# and on cut-off corners, where it is 0 to rounding and 0.2 at most.
SLANT_LEFT = 0.25


@dataclass(frozen=True, slots=True)
class _Part:
    """A smooth stretch of side number `side`, moved inwards; `length` is what it was, `slant` whether it may vanish."""

    line: Curve
    side: int
    length: float
    slant: bool

    @property
    def least(self) -> float:
        """Trimmed to less than this, in mm, it is gone."""
        return SLANT_LEFT * self.length if self.slant else 0.01


def net_sides(w: Work, fold: Sequence[int], own: OwnPattern) -> dict[int, Curve]:
    """The net line of a panel: its sides by their numbers, in the order of the outline; `fold` are those on the fold.

    Raises TraceError where it is not said what its outline is, or what stands between the cut line and the net line.
    """
    line = "net" if w.shape.net else (own.line or w.line)
    if line is None:
        raise TraceError("line_unsaid", Key("pattern.line"), PanelRef(w.shape.name), panel=w.shape.name)
    if line == "net":
        return dict(enumerate(w.sides))
    allowances = list(w.said.allowances)
    if allowances and len(allowances) != len(w.sides):
        raise TraceError(
            "allowances_of_sides",
            PanelRef(w.shape.name),
            Key("pattern.allowance"),
            panel=w.shape.name,
            allowances=len(allowances),
            sides=len(w.sides),
        )
    if not allowances:
        if own.allowance is None:
            raise TraceError(
                "allowance_unsaid",
                Key("pattern.allowance"),
                PanelRef(w.shape.name),
                panel=w.shape.name,
            )
        allowances = [own.allowance] * len(w.sides)
        for k in fold:
            allowances[k] = 0.0
    try:
        curves, numbers = net_line(w.sides, allowances)
    except TraceError as e:
        about = PanelRef(w.shape.name)
        raise TraceError.of(*(replace(r, about=(about, *r.about)) for r in e.led(w.shape.name))) from None
    return dict(zip(numbers, curves, strict=True))


def net_line(sides: Sequence[Curve], allowances: Sequence[float]) -> tuple[tuple[Curve, ...], tuple[int, ...]]:
    """The net sides of an anticlockwise cut line, and which side of the cut line each was.

    `allowances` in mm, one for each side, 0 on a fold. Short sides that are only the slant of a corner are left out
    where their neighbours meet without them. Raises TraceError where a parallel folds or corners do not meet.
    """
    parts: list[_Part] = []
    try:
        for k, (side, allowance) in enumerate(zip(sides, allowances, strict=True)):
            for piece in _smooth(side, allowance):
                # Inside is to the left of an anticlockwise outline.
                moved = parallel(piece, allowance, tolerance=TOLERANCE)
                parts.append(_Part(moved, k, piece.length, piece.length < SLANT * allowance))
    except OffsetError as e:
        raise TraceError("no_net_line", why=reason("offset", e)) from None
    while True:
        ends = _trimmed(parts)
        gone = [i for i, p in enumerate(parts) if ends is None or ends[i][1] - ends[i][0] < p.least]
        if not gone:
            break
        slants = [i for i in gone if parts[i].slant]
        if not slants or len(parts) <= 3:
            raise TraceError("corners_at_allowance")
        parts.pop(min(slants, key=lambda i: parts[i].length))
    assert ends is not None
    out: list[Curve] = []
    numbers: list[int] = []
    for part, (a, b) in zip(parts, ends, strict=True):
        k, cut = part.side, _run_on(part.line, a, b)
        if numbers and numbers[-1] == k:
            out[-1] = Curve(out[-1].segments + cut.segments)
        else:
            out.append(cut)
            numbers.append(k)
    closed = _closed(out)
    _refuse_crossing(closed)
    return closed, tuple(numbers)


def _smooth(side: Curve, allowance: float) -> list[Curve]:
    """The side cut at its kinks: where its parallel would break by more than the tolerance."""
    cuts = [k + 1 for k, turn in enumerate(side.turns()) if abs(turn) * allowance > 0.9 * TOLERANCE]
    stops = [0, *cuts, len(side.segments)]
    return [Curve(side.segments[a:b]) for a, b in pairwise(stops)]


def _trimmed(parts: Sequence[_Part]) -> list[tuple[float, float]] | None:
    """From where to where each line runs between its neighbours, by arc length; None where two do not meet."""
    n = len(parts)
    starts, stops = [0.0] * n, [0.0] * n
    for i in range(n):
        a, b = parts[i].line, parts[(i + 1) % n].line
        if math.dist(a.end, b.start) < 1e-6:
            stops[i], starts[(i + 1) % n] = a.length, 0.0
            continue
        met = meet(a, a.length, b, 0.0)
        if met is None:
            return None
        stops[i], starts[(i + 1) % n] = met
    return list(zip(starts, stops, strict=True))


def _run_on(line: Curve, a: float, b: float) -> Curve:
    """The stretch of a line from a to b, run on straight beyond its ends, without slivers at them."""
    from coutil.plane import line as straight

    if a >= line.length or b <= 0.0:
        raise TraceError("side_beyond_corners")
    inner = line.part(max(a, 0.0), min(b, line.length)) if a > 0.0 or b < line.length else line
    if a < -1e-6:
        (x, y), (tx, ty) = line.start, line.tangent(0.0)
        inner = Curve(straight((x + a * tx, y + a * ty), (x, y)).segments + inner.segments)
    if b > line.length + 1e-6:
        (x, y), (tx, ty) = line.end, line.tangent(line.length)
        over = b - line.length
        inner = Curve(inner.segments + straight((x, y), (x + over * tx, y + over * ty)).segments)
    return _without_slivers(inner)


def _without_slivers(curve: Curve) -> Curve:
    """Its first and last segments left out where they are too short to have a bend of their own."""
    start, end, segments = curve.start, curve.end, curve.segments
    while len(segments) > 1 and segments[0].arclen(1e-6) < SLIVER:
        segments = segments[1:]
    while len(segments) > 1 and segments[-1].arclen(1e-6) < SLIVER:
        segments = segments[:-1]
    return curve if len(segments) == len(curve.segments) else pinned(Curve(segments), start, end)


def _closed(sides: list[Curve]) -> tuple[Curve, ...]:
    """Ends that differ by rounding, or by the offset's tolerance, drawn together."""
    n = len(sides)
    out = []
    for k, side in enumerate(sides):
        after = sides[(k + 1) % n].start
        if math.dist(side.end, after) > 0.05:
            raise TraceError("corners_do_not_meet")
        out.append(pinned(side, side.start, after))
    return tuple(out)


def _refuse_crossing(sides: tuple[Curve, ...]) -> None:
    from shapely import LinearRing  # type: ignore[import-untyped]

    ring = LinearRing(closed_points(sides, tolerance=0.1))
    if not ring.is_simple or not ring.is_ccw:
        raise TraceError("net_line_crosses")
