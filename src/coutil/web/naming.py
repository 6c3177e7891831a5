"""What the rooms say of values by the order file's keys, said by the values' names: who reads the page has no file.

The rooms' own texts stay as they are: they are right beside the file, on the command line.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any, Final

from coutil.pattern import About, Finding, KeysRef, about_words, says
from coutil.web.keys import CLOTH, UnknownKeyError, address
from coutil.web.values import value_name
from coutil.words import has, say

_SIDES: Final = ("left", "right")
# Tables whose values the rooms call by their last word alone, in the order in which it is looked for in them.
_TABLES: Final = ("", "body.", "body.left.", "build.pad.", "style.", f"{CLOTH}.0.")


def named(key: str) -> str:
    """The name of a value by its key, as a refusal says it; a single word ("bust", "hem") is plain English already."""
    if "." not in key and "_" not in key:
        return key
    own = f"refusal.table.{key}"
    return _name(key) or (say(own) if has(own) else key)


def subject(about: About) -> str:
    """What a finding is about, values of the order by their names: "bust girth, underbust girth"."""
    if not isinstance(about, KeysRef):
        return about_words(about)
    return ", ".join(_name(key.removeprefix("body.")) or key.removeprefix("body.") for key in about.keys)


def finding_said(finding: Finding) -> str:
    """What a finding says, values of the order by their names."""
    return says(finding, named)


def told(found: Sequence[Finding]) -> list[dict[str, Any]]:
    """Findings as a spread lists them."""
    return [{"level": f.level, "about": subject(f.about), "says": finding_said(f)} for f in found]


@lru_cache(maxsize=1024)
def _name(key: str) -> str:
    """The name of a value by its key as the rooms say it, "" for a word that is no key."""
    for table in _TABLES:
        try:
            at = address(table + key)
        except UnknownKeyError:
            continue
        name = value_name(at)
        if at.table.startswith("body."):
            # Names of one side's values end in ", this side", which says too little away from that side's sentences.
            side = at.table.removeprefix("body.")
            name = name.partition(",")[0]
            return f"{side} {name}" if any(s in key.split(".") for s in _SIDES) else name
        return name
    return ""
