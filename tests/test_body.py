"""The body: what is filled by which rule, the two sides, standard sizes."""

from __future__ import annotations

import dataclasses
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coutil.body import (
    BY_KEY,
    EN_13402_3,
    MEASUREMENTS,
    REQUIRED,
    SIDE_MEASUREMENTS,
    Body,
    BodyError,
    BodySide,
    band,
    cup_difference,
    cup_letter,
    guide,
    judge,
    measurements_page,
    resolve_body,
    size_name,
    standard_body,
    standard_hip,
    standard_row,
)
from tapes import TAPE, any_bodies

DOCS = Path(__file__).parent.parent / "docs"


def test_every_measurement_can_be_taken_by_a_beginner() -> None:
    for m in (*MEASUREMENTS, *SIDE_MEASUREMENTS):
        assert m.how.endswith(".")
        assert len(m.how.split()) >= 6
        (p0, p1), (u0, u1) = m.possible, m.usual
        assert p0 < u0 < u1 < p1, m.key
        # A standard is named without clause: what follows its number may only be the year-less part number.
        assert m.standard is None or "clause" not in m.standard
    assert {m.key for m in MEASUREMENTS} <= {f.name for f in dataclasses.fields(Body)}
    assert {m.key for m in SIDE_MEASUREMENTS} == {f.name for f in dataclasses.fields(BodySide)}


def test_what_the_order_file_needs_is_what_design_6_says() -> None:
    assert set(REQUIRED) == {"bust", "underbust", "waist", "bust_span", "bust_to_underbust", "bust_to_waist"}


def test_the_page_is_fresh() -> None:
    fresh = measurements_page()
    assert (DOCS / "measurements.md").read_text(encoding="utf-8") == fresh, (
        "docs/measurements.md is stale: write coutil.body.measurements_page() to it"
    )


def test_the_guide_tells_every_measurement() -> None:
    text = "\n".join(guide())
    for m in MEASUREMENTS:
        assert m.key in text
        assert m.how in text


def test_rules_fill_what_was_not_taken() -> None:
    # By hand from bust 96, underbust 78, waist 70, bust point to waist 18.5 cm.
    b = resolve_body(TAPE)
    assert b.front_bust_arc == pytest.approx(390 + 0.8 * 180)  # docs/method.md, shares
    assert b.upper_bust == pytest.approx(960 - 80)  # 4/9 of 18 cm is 8
    assert b.front_waist_arc == 350
    assert b.hip == pytest.approx(940)  # halfway between the rows 68/92 and 72/96
    assert b.high_hip == pytest.approx(700 + 2 / 3 * 240)
    assert (b.high_hip_depth, b.hip_depth) == (100, 200)
    assert b.side_length == 185 + 25
    assert (b.height, b.centre_back_length) == (1680, 410)
    assert b.bust_depth == 192 + 85
    assert set(b.assumed) == set(BY_KEY) - set(REQUIRED)
    assert set(b.reasons) == set(b.assumed)
    assert all(b.reasons[key] for key in b.assumed)
    assert b.symmetric
    assert b.left == BodySide(80, 185, 210, b.front_bust_arc / 2, 175, 97.5)


def test_what_was_measured_leads_the_rules() -> None:
    assert resolve_body({**TAPE, "high_hip_depth": 90}).hip_depth == 180
    assert resolve_body({**TAPE, "hip_depth": 220}).high_hip_depth == 110
    assert resolve_body({**TAPE, "height": 1600}).centre_back_length == 390
    from_high_hip = resolve_body({**TAPE, "high_hip": 860})
    assert from_high_hip.hip == pytest.approx(700 + 1.5 * 160)
    assert from_high_hip.reasons["hip"] == BY_KEY["hip"].better_rule
    # A high hip smaller than the waist must not make the hip smaller still.
    assert resolve_body({**TAPE, "high_hip": 660}).hip == 660


def test_a_side_said_alone_leaves_the_other_its_general_value() -> None:
    b = resolve_body(TAPE, left={"bust_to_underbust": 90, "front_bust": 280, "bust_point": 100})
    assert not b.symmetric
    assert (b.left.bust_to_underbust, b.right.bust_to_underbust) == (90, 80)
    assert (b.left.front_bust, b.right.front_bust) == (280, b.front_bust_arc / 2)
    assert (b.left.bust_point, b.right.bust_point) == (100, 97.5)
    assert b.side("left") is b.left
    assert b.side("right") is b.right


def test_both_fronts_measured_add_up_to_the_arc() -> None:
    b = resolve_body(TAPE, {"front_bust": 280, "front_waist": 180}, {"front_bust": 260, "front_waist": 172})
    assert b.front_bust_arc == 540
    assert b.front_waist_arc == 352
    assert b.reasons["front_bust_arc"] == BY_KEY["front_bust_arc"].better_rule
    stated = resolve_body({**TAPE, "front_bust_arc": 550}, {"front_bust": 280}, {"front_bust": 260})
    assert stated.front_bust_arc == 550


def test_equal_sides_are_symmetric_even_when_said() -> None:
    assert resolve_body(TAPE, {"bust_to_waist": 190}, {"bust_to_waist": 190}).symmetric


@pytest.mark.parametrize("key", sorted(REQUIRED))
def test_a_missing_measurement_is_named(key: str) -> None:
    with pytest.raises(BodyError, match=f"missing: {key}$"):
        resolve_body({k: v for k, v in TAPE.items() if k != key})


def test_an_unknown_measurement_is_named() -> None:
    with pytest.raises(BodyError, match="neck"):
        resolve_body({**TAPE, "neck": 350})
    with pytest.raises(BodyError, match="height"):
        resolve_body(TAPE, left={"height": 1700})


@given(any_bodies())
def test_a_body_said_again_is_the_same_body(body: Body) -> None:
    left, right = body.measured_sides()
    assert resolve_body(body.measured(), left, right) == body


@given(any_bodies(), st.sampled_from(REQUIRED), st.floats(0.01, 1.0))
def test_a_small_change_of_the_tape_makes_a_small_change_of_the_body(body: Body, key: str, step: float) -> None:
    left, right = body.measured_sides()
    said = body.measured()
    changed = resolve_body({**said, key: said[key] + step}, left, right)
    for name in BY_KEY:
        # No rule has a slope above 1 but the hip from a high hip (3/2); where two rules chain they stay below 2.
        assert abs(getattr(changed, name) - getattr(body, name)) <= 2 * step + 1e-9, name


def test_bodies_are_values() -> None:
    assert len({resolve_body(TAPE), resolve_body(TAPE), resolve_body({**TAPE, "bust": 970})}) == 2
    with pytest.raises(dataclasses.FrozenInstanceError):
        resolve_body(TAPE).bust = 1.0  # type: ignore[misc]


# Standard sizes


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


def test_a_standard_body() -> None:
    b = standard_body(920)
    assert (b.bust, b.underbust, b.waist, b.hip) == (920, 770, 760, 1000)
    assert "bust" not in b.assumed
    for key in ("underbust", "waist", "hip", "bust_span", "bust_to_underbust", "bust_to_waist"):
        assert key in b.assumed
    assert "EN 13402-3" in b.reasons["waist"]
    # The standard says nothing of the lengths over the bust.
    for key in ("bust_span", "bust_to_underbust", "bust_to_waist"):
        assert "rule of thumb" in b.reasons[key]
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
