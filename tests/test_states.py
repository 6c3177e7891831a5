"""Whose body an order holds: what was taken, what is by rule, what is only drawn from a standard size in its place."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import Any

import pytest

from coutil.body import (
    DEFAULT_STANDARD,
    REQUIRED,
    Standard,
    as_asked_body,
    began_with,
    judge,
    order_body,
    rests_on,
    standard_body,
)
from coutil.make import work_out
from coutil.order import Order, OrderError, judge_order, new_order, parse_order, write_order
from coutil.units import INCH
from order_texts import BODY, problems
from spoken import spoken, subject

# A tape that is no standard size's, in mm.
HERS = {"bust": 960, "underbust": 780, "waist": 705, "bust_span": 195, "bust_to_underbust": 80, "bust_to_waist": 185}
# What new orders once began with, in mm: the figures of three sizes as they were then.
FORMER = {
    (920, "C"): (920.0, 750.0, 760.0, 189.0, 77.5, 182.5),
    (920, "B"): (920.0, 770.0, 760.0, 189.0, 72.5, 177.5),
    (960, "D"): (960.0, 770.0, 800.0, 197.0, 82.5, 187.5),
}
STANDARD = '[body.standard]\nbust = 92\ncup = "C"\n'


def stops(order: Order) -> list[str]:
    return [spoken(f) for f in work_out(order).findings if f.level == "stop"]


def in_file(mm: dict[str, float], unit: str) -> str:
    """Six figures as a new order once wrote them: to 1 mm, or to 1/16 in."""
    shown = {
        k: round(v / INCH * 16) / 16 if unit == "in" else round(v) / (10 if unit == "cm" else 1) for k, v in mm.items()
    }
    return f'unit = "{unit}"\n[body]\n' + "".join(f"{k} = {v}\n" for k, v in shown.items())


def test_each_reading_has_one_of_three_states() -> None:
    body = parse_order(f"[body]\nwaist = 70\nhip = 95\n{STANDARD}").body
    assert {k: body.state(k) for k in ("waist", "hip", "bust", "bust_span", "height")} == {
        "waist": "taken",
        "hip": "taken",
        "bust": "not_taken",
        "bust_span": "not_taken",
        "height": "by_rule",
    }
    assert body.not_taken == tuple(k for k in REQUIRED if k != "waist")
    assert (body.bust, body.underbust, body.waist) == (920.0, 750.0, 700.0)
    assert "bust 92, cup C (75C)" in body.reasons["bust"]


def test_a_missing_reading_without_a_standard_size_is_refused_and_the_other_way_told() -> None:
    (said,) = problems(BODY.replace("waist = 70\n", ""), after_body=False)
    assert "[body] waist: missing" in said
    assert "[body.standard]" in said


@pytest.mark.parametrize("key", REQUIRED)
def test_any_one_that_is_missing_is_the_verdict(key: str) -> None:
    lines = [line for line in BODY.splitlines() if not line.startswith(f"{key} =")]
    order = parse_order("\n".join(lines) + "\n" + STANDARD)
    first = work_out(order).findings[0]
    assert (first.level, subject(first)) == ("stop", f"body: {key}")
    assert spoken(first).startswith(f"Not taken: {key.replace('_', ' ')}. Nothing may be cut")
    assert work_out(order).pattern.not_taken == (key,)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('[body.standard]\ncup = "C"\n', "bust: missing"),
        ("[body.standard]\nbust = 92\n", "cup: missing"),
        ('[body.standard]\nbust = 40\ncup = "C"\n', "allowed is a length from 60"),
        ('[body.standard]\nbust = 92\ncup = "Z"\n', "cup"),
        ('[body.standard]\nbust = 60\ncup = "L"\n', "there is no such body"),
        ('[body.standard]\nbust = 92\ncup = "C"\nasked = true\n', "no such key; the nearest is as_asked"),
        ('[body.standard]\nbust = 92\ncup = "C"\nas_asked = true\n', "holds bust, underbust"),
        ("[body]\nconfirmed = 1\n", "must be true or false"),
    ],
)
def test_what_is_said_of_the_standard_size_is_checked(text: str, says: str) -> None:
    whole = BODY + text if text.startswith("[body.") else BODY.replace("[body]\n", text)
    found = problems(whole, after_body=False)
    assert any(says in p for p in found), found


def test_sides_that_are_taken_do_not_stand_in_for_a_general_reading() -> None:
    text = f"[body]\nbust = 96\nunderbust = 78\nwaist = 70\nbust_to_underbust = 8\nbust_to_waist = 18.5\n{STANDARD}"
    text += "[body.left]\nbust_point = 10\n[body.right]\nbust_point = 9.5\n"
    order = parse_order(text)
    assert order.body.not_taken == ("bust_span",)
    assert (order.body.left.bust_point, order.body.right.bust_point) == (100.0, 95.0)
    assert stops(order)[0].startswith("Not taken: bust span.")


def test_a_side_that_reads_what_the_standard_size_has_is_still_written() -> None:
    at = standard_body(920, "C").bust_to_waist
    body = order_body({"bust": 960.0}, {"bust_to_waist": at}, standard=DEFAULT_STANDARD)
    again = parse_order(write_order(Order("x", body))).body
    assert again == body
    other = order_body(again.measured(), *again.measured_sides(), standard=Standard(1100.0, "D"))
    assert other.left.bust_to_waist == at


def test_only_what_was_taken_is_judged() -> None:
    # Against the standard underbust of 75 cm these would be a very full bust, and a waist of another body.
    body = order_body({"bust": 1300.0, "waist": 1150.0}, standard=DEFAULT_STANDARD)
    assert [r for r in judge(body) if r.kind != "note"] == []
    assert rests_on(body, ("front_bust_arc",)) == ("underbust",)
    # Two that were taken are judged as ever, and so is the range of one.
    slip = order_body({"bust": 900.0, "underbust": 950.0}, standard=DEFAULT_STANDARD)
    assert [r.keys for r in judge(slip) if r.kind == "refuse"] == [("underbust", "bust")]
    rare = order_body({"bust": 1600.0}, standard=DEFAULT_STANDARD)
    assert [r.keys for r in judge(rare) if r.kind == "warn"] == [("bust",)]


def test_a_rule_that_works_from_what_was_not_taken_says_so() -> None:
    notes = {r.keys[0]: r.text for r in judge(parse_order(f"[body]\nwaist = 70\n{STANDARD}").body)}
    assert "rests on a standard size's bust, underbust" in notes["upper_bust"]
    assert "rests" not in notes["hip"]


@pytest.mark.parametrize("unit", ["cm", "mm", "in"])
@pytest.mark.parametrize("size", FORMER)
def test_the_figures_of_an_old_new_order_are_not_taken_until_they_are_confirmed(size: Any, unit: str) -> None:
    text = in_file(dict(zip(REQUIRED, FORMER[size], strict=True)), unit)
    order = parse_order(text)
    assert order.body.not_taken == REQUIRED
    assert order.body.drawn == ()
    says = stops(order)[0]
    assert says.startswith("Not taken: bust, underbust")
    assert "confirmed = true" in says
    assert f"cup {size[1]}" in says
    assert parse_order(write_order(order)) == order
    hers = parse_order(f"{text}confirmed = true\n")
    assert hers.body.not_taken == ()
    assert stops(hers) == []
    assert parse_order(write_order(hers)) == hers


def test_six_figures_of_which_one_is_another_are_taken() -> None:
    for key in REQUIRED:
        mm = {k: float(round(v)) for k, v in zip(REQUIRED, FORMER[920, "C"], strict=True)}
        assert began_with(mm) == Standard(920.0, "C")
        assert began_with({**mm, key: mm[key] + 3.0}) is None
    assert parse_order(BODY).body.not_taken == ()


def test_the_figures_of_todays_standard_size_never_stood_in_an_order() -> None:
    size = standard_body(920, "C")
    assert began_with({k: getattr(size, k) for k in REQUIRED}) is None


def test_the_armpit_of_a_standard_size_does_not_rise_with_its_breast() -> None:
    for cup in ("A", "C", "H"):
        body = order_body({"bust_span": 195.0}, standard=Standard(920.0, cup))
        assert body.side_length == standard_body(920, cup).side_length == 205.0
        assert body.state("side_length") == "by_rule"
        assert "side_length" not in body.measured()
    hers = order_body({"bust_to_waist": 185.0}, standard=DEFAULT_STANDARD)
    assert hers.side_length == 210.0
    assert order_body({"side_length": 190.0}, standard=DEFAULT_STANDARD).side_length == 190.0


def test_a_new_order_holds_nobodys_figures() -> None:
    for unit in ("cm", "mm", "in"):
        text = new_order(label="Anna", unit=unit)  # type: ignore[arg-type]
        order = parse_order(text)
        assert order.body.not_taken == REQUIRED
        assert order.body.standard == DEFAULT_STANDARD
        assert order.body.measured() == {}
        for key in REQUIRED:
            assert f"\n# {key} =\n" in text
        assert stops(order)[0].startswith("Not taken: bust, underbust, waist")
        assert parse_order(write_order(order)) == order


def test_a_standard_size_asked_for_as_such_is_named_and_stops_nothing() -> None:
    order = parse_order(new_order(label="Shop", body=as_asked_body(920, "C")))
    work = work_out(order)
    assert order.body.as_asked
    assert order.body.measured() == {}
    assert {order.body.state(k) for k in REQUIRED} == {"standard"}
    assert work.pattern.body == "bust 92, cup C (75C)"
    assert not work.pattern.stopped
    notes = [spoken(f) for f in work.findings if "bust 92, cup C (75C)" in spoken(f)]
    assert len(notes) == 1
    assert not any("measured; assumed" in spoken(f) or "is by rule" in spoken(f) for f in work.findings)
    assert parse_order(write_order(order)) == order
    assert [r for r in judge_order(order) if r.kind != "note"] == []


def test_a_bare_standard_body_is_never_written_as_readings() -> None:
    for make in (lambda b: write_order(Order("x", b)), lambda b: new_order(body=b)):
        with pytest.raises(OrderError, match="are no readings"):
            make(standard_body(920, "C"))


def test_random_subsets_go_through_reading_resolving_writing_and_reading() -> None:
    rng = random.Random(20261)
    drawn = 0
    for _ in range(120):
        taken = {k: v + rng.uniform(-8.0, 8.0) for k, v in HERS.items() if rng.random() < 0.5}
        if rng.random() < 0.4:
            taken |= {"hip": 980.0, "side_length": 210.0}
        left = {"bust_to_waist": 188.0} if rng.random() < 0.3 else {}
        right = {"bust_point": 96.0} if rng.random() < 0.3 else {}
        size = Standard(float(rng.randrange(760, 1240, 10)), rng.choice("ABCDEF"))
        unit: Any = rng.choice(["cm", "mm", "in"])
        body = order_body(taken, left, right, standard=size)
        order = Order("x", body, unit=unit)
        missing = tuple(k for k in REQUIRED if k not in taken)
        assert body.not_taken == missing
        assert {k for k in REQUIRED if body.state(k) == "taken"} == set(REQUIRED) & set(taken)
        text = write_order(order)
        again = parse_order(text)
        assert again == order
        assert write_order(again) == text
        assert again.body.measured() == taken
        try:
            work = work_out(order)
        except OrderError:
            # Her figures and a stranger's may make no body: then nothing is drawn at all.
            assert missing
            continue
        drawn += 1
        assert work.pattern.not_taken == missing
        assert bool(missing) == any(spoken(f).startswith("Not taken") for f in work.findings)
        if missing:
            assert work.findings[0].level == "stop"
            assert ", ".join(k.replace("_", " ") for k in missing) in spoken(work.findings[0])
    assert drawn > 60


def test_a_size_that_stood_by_changes_nothing_once_all_is_taken() -> None:
    body = order_body(HERS, standard=DEFAULT_STANDARD)
    assert body.not_taken == ()
    assert replace(body, standard=None) == order_body(HERS)
