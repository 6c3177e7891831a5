"""The catalogue: how a text of it is filled."""

from __future__ import annotations

from collections.abc import Iterator
from importlib import import_module

import pytest

from coutil.words import say

TEXTS = {
    "plain": "100 % cotton, {no} braces",
    "filled": "{first} and {second}, {first} again: 50 % of {second:.1f}",
}


@pytest.fixture(autouse=True)
def own_texts(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    # By its name: the package has a function of that name too.
    room = import_module("coutil.words.catalogue")
    monkeypatch.setattr(room, "catalogue", lambda: TEXTS)
    room._template.cache_clear()
    yield
    room._template.cache_clear()


def test_a_text_with_nothing_to_fill_is_said_as_it_stands() -> None:
    assert say("plain") == "100 % cotton, {no} braces"


def test_every_place_is_filled_and_what_is_no_place_stays() -> None:
    assert say("filled", first="hem", second=3) == "hem and 3, hem again: 50 % of {second:.1f}"
    assert say("plain", no=2) == "100 % cotton, 2 braces"
    # The lesson leaves places for figures open, which the sheet fills.
    assert say("filled", second="{first}") == "{first} and {first}, {first} again: 50 % of {second:.1f}"
    assert (
        say("filled", first="%s {second} %", second="")
        == "%s {second} % and , %s {second} % again: 50 % of {second:.1f}"
    )
    assert say("plain", other=1) == "100 % cotton, {no} braces"


def test_a_text_that_is_not_there_is_an_error() -> None:
    for fill in ({}, {"first": 1}):
        with pytest.raises(KeyError):
            say("nowhere", **fill)
