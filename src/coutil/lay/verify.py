"""Whether a plan can be cut as it is drawn. Asks shapely and the pattern, never the engine.

Each fault is a sentence. `lay_faults` looks at one lay; `verify` holds a whole plan against its pattern and order.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping

from shapely import Polygon, STRtree, box  # type: ignore[import-untyped]
from shapely.affinity import scale  # type: ignore[import-untyped]
from shapely.geometry.base import BaseGeometry  # type: ignore[import-untyped]

from coutil.lay.blocks import LEAST_MARGIN
from coutil.lay.cloths import Material, materials
from coutil.lay.model import Block, Lay, LayPlan, Placement
from coutil.lay.piecing import OVERLAP, PIECED
from coutil.lay.shapes import OUTER, ShapeError, half, mirrored, moved, true_outline, turned
from coutil.order import Order
from coutil.pattern import Pattern, Piece

# Rounding allowed in every comparison, in mm: a thousandth of the finest tolerance that is stated anywhere.
ROUNDING = 1e-5
# How finely true outlines are drawn for the check, in mm.
FINE = 0.01


def lay_faults(lay: Lay) -> tuple[str, ...]:
    """Overlaps, gaps that are not kept, pieces outside the cloth, and figures that do not belong to the drawing."""
    faults: list[str] = []
    if not lay.placements:
        return (f"the lay of {lay.cloth} is empty",)
    if not all(_is_somewhere(p) for p in lay.placements):
        return (f"a piece on {lay.cloth} lies nowhere: its place is not a number",)
    polygons = [Polygon(p.polygon) for p in lay.placements]
    room = box(0.0, 0.0, lay.length_mm, lay.width_mm).buffer(ROUNDING, join_style="mitre")
    for p, polygon in zip(lay.placements, polygons, strict=True):
        if not polygon.is_valid or polygon.area <= 0.0:
            faults.append(f"{_name(p)} has an unsound outline")
        elif not room.covers(polygon):
            faults.append(f"{_name(p)} lies outside the {lay.length_mm:.1f} by {lay.width_mm:.1f} mm of {lay.cloth}")
    if faults:
        return tuple(faults)
    tree = STRtree(polygons)
    pairs = tree.query(polygons, predicate="dwithin", distance=max(lay.gap_mm, ROUNDING))
    for i, j in pairs.T.tolist():
        if i >= j:
            continue
        if polygons[i].intersection(polygons[j]).area > ROUNDING:
            faults.append(f"{_name(lay.placements[i])} and {_name(lay.placements[j])} lie over each other")
        elif polygons[i].distance(polygons[j]) < lay.gap_mm - ROUNDING:
            faults.append(
                f"{_name(lay.placements[i])} and {_name(lay.placements[j])} lie"
                f" {polygons[i].distance(polygons[j]):.3f} mm apart, not {lay.gap_mm:.3f} mm"
            )
    area = sum(p.area for p in polygons)
    if abs(area / (lay.width_mm * lay.length_mm) - lay.used) > 1e-6:
        faults.append(f"the part of {lay.cloth} that is used is not {lay.used:.4f}")
    if lay.length_mm < lay.lower_bound_mm - 1e-3:
        faults.append(f"the lay of {lay.cloth} is shorter than it can be")
    if lay.stock_mm is not None and lay.length_mm > lay.stock_mm + ROUNDING:
        faults.append(f"the lay is longer than its {lay.on} of {lay.cloth}")
    for x, y, length, width in lay.offcuts:
        left = box(x, y, x + length, y + width)
        end = lay.length_mm if lay.stock_mm is None else lay.stock_mm
        if any(left.intersection(p).area > ROUNDING for p in polygons) or not box(0, 0, end, lay.width_mm).covers(left):
            faults.append(f"an offcut of {lay.cloth} is not free")
    return tuple(faults)


def verify(
    plan: LayPlan, pattern: Pattern, order: Order, *, margin: float, tilt: float = 0.0, overlap: float = OVERLAP
) -> tuple[str, ...]:
    """All that is wrong with a plan; empty if nothing is.

    Beyond `lay_faults`: each outline is that of its piece or block, nowhere inside the true curve and at most 0.2 mm
    outside it; allowed turns only; widths and gaps are those of the cloth; counts are those of the pattern; every fused
    piece lies inside its shrunk block. A lay that the plan's findings say is missing counts as missing all the same.
    """
    faults: list[str] = []
    mats, _ = materials(order, dict.fromkeys(p.layer for p in pattern.pieces))
    pieces = {p.name: p for p in pattern.pieces}
    blocks = {b.name: b for b in plan.blocks}
    for b in plan.blocks:
        faults += block_faults(b, pieces, mats, margin=margin)
    wanted = _counts(pieces, blocks)
    found: Counter[tuple[str, int]] = Counter()
    parts: dict[tuple[str, int], list[Placement]] = {}
    for lay in plan.lays:
        faults += lay_faults(lay)
        faults += _cloth_faults(lay, mats)
        for p in lay.placements:
            if not _is_somewhere(p):
                continue
            try:
                faults += _placement_faults(p, lay, pieces, blocks, tilt)
            except (KeyError, ShapeError) as e:
                faults.append(f"{_name(p)} on {lay.cloth} is nothing of the pattern: {e}")
            source: Piece | Block | None = blocks.get(p.piece) or pieces.get(p.piece)
            if p.part is not None:
                parts.setdefault((p.piece, p.copy), []).append(p)
                continue
            doubled = lay.folded and source is not None and not source.on_fold
            found.update([(p.piece, p.copy), (p.piece, p.copy + 1)] if doubled else [(p.piece, p.copy)])
    for key, laid in parts.items():
        said = _part_faults(laid, pieces, blocks, pattern, overlap)
        faults += said
        found.update([] if said else [key])
    for key in sorted((wanted - found) | (found - wanted)):
        faults.append(f"{key[0]}, copy {key[1]}: {wanted[key]} needed, {found[key]} laid")
    return tuple(faults)


def block_faults(
    b: Block, pieces: Mapping[str, Piece], mats: Mapping[str, Material], *, margin: float = LEAST_MARGIN
) -> list[str]:
    """Whether each piece of a block lies inside it, at every shrinkage from none to the worst, with its margin left."""
    faults: list[str] = []
    whole = Polygon(b.outline)
    partner = {"shell": "interfacing", "interfacing": "shell", "lining": "lining_interfacing"}.get(b.layer, "lining")
    worst = [
        max(getattr(mats[layer], name) for layer in (b.layer, partner) if layer in mats)
        for name in ("shrink_length", "shrink_width")
    ]
    inner: list[BaseGeometry] = []
    for (name, copy), place in zip(b.pieces, b.cut_from, strict=True):
        if copy != 1:
            faults.append(f"{b.name} starts with copy {copy} of {name}")
        laid = Polygon(place.polygon)
        faults += _outline_faults(place, laid, moved(true_outline(pieces[name], tolerance=FINE), *place.at))
        inner.append(laid)
    for along in (0.0, worst[0]):
        for across in (0.0, worst[1]):
            shrunk = scale(whole, 1.0 - along, 1.0 - across, origin=(0.0, 0.0))
            for (name, _), piece in zip(b.pieces, inner, strict=True):
                if not shrunk.covers(piece):
                    faults.append(f"{name} does not come out of {b.name} at {along:.1%} by {across:.1%} shrinkage")
                elif shrunk.exterior.distance(piece) < margin - ROUNDING:
                    faults.append(
                        f"{b.name} leaves {shrunk.exterior.distance(piece):.2f} mm round {name}, not {margin:.2f} mm,"
                        f" at {along:.1%} by {across:.1%} shrinkage"
                    )
    for i, a in enumerate(inner):
        for c in inner[i + 1 :]:
            if a.intersects(c):
                faults.append(f"pieces lie over each other in {b.name}")
    return faults


def _counts(pieces: Mapping[str, Piece], blocks: Mapping[str, Block]) -> Counter[tuple[str, int]]:
    """Every copy that must be laid: of blocks, and of the pieces that come out of none."""
    out: Counter[tuple[str, int]] = Counter()
    from_blocks: Counter[tuple[str, int]] = Counter()
    for b in blocks.values():
        out.update((b.name, k) for k in range(1, b.quantity + 1))
        from_blocks.update((name, k) for name, _ in b.pieces for k in range(1, b.quantity + 1))
    for p in pieces.values():
        copies = [(p.name, k) for k in range(1, p.quantity + 1)]
        # A copy that comes out of a block twice, or out of a block only by half its quantity, shows as miscounted.
        if any(from_blocks[c] for c in copies):
            out.update({c: 1 - from_blocks[c] for c in copies if from_blocks[c] != 1})
        else:
            out.update(copies)
    return out


def _cloth_faults(lay: Lay, mats: Mapping[str, Material]) -> list[str]:
    faults = []
    for layer in lay.layers:
        m = mats.get(layer)
        if m is None or m.name != lay.cloth:
            faults.append(f"{lay.cloth} is not the cloth of the {layer}")
            continue
        m = m.steamed() if lay.steamed else m
        widths = {m.width / 2.0} if lay.folded else {m.width}
        if lay.on == "remnant":
            widths = {w for w, n in m.remnants if lay.stock_mm is not None and abs(n - lay.stock_mm) < ROUNDING}
        if not any(lay.width_mm <= w + ROUNDING for w in widths):
            faults.append(f"the lay of {lay.cloth} is {lay.width_mm:.1f} mm wide, more than there is")
        if lay.on == "sheet" and (m.sheet is None or lay.stock_mm is None or lay.stock_mm > m.sheet + ROUNDING):
            faults.append(f"{lay.cloth} does not come in such sheets")
        if lay.gap_mm < m.gap - ROUNDING:
            faults.append(f"the gap on {lay.cloth} is {lay.gap_mm:.2f} mm, not {m.gap:.2f} mm")
        if m.one_way and not lay.one_way:
            faults.append(f"{lay.cloth} has a direction, and the lay does not know it")
    return faults


def _placement_faults(
    p: Placement,
    lay: Lay,
    pieces: Mapping[str, Piece],
    blocks: Mapping[str, Block],
    tilt: float,
) -> list[str]:
    faults = []
    source: Piece | Block = blocks[p.piece] if p.piece in blocks else pieces[p.piece]
    if source.layer not in lay.layers:
        faults.append(f"{_name(p)} is {source.layer}, which is not cut from this lay of {lay.cloth}")
    upright = (0.0,) if lay.one_way else (0.0, 180.0)
    lean = min(abs((p.rotation_deg - b + 180.0) % 360.0 - 180.0) for b in upright)
    if lean > tilt + 1e-6:
        faults.append(f"{_name(p)} is turned by {p.rotation_deg:g} degrees, off the grain")
    if p.mirrored != (source.mirrored_pair and not lay.folded and p.copy % 2 == 0):
        faults.append(f"{_name(p)} lies with the wrong side up")
    true = Polygon(source.outline) if isinstance(source, Block) else true_outline(source, tolerance=FINE)
    on_fold = lay.folded and source.on_fold
    if on_fold:
        true = half(true)
    if p.mirrored:
        true = mirrored(true)
    laid = Polygon(p.polygon)
    if on_fold and abs(laid.bounds[1]) > ROUNDING:
        faults.append(f"{_name(p)} does not lie on the fold")
    at = moved(turned(true, p.rotation_deg), *p.at)
    if p.part is not None:
        # Whether the parts make up the whole is seen by `_part_faults`.
        return (
            faults if at.buffer(OUTER + ROUNDING).covers(laid) else [*faults, f"{_name(p)} is no part of its outline"]
        )
    return faults + _outline_faults(p, laid, at)


def _part_faults(
    laid: list[Placement],
    pieces: Mapping[str, Piece],
    blocks: Mapping[str, Block],
    pattern: Pattern,
    overlap: float,
) -> list[str]:
    """Whether the parts of a pieced copy make it up, overlap enough, and leave the bust point alone."""
    first = laid[0]
    source: Piece | Block = blocks[first.piece] if first.piece in blocks else pieces[first.piece]
    if source.layer not in PIECED:
        return [f"{_name(first)} is {source.layer}, which is not pieced"]
    if sorted(p.part or (0, 0) for p in laid) != [(1, 2), (2, 2)]:
        return [f"{_name(first)} lacks a part"]
    whole = Polygon(source.outline) if isinstance(source, Block) else true_outline(source, tolerance=FINE)
    back = []
    for p in sorted(laid, key=lambda p: p.part or (0, 0)):
        there = turned(moved(Polygon(p.polygon), -p.at[0], -p.at[1]), -p.rotation_deg)
        back.append(mirrored(there) if p.mirrored else there)
    faults = []
    if not back[0].union(back[1]).buffer(ROUNDING).covers(whole):
        faults.append(f"the parts of {_name(first)} do not make it up")
    low, high = back[1].bounds[0], back[0].bounds[2]
    if high - low < overlap - ROUNDING:
        faults.append(f"the parts of {_name(first)} overlap by {high - low:.1f} mm, not {overlap:.1f} mm")
    for name, shift in _sources(source):
        points = pattern.panel(pieces[name].panel, pieces[name].side).points if pattern.panels else {}
        shrunk = 1.0 - (source.shrinkage[0] if isinstance(source, Block) else 0.0)
        at = points["bust_point"][1] + shift if "bust_point" in points else math.inf
        if low <= at <= high or low <= at / shrunk <= high:
            faults.append(f"the join of {_name(first)} crosses the bust point")
    return faults


def _sources(source: Piece | Block) -> list[tuple[str, float]]:
    """The pieces that a block gives, and how far each is moved along the grain in it."""
    if isinstance(source, Block):
        return [(p.piece, p.at[0]) for p in source.cut_from]
    return [(source.name, 0.0)]


def _outline_faults(p: Placement, laid: Polygon, true: Polygon) -> list[str]:
    """Whether a polygon encloses the true outline and stands nowhere farther outside it than OUTER."""
    if not laid.buffer(ROUNDING).covers(true):
        return [f"the outline of {_name(p)} in the lay cuts into the piece"]
    if not true.buffer(OUTER + ROUNDING, quad_segs=32).covers(laid):
        return [f"the outline of {_name(p)} in the lay stands more than {OUTER} mm outside the piece"]
    return []


def _is_somewhere(p: Placement) -> bool:
    return all(math.isfinite(v) for xy in (p.at, *p.polygon) for v in xy)


def _name(p: Placement) -> str:
    return f"{p.piece} {p.copy}"
