"""Fusing blocks: how much larger to cut what is fused first, so that the piece still comes out of it.

Most cloth shrinks when interfacing is fused to it, so a rough block is cut from both, fused, and the piece is cut from
the fused block (common practice, no source). The block is the piece's cut outline grown by a margin, then by the worst
shrinkage of the two materials along and across the grain. If the block shrinks about any point by any part of that, the
piece lies inside it: see `coutil.lay.verify`, which checks it.

A block is neither a rectangle nor a copy of the outline, but a shape of a few straight sides that encloses it
(`straightened`): on the demo order rectangles take 29 % more cloth than the grown outlines do, straight sides at most
EXCESS more; and a rough cut is made along straight lines.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from shapely import Polygon  # type: ignore[import-untyped]
from shapely.affinity import scale  # type: ignore[import-untyped]
from shapely.ops import unary_union  # type: ignore[import-untyped]

from coutil.lay.cloths import Material
from coutil.lay.model import Block, Placement
from coutil.lay.shapes import mirrored, moved, plain, ring, straightened
from coutil.pattern import Piece

# Margin round the piece after fusing, in mm: 1/2 in, and the least and greatest that make sense, 1/4 and 1 in (common
# practice, no source).
MARGIN = 12.7
LEAST_MARGIN = 6.35
GREATEST_MARGIN = 25.4
# Added to the margin in mm, as shapely's own growing may fall short by some 1e-5 mm (found by trial).
ROUNDING = 1e-3
# By what part of its area a block may be larger than the grown outline for the sake of straight sides. Found by trial
# on the demo: 5 to 14 sides remain; twice as much saves one or two of them.
EXCESS = 0.04
# Distance of two pieces in one block, in mm: 1/4 in, room to cut between them (common practice, no source).
BETWEEN = 6.35
# A shared block must save this part of what its two would take, and must stay narrower than this part of the cloth:
# large blocks are hard to fuse and to place. Judgement, no source.
SHARE_SAVES = 0.04
SHARE_WIDTH = 1 / 3
# How finely neighbours are slid together: positions along the grain that are tried, and halvings of their distance.
SHIFTS = 5
HALVINGS = 10
# Neighbours are slid together by outlines that are straightened by this part of their area: they stay at least as far
# apart, and the search is ten times faster.
ROUGHLY = 0.01


@dataclass(frozen=True, slots=True)
class Fused:
    """A piece of cloth and the piece of interfacing that is fused to it."""

    cloth: Piece
    glue: Piece


@dataclass(frozen=True, slots=True)
class _Plan:
    """A block in the making: its pieces and how each is moved into it, the region they cover, the block to cut."""

    members: tuple[tuple[Fused, float, float], ...]
    inside: Polygon
    block: Polygon


def blocks_for(
    groups: Sequence[Fused],
    outlines: Mapping[str, Polygon],
    bust: Mapping[str, tuple[float, ...]],
    cloth: Material,
    glue: Material,
    *,
    margin: float,
    share: bool,
) -> list[Block]:
    """The blocks of one fused layer, twice: as they are cut from the cloth and as they are cut from the interfacing.

    With `share`, small neighbours share a block where that saves area, and where area is what the lay needs: if the
    longest block alone decides the length on both materials, nothing would be saved.
    """
    shrink = (max(cloth.shrink_length, glue.shrink_length), max(cloth.shrink_width, glue.shrink_width))
    plans = [_single(g, outlines, margin, shrink) for g in groups]
    if share and any(_area_decides(plans, m) for m in (cloth, glue)):
        width = min(m.width / (2.0 if m.folded else 1.0) for m in (cloth, glue))
        plans = _shared(plans, outlines, margin, shrink, width)
    return [_block(p, outlines, bust, layer, shrink) for layer in (0, 1) for p in plans]


def grown(region: Polygon, margin: float, shrink: tuple[float, float]) -> Polygon:
    """The block for what must lie `margin` mm inside it however far it has shrunk about the origin.

    `shrink` is the worst, in parts along x and along y; less of it, or in one direction only, must do no harm either,
    where the outline is hollow: so the block encloses what all four extremes need.
    """
    return straightened(_needed(region, margin, shrink), excess=EXCESS)


def _needed(region: Polygon, margin: float, shrink: tuple[float, float]) -> Polygon:
    wide = region.buffer(margin + ROUNDING, join_style="mitre", mitre_limit=1.2)
    extremes = [
        scale(wide, 1.0 / (1.0 - along), 1.0 / (1.0 - across), origin=(0.0, 0.0))
        for along in (0.0, shrink[0])
        for across in (0.0, shrink[1])
    ]
    needed = unary_union(extremes)
    return plain(needed if isinstance(needed, Polygon) else needed.convex_hull)


def _centred(region: Polygon) -> tuple[float, float]:
    """The move that brings the middle of a region's upright box to the origin, about which its block will shrink."""
    x0, y0, x1, y1 = region.bounds
    return (-(x0 + x1) / 2.0, -(y0 + y1) / 2.0)


def _region(g: Fused, outlines: Mapping[str, Polygon]) -> Polygon:
    """What both pieces cover. The interfacing may be smaller than the cloth; it lies where the panel has it."""
    both = unary_union([outlines[g.cloth.name], outlines[g.glue.name]])
    return plain(both) if isinstance(both, Polygon) else plain(both.convex_hull)


def _single(g: Fused, outlines: Mapping[str, Polygon], margin: float, shrink: tuple[float, float]) -> _Plan:
    region = _region(g, outlines)
    dx, dy = _centred(region)
    if g.cloth.on_fold:
        # The fold runs along y = 0 already, and the block must be as symmetric as the piece.
        dy = 0.0
    region = moved(region, dx, dy)
    block = grown(region, margin, shrink)
    if g.cloth.on_fold:
        both = block.union(mirrored(block))
        block = plain(both) if isinstance(both, Polygon) else plain(both.convex_hull)
    return _Plan(((g, dx, dy),), region, block)


def _area_decides(plans: Sequence[_Plan], m: Material) -> bool:
    area = sum(p.block.area * p.members[0][0].cloth.quantity for p in plans)
    longest = max(p.block.bounds[2] - p.block.bounds[0] for p in plans)
    return bool(area / m.width > longest)


def _shared(
    plans: list[_Plan], outlines: Mapping[str, Polygon], margin: float, shrink: tuple[float, float], width: float
) -> list[_Plan]:
    """Pairs of blocks joined, the pair that saves the most first; each block joins at most once."""
    tries = []
    for i, a in enumerate(plans):
        for j in range(i + 1, len(plans)):
            b = plans[j]
            pa, pb = a.members[0][0].cloth, b.members[0][0].cloth
            alike = (pa.quantity, pa.mirrored_pair) == (pb.quantity, pb.mirrored_pair)
            too_wide = sum(p.inside.bounds[3] - p.inside.bounds[1] for p in (a, b)) > SHARE_WIDTH * width
            if not alike or too_wide or pa.on_fold or pb.on_fold:
                continue
            joined = _join(a, b, margin, shrink)
            saved = a.block.area + b.block.area - joined.block.area
            across = joined.block.bounds[3] - joined.block.bounds[1]
            if saved > SHARE_SAVES * (a.block.area + b.block.area) and across <= SHARE_WIDTH * width:
                tries.append((saved, i, j, joined))
    tries.sort(key=lambda t: (-t[0], t[1], t[2]))
    gone: set[int] = set()
    out: dict[int, _Plan] = {}
    for _, i, j, joined in tries:
        if i not in gone and j not in gone:
            gone |= {i, j}
            out[i] = joined
    return [out.get(i, p) for i, p in enumerate(plans) if i in out or i not in gone]


def _join(a: _Plan, b: _Plan, margin: float, shrink: tuple[float, float]) -> _Plan:
    """The smallest block found for two neighbours, b beside a on either side, slid along the grain."""
    best: _Plan | None = None
    ax0, _, ax1, _ = a.inside.bounds
    bx0, _, bx1, _ = b.inside.bounds
    low, high = sorted((ax0 - bx0, ax1 - bx1))
    (ga, ax, ay), (gb, bx, by) = a.members[0], b.members[0]
    rough_a, rough_b = straightened(a.inside, excess=ROUGHLY), straightened(b.inside, excess=ROUGHLY)
    for k in range(SHIFTS):
        dx = low + (high - low) * k / (SHIFTS - 1)
        for side in (1.0, -1.0):
            dy = _slide(rough_a, rough_b, dx, side)
            beside = moved(rough_b, dx, dy)
            # Growing by the distance between the two and back bridges the slit.
            bridged = unary_union([rough_a, beside]).buffer(BETWEEN, quad_segs=2).buffer(-0.999 * BETWEEN, quad_segs=2)
            region = unary_union([bridged, rough_a, beside])
            if not isinstance(region, Polygon):
                region = region.convex_hull
            mx, my = _centred(region)
            region = moved(plain(region), mx, my)
            rough = _needed(region, margin, shrink)
            if best is None or rough.area < best.block.area:
                members = ((ga, ax + mx, ay + my), (gb, bx + dx + mx, by + dy + my))
                best = _Plan(members, region, rough)
    if best is None:
        raise ValueError("SHIFTS must be at least 1")
    return replace(best, block=straightened(best.block, excess=EXCESS))


def _slide(a: Polygon, b: Polygon, dx: float, side: float) -> float:
    """How far b, moved by dx along the grain, must move across so that it just keeps its distance from a."""
    _, ay0, _, ay1 = a.bounds
    _, by0, _, by1 = b.bounds
    far = side * ((ay1 - by0 if side > 0 else by1 - ay0) + BETWEEN)
    near = 0.0 if a.distance(moved(b, dx, 0.0)) < BETWEEN else far
    for _ in range(HALVINGS):
        middle = (near + far) / 2.0
        if a.distance(moved(b, dx, middle)) >= BETWEEN:
            far = middle
        else:
            near = middle
    return float(far)


def _block(
    p: _Plan,
    outlines: Mapping[str, Polygon],
    bust: Mapping[str, tuple[float, ...]],
    layer: int,
    shrink: tuple[float, float],
) -> Block:
    pieces = [(g.cloth if layer == 0 else g.glue) for g, _, _ in p.members]
    first = pieces[0]
    name = f"{' + '.join(q.name for q in pieces)}, block"
    inside = tuple(
        Placement(q.name, 1, False, 0.0, tuple((x + dx, y + dy) for x, y in ring(outlines[q.name])), (dx, dy))
        for q, (_, dx, dy) in zip(pieces, p.members, strict=True)
    )
    return Block(
        name=name,
        layer=first.layer,
        pieces=tuple((q.name, 1) for q in pieces),
        outline=tuple(ring(p.block)),
        quantity=first.quantity,
        mirrored_pair=first.mirrored_pair,
        on_fold=first.on_fold,
        cut_from=inside,
        shrinkage=shrink,
        bust=tuple(
            (min(x + dx, (x + dx) / (1.0 - shrink[0])), max(x + dx, (x + dx) / (1.0 - shrink[0])))
            for q, (_, dx, _) in zip(pieces, p.members, strict=True)
            for x in bust[q.name]
        ),
    )
