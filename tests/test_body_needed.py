"""What is needed hangs on the garment: an underbust corset or a belt takes no reading of the bust."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coutil.body import (
    BY_KEY,
    DEFAULT_STANDARD,
    NEEDED_WITHOUT_BUST,
    REQUIRED,
    BodyError,
    Standard,
    is_idle,
    judge,
    missing_readings,
    order_body,
    resolve_body,
    rests_on,
)
from coutil.order import Order, parse_order, write_order
from tapes import TAPE

RIBS = {"underbust": 780.0, "waist": 700.0, "underbust_to_waist": 110.0}
BUST = ("bust", "bust_span", "bust_to_underbust", "bust_to_waist")


def without(measured: dict[str, float], **more: Any) -> Any:
    return order_body(measured, needed=NEEDED_WITHOUT_BUST, **more)


def test_three_readings_are_enough_and_the_bust_is_by_rule() -> None:
    b = without(RIBS)
    assert b.needed == NEEDED_WITHOUT_BUST
    assert b.not_taken == b.drawn == ()
    assert {b.state(k) for k in NEEDED_WITHOUT_BUST} == {"taken"}
    assert {b.state(k) for k in BUST} == {"by_rule"}
    assert b.unused == BUST
    # By hand: 15 cm more than the ribs; a fifth and 5 mm; a half sphere 114 + 8.5 * 0.6 mm across.
    assert (b.bust, b.bust_span) == (930.0, 191.0)
    assert b.bust_to_underbust == pytest.approx(math.pi / 4 * 119.1)
    assert b.bust_to_waist == pytest.approx(b.bust_to_underbust + 110)
    assert all("this garment does not use it" in b.reasons[k] for k in BUST)
    assert b.measured() == RIBS


def test_what_is_not_used_is_told_once_and_judged_never() -> None:
    said = judge(without(RIBS))
    (note,) = [r for r in said if r.code == "body.unused"]
    assert (note.kind, note.keys) == ("note", BUST)
    assert note.text == "Not taken, and not used by this garment: bust, bust span, bust to underbust, bust to waist"
    # Nor what would be worked out from it.
    assert {r.keys[0] for r in said if r.code == "body.assumed"} == set(BY_KEY) - {
        *RIBS, *BUST, "upper_bust", "side_length", "front_bust_arc", "front_upper_arc", "bust_depth",
    }  # fmt: skip
    # A waist above any bust that a rule could make is still one body with its ribs.
    assert [r for r in judge(without({**RIBS, "waist": 960.0, "hip": 1000.0})) if r.kind != "note"] == []
    (slip,) = [r for r in judge(without({**RIBS, "waist": 285.0, "underbust": 1100.0})) if r.kind == "refuse"]
    assert slip.keys == ("waist", "underbust")
    (small,) = [r for r in judge(without({**RIBS, "waist": 525.0})) if r.code == "body.very_small_waist"]
    assert small.keys == ("waist", "underbust")


@pytest.mark.parametrize("key", NEEDED_WITHOUT_BUST)
def test_a_needed_reading_that_is_left_out_is_not_taken(key: str) -> None:
    less = {k: v for k, v in RIBS.items() if k != key}
    with pytest.raises(BodyError, match=f"missing: {key}$"):
        without(less)
    b = without(less, standard=DEFAULT_STANDARD)
    assert b.not_taken == b.drawn == (key,)
    assert b.state(key) == "not_taken"
    assert {b.state(k) for k in BUST} == {"by_rule"}
    assert not is_idle(b, NEEDED_WITHOUT_BUST)


def test_the_length_of_the_ribs_is_there_where_both_lengths_from_the_bust_point_are() -> None:
    assert missing_readings(TAPE, NEEDED_WITHOUT_BUST) == ()
    b = without(TAPE)
    assert b.not_taken == b.unused == ()
    assert (b.underbust_to_waist, b.state("underbust_to_waist")) == (105.0, "by_rule")
    # The garment is drawn by it, so it is told.
    assert [r.keys for r in judge(b) if "underbust_to_waist" in r.keys] == [("underbust_to_waist",)]
    half = {k: v for k, v in TAPE.items() if k != "bust_to_waist"}
    assert missing_readings(half, NEEDED_WITHOUT_BUST) == ("underbust_to_waist",)


def test_for_another_garment_the_same_readings_are_not_enough() -> None:
    b = order_body(RIBS, standard=DEFAULT_STANDARD)
    assert b.needed == REQUIRED
    assert b.not_taken == BUST
    assert b.unused == ()
    assert b.state("underbust_to_waist") == "taken"


def test_the_six_figures_of_a_former_new_order_are_nobodys_here_too() -> None:
    former = dict(zip(REQUIRED, (920.0, 750.0, 760.0, 189.0, 77.5, 182.5), strict=True))
    assert without(former).not_taken == NEEDED_WITHOUT_BUST
    assert without(former, confirmed=True).not_taken == ()


def test_a_size_that_is_asked_for_has_its_own_bust() -> None:
    b = without({}, standard=Standard(920.0, "H", as_asked=True))
    assert (b.bust, b.underbust, b.underbust_to_waist) == (920.0, 650.0, 105.0)
    assert {b.state(k) for k in (*REQUIRED, "underbust_to_waist")} == {"standard"}
    assert b.unused == b.not_taken == ()


def test_what_rests_on_the_ribs_of_a_standard_size_says_so() -> None:
    b = without({"underbust": 780.0, "waist": 700.0}, standard=DEFAULT_STANDARD)
    assert rests_on(b, ("bust_to_waist",)) == ("underbust_to_waist",)


def test_such_a_body_can_be_written() -> None:
    b = without({**RIBS, "hip": 980.0})
    again = parse_order(write_order(Order("x", b)) + '\n[body.standard]\nbust = 92\ncup = "C"\n').body
    assert again.measured() == b.measured()
    assert without(again.measured()) == b


@given(
    st.floats(*BY_KEY["underbust"].usual),
    st.floats(*BY_KEY["waist"].usual),
    st.floats(*BY_KEY["underbust_to_waist"].usual),
    st.dictionaries(st.sampled_from(BUST), st.floats(80, 400)),
)
def test_any_of_them_said_again_is_the_same_body(u: float, w: float, d: float, more: dict[str, float]) -> None:
    if "bust" in more:
        more["bust"] += 800.0
    b = without({"underbust": u, "waist": w, "underbust_to_waist": d, **more})
    assert without(b.measured(), left=None, right=None) == b
    assert b.bust_to_underbust >= 25.0
    assert set(b.unused) == set(BUST) - set(more)


def test_resolving_takes_any_set_but_girths_there_must_be() -> None:
    assert resolve_body({"underbust": 780, "waist": 700}, needed=("waist",)).underbust_to_waist == 105
    with pytest.raises(BodyError, match=r"missing: underbust$"):
        resolve_body({"waist": 700}, needed=("waist",))
