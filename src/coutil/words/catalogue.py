"""Every text by a flat key, from the TOML files of one language.

Files in the folder of the language are merged; a key is the path of tables to it, joined by dots. A translation is one
more folder.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any, Final

LANGUAGE: Final = "en"
# The page's own texts arrive under this first word.
_PAGE: Final = "page"
# A place in a text that `say` fills.
_PLACE: Final = re.compile(r"\{(\w+)\}")


@cache
def catalogue(language: str = LANGUAGE) -> Mapping[str, str]:
    """All texts of a language by key; raises ValueError if two files say the same key."""
    out: dict[str, str] = {}
    folder = files("coutil.words") / language
    for file in sorted(folder.iterdir(), key=lambda f: f.name):
        if not file.name.endswith(".toml"):
            continue
        for key, text in _flat(tomllib.loads(file.read_text("utf-8")), ""):
            full = f"{_PAGE}.{key}" if file.name == f"{_PAGE}.toml" and not key.startswith(f"{_PAGE}.") else key
            if full in out:
                raise ValueError(f"the text {full} stands in two files")
            out[full] = text
    # All threads share it.
    return MappingProxyType(out)


def say(key: str, **fill: object) -> str:
    """The text of a key with its places filled. Raises KeyError for a text that is not in the catalogue.

    A place that nothing fills stays as it is, and so do braces in what is filled in.
    """
    if not fill:
        return catalogue()[key]
    template, places = _template(key)
    return template % tuple([fill.get(name, place) for name, place in places])


@cache
def _template(key: str) -> tuple[str, tuple[tuple[str, str], ...]]:
    """The text of a key with %s for each of its places, and their names with and without braces, in order."""
    parts = _PLACE.split(catalogue()[key])
    places = tuple((name, f"{{{name}}}") for name in parts[1::2])
    return "%s".join(part.replace("%", "%%") for part in parts[::2]), places


def has(key: str) -> bool:
    return key in catalogue()


def _flat(table: Mapping[str, Any], before: str) -> Iterator[tuple[str, str]]:
    for key, value in table.items():
        full = f"{before}.{key}" if before else key
        if isinstance(value, dict):
            yield from _flat(value, full)
        elif isinstance(value, str):
            yield full, value
        else:
            raise ValueError(f"{full} is no text")
