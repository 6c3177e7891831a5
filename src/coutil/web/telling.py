"""Sentences of the left page out of the catalogue: sections, sentences, runs of texts and values."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache
from typing import Any, Final

from coutil.words import catalogue, say

# {key} in a sentence; N in a key stands for the number of an entry of a list.
_PLACE: Final = re.compile(r"\{([a-z_.0-9N]+)\}")


def act(told: dict[str, Any], edit: dict[str, Any], text: str) -> None:
    """Put a button that sends an edit behind a section's last sentence."""
    last = told["sentences"][-1]
    told["sentences"][-1] = {**last, "actions": [*last.get("actions", ()), {"edit": edit, "text": text}]}


def listing(name: str, said: Iterable[tuple[str, str]]) -> dict[str, Any]:
    """A sentence that goes through values: "The side seam has 1/2 in, the back seam 1 in."; (what, key) of each."""
    runs: list[dict[str, str]] = []
    for n, (what, key) in enumerate(said):
        runs += [{"text": say(f"listing.{name}.{'next' if n else 'first'}", what=what)}, {"value": key}]
    return {"id": name, "runs": [*runs, {"text": say("listing.end")}]}


def section(
    name: str, sentences: list[str], /, *, folded: bool = False, number: int | None = None, **fill: object
) -> dict[str, Any]:
    """A section with its title and sentences."""
    return {
        "id": name,
        "title": say(f"section.{name}", **fill),
        "folded": folded,
        "sentences": [sentence(s, number, **fill) for s in sentences],
    }


def sentence(name: str, number: int | None = None, /, **fill: object) -> dict[str, Any]:
    """A sentence; {key} in it stands for a value, or for what fills it. N in a key is the number of a list's entry."""
    if number is None and not fill:
        return plain(name)
    runs: list[dict[str, str]] = []
    for text, key in _runs(name):
        if key is None:
            runs.append({"text": text})
        elif key in fill:
            runs.append({"text": str(fill[key])})
        else:
            runs.append({"value": key if number is None else key.replace(".N.", f".{number}.")})
    return {"id": name if number is None else f"{name}.{number}", "runs": runs}


@cache
def plain(name: str) -> dict[str, Any]:
    """A sentence in which nothing is to be filled; shared, never changed."""
    return {"id": name, "runs": [{"text": text} if key is None else {"value": key} for text, key in _runs(name)]}


@cache
def _runs(name: str) -> tuple[tuple[str, str | None], ...]:
    """A sentence cut into texts and keys."""
    text = catalogue()[f"sentence.{name}"]
    out: list[tuple[str, str | None]] = []
    at = 0
    for match in _PLACE.finditer(text):
        if match.start() > at:
            out.append((text[at : match.start()], None))
        out.append(("", match[1]))
        at = match.end()
    if at < len(text):
        out.append((text[at:], None))
    return tuple(out)
