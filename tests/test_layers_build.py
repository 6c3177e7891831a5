"""Layers as built, the back kit and the boning plan: by hand-worked figures, and from the pattern's own lines."""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise
from typing import Any

import pytest
from shapely import LineString, Point, Polygon

from coutil.docket import Docket, make_docket
from coutil.dome import foam_angle
from coutil.layers.openings import spread
from coutil.make import Work, work_out
from coutil.order import Order, parse_order
from coutil.pattern import Pattern, Piece
from coutil.pattern.json import as_json
from order_texts import BODY

PADDED = '[build.pad]\nthickness = "6 mm"\n'


@cache
def work(text: str = "") -> Work:
    return work_out(parse_order(BODY + text))


def made(text: str = "") -> tuple[Order, Pattern, Docket]:
    w = work(text)
    return w.order, w.pattern, make_docket(w.order, w.pattern, None)


def piece(pattern: Pattern, name: str) -> Piece:
    return next(p for p in pattern.pieces if p.name == name)


def layers(text: str) -> set[str]:
    return {p.layer for p in made(text)[1].pieces}


# --- layers ----------------------------------------------------------------------------------------------------------


def test_any_layer_can_be_left_out() -> None:
    assert layers("") == {"shell", "interfacing", "foam", "web"}
    assert layers('[build]\nlayers = ["shell"]\n') == {"shell"}
    assert layers('[build]\nlayers = ["shell", "foam"]\n[build.lining]\n') == {"shell", "foam", "lining"}
    full = (
        '[build]\nlayers = ["lace", "shell", "flat_lining", "interfacing", "strength", "foam", "web"]\n[build.lining]\n'
    )
    assert layers(full) == {
        "lace", "shell", "flat_lining", "interfacing", "strength", "foam", "web", "lining",
    }  # fmt: skip
    assert made(full)[1].stopped is False


def test_no_pads_on_an_empty_list() -> None:
    _, pattern, docket = made("[build.pad]\non = []\n")
    assert pattern.pads == ()
    assert {p.layer for p in pattern.pieces} == {"shell", "interfacing"}
    assert all(p.placement == () for p in pattern.pieces)
    assert "pad" not in {h.what for h in docket.hours}
    assert "cups" not in docket.garment


def test_pads_lie_on_the_strength_layer_where_there_is_one() -> None:
    _, pattern, _ = made('[build]\nlayers = ["shell", "strength", "foam", "web"]\n')
    assert {p.layer for p in pattern.pieces if p.placement} == {"strength"}


def test_lace_has_its_own_allowance_and_its_edge_on_the_top() -> None:
    _, pattern, _ = made('[build]\nlayers = ["lace", "shell"]\n[build.lace]\nallowance = "18 mm"\n')
    lace = piece(pattern, "side front, lace")
    ring = Polygon(lace.cut_outline(tolerance=0.005)).exterior
    for e in lace.net:
        # Away from the corners.
        middle = Point(e.curve.point(e.curve.length / 2))
        assert ring.distance(middle) == pytest.approx(0.0 if e.role == "top" else 18.0, abs=0.05), e.role
    turned = piece(made('[build]\nlayers = ["lace", "shell"]\n[build.lace]\nscallop = false\n')[1], "side front, lace")
    top = next(e for e in turned.net if e.role == "top")
    far = Polygon(turned.cut_outline(tolerance=0.005)).exterior.distance(Point(top.curve.point(top.curve.length / 2)))
    assert far == pytest.approx(20.0, abs=0.05)


@pytest.mark.parametrize("foam", [2.0, 6.0, 8.0])
def test_a_lining_inside_the_foam_is_smaller_by_what_the_foam_takes_up(foam: float) -> None:
    """At the bust point thickness times the angle that the cup turns by; nowhere else, and both edges stay equal."""
    text = f'[build.pad]\nthickness = "{foam} mm"\n[build.lining]\nsmaller = true\n'
    _, pattern, _ = made(text)
    assert [f for f in pattern.findings if f.level == "stop"] == []
    cup = pattern.cups[0]
    wanted = foam * foam_angle(cup)
    total = 0.0
    lengths: list[tuple[float, float]] = []
    for name in ("centre front", "side front"):
        shell, lining = (
            next(e for e in piece(pattern, f"{name}, {layer}").net if e.role == "front_princess")
            for layer in ("shell", "lining")
        )
        total += math.dist(shell.at("bust_point"), lining.at("bust_point"))
        assert (
            Polygon(piece(pattern, f"{name}, shell").net_outline(tolerance=0.01))
            .buffer(0.03)
            .covers(Polygon(piece(pattern, f"{name}, lining").net_outline(tolerance=0.01)))
        )
        for mark in ("waist", "underbust"):
            assert lining.at(mark) == pytest.approx(shell.at(mark), abs=1e-6)
        assert lining.upward().end == pytest.approx(shell.upward().end, abs=1e-6)
        assert max(abs(t) for t in lining.curve.turns()) < 2e-3
        low, middle, end = lining.marks["underbust"], lining.marks["bust_point"], lining.curve.length
        top = lining.marks.get("centre_front_end", end)
        lengths.append((middle - low, top - middle))
        others = [e for e in piece(pattern, f"{name}, lining").net if e.role != "front_princess"]
        assert all(any(e is f for f in piece(pattern, f"{name}, shell").net) for e in others)
    assert total == pytest.approx(wanted, abs=0.02)
    # As the walk of the shell, to 0.3 mm.
    for a, b in zip(*lengths, strict=True):
        assert a == pytest.approx(b, abs=0.05)


def test_a_lining_that_carries_pads_itself_stays() -> None:
    text = '[build.pad]\nthickness = "6 mm"\non = ["lining"]\n[build.lining]\nsmaller = true\n'
    _, pattern, _ = made(text)
    assert piece(pattern, "side front, lining").net is piece(pattern, "side front, shell").net


# --- beside an opening -----------------------------------------------------------------------------------------------


def test_a_laced_edge_by_hand() -> None:
    """Bone 7, so a channel of 9; a rim of 10 needs 13; a second channel of 9: 9 + 13 + 9, and 5 more make 36 mm."""
    _, pattern, docket = made("[build.kit]\n")
    facing = piece(pattern, "centre back, facing")
    edge = next(e for e in facing.net if e.role == "centre_back").curve
    line = LineString(edge.points(tolerance=0.001))
    inner = next(e for e in facing.net if e.name == "facing_inner").curve
    assert line.distance(Point(inner.point(inner.length / 2))) == pytest.approx(36.0, abs=0.02)
    away = sorted({round(line.distance(Point(n.run[0].point(n.run[0].length / 2))), 1) for n in facing.lines})
    assert away == [9.0, 22.0, 31.0]
    assert [s.what for s in facing.spots] == ["eyelet"] * docket.fastening.count
    for s in facing.spots:
        assert line.distance(Point(s.at)) == pytest.approx(15.5, abs=0.01)
        assert s.hole == 5.0
    assert docket.fastening.inset == 15.5
    # Rim to stitching: 15.5 - 5 - 9 and 22 - 15.5 - 5.
    assert min(abs(15.5 - 9.0), abs(22.0 - 15.5)) - 5.0 == 1.5


def test_eyelets_are_counted_off_the_finished_edge() -> None:
    """By hand: 250 mm less twice 10 are 230; 25 goes 9.2 times, so 9 gaps of 25.56 and 10 eyelets."""
    assert spread(250.0, 25.0, 10.0) == (10, pytest.approx(230.0 / 9.0))
    assert spread(44.9, 25.0, 10.0) is None
    assert spread(45.0, 25.0, 10.0) == (2, 25.0)
    _, pattern, docket = made("[build.kit]\n")
    spots = [s.at for s in piece(pattern, "centre back, shell").spots]
    assert spots == [s.at for s in piece(pattern, "centre back, facing").spots]
    steps = [math.dist(a, b) for a, b in pairwise(spots)]
    assert steps == pytest.approx([docket.fastening.spacing] * len(steps), abs=0.01)
    eyelets = next(m.quantity for m in docket.materials if m.what == "eyelets")
    assert eyelets == 2 * len(spots) + 4


def test_the_makers_own_bone_and_eyelet_move_the_lines() -> None:
    shelf = (
        '[[bone]]\nname = "wide"\nkind = "flat_steel"\nwidth = "10 mm"\n'
        '[[eyelet]]\nname = "large"\nhole = "6 mm"\nrim = "14 mm"\n'
    )
    _, pattern, _ = made("[build.kit]\n" + shelf)
    facing = piece(pattern, "centre back, facing")
    line = LineString(next(e for e in facing.net if e.role == "centre_back").curve.points(tolerance=0.001))
    # 12, a strip of 17, 12, and 5.
    away = sorted({round(line.distance(Point(n.run[0].point(n.run[0].length / 2))), 1) for n in facing.lines})
    assert away == [12.0, 29.0, 41.0]
    assert line.distance(Point(facing.spots[0].at)) == pytest.approx(20.5, abs=0.01)


def test_eyelets_too_near_a_channel_are_told() -> None:
    def codes(text: str) -> set[str]:
        return {f.code for f in work(text).findings if f.level == "warn"}

    assert not codes("") & {"opening.crowded", "opening.no_channel"}
    # 5 mm from the edge no channel fits before them: what could not be laced.
    assert "opening.no_channel" in codes('[notions]\neyelet_inset = "5 mm"\n')
    assert "opening.crowded" in codes('[notions]\neyelet_inset = "5 mm"\n')
    assert not codes('[notions]\neyelet_inset = "2 cm"\n') & {"opening.crowded", "opening.no_channel"}


def size(p: Piece) -> tuple[float, float]:
    x0, y0, x1, y1 = Polygon(p.net_outline(tolerance=0.01)).bounds
    return x1 - x0, y1 - y0


@pytest.mark.parametrize(
    ("closing", "name", "width", "quantity"),
    [
        # The lacing's gap of 5 cm and 4 cm under each edge; guard and underlap are folded along their middle.
        ("lacing", "centre back, modesty panel", 130.0, 2),
        ("zip", "centre back, guard", 60.0, 1),
        ("hooks", "centre back, underlap", 50.0, 1),
    ],
)
def test_what_lies_behind_an_opening(closing: str, name: str, width: float, quantity: int) -> None:
    _, pattern, docket = made(f'[style]\nclosing = "{closing}"\n[build.kit]\n')
    p = piece(pattern, name)
    assert size(p) == pytest.approx((width, max(docket.fastening.edges)), abs=0.01)
    assert (p.quantity, p.mirrored_pair, p.on_fold) == (quantity, False, False)
    cut = Polygon(p.cut_outline(tolerance=0.01)).bounds
    net = Polygon(p.net_outline(tolerance=0.01)).bounds
    assert [abs(a - b) for a, b in zip(cut, net, strict=True)] == pytest.approx([12.7] * 4, abs=0.01)
    assert [n.what for n in p.lines] == ([] if closing == "lacing" else ["fold"])
    assert as_json(pattern)["version"] == 2


def test_a_zip_gets_its_allowance() -> None:
    zipped = made('[style]\nclosing = "zip"\n[build.kit]\n')[0]
    assert zipped.build.allowance_for("centre_back") == 25.0
    own = made('[style]\nclosing = "zip"\n[build.allowances]\ncentre_back = "2 cm"\n[build.kit]\n')[0]
    assert own.build.allowance_for("centre_back") == 20.0


def test_without_a_kit_there_are_no_further_pieces() -> None:
    _, pattern, docket = made("")
    assert {p.layer for p in pattern.pieces} <= {"shell", "interfacing", "foam", "web"}
    assert as_json(pattern)["version"] == 1
    assert docket.kit.stay == docket.kit.ribbon == 0.0


def test_the_waist_stay_by_hand() -> None:
    """Waist 70, drawn in by 4 cm, less 1.5 cm: 64.5 cm closed; 2.5 cm turned in at each end make 69.5."""
    order, _, docket = made("[style.ease]\nwaist = -4\n[build.kit]\n")
    assert order.body.waist == 700.0
    assert docket.kit.stay == pytest.approx(645.0, abs=0.5)
    assert docket.kit.stay_cut == pytest.approx(695.0, abs=0.5)
    assert made("[build.kit]\nstay = false\n")[2].kit.stay == 0.0


def test_gripper_tape_runs_along_the_whole_top() -> None:
    _, pattern, docket = made("[build.kit]\ngripper = true\n")
    tops = sum(2 * e.curve.length for p in pattern.panels for e in p.edges if e.role == "top")
    assert docket.kit.gripper == pytest.approx(tops)
    bought = next(m.quantity for m in docket.materials if m.what == "gripper tape")
    assert float(bought) == pytest.approx(tops / 1000, abs=1e-4)


# --- bones -----------------------------------------------------------------------------------------------------------


def bones(text: str) -> dict[str, Any]:
    return {b.where: b for b in made(text)[2].bones}


def test_bones_are_their_channels_less_both_clearances() -> None:
    for b in bones("").values():
        assert b.length == pytest.approx(b.channel - 10.0 - 6.0)
        assert b.tips == 2 * b.quantity
    assert {(b.kind, b.width) for b in bones("").values() if b.at_edge} == {("flat steel", 7.0)}
    assert {(b.kind, b.width) for b in bones("").values() if not b.at_edge} == {("spiral steel", 6.0)}


def test_bones_of_lengths_that_are_sold_are_never_longer_than_fits() -> None:
    sold = (200.0, 225.0, 240.0, 260.0)
    shelf = '[[bone]]\nname = "steel"\nkind = "flat_steel"\nwidth = "7 mm"\nlengths = [20, 22.5, 24, 26]\n'
    shelf += 'price = "1.20"\n[money]\ncurrency = "EUR"\n'
    found, free = bones(shelf), bones("")
    for where, b in found.items():
        wanted = max(x for x in sold if x <= free[where].length)
        assert (b.length, b.sold) == (wanted, True)
    docket = made(shelf)[2]
    bought = {m.what: m for m in docket.materials if m.what.startswith("steel, ")}
    assert sum(m.quantity for m in bought.values()) == sum(b.quantity for b in found.values())
    assert all(m.cost is not None for m in bought.values())
    short = made('[[bone]]\nname = "s"\nkind = "cane"\nwidth = "5 mm"\nlengths = ["90 cm"]\n')
    assert short[2].bones == ()
    assert {f.code for f in short[2].findings if f.code.startswith("bone")} == {"bone.none_sold"}


def test_each_layer_that_carries_bones_has_its_own() -> None:
    text = '[build]\nlayers = ["shell", "strength"]\n[build.bones]\non = ["shell", "strength"]\n'
    both = made(text)[2].bones
    assert {b.carrier for b in both} == {"shell", "strength"}
    assert sum(b.quantity for b in both) == 2 * sum(b.quantity for b in made("")[2].bones)


def test_further_lines_lie_beside_the_cup_and_never_over_it() -> None:
    text = '[build]\nlayers = ["shell", "strength", "foam", "web"]\n[build.bones]\nextra = "always"\n'
    _, pattern, docket = made(text)
    found = {b.where: b for b in docket.bones}
    assert {"centre front line", "line beside the cup"} <= set(found)
    assert found["centre front line"].quantity == 1
    assert found["line beside the cup"].quantity == 2
    front = pattern.panel("centre front", "both").edge("centre_front")
    assert found["centre front line"].channel == pytest.approx(front.curve.length)
    strength = piece(pattern, "side front, strength layer")
    assert len(strength.lines) == 2
    pads = [Polygon(p.outline(tolerance=0.01)) for p in pattern.pads if p.panel == "side front"]
    panel = Polygon(pattern.panel("side front", "both").outline(tolerance=0.01))
    bust = pattern.panel("side front", "both").edge("front_princess").at("bust_point")
    edge = pattern.panel("side front", "both").edge("front_princess")
    root = edge.marks["bust_point"] - edge.marks["underbust"]
    for n in strength.lines:
        run = LineString(n.run[0].points(tolerance=0.01))
        assert run.distance(pads[0]) >= 1.9
        assert run.distance(Point(bust)) > root
        assert panel.buffer(0.1).covers(run)
    # The shell bears none of them: no stitching goes through it.
    assert piece(pattern, "side front, shell").lines == ()
    assert docket.thread.total > made('[build]\nlayers = ["shell", "foam", "web"]\n')[2].thread.total


def test_fuller_busts_get_them_and_others_do_not() -> None:
    """Bust less underbust of 20 cm: cup D of EN 13402-3 (from memory)."""
    extra = '[build.bones]\nextra = "fuller"\n'
    assert "centre front line" not in bones(extra)
    full = parse_order(BODY.replace("bust = 96", "bust = 100", 1) + extra)
    assert full.body.bust - full.body.underbust == 220.0
    assert "centre front line" in {b.where for b in make_docket(full, work_out(full).pattern, None).bones}
