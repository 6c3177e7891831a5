"""Writing an order: it reads back the same; a new one is valid as it stands."""

from __future__ import annotations

import tomllib
from dataclasses import fields
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coutil.body import MEASUREMENTS, REQUIRED, Body, as_asked_body, resolve_body, standard_body
from coutil.order import (
    BONED,
    LAYERS,
    ROLES,
    Build,
    Client,
    Cloth,
    Ease,
    Hours,
    Lining,
    Money,
    Notions,
    Order,
    OrderError,
    PadBuild,
    Style,
    Unit,
    judge_order,
    new_order,
    parse_order,
    read_order,
    write_order,
)
from coutil.order.keys import TABLES
from coutil.seaming import CLOSED_WITH, GAPPED, PLACES, READY, Opening, own_seaming, told_seams
from tapes import any_bodies

DEMO = Path(__file__).parent.parent / "examples" / "sea-green.toml"

LINE = st.text(st.characters(blacklist_categories=("Cc", "Cs", "Zl", "Zp")), max_size=40)
NOTE = st.text(
    st.one_of(st.characters(blacklist_categories=("Cc", "Cs", "Zl", "Zp")), st.sampled_from("\n\t\r")), max_size=80
)
NAME = LINE.filter(lambda s: bool(s.strip()))


def length(table: str, key: str) -> st.SearchStrategy[float]:
    """Any length that the key allows, with those that people write among them; nothing below a pm but 0."""
    k = TABLES[table].key(key)
    span = st.floats(k.low, k.high).filter(lambda x: x == 0 or abs(x) > 1e-9)
    tenths = st.integers(int(k.low) + 1, int(k.high)).map(float)
    return st.one_of(span, tenths)


def maybe(table: str, key: str) -> st.SearchStrategy[float | None]:
    return st.none() | length(table, key)


@st.composite
def cloths(draw: st.DrawFn, code: str = "EUR") -> Cloth:
    price = draw(st.none() | st.decimals(0, 10**6, places=draw(st.integers(0, 4)), allow_nan=False))
    width = draw(maybe("cloth", "width"))
    selvedge = draw(maybe("cloth", "selvedge"))
    pair = st.tuples(length("cloth", "sheet"), length("cloth", "sheet"))
    percent = st.none() | st.floats(0, 25)
    return Cloth(
        name=draw(NAME),
        layers=tuple(draw(st.lists(st.sampled_from(LAYERS), min_size=1, unique=True))),
        width=width,
        selvedge=None if width is not None and selvedge is not None and 2 * selvedge >= width - 1 else selvedge,
        on_hand=draw(maybe("cloth", "on_hand")),
        price=None if price is None else abs(price),
        currency=code if price is not None else draw(st.sampled_from([None, code])),
        price_per=draw(st.just(1000.0) | length("cloth", "price_per")),
        sold_by=draw(maybe("cloth", "sold_by")),
        direction=draw(st.sampled_from([None, "one-way", "two-way"])),
        laid=draw(st.sampled_from([None, "single", "folded"])),
        gap=draw(maybe("cloth", "gap")),
        shrink_length=draw(percent),
        shrink_width=draw(percent),
        sheet=draw(st.none() | pair),
        remnants=tuple(draw(st.lists(pair, max_size=3))),
        thickness=draw(maybe("cloth", "thickness")),
    )


PERCENT = st.decimals(0, 95, places=2)
PRICE = st.decimals(0, 10**6, places=4)


@st.composite
def moneys(draw: st.DrawFn, code: str) -> Money:
    return Money(
        currency=code,
        locale=draw(st.sampled_from(["en", "de_AT", "fr_CH", "ja", "ar_EG"])),
        hour=draw(st.none() | PRICE),
        overhead=draw(PERCENT),
        margin=draw(PERCENT),
        tax=draw(PERCENT),
        tax_name=draw(NAME),
        valid_days=draw(st.integers(1, 3650)),
    )


@st.composite
def notions(draw: st.DrawFn) -> Notions:
    lengths = {k.name: draw(length("notions", k.name)) for k in TABLES["notions"].keys if k.kind == "length"}
    prices = {k.name: draw(st.none() | PRICE) for k in TABLES["notions"].keys if k.kind == "money"}
    return Notions(
        bones=tuple(draw(st.lists(st.sampled_from(BONED), min_size=1, unique=True))),
        stitch=draw(st.sampled_from(["301", "401"])),
        wastage=draw(PERCENT),
        **lengths,
        **prices,
    )


# Seamings of one's own, in the words of an order: the ready ones that have a cup, under their own name.
OWN_SEAMINGS = tuple(own_seaming(told_seams(s)) for s in READY.values() if s.cup is not None)


@st.composite
def openings(draw: st.DrawFn) -> tuple[Opening, ...]:
    out = []
    for at in draw(st.lists(st.sampled_from(PLACES), unique=True, max_size=2)):
        closed_with = draw(st.sampled_from(CLOSED_WITH[at]))
        gap = draw(length("style.opening", "gap")) if closed_with in GAPPED else 0.0
        drawn = float(draw(st.integers(0, 100))) if closed_with == "elastic" else 0.0
        out.append(Opening(at, closed_with, gap, drawn))
    return tuple(out)


@st.composite
def orders(draw: st.DrawFn) -> Order:
    thickness = draw(maybe("build.pad", "thickness"))
    lining = draw(st.sampled_from([None, Lining(False), Lining(True)]))
    on = [("shell",)] if lining is None else [("shell",), ("lining",), ("shell", "lining"), ("lining", "shell")]
    roles = draw(st.lists(st.sampled_from(ROLES), unique=True))
    code = draw(st.sampled_from(["EUR", "GBP", "JPY"]))
    return Order(
        name=draw(NAME),
        unit=draw(st.sampled_from(["cm", "mm", "in"])),
        client=Client(draw(LINE), draw(NOTE)),
        body=draw(any_bodies()),
        style=Style(
            seaming=draw(st.sampled_from([s for s in READY.values() if s.bust])),
            own=draw(st.sampled_from([None, *OWN_SEAMINGS])),
            neckline=draw(st.sampled_from(["plunge", "sweetheart", "straight", "scoop", "v", "pointed"])),
            upper=draw(st.sampled_from([0.0, 0.25, 0.5, 1.0])),
            back=draw(st.sampled_from(["straight", "scoop", "v"])),
            hem_line=draw(st.sampled_from(["pointed", "curved"])),
            hem_point_back=draw(length("style", "hem_point_back")),
            centre_front=draw(st.sampled_from(["fold", "seam"])),
            centre_back=draw(st.sampled_from(["fold", "seam"])),
            openings=draw(openings()),
            plunge=draw(maybe("style", "plunge")),
            cup_height=draw(maybe("style", "cup_height")),
            peak=draw(length("style", "peak")),
            side_top=draw(maybe("style", "side_top")),
            back_top=draw(maybe("style", "back_top")),
            hem=draw(maybe("style", "hem")),
            hem_point=draw(length("style", "hem_point")),
            closing=draw(st.sampled_from(["lacing", "zip", "hooks"])),
            lacing_gap=draw(maybe("style", "lacing_gap")),
            ease=Ease(*(draw(maybe("style.ease", level)) for level in ("bust", "underbust", "waist", "high_hip"))),
            foam_ease=thickness is not None and draw(st.booleans()),
        ),
        build=Build(
            allowance=draw(length("build", "allowance")),
            allowances={role: draw(length("build.allowances", role)) for role in roles},
            pad=PadBuild(
                top_drop=draw(length("build.pad", "top_drop")),
                side_inset=draw(length("build.pad", "side_inset")),
                side_dip=draw(length("build.pad", "side_dip")),
                catch=draw(length("build.pad", "catch")),
                thickness=thickness,
                on=draw(st.sampled_from(on)),
            ),
            lining=lining,
        ),
        cloth=tuple(draw(st.lists(cloths(code), max_size=2))),
        money=draw(moneys(code)),
        hours=Hours(*(draw(st.decimals(0, 1000, places=2)) for _ in fields(Hours))),
        notions=draw(notions()),
    )


@settings(max_examples=150, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large], deadline=None)
@given(orders())
def test_any_order_reads_back_as_it_was(order: Order) -> None:
    assert parse_order(write_order(order)) == order


def test_the_demo_reads_back_and_keeps_its_unit_and_figures() -> None:
    order = read_order(DEMO)
    text = write_order(order)
    assert parse_order(text) == order
    written = tomllib.loads(text)
    assert written["body"]["bust"] == 96
    assert written["body"]["waist"] == 70.5
    assert "upper_bust" not in written["body"]  # assumed, so not written
    assert "neckline" not in written["style"]  # the default


def test_two_equal_fronts_survive() -> None:
    # Their sum, not the rule, is the arc: both must be written although neither differs from half the arc.
    tape = {k: getattr(standard_body(920), k) + 4.0 for k in REQUIRED}
    body = resolve_body(tape, {"front_bust": 250}, {"front_bust": 250})
    assert body.front_bust_arc == 500
    assert parse_order(write_order(Order("x", body))).body == body


def test_money_stays_decimal() -> None:
    cloth = Cloth("satin", ("shell",), price=Decimal("18.10"), currency="EUR")
    text = write_order(Order("x", as_asked_body(920), cloth=(cloth,)))
    assert tomllib.loads(text)["cloth"][0]["price"] == "18.10"


@pytest.mark.parametrize("unit", ["cm", "mm", "in"])
def test_a_new_order_is_valid_and_has_no_figures_of_a_body(unit: Unit) -> None:
    name = 'say "hello" \\ to \U000e0001 it'
    text = new_order(name=name, label="Ünï", unit=unit)
    order = parse_order(text)
    assert (order.name, order.client.label, order.unit) == (name, "Ünï", unit)
    assert order.body.not_taken == REQUIRED
    for m in MEASUREMENTS:
        assert f"\n# {m.key} =\n" in text
    assert [r for r in judge_order(order) if r.kind != "note"] == []
    assert max(len(line) for line in text.splitlines()) <= 110


def test_every_key_is_told_of_in_a_new_order() -> None:
    text = new_order()
    for name in ("", "client", "body", "style", "style.ease", "build", "build.allowances", "build.pad", "build.lining"):
        assert not name or f"[{name}]" in text
        for key in TABLES[name].keys:
            assert key.name in text, f"[{name}] {key.name}"


def test_what_stands_behind_a_hash_in_a_new_order_is_valid_too() -> None:
    lines = []
    for line in new_order().splitlines():
        bare = line.removeprefix("# ")
        key = bare.split(" = ")[0]
        lines.append(bare if bare != line and ((" = " in bare and " " not in key) or bare.startswith("[")) else line)
    order = parse_order("\n".join(lines))
    assert order.style.foam_ease
    assert order.style.hem == 100
    assert order.build.allowances == {"hem": 25.4}
    # What waits for a reading has no figure, so none can be let in by mistake.
    assert order.body.not_taken == ()
    assert order.body.as_asked
    assert (order.money.currency, order.money.hour, order.hours.fit) == ("EUR", 40, 2)
    assert order.notions.eyelet_price == Decimal("0.35")


def test_a_new_order_from_a_client_is_not_called_standard() -> None:
    body: Body = read_order(DEMO).body
    text = new_order(name="again", body=body)
    assert "Not taken yet" not in text
    assert parse_order(text).body == body


@pytest.mark.parametrize("name", ["", "two\nlines", "x" * 121])
def test_a_new_order_that_could_not_be_read_is_not_written(name: str) -> None:
    with pytest.raises(OrderError, match="name = "):
        new_order(name=name)


def test_a_new_order_keeps_the_sides() -> None:
    tape = {k: getattr(standard_body(920), k) + 4.0 for k in REQUIRED}
    body = resolve_body(tape, {"bust_to_underbust": 77.7}, {"front_waist": 188.0})
    assert parse_order(new_order(body=body)).body == body
