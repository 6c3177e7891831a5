"""Ready cups and wires from the shelf: the best for the pattern, what differs, what a cup that is used changes."""

from __future__ import annotations

import math

import pytest

from coutil.docket import Docket, make_docket, making_up
from coutil.docket.ready import best_cup, best_wire, wire_line
from coutil.make import Work, work_out
from coutil.order import ReadyCup, Wire, parse_order
from coutil.pattern import Cup
from order_texts import BODY
from spoken import spoken

CUP = Cup("both", 45.0, 300.0, 60.0, 0.8)


def made(text: str) -> tuple[Work, Docket]:
    work = work_out(parse_order(BODY + text))
    return work, make_docket(work.order, work.pattern, None)


def test_the_best_cup_is_the_nearest_by_base_and_depth() -> None:
    """A base of 120 and a depth of 45: a tenth too wide counts as much as a tenth too deep."""
    wide, deep, small = ReadyCup("wide", 132.0, 45.0), ReadyCup("deep", 120.0, 54.0), ReadyCup("small", 108.0, 40.5)
    assert best_cup((deep, small, wide), CUP) is wide
    assert best_cup((deep, small), CUP) is small
    assert best_cup((), CUP) is None


def test_the_best_wire_is_as_long_as_the_lower_half_of_the_root() -> None:
    assert wire_line(CUP) == pytest.approx(math.pi * 60.0)
    a, b = Wire("a", 180.0), Wire("b", 195.0)
    assert best_wire((a, b), CUP) is b
    assert best_wire((), CUP) is None


SHELF = """
[[cup]]
name = "round"
size = "75C"
base = "14 cm"
depth = "5 cm"
price = 9
[[wire]]
name = "long"
length = "22 cm"
[money]
currency = "EUR"
"""


def test_what_differs_is_told() -> None:
    work, docket = made(SHELF)
    cup = work.pattern.cups[0]
    says = {f.code: spoken(f) for f in docket.findings if f.code.startswith("cup.")}
    assert set(says) == {"cup.ready", "cup.wire"}
    off = 140.0 - 2 * cup.base_radius_mm
    assert "round 75C fits best" in says["cup.ready"]
    assert ("wider" if off > 0 else "narrower") in says["cup.ready"]
    assert f"{abs(off) / 10:.1f} cm" in says["cup.ready"].replace("≈", "") or abs(off) < 10
    assert {p.layer for p in work.pattern.pieces} >= {"foam", "web"}
    assert not any(m.what.startswith("pair of cups") for m in docket.materials)


def test_a_cup_that_is_used_takes_the_place_of_the_pads() -> None:
    work, docket = made(SHELF.replace("price = 9", "price = 9\nused = true"))
    assert not {p.layer for p in work.pattern.pieces} & {"foam", "web"}
    assert all(p.placement == () for p in work.pattern.pieces)
    (bought,) = [m for m in docket.materials if m.what.startswith("pair of cups")]
    assert (bought.what, bought.quantity, bought.cost) == ("pair of cups, round 75C", 1, 9)
    titles = [s.title for s in making_up(work.order, work.pattern, docket)]
    assert "Set in the ready cups" in titles
    assert "Set the pads" not in titles


def test_a_cup_that_does_not_fit_is_warned_of() -> None:
    far = SHELF.replace('base = "14 cm"', 'base = "20 cm"').replace("price = 9", "used = true")
    assert {f.code for f in made(far)[1].findings if f.level == "warn"} >= {"cup.ready_far"}


def test_without_a_shelf_nothing_is_said() -> None:
    assert not [f for f in made("")[1].findings if f.code.startswith("cup.")]
