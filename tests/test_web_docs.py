"""docs/web-api.md tells all that the server can be asked; every text is in the catalogue; the server drafts nothing."""

from __future__ import annotations

import ast
import re
from dataclasses import replace
from pathlib import Path

import pytest

from coutil.order import new_order, parse_order
from coutil.order.keys import TABLES
from coutil.seaming import READY, own_seaming, told_seams
from coutil.web import book_calls, door_calls, order_calls, tape_calls
from coutil.web.demo import demo_text
from coutil.web.keys import LISTS, SHARED, UnknownKeyError, address
from coutil.web.sentences import SPREADS, keys_in, spreads
from coutil.words import catalogue, say

_WEB = Path(order_calls.__file__).parent
_PAGE = (Path(__file__).parents[1] / "docs" / "web-api.md").read_text("utf-8")
_ROUTES = [*door_calls.ROUTES, *book_calls.ROUTES, *tape_calls.ROUTES, *order_calls.ROUTES]


def test_the_calls_of_the_page_and_of_the_server_are_the_same() -> None:
    def plain(path: str) -> str:
        return re.sub(r"\{[a-z:]+\}|\b(ID|ONCE|NAME)\b|\.\.\.", "*", path)

    told = {(how, plain(path)) for how, path in re.findall(r"(GET|POST) (/[a-z_./A-Z]*)", _PAGE)}
    there = {(how, plain(r.path)) for r in _ROUTES for how in (r.methods or ()) if how != "HEAD"}
    assert told == there


def test_every_text_that_the_code_says_is_in_the_catalogue() -> None:
    texts = catalogue()
    for file in _WEB.glob("*.py"):
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "say"):
                continue
            key = node.args[0]
            if isinstance(key, ast.Constant):
                assert key.value in texts, (file.name, key.value)
            elif isinstance(key, ast.JoinedStr) and isinstance(key.values[0], ast.Constant):
                start = str(key.values[0].value)
                assert any(k.startswith(start) for k in texts), (file.name, start)


def test_every_code_of_an_error_has_its_sentence() -> None:
    for file in _WEB.glob("*.py"):
        for code in re.findall(r'ProblemError\(\d+, "([a-z_]+)"\)', file.read_text("utf-8")):
            assert f"error.{code}" in catalogue()


@pytest.mark.parametrize("closing", ["lacing", "zip", "hooks"])
def test_every_value_of_the_order_file_stands_in_some_sentence(closing: str) -> None:
    """So that nothing can be said in a file that the page cannot show; a pattern of one's own is a file's business."""
    text = demo_text().replace('closing = "lacing"', f'closing = "{closing}"')
    # What stands in a sentence only where there is such a thing.
    layers = 'layers = ["lace", "shell", "interfacing", "foam", "web"]'
    text = text.replace("[build]\n", f"[build]\n{layers}\n") + "\n[build.kit]\n"
    order = parse_order(text.replace("lacing_gap = 5\n", "") if closing != "lacing" else text)
    shown = set(keys_in(spreads(order, uneven=True, worst="", steps=1)))
    # A standard size is spoken of while it stands in for readings.
    begun = parse_order(new_order())
    shown |= set(keys_in(spreads(begun, uneven=False, worst="stop", steps=1)))
    # Openings told one by one, and the seams of a seaming of one's own; READY's bear every kind of seam.
    opened = text.replace(f'closing = "{closing}"\n', "").replace("lacing_gap = 5\n", "")
    for at, with_ in (("centre_back", "lacing"), ("centre_back", "elastic"), ("centre_front", "busk")):
        told = opened.replace("[build]\n", f'[[style.opening]]\nat = "{at}"\nwith = "{with_}"\n\n[build]\n', 1)
        shown |= set(keys_in(spreads(parse_order(told), uneven=False, worst="", steps=1)))
    for ready in READY.values():
        for seaming in (ready, own_seaming(told_seams(ready))):
            sewn = replace(order, style=replace(order.style, seaming=seaming))
            shown |= set(keys_in(spreads(sewn, uneven=False, worst="", steps=1)))
    for key in shown:
        address(key)
    # What stands in no sentence but is said by a button beside one.
    apart = {"coutil", "build.lining.fused", "body.confirmed", "body.standard.as_asked"}
    # Where a seam of one's own lies is settled by its place in the row, and one over the bust point stays so.
    apart |= {"style.seam.role", "style.seam.cup"}
    closings = {"zip": ("zip",), "hooks": ("hook",), "lacing": ("eyelet", "cord", "lacing")}
    others = tuple(w for c, words in closings.items() if c != closing for w in words)
    for name, table in TABLES.items():
        for key in table.keys:
            full = f"{name}.{key.name}" if name else key.name
            # A pattern of one's own, and what lies on the maker's shelf, are a file's business.
            if (
                name.startswith("pattern")
                or name in ("bone", "eyelet", "cup", "wire")
                or full in apart
                or key.name.startswith(others)
            ):
                continue
            if closing == "zip" and key.name == "closing_inset":
                continue
            entries = {full.replace(name, f"{name}.{n}", 1) for n in range(9)} if name in LISTS else {full}
            if key.kind == "parts":
                entries = {f"{entry}.{level}" for entry in entries for level in SHARED}
            assert entries & shown, full


def test_a_pattern_file_has_no_address() -> None:
    for key in ("pattern.file", "pattern.panels.outline", "pattern", "coutil"):
        with pytest.raises(UnknownKeyError):
            address(key)


def test_every_spread_has_a_title() -> None:
    assert all(say(f"spread.{s}") for s in SPREADS)


def test_the_server_drafts_nothing() -> None:
    """It calls make.work_out, and asks the other rooms only for words, tables, sheets and plain data."""
    forbidden = re.compile(r"from coutil\.(draft|layers|check)(\.\w+)? import (.*)")
    allowed = {"Step", "SettledStyle", "LayerError", "TOLERANCE"}
    for file in _WEB.glob("*.py"):
        for line in file.read_text("utf-8").splitlines():
            if match := forbidden.match(line):
                assert set(match[3].split(", ")) <= allowed, (file.name, line)
