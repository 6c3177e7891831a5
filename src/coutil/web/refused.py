"""What the rooms refuse, told on the page: beside the values that it is about, and values by their names."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from coutil.order import Order, OrderError, Spot, judge_order, parse_order
from coutil.web.edits import Refusal, RefusedError
from coutil.web.keys import LISTS, UnknownKeyError, address
from coutil.web.naming import named
from coutil.words import Key, RefusingError, Told, has, say, says, tell
from coutil.words import Refusal as Why

# How the order is called in what the reader says; the page does not say it.
SOURCE: Final = "order"
# What the draft says no by: its argument is the reason alone.
_BECAUSE: Final = "because"
# Refusals that one word of hers mends: the page asks for it in words of its own.
_ASKED: Final = ("trace.line_unsaid", "trace.allowance_unsaid")


def parsed(text: str, key: str = "") -> Order:
    """The order that the text says; raises RefusedError, its first refusal about `key`."""
    try:
        return parse_order(text, SOURCE)
    except OrderError as e:
        raise RefusedError(*(_told(r, key) for r in e.refusals)) from None


def words_of(e: RefusingError) -> str:
    """All that an error refuses, in one line for who has no file before her."""
    return "; ".join(_whole(r) for r in e.refusals)


def judged(order: Order, key: str) -> tuple[Refusal, ...]:
    """What cannot be in a body or a style, told beside the value that was changed and beside those that it names."""
    out = []
    for remark in judge_order(order):
        if remark.kind != "refuse":
            continue
        about = [k if k.startswith(("style.", "build.")) else f"body.{k}" for k in remark.keys]
        # Of a list as a whole it is said beside the entry that was changed.
        about = [key if k in LISTS and key.startswith(f"{k}.") else k for k in about]
        if key in about:
            about = [key, *(k for k in about if k != key)]
        says_it = tell(remark.told.code, remark.told.args, named).removesuffix(".")
        out += [Refusal(k, says_it) for k in about]
    return tuple(out)


def undraftable(e: RefusingError, key: str) -> Iterator[Refusal]:
    """Why an order cannot be drafted, told beside the value that was changed and beside those that it is about.

    `key` is the value that was changed, "" if none.
    """
    why = e.refusal
    about = [k for k in (_known(a) for a in why.about) if k]
    because = why.args.get(_BECAUSE)
    # What one word of hers mends is asked for in the page's own words.
    asked = next((f"refused.{k}" for k in about if has(f"refused.{k}")), "") if why.code in _ASKED else ""
    for k in dict.fromkeys([*([key] if key else []), *about]) or {"": None}:
        if asked:
            yield Refusal(k, say(asked))
        elif isinstance(because, Told) and about == [key]:
            yield Refusal(k, tell(because.code, because.args, named), because=because)
        else:
            yield Refusal(k, says(why, named))


def _told(why: Why, key: str) -> Refusal:
    """A refusal of the reader, as it is said beside the value that it is about."""
    about = why.place.full if isinstance(why.place, Spot) and why.place.key is not None else key
    if about in LISTS and key.startswith(f"{about}."):
        # Of the list as a whole it is said beside the entry that was changed.
        about = key
    return Refusal(about, says(why, named), why.allowed)


def _known(about: object) -> str:
    """The value that a refusal is about; "" for what is no value that the page knows."""
    try:
        return address(about.key).key if isinstance(about, Key) else ""
    except UnknownKeyError:
        return ""


def _whole(why: Why) -> str:
    text = says(why, named)
    return say("refused.takes", says=text, allowed=why.allowed) if why.allowed else text
