"""The body, style and build that the pattern of four_panels.py was made for, and the whole check of it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import four_panels
from coutil.body import Body, resolve_body
from coutil.check import check
from coutil.order import Build, Ease, Style
from coutil.pattern import Finding, Pattern

STYLE = Style(neckline="straight", closing="zip", ease=Ease(0.0, 0.0, 0.0, 0.0))


def body(pattern: Pattern, **changes: float) -> Body:
    """A body whose girths are those of the panels (four_panels.girth) and whose lengths are those of their edges."""
    side = pattern.panels[0].side
    marks = pattern.panel("centre front", side).edge("front_princess").marks
    measured = {
        **{level: four_panels.girth(level) for level in four_panels.HEIGHTS},
        "bust_span": 2.0 * four_panels.WIDTHS["centre front"],
        "bust_to_underbust": marks["bust"] - marks["underbust"],
        "bust_to_waist": marks["bust"] - marks["waist"],
    }
    return resolve_body({**measured, **changes})


def findings(pattern: Pattern, *, style: Style = STYLE, build: Build | None = None, **changes: float) -> list[Finding]:
    """What the whole check says, notes left out; `changes` are measurements that differ from the pattern's."""
    done = check(pattern, body(pattern, **changes), style, build or Build())
    return [f for f in done.findings if f.level != "note"]


def styled(**changes: Any) -> Style:
    return replace(STYLE, **changes)
