"""A commented house to start from, and docs/house-file.md, both from the table of keys."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from decimal import Decimal
from typing import Any, Final

from coutil.order.costs import Hours, Money, Notions
from coutil.order.house import HOUSE_LISTS, HOUSE_TABLES, VERSION, parsed_by
from coutil.order.key import Key
from coutil.order.keys import TABLES
from coutil.order.model import BoneBuild, Build, Ease, Kit, Lace, Lining, PadBuild, Unit
from coutil.order.shelf import USUAL_BONES, USUAL_EYELET, Maker
from coutil.seaming import CLOSINGS
from coutil.units import plain_number

# What stands at a key where nothing is said.
_USUAL: Final[dict[str, Any]] = {
    "maker": Maker(),
    "rates": Money(),
    "hours": Hours(),
    "notions": Notions(),
    "build": Build(),
    "build.pad": PadBuild(),
    "build.lining": Lining(),
    "build.lace": Lace(),
    "build.kit": Kit(),
    "build.bones": BoneBuild(),
}
# Usual eases by what closes the centre back, in mm (common practice, no source): zip and hooks firmer than lacing,
# which is drawn in by hand; the middle of the usual ranges, underbust -2 to -4 cm, waist -2 to -5, bust 0 to -2.
EASES: Final[dict[str, Ease]] = {
    closing: Ease(bust=-10.0, underbust=-25.0, waist=-40.0 if closing == "lacing" else -25.0) for closing in CLOSINGS
}
# An entry of each list to start from, in the units that such things are sold in.
_ENTRIES: Final = {
    "cloth": ('name = "corset coutil"', 'for = ["strength"]', 'width = "1.5 m"', 'price = "18.50"', 'currency = "EUR"'),
    "bone": tuple(
        line
        for b in USUAL_BONES
        for line in (
            f'name = "{b.name}"',
            f'kind = "{b.kind}"',
            f'width = "{b.width:g} mm"',
            f"for = {list(b.places)!r}".replace("'", '"'),
        )
    )[:4],
    "eyelet": (
        f'name = "{USUAL_EYELET.name}"',
        f'hole = "{USUAL_EYELET.hole:g} mm"',
        f'rim = "{USUAL_EYELET.rim:g} mm"',
    ),
    "cup": ('name = "moulded cup"', 'size = "75C"', 'base = "12 cm"', 'depth = "5.5 cm"', "volume = 350"),
    "wire": ('name = "wire 75C"', 'length = "20 cm"', 'diameter = "12 cm"'),
}


def new_house(*, unit: Unit = "cm") -> str:
    """The text of a new house file: every key explained, nothing in force but what is usual; plain numbers in `unit`.

    `parse_house` accepts the text as it stands, and an order that takes from it is made as one without a house.
    """
    text = "\n".join(_lines(unit)) + "\n"
    parsed_by(text)
    return text


def _lines(unit: Unit) -> Iterator[str]:
    yield from _remark(
        "The house: what is the maker's and not one order's. An order takes from here what it does not say itself. "
        "docs/house-file.md explains every key. Take off the # that stands before a key to state it."
    )
    yield from _remark(f'A length is a number in {unit}, or a text with its own unit: "36 1/4 in", "9,5 cm", "10 mm".')
    yield f"coutil_house = {VERSION}"
    yield f'unit = "{unit}"'
    for name, table in HOUSE_TABLES:
        yield ""
        by_header = name in ("build.lining", "build.kit")
        if by_header:
            yield from _remark(TABLES[table].says)
        yield f"{'# ' if by_header else ''}[{name}]"
        for key in TABLES[table].keys:
            value = _usual(name, key, unit)
            shown = f"# {key.name} = {value}" if value else f"# {key.name} ="
            yield f"{shown}   # {key.says}" if value else f"{shown}   # {key.says} ({key.default})"
    for name in HOUSE_LISTS:
        yield ""
        yield from _remark(TABLES[name].says)
        yield f"# [[{name}]]"
        yield from (f"# {line}" for line in _ENTRIES[name])


def _usual(table: str, key: Key, unit: Unit) -> str:
    """What is usual at a key, as it stands in the file; "" where nothing is."""
    if table.startswith("ease."):
        return _figure(key, getattr(EASES[table.removeprefix("ease.")], key.name), unit)
    usual = _USUAL.get(table)
    return "" if usual is None else _figure(key, getattr(usual, key.name), unit)


def _figure(key: Key, value: Any, unit: Unit) -> str:
    match value:
        case None | "":
            return ""
        case bool():
            return str(value).lower()
        case tuple():
            return str(list(value)).replace("'", '"')
        case Decimal():
            return f"{value:f}"
        case float() if key.kind == "length":
            written = plain_number(value, unit)
            return f'"{written}"' if isinstance(written, str) else f"{written:g}"
        case str():
            return f'"{value}"'
    return str(value)


def _remark(text: str) -> list[str]:
    return textwrap.wrap(text, 100, initial_indent="# ", subsequent_indent="# ")


def house_page() -> str:
    """docs/house-file.md as Markdown, ending with a line end."""
    return "\n".join(_page()) + "\n"


def _page() -> Iterator[str]:
    yield "# The house file\n"
    yield (
        "What is the maker's and not one order's, in TOML. This page is made by `coutil.order.house_page` from the "
        "table of keys; do not edit it. `coutil house` writes a file to start from; `--house FILE` gives it to a "
        "command.\n"
    )
    yield (
        "An order takes from the house what it does not say itself, key by key; its own keys win. Cloths of the house "
        "serve the layers that none of the order's cloths is for; bones, eyelets, cups and wires are the order's own "
        "list or else the house's. `[build.lining]` and `[build.kit]` of the house are taken by an order without a "
        "`[build]` of its own; one with it says itself whether it has them. Prices are left out where the order counts "
        "in another currency. `coutil make --house` writes the order with a stamp of the house, a table `[house]`: "
        "such an order keeps to the stamp, whatever becomes of the house.\n"
    )
    yield (
        "Lengths and limits are those of [the order file](order-file.md), which tells every key that both share; the "
        "tables that bear another name here:\n"
    )
    yield "| house | order | what it says |"
    yield "| --- | --- | --- |"
    for name, table in HOUSE_TABLES:
        yield f"| `[{name}]` | `[{table}]` | {TABLES[table].says} |"
    for name in HOUSE_LISTS:
        yield f"| `[[{name}]]` | `[[{name}]]` | {TABLES[name].says} |"
    yield ""
    yield "Before the first header stand `coutil_house`, the version of this format (1), and `unit`, as in an order."
