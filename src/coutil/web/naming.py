"""What the rooms say of values by the order file's keys, said by the values' names: who reads the page has no file.

The rooms' own texts stay as they are: they are right beside the file, on the command line.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache
from typing import Any, Final

from coutil.pattern import About, Finding, KeysRef, about_words, says
from coutil.web.keys import CLOTH, UnknownKeyError, address
from coutil.web.values import value_name
from coutil.words import has, say

# A key within a sentence: words joined by dots or underscores. Single words ("bust", "hem") are plain English already.
_KEY: Final = re.compile(r"(?<![\w.\[])(?=[a-z]+[._][a-z])[a-z]+(?:[._][a-z]+)*(?!\w)")
_SIDES: Final = ("left", "right")
# Tables whose values the rooms call by their last word alone, in the order in which it is looked for in them.
_TABLES: Final = ("", "body.", "body.left.", "build.pad.", "style.", f"{CLOTH}.0.")
# Marks the tables of a pattern file, which are spoken of where they are to be written into that file.
_PATTERN_FILE: Final = "[[pattern"


def said(text: str) -> str:
    """A text with every key that is known replaced by its value's name; a sentence still begins with a capital."""
    if _PATTERN_FILE in text:
        return text
    out = _KEY.sub(lambda m: _name(m[0]) or m[0], text)
    return out[:1].upper() + out[1:] if _KEY.match(text) and out != text and out.endswith(".") else out


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


def _naming(key: str) -> str:
    # Single words ("bust", "hem") are plain English already.
    return (_name(key) or key) if "." in key or "_" in key else key


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
