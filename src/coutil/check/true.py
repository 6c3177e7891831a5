"""Trueing: top and hem run on across every seam, and leave folds and openings squarely.

At the end of a seam two panels meet. The angles that their outlines make there, each measured inside its panel, add
up to a straight line when the top (or the hem) runs on; what is missing or too much is the turn, a corner that the
sewn top would show.
"""

from __future__ import annotations

import math

from coutil.pattern import Edge, EdgeRef, Finding, Panel, Pattern, Seam, panel_ref, seam_ref
from coutil.pattern.model import FindingLevel
from coutil.pattern.seams import SEWN_END
from coutil.seaming import CENTRE_FRONT

# The most that a top or hem may turn where it crosses a seam, in degrees. Requirement of the project.
TOLERANCE = 1.0
# A peak lower than this, in mm, is a slip and not a style: the top is then expected to run on.
SMALLEST_PEAK = 0.5
# Angles come from tangents that are exact to rounding; this much of a degree is rounding and no turn.
ROUNDING = 1e-6

# Necklines that ask for a corner at the centre front.
CORNERED_NECKLINES = ("plunge", "sweetheart")


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


def true_findings(pattern: Pattern, *, neckline: str, hem_point: float, whole: bool = True) -> list[Finding]:
    """A stop for every seam or fold at which top or hem turns by more than a degree without the style asking for it.

    `neckline` as in the order; `hem_point` is the extra depth of the hem at the centre front in mm. At an opening
    at the centre back, where nothing is sewn, a turn is a warning. Without `whole`, places are passed over where a
    panel has no top or hem, or does not meet it at the seam; else KeyError or ValueError is raised there.
    """
    out = []
    for seam in pattern.seams:
        a, b = pattern.panels_of(seam)
        for across in ("top", "hem"):
            if _asked_for(pattern, seam, across, neckline, hem_point):
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
    for panel in pattern.panels:
        for edge in panel.edges:
            if edge.kind == "centre" and (panel.name, edge.name) not in sewn:
                out += _at_centre(panel, edge, neckline, hem_point, whole=whole)
    return out


def _at_centre(panel: Panel, edge: Edge, neckline: str, hem_point: float, *, whole: bool) -> list[Finding]:
    """The panel's mirror image, or its other side, continues it across a fold or an opening."""
    out = []
    ref = EdgeRef(panel.name, edge.name, panel.side)
    alone = Seam("", panel.side, ref, ref, ())
    for across in ("top", "hem"):
        if edge.role == CENTRE_FRONT and _centre_front_corner(across, neckline, hem_point):
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


def _asked_for(pattern: Pattern, seam: Seam, across: str, neckline: str, hem_point: float) -> bool:
    """Whether the style wants a corner where `across` crosses the seam."""
    a, b = pattern.edges_of(seam)
    if across == "top":
        peak = max(e.curve.length - e.marks.get(SEWN_END, e.curve.length) for e in (a, b))
        if peak > SMALLEST_PEAK:
            return True
    return a.role == CENTRE_FRONT and _centre_front_corner(across, neckline, hem_point)


def _centre_front_corner(across: str, neckline: str, hem_point: float) -> bool:
    return neckline in CORNERED_NECKLINES if across == "top" else hem_point > 0.0


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
