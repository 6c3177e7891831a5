"""What the outlines of a drawing are, and what lies between cut and net line: one question, answered at once.

Neither answer can be taken before the other: of cut lines without an allowance nothing can be drawn, and an allowance
without cut lines means nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from coutil.words import say

LINE: Final = "pattern.line"
ALLOWANCE: Final = "pattern.allowance"
# The values of one question, the chief one first.
ASKED: Final = (LINE, ALLOWANCE)


def unanswered(doc: Mapping[str, Any], line: object, allowance: str) -> Iterator[tuple[str, str]]:
    """The values that are missing in an answer, or do not belong in it, with what is to be said beside each."""
    if line not in ("net", "cut"):
        yield LINE, say("refused.pattern.line")
    elif line == "net" and allowance:
        yield ALLOWANCE, say("refused.pattern.no_allowance")
    elif line == "cut" and not allowance and not _by_side(doc):
        yield ALLOWANCE, say("refused.pattern.allowance")


def _by_side(doc: Mapping[str, Any]) -> bool:
    """Whether every panel tells the allowances of its sides one by one."""
    panels = doc.get("pattern", {}).get("panels", [])
    return bool(panels) and all("allowances" in p for p in panels)
