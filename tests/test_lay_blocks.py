"""Fusing blocks: the margin and the shrinkage by hand, on rectangles; the rest on drafted pieces by shapely."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import Polygon, box
from shapely.affinity import scale

from coutil.lay.blocks import EXCESS, MARGIN, grown
from coutil.lay.cloths import materials
from coutil.lay.model import Block
from coutil.lay.verify import block_faults
from coutil.lay.wants import gather
from coutil.order import Cloth
from coutil.pattern import Pattern
from lay_orders import cases
from lay_pieces import order, pattern, rectangle

INCH = 25.4


def test_the_margin_is_half_an_inch() -> None:
    # Common practice, no source: a rough block 1/4 to 1 in outside the piece (docs/method.md, the pad).
    assert pytest.approx(INCH / 2) == MARGIN


@pytest.mark.parametrize("margin", [6.35, 12.7, 25.4])
@pytest.mark.parametrize("shrink", [(0.0, 0.0), (0.03, 0.02), (0.25, 0.10), (0.9, 0.9)])
def test_a_rectangle_grows_by_margin_then_by_shrinkage(margin: float, shrink: tuple[float, float]) -> None:
    # 200 mm along the grain, 80 across: (200 + 2 m) / (1 - s). Corners may be cut off, sides may not.
    made = grown(box(-100, -40, 100, 40), margin, shrink)
    x0, y0, x1, y1 = made.bounds
    assert x1 - x0 >= (200 + 2 * margin) / (1 - shrink[0]) - 1e-9
    assert y1 - y0 >= (80 + 2 * margin) / (1 - shrink[1]) - 1e-9
    assert made.area <= (200 + 2 * margin) * (80 + 2 * margin) / (1 - shrink[0]) / (1 - shrink[1]) * (1 + EXCESS)
    shrunk = scale(made, 1 - shrink[0], 1 - shrink[1], origin=(0, 0))
    assert shrunk.covers(box(-100, -40, 100, 40).buffer(margin * (1 - 1e-9), quad_segs=32))


def fused(*names: str, width: float = 60.0, length: float = 150.0) -> Pattern:
    pieces = []
    for n in names:
        pieces.append(rectangle(f"{n}, shell", width, length, layer="shell", panel=n))
        pieces.append(rectangle(f"{n}, interfacing", width, length, layer="interfacing", panel=n))
    return pattern(*pieces)


def blocks_of(p: Pattern, *cloth: Cloth, margin: float = MARGIN, share: bool = True) -> tuple[Block, ...]:
    mats, _ = materials(order(*cloth), dict.fromkeys(q.layer for q in p.pieces))
    _, blocks, findings = gather(p, mats, margin=margin, share=share)
    assert not findings
    return blocks


def test_both_materials_get_the_same_block_at_the_worse_shrinkage_of_the_two() -> None:
    shell = Cloth("satin", ("shell",), width=1400, shrink_length=2, shrink_width=6)
    glue = Cloth("batiste", ("interfacing",), width=900, shrink_length=5, shrink_width=1)
    a, b = blocks_of(fused("side front"), shell, glue)
    assert (a.layer, b.layer) == ("shell", "interfacing")
    assert a.outline == b.outline
    assert a.shrinkage == (0.05, 0.06)
    assert (a.pieces, b.pieces) == ((("side front, shell", 1),), (("side front, interfacing", 1),))
    assert (a.quantity, a.mirrored_pair) == (2, True)


def test_a_larger_interfacing_decides_the_block() -> None:
    p = pattern(
        rectangle("a, shell", 60, 150, layer="shell"), rectangle("a, interfacing", 90, 150, layer="interfacing")
    )
    block = blocks_of(p)[0]
    assert Polygon(block.outline).bounds[3] - Polygon(block.outline).bounds[1] >= 90 + 2 * MARGIN


def test_shell_without_interfacing_is_no_block() -> None:
    assert blocks_of(pattern(rectangle("a, shell", 60, 150, layer="shell"))) == ()


def test_small_neighbours_share_a_block_where_area_decides() -> None:
    # Strips of 30 by 150 with a margin of 1 in: apart 80.8 wide each, two together 30 + 6.35 + 30 + 50.8 = 117.2.
    # Six blocks of 80.8 by 200.8 need more than their own length of cloth 360 mm wide.
    p = fused("side front", "side back", "centre back", width=30.0)
    narrow = [
        Cloth("a", ("shell",), width=360, selvedge=0, shrink_length=0, shrink_width=0),
        Cloth("b", ("interfacing",), width=360, selvedge=0, shrink_length=0, shrink_width=0),
    ]
    shared = blocks_of(p, *narrow, margin=INCH)
    assert sorted(len(b.pieces) for b in shared) == [1, 1, 2, 2]
    two = next(b for b in shared if len(b.pieces) == 2)
    x0, y0, x1, y1 = Polygon(two.outline).bounds
    assert sorted((x1 - x0, y1 - y0)) == pytest.approx([117.2, 200.8], abs=1.5)
    apart = blocks_of(p, *narrow, margin=INCH, share=False)
    saved = sum(Polygon(b.outline).area for b in apart) - sum(Polygon(b.outline).area for b in shared)
    # On each of the two materials: twice 80.8 less 117.2, times 200.8.
    assert saved == pytest.approx(2 * (2 * 80.8 - 117.2) * 200.8, rel=0.1)
    mats, _ = materials(order(*narrow), ("shell", "interfacing"))
    for b in (*shared, *apart):
        assert block_faults(b, {q.name: q for q in p.pieces}, mats, margin=INCH) == []


def test_blocks_are_not_shared_where_the_longest_alone_decides() -> None:
    wide = [Cloth("a", ("shell",), width=3000), Cloth("b", ("interfacing",), width=3000)]
    assert all(len(b.pieces) == 1 for b in blocks_of(fused("side back", "centre back"), *wide, margin=INCH))


def test_every_fused_piece_of_drafted_orders_comes_out_of_its_block() -> None:
    seen = 0
    for case in cases(12, seed=3):
        mats, _ = materials(case.order, dict.fromkeys(p.layer for p in case.pattern.pieces))
        _, blocks, _ = gather(case.pattern, mats, margin=case.margin, share=case.share)
        for b in blocks:
            assert block_faults(b, {p.name: p for p in case.pattern.pieces}, mats, margin=case.margin) == []
            # Straight sides: that is what a rough cut is for.
            assert len(b.outline) <= 40
            seen += 1
    assert seen > 60


def test_a_block_on_the_fold_is_symmetric() -> None:
    for case in cases(6, seed=4):
        mats, _ = materials(case.order, dict.fromkeys(p.layer for p in case.pattern.pieces))
        _, blocks, _ = gather(case.pattern, mats, margin=case.margin, share=True)
        for b in blocks:
            if b.on_fold:
                whole = Polygon(b.outline)
                turned_over = Polygon([(x, -y) for x, y in b.outline])
                assert whole.symmetric_difference(turned_over).area < 1e-6 * whole.area


def test_the_check_of_blocks_finds_what_is_wrong() -> None:
    p = fused("side front")
    mats, _ = materials(order(), ("shell", "interfacing"))
    pieces = {q.name: q for q in p.pieces}
    good = blocks_of(p)[0]
    assert block_faults(good, pieces, mats, margin=MARGIN) == []
    small = replace(good, outline=tuple((x * 0.98, y) for x, y in good.outline))
    assert any("leaves" in f for f in block_faults(small, pieces, mats, margin=MARGIN))
    tiny = replace(good, outline=tuple((x * 0.8, y) for x, y in good.outline))
    assert any("does not come out of" in f for f in block_faults(tiny, pieces, mats, margin=MARGIN))
    other = replace(good.cut_from[0], polygon=tuple((x * 0.9, y) for x, y in good.cut_from[0].polygon))
    assert any("cuts into the piece" in f for f in block_faults(replace(good, cut_from=(other,)), pieces, mats))
