"""The house: an order takes from it what it does not say, wins over it, and keeps what it was stamped with."""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path

import pytest
from click.testing import CliRunner

from coutil.book import open_book
from coutil.cli import coutil
from coutil.order import (
    BoneKind,
    Ease,
    Kit,
    Lining,
    Maker,
    OrderError,
    house_page,
    new_house,
    parse_house,
    parse_order,
    stamped,
    write_order,
)
from coutil.order.house import HOUSE_LISTS, HOUSE_TABLES
from coutil.order.keys import TABLES
from order_texts import BODY

ROOT = Path(__file__).parent.parent
HOUSE = """
coutil_house = 1
unit = "in"
[maker]
name = "Fen & Daughters"
address = "1 Quay\\nHarbour"
tax_number = "GB 12"
[rates]
currency = "GBP"
hour = 30
[hours]
sew = 5
[notions]
eyelet_price = "0.20"
eyelet_spacing = 1
[build]
allowance = "5/8 in"
[build.allowances]
hem = 1
[build.pad]
apart = "12 mm"
[build.lining]
fused = true
[build.kit]
stay_less = "2 cm"
[ease.lacing]
waist = "-4 cm"
bust = -0.5
[ease.zip]
waist = "-2 cm"
[[cloth]]
name = "coutil"
for = ["shell", "lining"]
width = 60
price = 20
currency = "GBP"
[[bone]]
name = "spiral"
kind = "spiral_steel"
width = "6 mm"
lengths = [8, 9]
price = 2
"""


def test_an_order_takes_what_it_does_not_say() -> None:
    o = parse_order(BODY, house=parse_house(HOUSE))
    assert o.maker == Maker("Fen & Daughters", "1 Quay\nHarbour", "GB 12")
    assert (o.money.currency, o.money.hour, o.hours.sew) == ("GBP", 30, 5)
    assert (o.notions.eyelet_price, o.notions.eyelet_spacing) == (Decimal("0.20"), 25.4)
    assert (o.build.allowance, o.build.allowances, o.build.pad.apart) == (15.875, {"hem": 25.4}, 12.0)
    assert (o.build.lining, o.build.kit) == (Lining(True), Kit(stay_less=20.0))
    assert o.style.ease == Ease(bust=-12.7, waist=-40.0)
    assert [(c.name, c.layers, c.width) for c in o.cloth] == [("coutil", ("shell", "lining"), 1524.0)]
    assert o.shelf.bones == (BoneKind("spiral", "spiral_steel", 6.0, lengths=(203.2, 228.6), price=Decimal(2)),)


def test_an_orders_own_keys_win() -> None:
    own = """
[maker]
name = "Someone else"
[money]
hour = 45
[build]
allowance = 1
[build.pad]
apart = 2
[style]
closing = "zip"
[style.ease]
waist = 3
[[cloth]]
name = "satin"
for = ["shell"]
[[bone]]
name = "flat"
kind = "flat_steel"
width = 0.9
"""
    o = parse_order(BODY + own, house=parse_house(HOUSE))
    assert (o.maker.name, o.maker.tax_number) == ("Someone else", "GB 12")
    assert (o.money.hour, o.build.allowance, o.build.pad.apart, o.style.ease.waist) == (45, 10.0, 20.0, 30.0)
    # Its own [build] says nothing of a lining or a kit, so it has neither; what else it leaves out is the house's.
    assert (o.build.lining, o.build.kit, o.build.allowances) == (None, None, {"hem": 25.4})
    # A list is the order's or the house's; a cloth of the house serves layers that none of the order's is for.
    assert [b.name for b in o.shelf.bones] == ["flat"]
    assert [(c.name, c.layers) for c in o.cloth] == [("satin", ("shell",)), ("coutil", ("lining",))]


def test_eases_are_those_of_what_closes_it() -> None:
    house = parse_house(HOUSE)
    assert parse_order(BODY + '[style]\nclosing = "zip"', house=house).style.ease == Ease(waist=-20.0)
    assert parse_order(BODY + '[style]\nclosing = "hooks"', house=house).style.ease == Ease()


def test_prices_in_another_currency_are_left_out() -> None:
    o = parse_order(BODY + '[money]\ncurrency = "EUR"', house=parse_house(HOUSE))
    assert (o.money.currency, o.money.hour, o.notions.eyelet_price) == ("EUR", None, None)
    assert (o.cloth[0].price, o.shelf.bones[0].price) == (None, None)
    assert o.notions.eyelet_spacing == 25.4


def test_a_stamp_holds_whatever_becomes_of_the_house() -> None:
    house = parse_house(HOUSE)
    text = "# a remark\n" + BODY
    kept = stamped(text, house)
    assert "# a remark" in kept
    assert parse_order(kept) == parse_order(text, house=house)
    dearer = parse_house(HOUSE.replace("hour = 30", "hour = 90"))
    assert parse_order(kept, house=dearer).money.hour == 30
    assert stamped(kept, dearer) == kept
    assert parse_house(HOUSE) == house


def test_an_order_that_took_from_a_house_is_written_whole() -> None:
    o = parse_order(BODY, house=parse_house(HOUSE))
    assert parse_order(write_order(o)) == o


@pytest.mark.parametrize("unit", ["cm", "mm", "in"])
def test_a_new_house_tells_every_key_and_changes_nothing(unit: str) -> None:
    text = new_house(unit=unit)  # type: ignore[arg-type]
    assert parse_order(BODY, house=parse_house(text)) == parse_order(BODY)
    for name, table in HOUSE_TABLES:
        part = text.split(f"[{name}]\n", 1)[1].split("\n\n", 1)[0]
        for key in TABLES[table].keys:
            assert f"# {key.name} =" in part, (name, key.name)
    for name in HOUSE_LISTS:
        assert f"# [[{name}]]" in text


@pytest.mark.parametrize("unit", ["cm", "in"])
def test_what_stands_behind_a_hash_in_a_new_house_can_be_put_in_force(unit: str) -> None:
    lines = []
    for line in new_house(unit=unit).splitlines():  # type: ignore[arg-type]
        bare = line.removeprefix("# ")
        told = re.match(r"[a-z_]+ = \S", bare) or bare.startswith("[")
        lines.append(bare if told else line)
    house = parse_house("\n".join(lines))
    o = parse_order(BODY + "[build.lining]\n[build.kit]\n", house=house)
    # Usual eases (common practice, no source): bust 0 to -2 cm, underbust -2 to -4, waist -2 to -5.
    assert o.style.ease == Ease(-10.0, -25.0, -40.0)
    assert o.build.kit == Kit()
    assert [c.name for c in o.shelf.cups] == ["moulded cup"]


def test_a_book_that_keeps_a_house_stamps_its_orders(tmp_path: Path) -> None:
    place, house = str(tmp_path / "b.coutil"), tmp_path / "house.toml"
    house.write_text(HOUSE)
    with open_book(place) as b:
        before = b.add_order(BODY)
        assert b.house() is None
    assert CliRunner().invoke(coutil, ["house", str(house), "--keep", "--book", place]).exit_code == 0
    kept = CliRunner().invoke(coutil, ["house", "--kept", "--book", place]).output
    assert parse_house(kept) == parse_house(HOUSE)
    with open_book(place) as b:
        made = b.add_order(BODY)
        assert parse_order(made.text) == parse_order(BODY, house=parse_house(HOUSE))
        b.keep_house(HOUSE.replace("hour = 30", "hour = 90"))
        # A later house leaves it as it was, and so it does what was there before there was a house.
        assert parse_order(b.order(made.id).text).money.hour == 30
        assert parse_order(b.order(before.id).text).money.hour is None
        assert parse_order(b.add_order(BODY).text).money.hour == 90
        with pytest.raises(OrderError):
            b.keep_house("[rates]\nhour = 'much'\n")


def test_a_refusal_names_the_houses_own_table() -> None:
    with pytest.raises(OrderError) as e:
        parse_house(
            "[rates]\nhuor = 3\n[ease.lacing]\nwaist = 90\n[[bone]]\nname = 3\nkind = 'cane'\nwidth = 1", "my.toml"
        )
    said = "\n".join(e.value.problems)
    for part in ("my.toml: [rates] huor", "[ease.lacing] waist = 90", "[[bone]] no. 1 name = 3"):
        assert part in said


def test_the_page_is_fresh() -> None:
    page = (ROOT / "docs" / "house-file.md").read_text(encoding="utf-8")
    assert page == house_page(), "docs/house-file.md is stale: write coutil.order.house_page() to it"


def test_the_command_writes_one_and_make_stamps_it(tmp_path: Path) -> None:
    house, out = tmp_path / "house.toml", tmp_path / "out"
    assert CliRunner().invoke(coutil, ["house", str(house)]).exit_code == 0
    house.write_text(HOUSE)
    order = tmp_path / "o.toml"
    order.write_text(BODY)
    made = CliRunner().invoke(
        coutil, ["make", str(order), "-o", str(out), "--quick", "--paper", "a0", "--house", str(house)]
    )
    assert made.exit_code == 0, made.output
    assert parse_order((out / "o.toml").read_text(), name="o") == parse_order(BODY, name="o", house=parse_house(HOUSE))
    printed = CliRunner().invoke(coutil, ["house", str(house), "--stamp", str(order)])
    assert printed.output == stamped(BODY, parse_house(HOUSE))
    house.write_text("[rates]\nhour = 'much'\n")
    refused = CliRunner().invoke(coutil, ["draft", str(order), "--house", str(house)])
    assert (refused.exit_code, "house.toml: [rates] hour" in refused.output) == (2, True)
