"""A four-panel pattern made by hand from curves, for tests of what is derived from panels: layers, checks, sheets.

It is not drafted from a body, and its seams agree in length only roughly; all figures are of our own invention. Panels
keep the draft's conventions: four edges, anticlockwise, marks on the vertical edges by arc length from the lower end.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

from coutil.pattern import Edge, EdgeRef, Panel, Pattern, Seam
from coutil.pattern.model import Role, Side
from coutil.plane import Curve, Pt, cubic

# Heights of the levels above the waist, in mm.
LEVEL_Y = {"high_hip": -100.0, "waist": 0.0, "underbust": 90.0, "bust": 165.0}


@dataclass(frozen=True)
class Shape:
    """What may be varied; lengths in mm. The neckline's depth and the tops are heights above the waist."""

    half_span: float = 95.0
    side_width: float = 140.0
    back_width: float = 125.0
    centre_back_width: float = 90.0
    # How strongly the seams are shaped; 1 takes out what suits about 14 cm between bust and underbust.
    shaping: float = 1.0
    cup_height: float = 68.0
    peak: float = 15.0
    neck: float = 205.0
    side_top: float = 180.0
    back_top: float = 165.0
    hem: float = -125.0
    hem_point: float = 0.0


# One name per style that the tests sweep.
SHAPES: dict[str, Shape] = {
    "plain": Shape(),
    "no peak": Shape(peak=0.0),
    "plunge": Shape(neck=115.0, cup_height=60.0),
    "shallow": Shape(shaping=0.35, half_span=85.0),
    "full": Shape(shaping=1.7, half_span=115.0, side_width=165.0, cup_height=80.0),
    "pointed hem": Shape(hem_point=40.0, hem=-135.0, neck=215.0),
    "high straight": Shape(neck=245.0, cup_height=82.0, side_top=200.0, half_span=82.0),
}


def pattern(shape: Shape | None = None) -> Pattern:
    """The symmetric pattern: every panel serves both sides, the centre front lies on the fold."""
    panels = _half(shape or Shape(), "both", "centre_front")
    return Pattern("synthetic", panels, _seams("both"))


def uneven(left: Shape | None = None, right: Shape | None = None) -> Pattern:
    """Left and right panels apart, without a fold; the right ones are the mirror images of the shape `right`."""
    panels = _half(left or Shape(), "left", None) + tuple(
        mirrored(p) for p in _half(right or left or Shape(), "left", None)
    )
    a, b = (EdgeRef("centre front", "centre_front", side) for side in ("left", "right"))
    middle = Seam("centre front", "left", a, b, ("hem", "waist", "underbust", "bust", "top"))
    return Pattern("synthetic, uneven", panels, (*_seams("left"), *_seams("right"), middle))


def mirrored(panel: Panel) -> Panel:
    """A left panel as a right one: x turned over, still anticlockwise, the hem first."""

    def turn(e: Edge) -> Edge:
        rising = e.rising if e.role in ("hem", "top") else not e.rising
        return replace(e, curve=e.curve.mirrored().reversed(), rising=rising)

    edges = tuple(turn(e) for e in reversed(panel.edges))

    def flip(p: Pt) -> Pt:
        return (-p[0], p[1])

    return replace(
        panel,
        side="right",
        edges=edges[-1:] + edges[:-1],
        levels={k: (flip(a), flip(b)) for k, (a, b) in panel.levels.items()},
        points={k: flip(p) for k, p in panel.points.items()},
        grain=(flip(panel.grain[0]), flip(panel.grain[1])),
    )


# Half the shaping of each seam: how far its edge is taken in at each height, in mm, for shaping 1.
_PRINCESS_A = {"hem": -4.0, "high_hip": -2.0, "waist": 17.0, "underbust": 12.0, "bust": 0.0, "top": 4.0}
_PRINCESS_B = {"hem": -6.0, "high_hip": -3.0, "waist": 21.0, "underbust": 15.0, "bust": 0.0, "top": 6.0}
_SIDE = {"hem": -14.0, "high_hip": -10.0, "waist": 16.0, "underbust": 8.0, "bust": 0.0, "top": -1.0}
_BACK = {"hem": -5.0, "high_hip": -3.0, "waist": 14.0, "underbust": 6.0, "bust": 0.0, "top": 0.0}


def _half(f: Shape, side: Side, fold: str | None) -> tuple[Panel, ...]:
    princess_top = LEVEL_Y["bust"] + f.cup_height
    hem = f.hem
    cf_in = _upright("centre_front", 0.0, 0.0, {}, hem - f.hem_point, f.neck)
    cf_out = _upright("front_princess", f.half_span, -f.shaping, _PRINCESS_A, hem, princess_top)
    sf_in = _upright("front_princess", f.half_span, f.shaping, _PRINCESS_B, hem, princess_top, f.peak)
    sf_out = _upright("side", f.half_span + f.side_width, -f.shaping, _SIDE, hem + 4.0, f.side_top)
    sb_in = _upright("back_princess", f.centre_back_width, f.shaping, _BACK, hem, f.back_top)
    sb_out = _upright("side", f.centre_back_width + f.back_width, -f.shaping, _SIDE, hem + 4.0, f.side_top)
    cb_in = _upright("centre_back", 0.0, 0.0, {}, hem, f.back_top)
    cb_out = _upright("back_princess", f.centre_back_width, -f.shaping, _BACK, hem, f.back_top)
    return (
        _panel("centre front", side, fold, cf_in, cf_out, bow=-12.0),
        _panel("side front", side, None, sf_in, sf_out, bow=-6.0),
        _panel("side back", side, None, sb_in, sb_out, bow=3.0),
        _panel("centre back", side, None, cb_in, cb_out, bow=0.0),
    )


@dataclass(frozen=True)
class _Upright:
    role: Role
    curve: Curve
    marks: dict[str, float]


def _upright(
    role: Role, x: float, factor: float, taken: dict[str, float], hem: float, top: float, peak: float = 0.0
) -> _Upright:
    """A vertical edge from the hem up, a cubic from level to level with the slopes of its chords averaged."""
    knots = [(name, y) for name, y in LEVEL_Y.items() if hem + 10.0 < y < top - 10.0]
    named = [("hem", hem), *knots, ("top", top)]
    ys = [y for _, y in named]
    xs = [x + factor * taken.get(name, 0.0) for name, _ in named]
    chords = [(xs[k + 1] - xs[k]) / (ys[k + 1] - ys[k]) for k in range(len(ys) - 1)]
    slopes = [chords[0], *((a + b) / 2.0 for a, b in pairwise(chords)), chords[-1]]
    if "bust" in LEVEL_Y and role == "front_princess":
        # The seam passes the bust point without a corner, upright.
        slopes[[n for n, _ in named].index("bust")] = 0.0
    segments = []
    marks = {"hem": 0.0}
    s = 0.0
    for k in range(len(ys) - 1):
        h = (ys[k + 1] - ys[k]) / 3.0
        c = cubic(
            (xs[k], ys[k]),
            (xs[k] + h * slopes[k], ys[k] + h),
            (xs[k + 1] - h * slopes[k + 1], ys[k + 1] - h),
            (xs[k + 1], ys[k + 1]),
        )
        segments += c.segments
        s += c.length
        marks[named[k + 1][0]] = s
    curve = Curve(tuple(segments))
    if role == "front_princess":
        marks["bust_point"] = marks["bust"]
        if factor >= 0.0:
            marks["centre_front_end"] = s
            if peak > 0.0:
                (x0, y0), (tx, ty) = curve.end, curve.tangent(s)
                d = peak / 3.0
                curve = curve.then(
                    cubic(
                        (x0, y0),
                        (x0 + d * tx, y0 + d * ty),
                        (x0 + 2 * d * tx, y0 + 2 * d * ty),
                        (x0 + 3 * d * tx, y0 + 3 * d * ty),
                    )
                )
                marks["top"] = curve.length
    return _Upright(role, curve, marks)


def _panel(name: str, side: Side, fold: str | None, inner: _Upright, outer: _Upright, *, bow: float) -> Panel:
    hem = _bowed(inner.curve.start, outer.curve.start, -4.0)
    top = _bowed(outer.curve.end, inner.curve.end, bow)
    edges = (
        Edge("hem", "hem", hem),
        Edge(outer.role, outer.role, outer.curve, True, outer.marks),
        Edge("top", "top", top),
        Edge(inner.role, inner.role, inner.curve.reversed(), False, inner.marks),
    )
    levels = {}
    for level, y in LEVEL_Y.items():
        if level in inner.marks and level in outer.marks:
            ends = inner.curve.point(inner.marks[level]), outer.curve.point(outer.marks[level])
        else:
            ends = (inner.curve.end[0], y), (outer.curve.end[0], y)
        levels[level] = ends[::-1] if name.endswith("back") else ends
    points = {}
    for u in (inner, outer):
        if u.role == "front_princess":
            points["bust_point"] = u.curve.point(u.marks["bust"])
    x = (inner.curve.end[0] + outer.curve.end[0]) / 2.0
    return Panel(
        name, side, "back" if name.endswith("back") else "front", fold, edges, levels, points, ((x, -60.0), (x, 90.0))
    )


def _bowed(a: Pt, b: Pt, bow: float) -> Curve:
    """A cubic from `a` to `b` that is bowed by about 3/4 of `bow` mm to the right of travel (negative: to the left)."""
    dx, dy = (b[0] - a[0]) / 3.0, (b[1] - a[1]) / 3.0
    n = 3.0 * (dx * dx + dy * dy) ** 0.5
    ox, oy = 3.0 * bow * dy / n, -3.0 * bow * dx / n
    return cubic(a, (a[0] + dx + ox, a[1] + dy + oy), (b[0] - dx + ox, b[1] - dy + oy), b)


def _seams(side: Side) -> tuple[Seam, ...]:
    levels = ("hem", "high_hip", "waist", "underbust")
    return (
        Seam(
            "front princess",
            side,
            EdgeRef("centre front", "front_princess", side),
            EdgeRef("side front", "front_princess", side),
            (*levels, "bust"),
            cup=True,
        ),
        Seam("side", side, EdgeRef("side front", "side", side), EdgeRef("side back", "side", side), levels),
        Seam(
            "back princess",
            side,
            EdgeRef("side back", "back_princess", side),
            EdgeRef("centre back", "back_princess", side),
            levels,
        ),
    )
