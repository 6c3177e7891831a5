"""Standard sizes: the standard's table and worked sizes, the half sphere of the breast, what goes with what."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coutil.body import (
    BY_KEY,
    CUPS,
    EN_13402_3,
    BodyError,
    band,
    cup_difference,
    cup_letter,
    judge,
    size_name,
    standard_body,
    standard_hip,
    standard_row,
)
from coutil.body.breast import USUAL_DIFFERENCE, breast_length, breast_volume, breast_width
from coutil.body.standard import USUAL_CUP


@pytest.mark.parametrize(
    ("bust", "underbust", "difference", "cup", "size"),
    # EN 13402-3, worked sizes as the project's requirements quote them.
    [(1070, 870, 200, "D", 85), (1080, 890, 190, "D", 90), (1000, 820, 180, "C", 80)],
)
def test_en_13402_worked_sizes(bust: float, underbust: float, difference: float, cup: str, size: int) -> None:
    assert bust - underbust == difference
    assert cup_letter(bust, underbust) == cup
    assert band(underbust) == size
    assert size_name(bust, underbust) == f"{size}{cup}"


def test_cup_steps() -> None:
    assert cup_letter(1000, 900) is None  # 10 cm is below AA
    assert cup_letter(1000, 899) == "AA"
    assert cup_letter(1000, 880) == "AA"
    assert cup_letter(1000, 879) == "A"
    assert cup_letter(1500, 900) is None  # beyond L
    assert cup_letter(1080.1, 900.1) == "C"  # 180 mm in spite of binary floats
    assert size_name(1000, 950) == "95"
    for letter in ("AA", "A", "C", "H", "L"):
        assert cup_letter(1000, 1000 - cup_difference(letter)) == letter
    assert cup_difference(" d ") == 190
    with pytest.raises(BodyError, match="cup"):
        cup_difference("Z")


def test_bands_round_to_the_nearest_five() -> None:
    assert [band(mm) for mm in (675, 724, 725, 774.9, 775)] == [70, 70, 75, 75, 80]


@pytest.mark.parametrize("row", EN_13402_3)
def test_the_table_comes_out_as_it_stands(row: tuple[float, float, float]) -> None:
    bust, waist, hip = row
    assert standard_row(bust * 10) == pytest.approx((waist * 10, hip * 10))
    assert standard_hip(waist * 10) == pytest.approx(hip * 10)


def test_the_table_steps_as_the_standard_does() -> None:
    # EN 13402-3 (from memory): bust and waist step by 4 cm up to bust 104, by 6 from there; the waist 16 below.
    for (b0, w0, _), (b1, w1, _) in pairwise(EN_13402_3):
        assert b1 - b0 == w1 - w0 == (4 if b1 <= 104 else 6)
        assert b0 - w0 == 16


def test_between_and_beyond_the_table() -> None:
    assert standard_row(1070) == pytest.approx((910, 1145))
    assert standard_row(720) == pytest.approx((560, 800))
    assert standard_row(1580) == pytest.approx((1420, 1570))


@pytest.mark.parametrize(
    ("size", "volume"),
    # In litres, by size: tables of the trade, from memory.
    [((70, "A"), 0.240), ((75, "A"), 0.310), ((75, "B"), 0.390), ((75, "C"), 0.480), ((75, "D"), 0.590),
     ((80, "D"), 0.710), ((80, "E"), 0.850), ((85, "E"), 1.000), ((85, "F"), 1.180), ((85, "G"), 1.370)],
)  # fmt: skip
def test_a_half_sphere_holds_what_the_trade_says_of_the_size(size: tuple[int, str], volume: float) -> None:
    underbust = size[0] * 10.0
    # Each at the middle of its cup.
    bust = underbust + cup_difference(size[1])
    assert breast_volume(bust, underbust) == pytest.approx(volume * 1e6, rel=0.015)


@given(st.floats(560, 1500), st.floats(60, 320))
def test_the_length_of_the_breast_is_that_of_the_half_sphere(underbust: float, difference: float) -> None:
    b = standard_body(min(underbust + difference, 1800), underbust)
    radius = (3 * breast_volume(b.bust, underbust) / (2 * math.pi)) ** (1 / 3)
    assert 2 * radius == pytest.approx(breast_width(b.bust, underbust))
    assert b.bust_to_underbust == pytest.approx(math.pi / 2 * radius)


def test_worked_sizes_of_the_standard_have_the_breast_of_their_size() -> None:
    # By hand from 114 mm at 75B: 107/87 is 2.4 bands and 2.5 cups more, 108/89 2.8 and 2, 100/82 1.4 and 1.5.
    for bust, underbust, steps in ((1070, 870, 4.9), (1080, 890, 4.8), (1000, 820, 2.9)):
        width = 114 + 8.5 * steps
        assert standard_body(bust, underbust).bust_to_underbust == pytest.approx(math.pi * width / 4)


def test_sister_sizes_have_the_same_breast() -> None:
    # Common practice in the trade: a cup more and a band less make up for each other.
    lengths = [breast_length(u + cup_difference(c), u) for u, c in ((700, "D"), (750, "C"), (800, "B"), (850, "A"))]
    assert lengths == pytest.approx([lengths[0]] * 4)


def test_the_breast_grows_with_cup_and_with_band() -> None:
    # The same cup on ribs of 57 and of 126 cm once had the same breast.
    assert standard_body(760, "D").bust_to_underbust == pytest.approx(78.9, abs=0.05)
    assert standard_body(1450, "D").bust_to_underbust == pytest.approx(171.0, abs=0.05)
    for u in range(560, 1460, 30):
        rising = [standard_body(u + d, float(u)).bust_to_underbust for d in range(60, 340, 10)]
        assert all(0 < b - a < 5 for a, b in pairwise(rising))
    for d in range(60, 340, 20):
        rising = [standard_body(u + d, float(u)).bust_to_underbust for u in range(560, 1460, 10)]
        assert all(0 < b - a < 2 for a, b in pairwise(rising))
    assert breast_length(600, 599) == pytest.approx(25.1, abs=0.05)


@given(st.floats(620, 1790), st.floats(40, 340), st.floats(0.01, 1.0))
def test_a_standard_size_changes_little_with_bust_and_underbust(bust: float, difference: float, step: float) -> None:
    underbust = bust - difference
    was, wider, fuller = (
        standard_body(b, u) for b, u in ((bust, underbust), (bust + step, underbust + step), (bust + step, underbust))
    )
    for key in BY_KEY:
        assert abs(getattr(wider, key) - getattr(was, key)) <= 2 * step + 1e-9, key
        assert abs(getattr(fuller, key) - getattr(was, key)) <= 2 * step + 1e-9, key
    # A fuller breast on the same ribs changes nothing of waist and hip.
    assert (fuller.waist, fuller.hip) == (was.waist, was.hip)


def test_the_waist_follows_the_ribs() -> None:
    # Bust 96 with cup H once had a waist of 80 on ribs of 69 cm: EN 13402-3 pairs these ribs with bust 84, waist 68.
    b = standard_body(960, "H")
    assert (b.underbust, b.waist, b.hip) == (690, 680, 920)
    for bust in range(720, 1501, 20):
        for cup in CUPS:
            b = standard_body(bust, cup)
            assert 0.9 * b.underbust < b.waist <= b.underbust
            assert b.hip == pytest.approx(standard_hip(b.waist))
    assert cup_difference(USUAL_CUP) == USUAL_DIFFERENCE


def test_a_standard_body() -> None:
    b = standard_body(920)
    # The usual cup is the one that the standard's pairing is for: row 92, 76, 100.
    assert (b.bust, b.underbust, b.waist, b.hip) == (920, 770, 760, 1000)
    assert "bust" not in b.assumed
    for key in ("underbust", "waist", "hip", "bust_span", "bust_to_underbust", "bust_to_waist"):
        assert key in b.assumed
    assert "EN 13402-3" in b.reasons["waist"]
    # The standard says nothing of the lengths over the bust.
    for key in ("bust_span", "bust_to_waist", "side_length"):
        assert "rule of thumb" in b.reasons[key]
    assert "half sphere" in b.reasons["bust_to_underbust"]
    assert b.measured() == {"bust": 920}
    assert standard_body(1070, 870).underbust == 870
    assert cup_letter(1070, standard_body(1070, "D").underbust) == "D"
    own = standard_body(920, "c", waist=700, hip=950, height=1700)
    assert (own.waist, own.hip, own.height) == (700, 950, 1700)
    assert not {"waist", "hip", "height"} & set(own.assumed)


@pytest.mark.parametrize("call", [(300, "B"), (920, "Q"), (920, 930.0), (920, 920.0), (float("nan"), "B"), (920, 0.0)])
def test_what_is_no_standard_size_is_refused(call: tuple[float, float | str]) -> None:
    with pytest.raises(BodyError):
        standard_body(*call)


@settings(max_examples=200)
@given(st.floats(720, 1500), st.floats(60, 320))
def test_standard_bodies_are_never_refused(bust: float, cup: float) -> None:
    assert [r for r in judge(standard_body(bust, bust - cup)) if r.kind == "refuse"] == []


@pytest.mark.parametrize(("bust", "cup"), [(b * 10, c) for b, _, _ in EN_13402_3[:12] for c in "ABCD"])
def test_common_standard_sizes_draw_no_warning(bust: float, cup: str) -> None:
    assert [r.text for r in judge(standard_body(bust, cup)) if r.kind != "note"] == []
