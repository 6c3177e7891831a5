"""A four-panel pattern in closed form for the tests of the checks, made without the draft: neither leans on the other.

Each vertical edge strays from a straight line by a smooth function of the height; the two edges of a seam are mirror
images, so they have the same length from level to level. Tops and hems leave the vertical edges at right angles, so
they run on across every seam. All figures in mm are of our own invention.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

from coutil.pattern import Edge, EdgeRef, Panel, Pattern, Seam
from coutil.plane import Curve, Pt, cubic, line

HEIGHTS = {"high_hip": -100.0, "waist": 0.0, "underbust": 95.0, "bust": 175.0}
TOP = {"centre": 235.0, "front_princess": 240.0, "side": 190.0, "back_princess": 180.0}
NAMES = ("hem", "high_hip", "waist", "underbust", "bust", "top")
HEM = -120.0
# Half of what each seam takes out of the bust girth at each level: each of its two edges strays inwards by this much.
TAKEN = {
    "front_princess": {"high_hip": -2.0, "waist": 26.0, "underbust": 17.0, "bust": 0.0, "top": 5.0},
    "side": {"high_hip": -12.0, "waist": 14.0, "underbust": 8.0, "bust": 0.0, "top": 0.0},
    "back_princess": {"high_hip": -3.0, "waist": 15.0, "underbust": 7.0, "bust": 0.0, "top": 0.0},
}
# How fast it strays further inwards with the height (dx/dy) where it is neither widest nor narrowest.
SLOPES = {
    "front_princess": {"hem": 0.15, "high_hip": 0.15, "underbust": -0.22, "top": 0.05},
    "side": {"hem": 0.20, "high_hip": 0.20, "underbust": -0.10, "top": 0.0},
    "back_princess": {"hem": 0.12, "high_hip": 0.12, "underbust": -0.09, "top": 0.0},
}
# Widths of the panels at the bust level.
WIDTHS = {"centre front": 95.0, "side front": 150.0, "side back": 130.0, "centre back": 85.0}
PEAK = 18.0


def girth(level: str) -> float:
    """Twice the sum of the panels' widths at a level, worked out from the figures above."""
    return 2.0 * (sum(WIDTHS.values()) - 2.0 * sum(t[level] for t in TAKEN.values()))


def build(*, peak: float = 0.0) -> Pattern:
    """The symmetric pattern; `peak` is how far the side front's princess edge runs on above the centre front's."""
    cf, sf, sb, cb = WIDTHS.values()
    panels = (
        _panel("centre front", ("centre_front", 0.0, -1), ("front_princess", cf, -1), fold="centre_front"),
        _panel("side front", ("front_princess", cf, 1), ("side", cf + sf, -1), peak=peak),
        _panel("side back", ("back_princess", cb, 1), ("side", cb + sb, -1)),
        _panel("centre back", ("centre_back", 0.0, -1), ("back_princess", cb, -1)),
    )
    inner = ("high_hip", "waist", "underbust", "bust")
    princess = EdgeRef("centre front", "front_princess", "both"), EdgeRef("side front", "front_princess", "both")
    seams = (
        Seam("front princess", "both", *princess, ("hem", *inner, "bust_point", "top"), cup=True),
        Seam(
            "side",
            "both",
            EdgeRef("side front", "side", "both"),
            EdgeRef("side back", "side", "both"),
            ("hem", *inner, "top"),
        ),
        Seam(
            "back princess",
            "both",
            EdgeRef("side back", "back_princess", "both"),
            EdgeRef("centre back", "back_princess", "both"),
            ("hem", *inner, "top"),
        ),
    )
    return Pattern("paper", panels, seams)


def uneven(pattern: Pattern) -> Pattern:
    """The same pattern drafted as for a body whose sides differ: left and right panels, a seam at the centre front."""
    left = [replace(p, side="left", fold=None) for p in pattern.panels]
    right = [replace(mirrored(p), side="right", fold=None) for p in pattern.panels]
    centre = tuple(EdgeRef("centre front", "centre_front", side) for side in ("left", "right"))
    stations = ("hem", "high_hip", "waist", "underbust", "bust", "top")
    seams = [
        replace(s, side=side, a=replace(s.a, side=side), b=replace(s.b, side=side))
        for side in ("left", "right")
        for s in pattern.seams
    ]
    return replace(pattern, panels=(*left, *right), seams=(*seams, Seam("centre front", "left", *centre, stations)))


def mirrored(panel: Panel) -> Panel:
    """The panel of the other side: x turned over, outline still anticlockwise."""
    edges = tuple(
        Edge(
            e.name,
            e.role,
            e.curve.mirrored().reversed(),
            not e.rising,
            e.marks if e.role not in ("top", "hem") else {k: e.curve.length - s for k, s in e.marks.items()},
        )
        for e in reversed(panel.edges)
    )
    hem = next(k for k, e in enumerate(edges) if e.name == "hem")

    def flip(p: Pt) -> Pt:
        return (-p[0], p[1])

    return replace(
        panel,
        edges=edges[hem:] + edges[:hem],
        levels={k: (flip(a), flip(b)) for k, (a, b) in panel.levels.items()},
        points={k: flip(p) for k, p in panel.points.items()},
        grain=(flip(panel.grain[0]), flip(panel.grain[1])),
    )


def with_panel(pattern: Pattern, name: str, **changes: Any) -> Pattern:
    return replace(pattern, panels=tuple(replace(p, **changes) if p.name == name else p for p in pattern.panels))


def with_edge(pattern: Pattern, panel: str, edge: str, **changes: Any) -> Pattern:
    """The pattern with one edge of one panel changed."""
    edges = tuple(replace(e, **changes) if e.name == edge else e for e in pattern.panel(panel, "both").edges)
    return with_panel(pattern, panel, edges=edges)


@dataclass(frozen=True)
class _Upright:
    """A vertical edge from hem to top and where its levels lie on it."""

    name: str
    curve: Curve
    marks: Mapping[str, float]
    places: Mapping[str, Pt]


def _upright(name: str, x: float, inward: int, top: float, extra: float) -> _Upright:
    heights = {"hem": HEM, **HEIGHTS, "top": top}
    taken = TAKEN.get(name, dict.fromkeys(NAMES, 0.0))
    slopes = SLOPES.get(name, {})
    taken = {"hem": taken["high_hip"] + slopes.get("hem", 0.0) * (HEM - HEIGHTS["high_hip"]), **taken}
    segments: list[Any] = []
    marks = {"hem": 0.0}
    places: dict[str, Pt] = {"hem": (x + inward * taken["hem"], HEM)}
    along = 0.0
    for low, high in pairwise(NAMES):
        p = (x + inward * taken[low], heights[low])
        q = (x + inward * taken[high], heights[high])
        third = (q[1] - p[1]) / 3.0
        m0, m1 = slopes.get(low, 0.0), slopes.get(high, 0.0)
        piece = cubic(p, (p[0] + inward * m0 * third, p[1] + third), (q[0] - inward * m1 * third, q[1] - third), q)
        segments += piece.segments
        along += piece.length
        marks[high] = along
        places[high] = q
    curve = Curve(tuple(segments))
    if name == "front_princess":
        marks["bust_point"] = marks["bust"]
        if inward > 0:
            marks["centre_front_end"] = marks["top"]
            if extra > 0.0:
                # The peak runs straight on.
                tx, ty = curve.tangent(curve.length)
                x1, y1 = curve.end
                curve = curve.then(line((x1, y1), (x1 + extra * tx, y1 + extra * ty)))
                marks["top"] = curve.length
    return _Upright(name, curve, marks, places)


def _panel(
    name: str,
    inner: tuple[str, float, int],
    outer: tuple[str, float, int],
    *,
    fold: str | None = None,
    peak: float = 0.0,
) -> Panel:
    tops = {"centre_front": TOP["centre"], "centre_back": TOP["back_princess"], **TOP}
    a = _upright(inner[0], inner[1], inner[2], tops[inner[0]], peak)
    b = _upright(outer[0], outer[1], outer[2], tops[outer[0]], 0.0)
    hem = _across(a.curve, b.curve, at_top=False)
    top = _across(a.curve, b.curve, at_top=True).reversed()
    levels = {k: (a.places[k], b.places[k]) for k in HEIGHTS}
    if name.endswith("back"):
        # The end nearer the centre front along the body first: on the back, the side's.
        levels = {k: (q, p) for k, (p, q) in levels.items()}
    middle = (inner[1] + outer[1]) / 2.0
    points: dict[str, Pt] = {}
    for upright in (a, b):
        if upright.name == "front_princess":
            points["bust_point"] = upright.places["bust"]
    return Panel(
        name,
        "both",
        "back" if name.endswith("back") else "front",
        fold,
        (
            Edge("hem", "hem", hem, True),
            Edge(b.name, b.name, b.curve, True, b.marks),  # type: ignore[arg-type]
            Edge("top", "top", top, True),
            Edge(a.name, a.name, a.curve.reversed(), False, a.marks),  # type: ignore[arg-type]
        ),
        levels,
        points,
        ((middle, -60.0), (middle, 120.0)),
    )


def _across(a: Curve, b: Curve, *, at_top: bool) -> Curve:
    """A cubic from edge a to edge b that leaves both at right angles, at their tops or at their feet."""
    p, ta = (a.end, a.tangent(a.length)) if at_top else (a.start, a.tangent(0.0))
    q, tb = (b.end, b.tangent(b.length)) if at_top else (b.start, b.tangent(0.0))
    third = (q[0] - p[0]) / 3.0
    return cubic(p, (p[0] + third * ta[1], p[1] - third * ta[0]), (q[0] - third * tb[1], q[1] + third * tb[0]), q)
