"""docs/order-file.md, made from the table of keys. A test compares the two."""

from __future__ import annotations

from collections.abc import Iterator

from coutil.order.key import Table
from coutil.order.keys import LISTED, TABLES


def order_page() -> str:
    """The whole page as Markdown, ending with a line end."""
    return "\n".join(_page()) + "\n"


def _page() -> Iterator[str]:
    yield "# The order file\n"
    yield (
        "One garment for one client, in TOML. This page is made by `coutil.order.order_page` from the table that the "
        "reader works from; do not edit it. `coutil new` writes a file to start from; `examples/sea-green.toml` is one "
        "that is filled in.\n"
    )
    yield (
        'A length is a number in `unit`, or a text with its own unit: `92`, `"36 1/4 in"`, `"1½ in"`, `"9,5 cm"`, '
        '`"10 mm"`. Only `[body]` is required. Unknown keys are refused with the nearest known one. Every refusal '
        "names the file, the table, the key, the value and what is allowed, one line each. The limits are judgement, "
        "no source: they are there to catch slips.\n"
    )
    for table in TABLES.values():
        yield from _section(table)


def _section(table: Table) -> Iterator[str]:
    if table.name == "":
        yield "## Top of the file\n"
    elif table.name in LISTED:
        yield f"## `[[{table.name}]]`\n"
    else:
        yield f"## `[{table.name}]`\n"
    yield f"{table.says}\n"
    yield "| key | what it says | allowed | left out |"
    yield "| --- | --- | --- | --- |"
    for k in table.keys:
        left_out = k.default
        if k.required:
            left_out = "**needed**" if k.default == "none" else f"**needed**, {k.default}"
        yield f"| `{k.name}` | {k.says} | {k.allowed} | {left_out} |"
    yield ""
