"""Every length that a tape or a ruler bears, typed: it reads back as itself wherever it is written down or shown."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coutil.book.texts import tape_text, with_body
from coutil.order import new_order, parse_order, read_order, write_order
from coutil.units import ABOUT, inches, parse_length, parse_or_none, plain_number
from coutil.units import full as on_sheets
from coutil.web.edits import Edit, edited
from coutil.web.lengths import exact, near, snapped, stated, stepped, typed
from coutil.web.values import shown_text
from web_page import Window

DEMO = Path(__file__).parents[1] / "examples" / "sea-green.toml"
INCH = Fraction(254, 10)
# Up to 60 in by the finest part that rulers bear, as fractions and as decimals; up to 3 m in millimetres.
SIXTEENTHS = [Fraction(n, 16) for n in range(1, 961)]
TENTHS = range(1, 3001)


def fraction(n: Fraction) -> str:
    whole, rest = divmod(n, 1)
    return " ".join(str(p) for p in (whole or None, rest or None) if p is not None)


def decimal(n: Fraction) -> str:
    return f"{float(n)!r}".removesuffix(".0")


# What is typed, the unit that it counts in, and the length in mm that it says, by arithmetic without floats.
IN_INCHES = [(spelt(n), "in", n * INCH) for n in SIXTEENTHS for spelt in (fraction, decimal)]
IN_CM = [(decimal(Fraction(n, 10)), "cm", Fraction(n)) for n in TENTHS]
IN_MM = [(f"{n}", "mm", Fraction(n)) for n in TENTHS]
ALL = [*IN_INCHES, *IN_CM, *IN_MM]


def test_a_number_and_a_text_say_the_very_same_length() -> None:
    for text, unit, mm in ALL:
        assert parse_length(f"{text} {unit}", "cm") == float(mm)
        if "/" not in text:
            assert parse_length(float(text), unit) == float(mm), (text, unit)
    assert parse_length(33, "in") == parse_length(33.0, "in") == 838.2


def test_every_typed_length_is_written_as_the_number_that_was_typed() -> None:
    for text, unit, mm in ALL:
        n = float(sum(Fraction(p) for p in text.split()))
        assert plain_number(float(mm), unit) == n, (text, unit)
    assert plain_number(parse_length(33, "in"), "in") == 33


def test_what_a_tape_shows_is_written_shortly_in_another_unit() -> None:
    """Every number or text that the order's writer makes reads back; none has more than seven decimals."""
    for _, _, mm in ALL:
        for unit in ("cm", "mm", "in"):
            made = plain_number(float(mm), unit)
            assert parse_length(made, unit) == float(mm)
            assert len(str(made).partition(".")[2]) <= 7, (mm, unit, made)
    assert plain_number(920.0, "in") == "92 cm"
    assert plain_number(925.0, "in") == "92.5 cm"


@pytest.mark.parametrize("unit", ["cm", "mm", "in"])
def test_an_order_file_holds_them_all(unit: Any) -> None:
    """Written by `write_order` and read again: forty lengths of a body at a time would be no body, so as remnants."""
    order = replace(read_order(DEMO), unit=unit)
    lengths = [float(mm) for _, _, mm in ALL if 20 <= mm <= 3000]
    for at in range(0, len(lengths), 400):
        part = lengths[at : at + 400]
        pairs = tuple(zip(part[::2], part[1::2], strict=False))
        wanted = replace(order, cloth=(replace(order.cloth[0], remnants=pairs), *order.cloth[1:]))
        assert parse_order(write_order(wanted)) == wanted


@pytest.mark.parametrize("order_unit", ["cm", "mm", "in"])
def test_on_the_page_every_one_reads_back_as_itself(order_unit: str) -> None:
    """Typed bare by a person of either unit: what goes into the order, and what is put into the field again."""
    for text, unit, mm in ALL:
        if unit == "mm":
            text = f"{text} mm"
        person = "in" if unit == "in" else "cm"
        stands = typed(text, person, order_unit)
        length = parse_length(stands, order_unit)
        assert length == float(mm), (text, person, order_unit)
        for reader in ("cm", "in"):
            shown, field = stated(stands, length, reader, order_unit)
            assert parse_length(field, "mm") == length, (text, reader, field)
            if reader == person:
                # Said as the same figure, in the unit that it was typed in.
                assert parse_or_none(shown) == length, (text, order_unit, shown)
            # Sent as it stands, by either person, it is the same length again.
            assert parse_length(typed(field, reader, order_unit), order_unit) == length


def test_on_the_sheets_every_one_is_the_figure_that_was_typed() -> None:
    for text, unit, mm in ALL:
        printed = on_sheets(float(mm))
        if unit == "in":
            part = inches(float(mm))
            assert part in printed
            assert not part.startswith(ABOUT)
            assert parse_length(part, "mm") == float(mm), (text, printed)
        else:
            part = printed.partition(" (")[0]
            assert parse_length(part, "mm") == float(mm), (text, printed)


def test_the_marks_of_the_ruler_are_what_their_fractions_say() -> None:
    for n in SIXTEENTHS:
        mm = float(n * INCH)
        assert snapped(mm, "in") == mm
        assert stepped(mm, 1, "in") == float((n + Fraction(1, 16)) * INCH)
        assert stepped(mm, -1, "in") == float((n - Fraction(1, 16)) * INCH)
        assert exact(mm, "in") == f"{fraction(n)} in"
        assert stepped(mm + 0.3, 1, "in") == float((n + Fraction(1, 16)) * INCH), "on to the next mark"


def test_decimals_of_an_inch_stay_as_they_were_typed() -> None:
    for text in ("12.03125", "12.06", "33.3333", "0.015625", ".5", "33,5", "33."):
        stands = typed(text, "in", "in")
        assert stands == float(text.replace(",", "."))
        length = parse_length(stands, "in")
        assert parse_length(stated(stands, length, "in", "in")[0], "mm") == length
    assert typed("12 1/16", "in", "in") == "12 1/16 in"


@given(
    st.floats(-3000, 3000, allow_subnormal=False).filter(lambda x: x == 0 or abs(x) > 1e-6),
    st.sampled_from(["cm", "in"]),
)
def test_what_is_put_into_a_field_reads_back(mm: float, unit: str) -> None:
    assert parse_length(exact(mm, unit), "cm") == mm
    # What was never typed is told nearly, and what is told so is told the same again.
    again = parse_length(near(mm, unit), "cm")
    assert abs(again - mm) <= 2e-4
    assert near(again, unit) == near(mm, unit)


# --- another unit for the order


@pytest.mark.parametrize("unit", ["in", "mm"])
def test_another_unit_of_the_order_changes_no_length(unit: str) -> None:
    text = DEMO.read_text("utf-8")
    before = parse_order(text)
    after = edited(text, Edit("unit", text=unit), "cm")
    assert replace(parse_order(after), unit="cm") == before
    assert tomllib.loads(after)["body"]["bust"] == "96 cm", "as it was typed"
    back = edited(after, Edit("unit", text=""), "cm")
    assert parse_order(back) == before


def test_places_and_pairs_and_panels_keep_their_lengths() -> None:
    text = (
        new_order().split("[style]")[0]
        + '[pattern]\nfile = "mine.svg"\nscale = 0.1\n[[pattern.panels]]\noutline = "1"\nbust_point = [7.5, "3 in"]\n'
        + 'waist = "4,5"\nallowances = [1.5, "1/2"]\ncorners = [[1, 2], [3, 4]]\n'
        + '[[pattern.seams]]\nname = "a"\na = ["x", "side"]\nb = ["y", "side"]\nease = 0.3\n'
        + '[[cloth]]\nname = "c"\nfor = ["shell"]\nwidth = 140\nsheet = [30, 45.5]\n'
        + 'remnants = [[30, 45], [20, "1 yd"]]\n'
    )
    before = parse_order(text)
    after = parse_order(edited(text, Edit("unit", text="in"), "cm"))
    assert replace(after, unit="cm") == before


# --- through the page's own door


def test_a_typed_length_goes_through_the_page_and_back(window: Window) -> None:
    window.post("/api/settings", {"unit": "in"})
    for order_unit in ("cm", "in"):
        assert window.edit("unit", order_unit).status_code == 200
        for text, wanted in (("33", "33 in"), ("32 15/16", "32 15/16 in"), ("33.0625", "33 1/16 in")):
            answer = window.edit("body.waist", text)
            assert answer.status_code == 200, answer.text
            value = window.sheet()["values"]["body.waist"]
            field = value.get("edit", value["text"])
            assert parse_length(field, "cm") == parse_length(wanted, "cm")
            assert "mm" not in field
            # The other person sends back what her field shows, and nothing has changed.
            window.post("/api/settings", {"unit": "cm"})
            theirs = window.sheet()["values"]["body.waist"]
            assert window.edit("body.waist", theirs.get("edit", theirs["text"])).status_code == 200
            file = window.get(f"/api/orders/{window.order}/file/order.toml").text
            assert parse_order(file).body.waist == parse_length(wanted, "cm")
            window.post("/api/settings", {"unit": "in"})


def test_every_sixteenth_that_a_waist_may_have_is_shown_as_it_was_typed() -> None:
    """Without a server: the edit, the reader and what the page shows, one by one, in an order that counts in inches."""
    text = edited(DEMO.read_text("utf-8"), Edit("unit", text="in"), "in")
    for n in (Fraction(k, 16) for k in range(22 * 16, 36 * 16)):
        for spelt in (fraction, decimal):
            made = edited(text, Edit("body.waist", text=spelt(n)), "in")
            order = parse_order(made)
            shown = shown_text("body.waist", tomllib.loads(made), order, None, "in")
            assert shown == f"{fraction(n)} in"
            assert parse_length(write_and_look(order), "in") == float(n * INCH)


def write_and_look(order: Any) -> Any:
    return plain_number(order.body.waist, order.unit)


# --- tapes of a client


def test_a_tape_keeps_how_it_was_taken_and_so_does_the_order_it_goes_into() -> None:
    text = DEMO.read_text("utf-8")
    for key, typed_there in (("bust", '"37 13/16 in"'), ("underbust", "79.5"), ("waist", '"27"')):
        line = next(row for row in text.splitlines() if row.startswith(f"{key} "))
        wanted = f"{key} = {typed_there}"
        text = text.replace(line, wanted if key != "waist" else 'waist = "68,5"')
    tape = tape_text(text, "tape")
    assert (
        tomllib.loads(tape)["body"] | {"bust": "37 13/16 in", "underbust": 79.5, "waist": "68,5"}
        == tomllib.loads(tape)["body"]
    )
    in_inches = edited(DEMO.read_text("utf-8"), Edit("unit", text="in"), "cm")
    made = with_body(in_inches, tape)
    assert parse_order(made).body == parse_order(text).body
    body = tomllib.loads(made)["body"]
    assert (body["bust"], body["underbust"], body["waist"]) == ("37 13/16 in", "79.5 cm", "68,5 cm")
