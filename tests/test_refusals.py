"""Refusals are data: every code has a text and every text a code; the page calls values by their names."""

from __future__ import annotations

import ast
import pickle
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import test_order_refused as cases
from coutil.body import Body, resolve_body
from coutil.docket import DocketError
from coutil.draft import DraftError, draft
from coutil.order import OrderError, Spot, Style, parse_order
from coutil.order.keys import TABLES
from coutil.trace import TraceError
from coutil.web.edits import RefusedError
from coutil.web.naming import named
from coutil.web.refused import parsed, undraftable, words_of
from coutil.words import REFUSAL, Key, RefusingError, catalogue, line, says
from order_texts import BODY
from tapes import any_bodies

SOURCE = Path(__file__).parent.parent / "src" / "coutil"
# Texts that are parts of refusals: said by themselves nowhere, and looked up by code that builds their keys.
PARTS = {f"{REFUSAL}.allowed", f"{REFUSAL}.and"}
# A key of the order file that is no plain English word.
KEYS = {k.name for t in TABLES.values() for k in t.keys if "_" in k.name} | {
    f"{t.name}.{k.name}" for t in TABLES.values() if t.name for k in t.keys
}


styles = st.builds(
    Style,
    cup_height=st.none() | st.floats(0.0, 400.0),
    peak=st.floats(0.0, 100.0),
    hem=st.none() | st.floats(0.0, 600.0),
    plunge=st.none() | st.floats(0.0, 300.0),
    side_top=st.none() | st.floats(0.0, 600.0),
)
# All texts that the order's reader is known to refuse.
REFUSED = [
    BODY + text for text, _ in cases.test_a_refusal_names_place_value_and_what_is_allowed.pytestmark[0].args[1]
] + [text for text, _ in cases.test_a_file_that_is_no_order.pytestmark[0].args[1] if len(text) < 20_000]


def error_classes() -> dict[str, type[RefusingError]]:

    out: dict[str, type[RefusingError]] = {}
    todo = [RefusingError]
    while todo:
        for c in todo.pop().__subclasses__():
            todo.append(c)
            out[c.__name__] = c
    return out


# Errors of rooms that know no texts, with the table in which theirs stand.
CODED = {"LengthError": "length", "OffsetError": "offset"}


def bases(code: str) -> str:
    """The code of a text without its form: "a.text" and "a.side.left" are forms of "a"."""
    texts = catalogue()
    for k in range(code.count("."), 0, -1):
        short = ".".join(code.split(".")[:k])
        if f"{short}.text" in texts:
            return short
    return code


def raised() -> Iterator[tuple[str, str]]:
    """Where a code is given to an error or a refusal, and the code; words that only choose among codes too."""
    classes = error_classes()
    for path in SOURCE.rglob("*.py"):
        tree = ast.parse(path.read_text("utf-8"))
        for node in ast.walk(tree):
            if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Name | ast.Attribute):
                continue
            name = node.func.id if isinstance(node.func, ast.Name) else node.func.attr
            where = f"{path.relative_to(SOURCE)}:{node.lineno}"
            room, at = "", 0
            if name in CODED:
                room = CODED[name]
            elif name in classes:
                room = classes[name].room
                if name == "DraftError":
                    room, at = "draft.because", 1
            elif name in HELPERS:
                room, at = HELPERS[name]
            elif name != "Refusal" or "web" in path.parts:
                continue
            for argument in node.args[at : at + (2 if name == "_no_choice" else 1)]:
                for code in words(argument):
                    yield where, f"{REFUSAL}.{room}.{code}" if room else f"{REFUSAL}.{code}"


# Functions that are given a code: the table in which it stands, and which argument it is.
HELPERS = {"problem": ("order", 3), "_no_file": ("order", 1), "_no_choice": ("order", 2), "_why": ("trace.open", 0)}


def words(node: ast.expr) -> Iterator[str]:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.IfExp):
        yield from words(node.body)
        yield from words(node.orelse)


def test_an_underbust_below_the_waist_is_refused_by_the_two_lengths() -> None:
    tape = {"bust": 960, "underbust": 780, "waist": 705, "bust_span": 195, "bust_to_underbust": 190}
    with pytest.raises(DraftError) as refused:
        draft(resolve_body({**tape, "bust_to_waist": 185}), Style())
    assert refused.value.conflict == ("bust_to_underbust", "bust_to_waist")
    with pytest.raises(DraftError) as refused:
        draft(resolve_body({**tape, "bust_to_waist": 185, "bust_to_underbust": 80}, {"bust_to_waist": 79}), Style())
    assert refused.value.conflict == ("body.left.bust_to_underbust", "body.left.bust_to_waist")


def test_every_code_that_is_given_has_a_text() -> None:
    found = list(raised())
    assert len(found) > 200
    texts = {bases(k) for k in catalogue()}
    missing = [f"{where}: {code}" for where, code in found if code not in texts]
    assert not missing, "\n".join(missing)


def test_every_text_has_a_code_that_is_given() -> None:
    given = {code for _, code in raised()}
    literals = {
        node.value
        for path in SOURCE.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }
    idle = []
    for key in catalogue():
        code = bases(key)
        if not key.startswith(f"{REFUSAL}.") or code in given or code in PARTS or code.startswith(f"{REFUSAL}.table."):
            continue
        # What is handed on by a name stands somewhere as a word of its own.
        if code.rpartition(".")[2] not in literals and code.removeprefix(f"{REFUSAL}.") not in literals:
            idle.append(code)
    assert not idle


@pytest.mark.parametrize("name", sorted((*error_classes(), *CODED)))
def test_rooms_raise_no_english(name: str) -> None:
    """What is given to an error is a code: one word, which is not a sentence."""
    for path in SOURCE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == name:
                for a in node.args:
                    assert not isinstance(a, ast.JoinedStr), f"{path}:{node.lineno}"
                    for code in words(a):
                        assert re.fullmatch(r"[a-z][a-z_0-9]*", code), f"{path}:{node.lineno}: {code}"


@pytest.mark.parametrize("text", REFUSED)
def test_the_page_shows_no_key_in_what_the_reader_refuses(text: str) -> None:
    with pytest.raises(RefusedError) as e:
        parsed(text)
    with pytest.raises(OrderError) as file:
        parse_order(text)
    assert len(e.value.refusals) == len(file.value.refusals)
    for r in e.value.refusals:
        shows_no_key(f"{r.says} {r.allowed}")


def shows_no_key(text: str) -> None:
    # What stands in quotes is a value, as it may be chosen.
    plain = re.sub(r'"[^"]*"', " ", text)
    found = set(re.findall(r"[a-z]+(?:[._][a-z]+)+", plain)) & KEYS
    assert not found, text
    assert not [t for t in TABLES if t and re.search(rf"\[{re.escape(t)}\]", plain)], text


def test_a_refusal_tells_what_it_is_about() -> None:
    with pytest.raises(OrderError) as e:
        parse_order(BODY + '[style]\npeak = -1\n[[cloth]]\nname = "a"\nfor = ["shell"]\nprice = -1', "mt.toml")
    first, second = e.value.refusals
    assert (first.code, first.place, first.source) == (
        "order.out_of_range",
        Spot("style", "peak", 0, "-1"),
        ("mt.toml",),
    )
    assert first.allowed.startswith("a length from 0.0 cm")
    assert second.place.full == "cloth.0.price"
    assert e.value.problems == (line(first), line(second))
    assert line(second).startswith("mt.toml: [[cloth]] no. 1 price = -1: must be an amount")


def test_what_the_draft_refuses_is_told_by_keys_and_by_names() -> None:
    from coutil.words import Length

    e = DraftError(
        ("bust", "bust_span"), "narrow_panel", panel="side front", side="left", width=Length(1.0, "cm"),
        level="bust", least=Length(20.0, "cm"),
    )  # fmt: skip
    assert e.conflict == ("bust", "bust_span")
    assert e.refusal.about == (Key("body.bust"), Key("body.bust_span"))
    assert str(e) == (
        "bust and bust_span conflict: the side front panel on the left would be 0.1 cm wide at the bust, less than the "
        "2.0 cm that can be sewn"
    )
    assert says(e.refusal, named).startswith("bust and bust span conflict: ")
    told = list(undraftable(e, "body.bust"))
    assert [r.key for r in told] == ["body.bust", "body.bust_span"]


def test_two_sides_are_called_by_name_on_the_page() -> None:
    e = DraftError(("body.left", "body.right"), "sides_apart", part="front", level="bust", apart=1, most=2)
    assert str(e).startswith("body.left and body.right conflict: at the centre front the bust of the two sides")
    for r in undraftable(e, ""):
        shows_no_key(r.says)
        assert "body." not in r.says


@pytest.mark.parametrize(
    ("error", "file", "page"),
    [
        (
            DocketError("no_second_pair", Key("notions.closing_inset"), length=7),
            "the edge that opens is 7 long: notions.closing_inset and the spacing leave room for no second pair; make "
            "them smaller",
            None,
        ),
        (
            DocketError("no_price", Key("money.hour")),
            "there is no price to quote: state hour and currency in [money] of the order",
            "there is no price to quote: state the rate of an hour and the currency",
        ),
        (TraceError("empty"), "empty", "empty"),
    ],
)
def test_two_ways_to_speak(error: RefusingError, file: str, page: str | None) -> None:
    assert str(error) == file
    shows_no_key(words_of(error))
    if page is not None:
        assert words_of(error) == page


def test_refusals_can_be_handed_to_another_process() -> None:
    e = TraceError("too_many_pixels", wide=4, high=5, most=1)
    again = pickle.loads(pickle.dumps(e))
    assert type(again) is TraceError
    assert again.refusals == e.refusals
    assert str(again) == str(e)


def test_a_file_leads_what_is_told_of_it() -> None:
    inner = TraceError("empty")
    assert str(TraceError.of(*inner.led("a.svg"))) == "a.svg: empty"
    assert str(OrderError.of(*TraceError.of(*inner.led("a.svg")).led("my order"))) == "my order: a.svg: empty"


@given(body=any_bodies(), style=styles)
@settings(max_examples=60, deadline=None)
def test_the_page_shows_no_key_in_what_the_draft_refuses(body: Body, style: Style) -> None:
    refused: list[DraftError] = []
    try:
        draft(body, style)
    except DraftError as e:
        refused.append(e)
    for e in refused:
        told = [*undraftable(e, ""), *undraftable(e, e.refusal.about[0].key)]
        assert all(r.says for r in told)
        for r in told:
            shows_no_key(r.says)
