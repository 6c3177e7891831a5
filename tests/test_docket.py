"""The docket: counts, lengths to buy, bones, closings."""

from __future__ import annotations

import json
import math
from collections import Counter
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bodice import BODY, UNEVEN, made, plan
from coutil.docket import Docket, DocketError, docket_json, make_docket
from coutil.docket.materials import to_buy
from coutil.order import Order
from coutil.pattern import Pattern
from spoken import spoken

LINED = "[build.lining]\n"


def docket(text: str = LINED, body: str = BODY) -> tuple[Order, Pattern, Docket]:
    order, pattern = made(text, body)
    return order, pattern, make_docket(order, pattern, None)


def test_the_cut_list_counts_every_piece_once_by_layer() -> None:
    _, pattern, d = docket()
    assert sorted((n.piece, n.layer, n.quantity, n.mirrored_pair, n.on_fold) for n in d.cut) == sorted(
        (p.name, p.layer, p.quantity, p.mirrored_pair, p.on_fold) for p in pattern.pieces
    )
    layers = [n.layer for n in d.cut]
    assert list(dict.fromkeys(layers)) == ["shell", "interfacing", "foam", "web", "lining"]
    assert layers == sorted(layers, key=list(dict.fromkeys(layers)).index)
    # A symmetric bodice: one centre front on the fold and three pairs in each cloth, two pairs of pads.
    totals = Counter({layer: sum(n.quantity for n in d.cut if n.layer == layer) for layer in set(layers)})
    assert totals == {"shell": 7, "interfacing": 7, "lining": 7, "foam": 4, "web": 4}


def test_an_uneven_body_has_every_piece_cut_once() -> None:
    _, _, d = docket(LINED, UNEVEN)
    shell = [n for n in d.cut if n.layer == "shell"]
    assert len(shell) == 8
    assert {n.quantity for n in shell} == {1}
    assert not any(n.mirrored_pair or n.on_fold for n in shell)


def test_blocks_are_listed_and_named_beside_their_pieces() -> None:
    order, pattern = made(LINED)
    d = make_docket(order, pattern, plan({"shell cloth": ("shell", 500.0)}))
    assert {n.piece: n.block for n in d.cut if n.block} == {"side front, shell": "block A"}
    (f,) = d.fuse
    assert (f.length, f.width, f.quantity, f.pieces) == (420.0, 210.0, 2, ("side front, shell",))


# Bones


def test_a_bone_for_every_seam_a_clearance_short_at_both_ends() -> None:
    # 1 cm at the hem, 6 mm at the top: common practice, no source.
    _, pattern, d = docket('[style]\nclosing = "hooks"\n' + LINED)
    edges = {s.name: pattern.edges_of(s)[0] for s in pattern.seams}
    bones = {b.where: b for b in d.bones}
    assert set(bones) == {"front princess seam", "side seam", "back princess seam", "centre back edge"}
    for name in ("side", "back princess"):
        assert bones[f"{name} seam"].length == pytest.approx(edges[name].curve.length - 16.0, abs=0.3)
    # Not over the cup: common practice, no source.
    assert bones["front princess seam"].length == pytest.approx(edges["front princess"].marks["underbust"] - 16.0)
    back = next(e for e in pattern.panel("centre back", "both").edges if e.role == "centre_back")
    assert bones["centre back edge"].length == pytest.approx(back.curve.length - 16.0)
    assert {b.quantity for b in d.bones} == {2}
    assert d.casing == pytest.approx(sum(2 * b.channel for b in d.bones))
    assert d.bone_total == pytest.approx(d.casing - 8 * 16.0)


def test_a_pile_that_would_be_fused_is_warned_of() -> None:
    velvet = '[[cloth]]\nname = "velvet"\nfor = ["shell"]\npile = true\n'
    assert "cloth.pile_fused" in {f.code for f in docket(velvet)[2].findings}
    loose = '[build]\nlayers = ["shell", "strength"]\n' + velvet
    assert "cloth.pile_fused" not in {f.code for f in docket(loose)[2].findings}


def test_lacing_has_bones_on_both_sides_of_the_eyelets() -> None:
    _, _, d = docket('[style]\nclosing = "lacing"\n')
    assert {b.where: b.quantity for b in d.bones}["centre back edge"] == 4


def test_bones_of_an_uneven_body_belong_to_a_side() -> None:
    order, pattern, d = docket("", UNEVEN)
    assert {(b.where, b.side) for b in d.bones if "edge" not in b.where} == {
        (f"{name} seam", side) for name in ("front princess", "side", "back princess") for side in ("left", "right")
    }
    one = {(b.where, b.side): b.quantity for b in d.bones}
    assert one["side seam", "left"] == 1
    assert one["centre back edge", "left"] == 2
    front = make_docket(replace(order, notions=replace(order.notions, bones=("centre_front",))), pattern, None)
    # The seam that joins both halves at the centre front is one, whatever side it is filed under.
    assert [(b.where, b.side, b.quantity) for b in front.bones] == [("centre front seam", "both", 1)]


def test_only_the_seams_that_are_asked_for_and_none_too_short() -> None:
    _, _, d = docket('[notions]\nbones = ["side"]\n')
    assert [b.where for b in d.bones] == ["side seam"]
    order, pattern, d = docket('[style]\nback_top = "5 cm"\nhem = "2.5 cm"\n[notions]\nbone_clearance = "2 cm"\n')
    short = make_docket(replace(order, notions=replace(order.notions, bone_clearance=30.0)), pattern, None)
    assert all(b.length >= 40.0 for b in short.bones)
    assert any("without a bone" in spoken(f) for f in short.findings)


# Closings


def test_eyelets_are_spread_evenly_and_the_cord_is_the_length_of_its_crossings() -> None:
    order, _, d = docket('[style]\nclosing = "lacing"\nlacing_gap = 5\n')
    f = d.fastening
    edge = min(f.edges)
    assert f.spacing * (f.count - 1) == pytest.approx(edge - 20.0)
    # As near to 2.5 cm as a whole number of gaps allows.
    for gaps in (f.count - 2, f.count):
        assert abs((edge - 20.0) / gaps - 25.0) >= abs(f.spacing - 25.0) - 1e-9
    # Walk the cord hole by hole: two ends cross at every gap, once straight across, and a tail at each end.
    # From the edge a channel for a bone of 7 mm (9), and half of the eyelets' strip (13): common practice, no source.
    across = 50.0 + 2 * 15.5 + 100.0
    left = [(0.0, k * f.spacing) for k in range(f.count)]
    right = [(across, y) for _, y in left]
    cord = math.dist(left[0], right[0]) + 2 * order.notions.cord_tail
    for k in range(f.count - 1):
        cord += math.dist(left[k], right[k + 1]) + math.dist(right[k], left[k + 1])
    assert f.cord == pytest.approx(cord)
    amounts = {a.what: a.quantity for a in d.materials}
    # Four spare.
    assert amounts["eyelets"] == 2 * f.count + 4
    assert amounts["cord"] == pytest.approx(Decimal(repr(round(cord / 1000, 5))), abs=Decimal("0.00001"))


def test_a_zip_is_as_long_as_the_shorter_finished_edge() -> None:
    _, pattern, d = docket('[style]\nclosing = "zip"\n', UNEVEN)
    edges = [e.curve.length for p in pattern.panels for e in p.edges if e.role == "centre_back"]
    assert d.fastening.edges == pytest.approx(tuple(edges))
    assert d.fastening.zip == min(edges)
    assert [a.what for a in d.materials if a.what in ("zip", "cord", "eyelets")] == ["zip"]


def test_hooks_are_pairs() -> None:
    _, _, d = docket('[style]\nclosing = "hooks"\n')
    assert abs(d.fastening.spacing - 20.0) < 2.0
    assert {a.what: a.quantity for a in d.materials}["hooks and eyes"] == d.fastening.count


def test_a_back_too_short_for_its_closing_is_refused_by_name() -> None:
    order, pattern = made()
    with pytest.raises(DocketError, match=r"closing_inset"):
        make_docket(replace(order, notions=replace(order.notions, closing_inset=200.0)), pattern, None)


# Buying


@given(st.floats(0.0, 20_000.0), st.sampled_from([1.0, 100.0, 114.3, 250.0, 914.4]))
@settings(max_examples=200)
def test_what_is_bought_covers_the_need_by_less_than_one_step(needed: float, step: float) -> None:
    order, _ = made(f'[[cloth]]\nname = "a"\nfor = ["shell"]\nsold_by = "{step} mm"\n')
    (b,) = to_buy(order, plan({"a": ("shell", needed)}))
    assert b.buy >= needed - 0.011
    assert b.buy - needed < step + 1e-6
    steps = Fraction(b.buy) / Fraction(step)
    assert abs(steps - round(steps)) < Fraction(1, 10**9)


def test_an_exact_need_takes_no_further_step() -> None:
    order, _ = made('[[cloth]]\nname = "a"\nfor = ["shell"]\nsold_by = "1/8 yd"\n')
    # Eight eighths of a yard, summed up by a lay with its rounding.
    (b,) = to_buy(order, plan({"a": ("shell", sum([114.3] * 8) + 1e-9)}))
    assert b.buy == pytest.approx(914.4)


def test_sheets_are_counted_whole_and_cloth_at_hand_is_not_bought() -> None:
    text = '[[cloth]]\nname = "foam"\nfor = ["foam"]\nsheet = ["50 cm", "70 cm"]\nprice = 6\ncurrency = "EUR"\n'
    order, pattern = made(text)
    d = make_docket(order, pattern, plan({"shell cloth": ("shell", 0.0)}, {"foam": ("foam", 2)}))
    assert [(b.cloth, b.unit, b.buy) for b in d.buy] == [("shell cloth", "length", 0.0), ("foam", "sheet", 2.0)]
    foam = next(a for a in d.materials if a.what == "foam")
    assert (foam.quantity, foam.unit, foam.cost) == (2, "sheet", Decimal("12.00"))


def test_layers_without_a_lay_and_dockets_without_lays_say_so() -> None:
    order, pattern, d = docket()
    assert any("No lays were made" in spoken(f) for f in d.findings)
    # Whether the cloths have prices is not the matter: what is missing are the lays.
    _, _, priced = docket(LINED + '[money]\ncurrency = "EUR"\nhour = 30\n')
    unpriced = next(spoken(f) for f in priced.findings if "no price is stated" in spoken(f))
    assert "boning" in unpriced
    assert not any(layer in unpriced for layer in ("shell", "interfacing", "foam", "web", "lining"))
    some = make_docket(order, pattern, plan({"shell cloth": ("shell", 500.0)}))
    assert {spoken(f).split()[1] for f in some.findings if "has no lay" in spoken(f)} == {
        "interfacing", "foam", "web", "lining"
    }  # fmt: skip


# JSON


def test_the_json_form_is_plain_and_its_money_is_text() -> None:
    order, pattern = made('[money]\ncurrency = "EUR"\nhour = 0.1\n' + LINED)
    d = make_docket(order, pattern, plan({"shell cloth": ("shell", 500.0)}))
    data = docket_json(d)
    assert json.loads(json.dumps(data, allow_nan=False)) == data
    assert (data["format"], data["version"], data["unit"]) == ("coutil-docket", 1, "mm")
    assert data["price"]["currency"] == "EUR"
    assert all(isinstance(v, str) for k, v in data["price"].items() if k != "unpriced")
    assert isinstance(data["materials"][0]["quantity"], str)
    assert len(data["cut"]) == len(pattern.pieces)
    assert data["bones"][0]["casing"] == pytest.approx(d.bones[0].casing, abs=1e-3)
