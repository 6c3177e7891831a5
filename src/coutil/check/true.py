"""Trueing: top and hem run on across every seam, and leave folds and openings squarely.

At the end of a seam two panels meet. The angles that their outlines make there, each measured inside its panel, add
up to a straight line when the top (or the hem) runs on; what is missing or too much is the turn, a corner that the
sewn top would show.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from typing import Literal

from coutil.order import Style
from coutil.pattern import Edge, EdgeRef, Finding, Panel, Pattern, Seam, panel_ref, seam_ref
from coutil.pattern.model import FindingLevel
from coutil.pattern.seams import SEWN_END
from coutil.seaming import CENTRE_BACK, CENTRE_FRONT, ELASTIC

# The most that a top or hem may turn where it crosses a seam, in degrees. Requirement of the project.
TOLERANCE = 1.0
# A peak lower than this, in mm, is a slip and not a style: the top is then expected to run on.
SMALLEST_PEAK = 0.5
# Angles come from tangents that are exact to rounding; this much of a degree is rounding and no turn.
ROUNDING = 1e-6

# Where a style may ask for a corner: which line, and at which centre, or at the seam over the bust point.
Corner = tuple[Literal["top", "hem"], str]
AT_CUP = "cup"
# Necklines that come to a corner at the centre front, and at the seam over the bust point.
CORNERED_FRONT = ("plunge", "sweetheart", "v")
CORNERED_CUP = ("v", "pointed")

# Corners at the centre front of top and hem both.
EITHER_FRONT: frozenset[Corner] = frozenset({("top", CENTRE_FRONT), ("hem", CENTRE_FRONT)})


def corners(style: Style) -> frozenset[Corner]:
    """The corners that a style asks for."""
    pointed = style.hem_line == "pointed"
    asked: tuple[tuple[Corner, bool], ...] = (
        (("top", CENTRE_FRONT), style.neckline in CORNERED_FRONT and style.seaming.bust),
        (("top", AT_CUP), style.neckline in CORNERED_CUP),
        (("top", CENTRE_BACK), style.back == "v"),
        (("hem", CENTRE_FRONT), pointed and style.hem_point > 0.0),
        (("hem", CENTRE_BACK), pointed and style.hem_point_back > 0.0),
        # An elastic panel is a rectangle: what would meet at the centre back meets at its seam.
        (("top", ELASTIC), style.back == "v"),
        (("hem", ELASTIC), pointed and style.hem_point_back > 0.0),
    )
    return frozenset(corner for corner, wanted in asked if wanted)


def corner_angle(panel: Panel, seam_edge: str, across: str) -> float:
    """The angle in degrees inside the panel where its edge `seam_edge` meets its top or hem, named by `across`.

    Raises KeyError where the panel has no such edges and ValueError where they do not meet.
    """
    edges = panel.edges
    for k, first in enumerate(edges):
        then = edges[(k + 1) % len(edges)]
        if {first.name, then.name} == {seam_edge, across}:
            return 180.0 - math.degrees(_turn(first, then))
    panel.edge(seam_edge), panel.edge(across)
    raise ValueError(f"on the {panel.name}, {seam_edge} does not meet {across}")


def turn(a: Panel, b: Panel, seam: Seam, across: str) -> float:
    """By how many degrees `across` ("top" or "hem") turns where it crosses the seam; positive where it juts out."""
    inside = corner_angle(a, seam.a.edge, _role(a, across)) + corner_angle(b, seam.b.edge, _role(b, across))
    # Inside angles of less than 180 degrees together leave a corner that juts out.
    return 180.0 - inside


def true_findings(pattern: Pattern, *, asked: Collection[Corner], whole: bool = True) -> list[Finding]:
    """A stop for every seam or fold at which top or hem turns by more than a degree without the style asking for it.

    `asked` are the corners that the style asks for. At an opening
    at the centre back, where nothing is sewn, a turn is a warning. Without `whole`, places are passed over where a
    panel has no top or hem, or does not meet it at the seam; else KeyError or ValueError is raised there.
    """
    out = []
    for seam in pattern.seams:
        a, b = pattern.panels_of(seam)
        for across in ("top", "hem"):
            if _asked_for(pattern, seam, across, asked):
                continue
            if not whole and not (_meets(a, seam.a.edge, across) and _meets(b, seam.b.edge, across)):
                continue
            off = turn(a, b, seam, across)
            if abs(off) > TOLERANCE + ROUNDING:
                args = {
                    "across": across,
                    "angle": abs(off),
                    "a": panel_ref(a),
                    "b": panel_ref(b),
                    "shape": "corner" if off > 0.0 else "dip",
                    "most": TOLERANCE,
                }
                out.append(Finding("true.seam", "stop", seam_ref(seam), args))
    sewn = {(seam.a.panel, seam.a.edge) for seam in pattern.seams if seam.on_itself}
    for panel in (p for p in pattern.panels if p.material != "net"):
        for edge in panel.edges:
            if edge.kind == "centre" and (panel.name, edge.name) not in sewn:
                out += _at_centre(panel, edge, asked, whole=whole)
    return out


def _at_centre(panel: Panel, edge: Edge, asked: Collection[Corner], *, whole: bool) -> list[Finding]:
    """The panel's mirror image, or its other side, continues it across a fold or an opening."""
    out = []
    ref = EdgeRef(panel.name, edge.name, panel.side)
    alone = Seam("", panel.side, ref, ref, ())
    for across in ("top", "hem"):
        if (across, edge.role) in asked:
            continue
        if not whole and not _meets(panel, edge.name, across):
            continue
        off = turn(panel, panel, alone, across)
        if abs(off) <= TOLERANCE + ROUNDING:
            continue
        folded = panel.fold == edge.name
        args = {
            "across": across,
            "centre": edge.role,
            "off": abs(off) / 2.0,
            "shown": "folded" if folded else "open",
            "shape": "peak" if off > 0.0 else "dip",
            "angle": abs(off),
        }
        level: FindingLevel = "stop" if folded or edge.role == CENTRE_FRONT else "warn"
        out.append(Finding("true.centre", level, panel_ref(panel), args))
    return out


def _meets(panel: Panel, seam_edge: str, across: str) -> bool:
    """Whether the panel's first edge with the role `across` meets its edge `seam_edge`."""
    try:
        corner_angle(panel, seam_edge, _role(panel, across))
    except (KeyError, ValueError):
        return False
    return True


def _asked_for(pattern: Pattern, seam: Seam, across: str, asked: Collection[Corner]) -> bool:
    """Whether the style wants a corner where `across` crosses the seam."""
    a, b = pattern.edges_of(seam)
    if across == "top":
        peak = max(e.curve.length - e.marks.get(SEWN_END, e.curve.length) for e in (a, b))
        if peak > SMALLEST_PEAK:
            return True
    return (across, AT_CUP if seam.cup else a.role) in asked


def _turn(first: Edge, then: Edge) -> float:
    """Left turn in radians from the end of one edge to the start of the next."""
    ax, ay = first.curve.tangent(first.curve.length)
    bx, by = then.curve.tangent(0.0)
    return math.atan2(ax * by - ay * bx, ax * bx + ay * by)


def _role(panel: Panel, role: str) -> str:
    """The name of the panel's edge with a role of which it has one; raises KeyError if it has none."""
    for edge in panel.edges:
        if edge.role == role:
            return edge.name
    raise KeyError(f"{panel.name} has no edge with the role {role}")
