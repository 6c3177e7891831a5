"""Girths and the bust point: whether the flat panels have the measurements of the tape.

Widths of the panels at a level, taken twice or over both halves, and what an opening leaves open, must make the body's
girth plus the ease at that level. The bust point must lie where the tape says on both panels beside the seam over it.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping

from coutil.check.body import TIGHT
from coutil.pattern import (
    LEVELS,
    Finding,
    LevelRef,
    MarkRef,
    Pattern,
    edge_called,
    edge_ref,
    girths,
    panel_ref,
    part,
)
from coutil.pattern.model import Side
from coutil.seaming import CENTRE_FRONT
from coutil.words import Length

# Girths agree within this, in mm: requirement of the project.
TOLERANCE = 0.5
# Places agree within this, in mm: the tolerance of the walk, since what they fix is walked.
PLACE_TOLERANCE = 0.3
# A garment this much larger than the body, as a part of the girth, stands off it: as much as counts as tight.
LOOSE = TIGHT


def girth_findings(
    pattern: Pattern, *, body: Mapping[str, float], ease: Mapping[str, float], gap: float = 0.0
) -> list[Finding]:
    """A stop for every level at which the garment's girth is not the body's plus the ease.

    `body` and `ease` are girths in mm by level (an ease left out is none); `gap` as for `girths`. Levels that the
    panels do not bear, or the body does not know, are passed over, but for one that only some of the panels bear.
    """
    out = []
    found = girths(pattern, gap=gap)
    for level, girth in found.items():
        if level not in body:
            continue
        wanted = body[level] + ease.get(level, 0.0)
        off = girth - wanted
        if abs(off) > TOLERANCE:
            args = {
                "level": MarkRef(level),
                "open": gap != 0.0,
                "gap": Length(gap, "cm"),
                "girth": Length(girth, "cm"),
                "off": Length(abs(off)),
                "wanted": Length(wanted, "cm"),
                "body": Length(body[level], "cm"),
                "ease": Length(ease.get(level, 0.0), "cm"),
            }
            out.append(Finding("girth.more" if off > 0.0 else "girth.less", "stop", LevelRef(level, "girth"), args))
    for level in LEVELS:
        bearing = [p for p in pattern.panels if level in p.levels]
        # A hem may reach the high hip at some panels only; the other levels go all round.
        if level not in found and bearing and level != "high_hip":
            without = [part("the_panel", panel=panel_ref(p)) for p in pattern.panels if level not in p.levels]
            args = {"level": MarkRef(level), "panels": tuple(without) or (part("a_missing_panel"),)}
            out.append(Finding("girth.not_drawn", "stop", LevelRef(level, "girth"), args))
    return out


def fit_findings(
    pattern: Pattern, body: Mapping[str, float], *, gap: float = 0.0, standard: Collection[str] = ()
) -> list[Finding]:
    """By how much a pattern that somebody else drew is larger or smaller than the client, in mm by level; a warning
    where it stands off her. At the levels of `standard` the figure is a standard size's."""
    out = []
    for level, girth in girths(pattern, gap=gap).items():
        more = girth - body[level]
        loose = more > LOOSE[level] * body[level]
        args = {
            "level": MarkRef(level),
            "girth": Length(girth, "cm"),
            "open": gap != 0.0,
            "gap": Length(gap, "cm"),
            "off": Length(abs(more), "both"),
            "way": "more" if more >= 0.0 else "less",
            "whose": "standard" if level in standard else "client",
            "client": Length(body[level], "cm"),
            "loose": loose,
        }
        out.append(Finding("fit.girth", "warn" if loose else "note", LevelRef(level, "girth"), args))
    return out


def mark_findings(pattern: Pattern) -> list[Finding]:
    """A stop for every level's mark on an edge that does not lie where the level's line ends.

    Without this the walk could be right between marks that are in the wrong place.
    """
    out = []
    for panel in pattern.panels:
        for edge in panel.edges:
            if edge.kind in ("top", "hem"):
                continue
            for level, ends in panel.levels.items():
                if level in edge.marks:
                    off = min(math.dist(edge.at(level), end) for end in ends)
                    if off > PLACE_TOLERANCE:
                        args = {"edge": edge_ref(panel, edge), "level": MarkRef(level), "off": Length(off)}
                        out.append(Finding("level.mark_off", "stop", panel_ref(panel), args))
    return out


def bust_point_findings(
    pattern: Pattern, side: Side, *, from_centre: float, to_underbust: float, to_waist: float
) -> list[Finding]:
    """A stop where the bust point of one side is not where the body has, in mm, on either panel beside the cup seam.

    `from_centre` is half the bust span; `to_underbust` and `to_waist` are measured along the seam's edge. How far it
    lies from the centre front is told where the inner panel reaches the centre front. Raises KeyError where the side
    has no cup seam.
    """
    out = []
    seam = pattern.cup_seam(side)
    for panel, edge in zip(pattern.panels_of(seam), pattern.edges_of(seam), strict=True):
        about, called = panel_ref(panel), edge_called(edge)
        if "bust_point" not in panel.points or "bust_point" not in edge.marks:
            out.append(Finding("bust_point.unmarked", "stop", about, {"edge": called}))
            continue
        at = panel.points["bust_point"]
        checks = []
        if any(e.role == CENTRE_FRONT for e in panel.edges):
            checks.append((part("from_centre"), abs(at[0]), from_centre))
        for level, wanted in (("underbust", to_underbust), ("waist", to_waist)):
            if level in edge.marks:
                away = edge.marks["bust_point"] - edge.marks[level]
                checks.append((part("along_edge", level=MarkRef(level)), away, wanted))
        for what, found, wanted in checks:
            if abs(found - wanted) > PLACE_TOLERANCE:
                args = {
                    "found": Length(found, "precise"),
                    "what": what,
                    "wanted": Length(wanted, "precise"),
                    "off": Length(abs(found - wanted)),
                    "way": "far" if found > wanted else "near",
                    "edge": called,
                }
                out.append(Finding("bust_point.off", "stop", about, args))
        astray = math.dist(at, edge.at("bust_point"))
        if astray > PLACE_TOLERANCE:
            out.append(Finding("bust_point.beside", "stop", about, {"off": Length(astray), "edge": called}))
    return out
