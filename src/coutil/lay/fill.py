"""From what one cloth is asked for to its lays: remnants where that saves cloth, then the roll; sheets one by one."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

import shapely  # type: ignore[import-untyped]
from shapely import Polygon

from coutil.lay.cloths import Material
from coutil.lay.engine import EngineError, Item, Layout, extent, pack
from coutil.lay.model import Lay, Placement
from coutil.lay.offcuts import offcuts
from coutil.lay.piecing import OVERLAP, PIECED, PartLaid, piece_together
from coutil.lay.shapes import ring, spaced
from coutil.lay.verify import lay_faults
from coutil.lay.wants import Copies, Wanted, can_fold, copies_folded, copies_single
from coutil.pattern import ClothRef, Finding, PieceRef
from coutil.words import Length

# Added to half the gap round each outline, in mm: the engine reckons in single precision, good to 0.001 mm at 10 m.
EASE = 0.02
# The engine needs a little more strip than its tallest shape, in mm (found by trial).
SLACK = 0.01
# Thickness of the wall that holds a piece on the fold, in mm: thin for the cloth, far above the engine's rounding.
WALL = 0.2
# A lay this near to its lower bound is good enough to stop at: 0.1 % of it and a millimetre, less than shears keep to.
NEAR = (1.001, 1.0)
# Remnants are tried only while this many have been tried, the largest first.
REMNANTS_TRIED = 8
# Time for a trial run on a remnant or sheet, as a part of the time of the whole cloth, and at least, in seconds.
TRIAL_PART, TRIAL_LEAST = 0.15, 0.15
# No more copies than this are pieced: each join is work (judgement, no source).
PIECED_MOST = 4
# What a remnant must save of the bought length to be used, in mm.
REMNANT_SAVES = 10.0
# The lays of one cloth and what there is to say about them.
Laid = tuple[tuple[Lay, ...], tuple[Finding, ...]]
# A sheet is not tried again with more pieces once they would cover more than this part of it: garments seldom pack
# tighter (found by trial).
FULL = 0.9


@dataclass(frozen=True, slots=True)
class Run:
    """How one cloth is to be laid: seconds, seed, angle of tilt allowed, stop and progress, overlap where pieced."""

    seconds: float
    seed: int
    tilt: float
    halt: threading.Event
    report: Callable[[float], None] | None = None
    overlap: float = OVERLAP


@dataclass(frozen=True, slots=True)
class _Packed:
    length: float
    placements: tuple[tuple[Copies, Placement], ...]


def too_large(wanted: Wanted, *, tilt: float = 0.0) -> list[Finding]:
    """A stop for each piece or block that does not fit the cloth at all."""
    m = wanted.material
    folded = m.folded and all(can_fold(w) for w in wanted.wants)
    width = m.width / 2.0 if folded else m.width
    turns = _turns(m, tilt)
    out = []
    for c in copies_folded(wanted.wants) if folded else copies_single(wanted.wants):
        if c.mirrored:
            continue
        long, across = _least(c, turns)
        if across > width or (m.sheet is not None and long > m.sheet):
            args = {
                "piece": PieceRef(c.want),
                "across": Length(across, "both"),
                "along": Length(long, "both"),
                "stretch": "half" if folded else "whole",
                "width": Length(width, "both"),
                "on_sheet": m.sheet is not None,
                "sheet": Length(m.sheet or 0.0, "both"),
            }
            out.append(Finding("piece.too_large", "stop", ClothRef(m.name), args))
    return out


def fill(wanted: Wanted, run: Run) -> Laid:
    """The lays of one cloth and notes on them. Raises EngineError when the engine cannot be had to do it.

    The caller has seen to it that all fits (`too_large`).
    """
    m = wanted.material
    notes: list[Finding] = []
    folded = m.folded
    if folded and not all(can_fold(w) for w in wanted.wants):
        odd = next(w.name for w in wanted.wants if not can_fold(w))
        notes.append(Finding("lay.single", "note", ClothRef(m.name), {"odd": PieceRef(odd)}))
        folded = False
    if folded:
        if m.remnants:
            notes.append(Finding("lay.folded", "note", ClothRef(m.name)))
        return (_roll(wanted, copies_folded(wanted.wants), m.width / 2.0, run, folded=True),), tuple(notes)
    copies = copies_single(wanted.wants)
    if m.sheet is not None:
        return _sheets(wanted, copies, run), tuple(notes)
    if not m.remnants:
        return (_roll(wanted, copies, m.width, run),), tuple(notes)
    lays, said = _with_remnants(wanted, copies, run)
    return lays, (*notes, *said)


# --- one lay -------------------------------------------------------------------------------------------------------


def _roll(wanted: Wanted, copies: Sequence[Copies], width: float, run: Run, *, folded: bool = False) -> Lay:
    started = time.monotonic()
    packed = _pack(copies, width, wanted.material, run, run.seconds)
    return _lay(wanted, packed, width, started, run, on="length", folded=folded)


def _lay(
    wanted: Wanted,
    packed: _Packed,
    width: float,
    started: float,
    run: Run,
    *,
    on: str,
    folded: bool = False,
    stock: float | None = None,
) -> Lay:
    """A lay of what was packed, verified; raises EngineError if the engine's layout does not hold."""
    m = wanted.material
    copies = [c for c, _ in packed.placements]
    polygons = [Polygon(p.polygon) for _, p in packed.placements]
    area = sum(p.area for p in polygons)
    length = packed.length
    lay = Lay(
        cloth=m.name,
        on="sheet" if on == "sheet" else "remnant" if on == "remnant" else "length",
        layers=tuple(n for n in wanted.layers if any(c.layer == n for c in copies)),
        folded=folded,
        width_mm=width,
        length_mm=length,
        lower_bound_mm=lower_bound(copies, width, _turns(m, run.tilt), (1,) * len(copies)),
        used=area / (width * length),
        placements=tuple(p for _, p in packed.placements),
        offcuts=offcuts(polygons, length if stock is None else stock, width),
        seconds=time.monotonic() - started,
        stock_mm=stock,
        steamed=wanted.steamed,
        gap_mm=m.gap,
        one_way=m.one_way,
    )
    faults = lay_faults(lay)
    if faults:
        raise EngineError("does_not_hold", why=faults[0])
    return lay


def lower_bound(
    copies: Sequence[Copies], width: float, turns: tuple[float, ...], counts: Sequence[int] | None = None
) -> float:
    """No lay is shorter than this, in mm: the area over the width, and the longest piece."""
    if counts is None:
        counts = [len(c.copies) for c in copies]
    area = sum(c.outline.area * n for c, n in zip(copies, counts, strict=True))
    return float(max(area / width, max(_least(c, turns)[0] for c in copies)))


def _pack(copies: Sequence[Copies], width: float, m: Material, run: Run, seconds: float) -> _Packed:
    """All copies on a strip `width` mm across, verified only in so far as every copy is there."""
    turns = _turns(m, run.tilt)
    grow = m.gap / 2.0 + EASE
    height = width + 2.0 * grow + SLACK
    items = []
    for i, c in enumerate(copies):
        shape = spaced(c.outline, grow)
        if c.pinned:
            shape = _with_wall(shape, height - SLACK - grow)
        items.append(Item(str(i), tuple(ring(shape)), len(c.copies), (0.0,) if c.pinned else turns))
    enough = lower_bound(copies, width, turns) * NEAR[0] + NEAR[1] + 2.0 * grow
    layout = pack(items, height, seconds=seconds, seed=run.seed, enough=enough, halt=run.halt, report=run.report)
    return _placed(layout, copies, width, grow)


def _with_wall(shape: Polygon, top: float) -> Polygon:
    """A piece that must lie on the fold, given a wall across the whole cloth at its end: so it cannot leave the fold.

    The wall is left out of the lay afterwards; other pieces lie on both sides of it, which is no loss at a piece's end.
    """
    x0, y0, _, _ = shape.bounds
    made = shape.union(shapely.box(x0, y0, x0 + WALL, top))
    # The wall stands on the leftmost point, which lies at some height; fill the corner below it.
    return made if isinstance(made, Polygon) else Polygon(made.convex_hull)


def _placed(layout: Layout, copies: Sequence[Copies], width: float, grow: float) -> _Packed:
    left = {str(i): list(c.copies) for i, c in enumerate(copies)}
    out: list[tuple[Copies, Placement]] = []
    for p in layout.placed:
        if not left.get(p.id):
            raise EngineError("not_asked_for")
        c = copies[int(p.id)]
        degrees = 0.0 if c.pinned else p.degrees % 360.0
        points = replace(p, degrees=degrees, y=p.y - grow).of(c.points)
        low, high = min(y for _, y in points), max(y for _, y in points)
        # The strip is higher than the cloth by the engine's slack; what lies in it is moved back onto the cloth.
        dy = -low if c.pinned or low < 0.0 else min(0.0, width - high)
        if abs(dy) > SLACK + EASE:
            raise EngineError("outside")
        points = tuple((x, y + dy) for x, y in points)
        at = (p.x, p.y - grow + dy)
        out.append((c, Placement(c.want, left[p.id].pop(0), c.mirrored, degrees, points, at)))
    if any(left.values()):
        raise EngineError("left_out")
    return _shifted(out)


def _shifted(placed: Sequence[tuple[Copies, Placement]]) -> _Packed:
    """Moved along so that the lay starts at x = 0, in the order in which a cutter comes to the pieces."""
    x0 = min(x for _, p in placed for x, _ in p.polygon)
    x1 = max(x for _, p in placed for x, _ in p.polygon)
    moved_on = [
        (c, replace(p, polygon=tuple((x - x0, y) for x, y in p.polygon), at=(p.at[0] - x0, p.at[1]))) for c, p in placed
    ]
    moved_on.sort(key=lambda cp: (min(x for x, _ in cp[1].polygon), min(y for _, y in cp[1].polygon)))
    return _Packed(x1 - x0, tuple(moved_on))


def _turns(m: Material, tilt: float) -> tuple[float, ...]:
    """The angles allowed, in degrees: along the grain, upside down on two-way cloth, each tilted where allowed."""
    base = (0.0,) if m.one_way else (0.0, 180.0)
    lean = (0.0, tilt / 2.0, -tilt / 2.0, tilt, -tilt) if tilt > 0.0 else (0.0,)
    return tuple((b + a) % 360.0 for b in base for a in lean)


def _least(c: Copies, turns: tuple[float, ...]) -> tuple[float, float]:
    """Least length and least width that a copy needs at any allowed angle, in mm."""
    sizes = [extent(c.points, t) for t in ((0.0,) if c.pinned else turns)]
    return min(s[0] for s in sizes), min(s[1] for s in sizes)


# --- sheets and remnants -------------------------------------------------------------------------------------------


def _sheets(wanted: Wanted, copies: Sequence[Copies], run: Run) -> tuple[Lay, ...]:
    """Sheet by sheet, each as full as can be, until all is laid."""
    m = wanted.material
    if m.sheet is None:
        raise ValueError(f"{m.name} does not come in sheets")
    out: list[Lay] = []
    rest = list(copies)
    while rest:
        started = time.monotonic()
        packed, rest = _one_rectangle(rest, m.width, m.sheet, m, run)
        out.append(_lay(wanted, packed, m.width, started, run, on="sheet", stock=m.sheet))
    return tuple(out)


def _one_rectangle(
    copies: Sequence[Copies], width: float, length: float, m: Material, run: Run
) -> tuple[_Packed, list[Copies]]:
    """What is laid on one sheet or remnant, and what is left over.

    All is packed as if the strip went on, the stretch of the sheet's length that holds the most is kept, and more
    pieces are tried with it as long as area is left. Raises EngineError if nothing goes onto it.
    """
    trial = max(TRIAL_LEAST, TRIAL_PART * run.seconds)
    packed = _pack(copies, width, m, run, trial if _area(copies) > FULL * width * length else run.seconds)
    if packed.length <= length:
        return packed, []
    kept = _best_stretch(packed, length)
    if not kept:
        raise EngineError("no_place")
    best = _shifted(kept)
    rest = _without(copies, best)
    for c in sorted(rest, key=lambda c: -c.outline.area):
        now = _only(copies, best)
        if _area(now) + c.outline.area > FULL * width * length:
            continue
        more = _pack([*now, replace(c, copies=c.copies[:1])], width, m, run, trial)
        if more.length > length:
            break
        best = more
        rest = _without(copies, best)
    return best, rest


def _best_stretch(packed: _Packed, length: float) -> list[tuple[Copies, Placement]]:
    spans = [
        (min(x for x, _ in p.polygon), max(x for x, _ in p.polygon), c.outline.area, (c, p))
        for c, p in packed.placements
    ]
    best: list[tuple[Copies, Placement]] = []
    most = 0.0
    for start, *_ in spans:
        inside = [s for s in spans if s[0] >= start and s[1] <= start + length]
        area = sum(s[2] for s in inside)
        if area > most:
            most, best = area, [s[3] for s in inside]
    return best


def _area(copies: Iterable[Copies]) -> float:
    return float(sum(c.outline.area * len(c.copies) for c in copies))


def _taken(packed: _Packed) -> dict[tuple[str, bool], set[int]]:
    out: dict[tuple[str, bool], set[int]] = {}
    for _, p in packed.placements:
        out.setdefault((p.piece, p.mirrored), set()).add(p.copy)
    return out


def _without(copies: Sequence[Copies], packed: _Packed) -> list[Copies]:
    """What of `copies` is not in the layout."""
    taken = _taken(packed)
    left = [
        replace(c, copies=tuple(k for k in c.copies if k not in taken.get((c.want, c.mirrored), ()))) for c in copies
    ]
    return [c for c in left if c.copies]


def _only(copies: Sequence[Copies], packed: _Packed) -> list[Copies]:
    """What of `copies` is in the layout."""
    taken = _taken(packed)
    kept = [replace(c, copies=tuple(k for k in c.copies if k in taken.get((c.want, c.mirrored), ()))) for c in copies]
    return [c for c in kept if c.copies]


def _with_remnants(wanted: Wanted, copies: Sequence[Copies], run: Run) -> Laid:
    """Each remnant is filled in turn and kept if what is left for the roll then gets shorter.

    Interfacing is then pieced from the remnants that are left, where that makes the roll's lay shorter still.
    """
    m = wanted.material
    trial = max(TRIAL_LEAST, TRIAL_PART * run.seconds)
    turns = _turns(m, run.tilt)
    rest = list(copies)
    quick = replace(run, seconds=trial, report=None)
    bought = _pack(rest, m.width, m, quick, trial).length
    lays: list[Lay] = []
    unused = sorted(m.remnants, key=lambda r: -r[0] * r[1])
    tried = 0
    for remnant in tuple(unused):
        fit = [c for c in rest if _fits(c, turns, *remnant)]
        if not fit or tried == REMNANTS_TRIED or run.halt.is_set():
            continue
        tried += 1
        started = time.monotonic()
        try:
            packed, _ = _one_rectangle(fit, *remnant, m, quick)
        except EngineError:
            # Nothing went onto this remnant; the next one may do.
            continue
        left = _without(rest, packed)
        then = _pack(left, m.width, m, quick, trial).length if left else 0.0
        if then <= bought - REMNANT_SAVES:
            lays.append(_lay(wanted, packed, remnant[0], started, run, on="remnant", stock=remnant[1]))
            unused.remove(remnant)
            rest, bought = left, then
    if set(wanted.layers) <= PIECED and not run.halt.is_set():
        pieced, rest = _pieced(wanted, rest, bought, unused, quick)
        lays += pieced
    said = () if lays else (Finding("lay.remnants", "note", ClothRef(m.name)),)
    if rest:
        lays.append(_roll(wanted, rest, m.width, run))
    return tuple(lays), said


def _pieced(
    wanted: Wanted, rest: list[Copies], bought: float, remnants: Sequence[tuple[float, float]], run: Run
) -> tuple[list[Lay], list[Copies]]:
    """Lays of parts on remnants, one part on each, and what is left for the roll.

    Copies are pieced one after another, the largest first, until the roll's lay is shorter by what a remnant must save;
    if it never is, nothing is pieced.
    """
    m = wanted.material
    turns = _turns(m, run.tilt)
    unused = list(remnants)
    parts: list[tuple[tuple[float, float], PartLaid]] = []
    kept: tuple[int, list[Copies]] = (0, rest)
    for c in sorted(rest, key=lambda c: -c.outline.area):
        for copy in c.copies:
            if len(parts) // 2 >= PIECED_MOST:
                break
            found = piece_together(c, copy, unused, turns, run.overlap)
            if found is None:
                break
            parts += [(unused[p.remnant], p) for p in found]
            unused = [r for i, r in enumerate(unused) if i not in {p.remnant for p in found}]
            left = _less(rest, parts)
            then = _pack(left, m.width, m, run, run.seconds).length if left else 0.0
            if then <= bought - REMNANT_SAVES:
                kept, bought = (len(parts), left), then
    lays = []
    for (width, length), p in parts[: kept[0]]:
        xs = [x for x, _ in p.placement.polygon]
        packed = _Packed(max(xs) - min(xs), ((p.copies, p.placement),))
        lays.append(_lay(wanted, packed, width, time.monotonic(), run, on="remnant", stock=length))
    return lays, kept[1]


def _less(copies: Sequence[Copies], parts: Sequence[tuple[tuple[float, float], PartLaid]]) -> list[Copies]:
    """The copies without those that are pieced."""
    gone = {(p.placement.piece, p.placement.mirrored, p.placement.copy) for _, p in parts}
    left = [replace(c, copies=tuple(k for k in c.copies if (c.want, c.mirrored, k) not in gone)) for c in copies]
    return [c for c in left if c.copies]


def _fits(c: Copies, turns: tuple[float, ...], width: float, length: float) -> bool:
    return any(x <= length and y <= width for x, y in (extent(c.points, t) for t in turns))
