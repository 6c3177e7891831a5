"""Girths and the bust point: whether the flat panels have the measurements of the tape.

Widths of the panels at a level, taken twice or over both halves, and what an opening leaves open, must make the body's
girth plus the ease at that level. The bust point must lie where the body has on the centre front and on the princess
seam.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from coutil.check.words import capital, length, mark_words, panel_words, precise
from coutil.pattern import LEVELS, Finding, Panel, Pattern
from coutil.pattern.model import PANELS, Side
from coutil.units import cm

# Girths agree within this, in mm: requirement of the project.
TOLERANCE = 0.5
# Places agree within this, in mm: the tolerance of the walk, since what they fix is walked.
PLACE_TOLERANCE = 0.3


def girths(pattern: Pattern, *, gap: float = 0.0) -> dict[str, float]:
    """The garment's girth in mm at each level that all of its panels bear, from the hem up.

    `gap` is how far an opening stands open when worn, in mm: the cloth is shorter by that much.
    """
    panels = _all_round(pattern)
    out = {}
    for level in LEVELS:
        if panels and all(level in p.levels for p, _ in panels):
            out[level] = gap + sum(times * math.dist(*p.levels[level]) for p, times in panels)
    return out


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
            parts = f"body {cm(body[level])}, ease {cm(ease.get(level, 0.0))}"
            out.append(
                Finding(
                    "stop",
                    f"{level.replace('_', ' ')} girth",
                    f"At {mark_words(level)} the panels {f'and the gap of {cm(gap)} ' if gap else ''}make {cm(girth)} "
                    f"all round, {length(abs(off))} {'more' if off > 0.0 else 'less'} than the {cm(wanted)} wanted "
                    f"({parts}). {'Take' if off > 0.0 else 'Let'} the seams {'in' if off > 0.0 else 'out'} there by "
                    "that much in all.",
                )
            )
    for level in LEVELS:
        bearing = [p for p in pattern.panels if level in p.levels]
        # A hem may reach the high hip at some panels only; the other levels go all round.
        if level not in found and bearing and level != "high_hip":
            without = [p for p in pattern.panels if level not in p.levels]
            names = " and ".join(f"the {panel_words(p)}" for p in without) or "a panel that is missing"
            out.append(
                Finding(
                    "stop", f"{level.replace('_', ' ')} girth", f"{capital(mark_words(level))} is not drawn on {names}."
                )
            )
    return out


def mark_findings(pattern: Pattern) -> list[Finding]:
    """A stop for every level's mark on an edge that does not lie where the level's line ends.

    Without this the walk could be right between marks that are in the wrong place.
    """
    out = []
    for panel in pattern.panels:
        for edge in panel.edges:
            if edge.role in ("top", "hem"):
                continue
            for level, ends in panel.levels.items():
                if level in edge.marks:
                    off = min(math.dist(edge.at(level), end) for end in ends)
                    if off > PLACE_TOLERANCE:
                        out.append(
                            Finding(
                                "stop",
                                panel_words(panel),
                                f"On the {edge.name.replace('_', ' ')} edge the mark for {mark_words(level)} lies "
                                f"{length(off)} from the end of its line. Mark it again where the line meets the edge.",
                            )
                        )
    return out


def bust_point_findings(
    pattern: Pattern, side: Side, *, from_centre: float, to_underbust: float, to_waist: float
) -> list[Finding]:
    """A stop where the bust point of one side is not where the body has, in mm, on either front panel.

    `from_centre` is half the bust span; `to_underbust` and `to_waist` are measured along the princess edge.
    """
    out = []
    for name in ("centre front", "side front"):
        panel = pattern.panel(name, side)
        if "bust_point" not in panel.points:
            out.append(
                Finding("stop", panel_words(panel), "The bust point is not marked. Mark it on the princess edge.")
            )
            continue
        at = panel.points["bust_point"]
        edge = panel.edge("front_princess")
        checks = []
        if name == "centre front":
            checks.append(("the centre front", abs(at[0]), from_centre))
        for level, wanted in (("underbust", to_underbust), ("waist", to_waist)):
            if level in edge.marks:
                checks.append(
                    (f"{mark_words(level)}, along the edge", edge.marks["bust_point"] - edge.marks[level], wanted)
                )
        out += [
            Finding(
                "stop",
                panel_words(panel),
                f"The bust point lies {precise(found)} from {what}, where the body has {precise(wanted)}: "
                f"{length(abs(found - wanted))} too {'far' if found > wanted else 'near'}. Move it, and the princess "
                "edge with it.",
            )
            for what, found, wanted in checks
            if abs(found - wanted) > PLACE_TOLERANCE
        ]
        astray = math.dist(at, edge.at("bust_point"))
        if astray > PLACE_TOLERANCE:
            out.append(
                Finding(
                    "stop",
                    panel_words(panel),
                    f"The bust point lies {length(astray)} beside its mark on the princess edge. Mark it on the edge.",
                )
            )
    return out


def _all_round(pattern: Pattern) -> list[tuple[Panel, float]]:
    """Every panel that goes round the body with how often it counts; empty if one of a half's panels is missing."""
    panels = [(p, 2.0 if p.side == "both" else 1.0) for p in pattern.panels if p.name in PANELS]
    count: dict[str, float] = {}
    for panel, times in panels:
        count[panel.name] = count.get(panel.name, 0.0) + times
    return panels if all(count.get(name) == 2.0 for name in PANELS) else []
