"""The body: what is filled by which rule, the two sides, standard sizes."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coutil.body import (
    BY_KEY,
    MEASUREMENTS,
    REQUIRED,
    SIDE_MEASUREMENTS,
    Body,
    BodyError,
    BodySide,
    guide,
    measurements_page,
    resolve_body,
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
    assert b.underbust_to_waist == 185 - 80
    assert b.front_upper_arc == 780 / 2
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
