"""Whose order is typed in inches reads inches first, on every sheet; with cm the other way round."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from coutil.make import Document, documents, lay_out, work_out
from coutil.order import parse_order
from coutil.units import both, full, leading, plain
from order_texts import BODY
from printed import pages_of, words_of

MORE = """
[style]
closing = "lacing"
[build.kit]
gripper = true
[build.bones]
extra = "always"
[build.lining]
[money]
currency = "EUR"
hour = 30
[[cloth]]
name = "satin"
for = ["shell", "lining"]
width = "140 cm"
"""
METRIC_FIRST = r"[0-9.]+ (?:cm|mm) \([^()]* in\)"
INCHES_FIRST = r"[0-9/]+ in \([^()]* [cm]m\)"


def inched(text: str) -> str:
    """The body's plain numbers of cm as texts in inches."""
    return re.sub(r"(?m)^([a-z_]+) = ([0-9.]+)$", lambda m: f'{m[1]} = "{round(float(m[2]) / 2.54 * 16)}/16 in"', text)


ORDERS = {"cm": BODY + MORE, "in": inched(BODY) + MORE, "file in inches": 'unit = "in"\n' + inched(BODY) + MORE}


@cache
def made(name: str) -> tuple[Document, ...]:
    return tuple(documents(lay_out(work_out(parse_order(ORDERS[name])), seconds=0.5), papers=("a4",)))


def test_who_prints_on_letter_has_every_sheet_on_letter(tmp_path: Path) -> None:
    """8 1/2 by 11 in, in points of 1/72 in; each lay still has a page of its own."""
    work = lay_out(work_out(parse_order(ORDERS["in"])), seconds=0.5)
    seen = set()
    for paper, size in (("letter", (612.0, 792.0)), ("a4", (595.28, 841.89))):
        for d in documents(work, papers=(paper,)):
            if d.name.endswith(".pdf"):
                pages = pages_of(d.data, tmp_path)
                assert pages
                for page in pages:
                    # The pattern lies across where that takes fewer sheets.
                    assert sorted(page) == pytest.approx(size, abs=0.1), d.name
                seen.add(d.name)
                if d.name == "lays.pdf" and work.plan is not None:
                    assert len(pages) == len(work.plan.lays)
    assert {"card.pdf", "docket.pdf", "quote.pdf", "lays.pdf", "lesson.pdf", "toile-card.pdf"} <= seen


@pytest.mark.parametrize("name", ORDERS)
def test_every_sheet_tells_the_orders_own_unit_first(name: str, tmp_path: Path) -> None:
    first, second = (METRIC_FIRST, INCHES_FIRST) if name == "cm" else (INCHES_FIRST, METRIC_FIRST)
    seen = set()
    for d in made(name):
        if d.name.endswith(".pdf"):
            text = words_of(d.data, tmp_path)
        elif d.name.endswith(".txt"):
            text = " ".join(d.data.decode().split())
        else:
            continue
        assert re.findall(second, text) == [], d.name
        if re.search(first, text):
            seen.add(d.name)
        if name != "cm" and d.name in ("card.pdf", "lays.pdf"):
            # Nothing is told in cm alone either; the sketches and the gap of a lay are told in one unit.
            alone = re.sub(rf"{first}|[0-9.]+ mm|[0-9.]+ cm\)", "", text)
            assert re.findall(r"[0-9.]+ cm\b", alone) == [], d.name
    assert {"card.pdf", "docket.pdf", "lays.pdf", "lesson.pdf", "toile-card.pdf"} <= seen


def test_the_unit_is_that_of_most_readings() -> None:
    assert parse_order(BODY).told_in == "cm"
    assert parse_order(inched(BODY)).told_in == "in"
    assert parse_order(inched(BODY)).unit == "cm"
    one = BODY.replace("waist =", 'waist = "26 in" #', 1)
    assert parse_order(one).told_in == "cm"


def test_the_unit_holds_within_its_block_alone() -> None:
    with leading("in"):
        assert (both(95.25), full(9.525), plain(95.25)) == ("3 3/4 in (9.5 cm)", "3/8 in (9.5 mm)", "3 3/4 in")
        with leading("cm"):
            assert plain(95.25) == "9.5 cm"
    assert both(95.25) == "9.5 cm (3 3/4 in)"


def test_who_takes_documents_one_by_one_keeps_his_own_unit() -> None:
    made = documents(work_out(parse_order(ORDERS["in"])), papers=("a4",))
    next(made)
    assert plain(95.25) == "9.5 cm"
