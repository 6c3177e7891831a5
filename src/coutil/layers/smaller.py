"""A lining that lies inside the foam: over the cup it is smaller than the shell, by what the foam takes up.

Cloth on the inside of foam of thickness t that turns by theta is shorter by t theta (see coutil.dome.foam). That is
taken in at the cup seam, most at the bust point and nothing at the underbust and where the seam ends, so that the
lining's top, hem and other seams stay as they are. The edge that bulges less moves in more, as that leaves both of one
length; where below and above the bust point this differs, one moves a little more there and the other as much less.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from coutil.dome import cups, foam_girth
from coutil.pattern import Edge, Panel, Pattern, Seam
from coutil.pattern.seams import SEWN_END
from coutil.plane import Curve, Pt, cubic, pinned

# A moved edge is drawn in this many cubics below and above the bust point: by trial they hold its true line to 0.005.
PARTS = 12
# Lengths are evened out until both edges agree within this, in mm: a hundredth of what the walk tells.
EVEN = 1e-3
ROUNDS = 24


def smaller(pattern: Pattern, thickness: float) -> Pattern:
    """The pattern as its lining is drawn. A cup whose seam does not tell the underbust and the bust point stays."""
    reach = {}
    for seam in pattern.cup_seams:
        edge = pattern.edge_of(seam.a)
        if "underbust" in edge.marks and "bust_point" in edge.marks:
            reach[seam.side] = edge.marks["bust_point"] - edge.marks["underbust"]
    made = {c.side: c for c in cups(pattern, reach)}
    panels = list(pattern.panels)
    for seam in pattern.cup_seams:
        if seam.side not in made or seam.side not in reach:
            continue
        pair = _taken_in(pattern, seam, foam_girth(thickness, made[seam.side]))
        for panel, edge in zip(pattern.panels_of(seam), pair, strict=True):
            panels[panels.index(panel)] = _with_edge(panel, edge)
    return replace(pattern, panels=tuple(panels))


def _with_edge(panel: Panel, edge: Edge) -> Panel:
    return replace(panel, edges=tuple(edge if e.name == edge.name else e for e in panel.edges))


def _taken_in(pattern: Pattern, seam: Seam, amount: float) -> tuple[Edge, Edge]:
    """Both edges of a cup seam, taken in by `amount` mm together at the bust point."""
    edges = pattern.edges_of(seam)
    # The edge that bulges more is shortened more by the same amount, so it gets less of it.
    share = _found(lambda f: sum(_uneven(edges, amount, f, (0.0, 0.0))), 0.5, 0.4)
    share = min(max(share, 0.0), 1.0)
    below = _found(lambda m: _uneven(edges, amount, share, (m, 0.0))[0], 0.0, 0.1 * amount)
    above = _found(lambda m: _uneven(edges, amount, share, (below, m))[1], 0.0, 0.1 * amount)
    return _moved(edges[0], amount * share, (below, above)), _moved(edges[1], amount * (1.0 - share), (-below, -above))


def _found(off: Callable[[float], float], at: float, before: float) -> float:
    """Where `off` is nothing, to EVEN, by the secant method from two guesses."""
    was = off(before)
    for _ in range(ROUNDS):
        now = off(at)
        if abs(now) < EVEN or now == was:
            break
        at, before, was = at - now * (at - before) / (now - was), at, now
    return at


def _uneven(edges: tuple[Edge, Edge], amount: float, share: float, more: tuple[float, float]) -> tuple[float, float]:
    """By how much the first edge has become longer than the second, below and above the bust point.

    What they differed by before stays: an ease of the style is no business of the lining.
    """
    pairs = (
        (_moved(edges[0], amount * share, more), edges[0]),
        (_moved(edges[1], amount * (1.0 - share), (-more[0], -more[1])), edges[1]),
    )
    grown = []
    for made, old in pairs:
        (low, middle, end), (was_low, was_middle, was_end) = _places(made), _places(old)
        grown.append((middle - low - (was_middle - was_low), end - middle - (was_end - was_middle)))
    return grown[0][0] - grown[1][0], grown[0][1] - grown[1][1]


def _places(edge: Edge) -> tuple[float, float, float]:
    return edge.marks["underbust"], edge.marks["bust_point"], edge.marks.get(SEWN_END, edge.curve.length)


def _moved(edge: Edge, amount: float, more: tuple[float, float]) -> Edge:
    """The edge moved in by `amount` at the bust point, and by `more` below and above it besides."""
    low, middle, end = _places(edge)
    up = edge.upward()
    inside = 1.0 if edge.rising else -1.0

    def by(s: float) -> float:
        if s <= low or s >= end:
            return 0.0
        below = s < middle
        u = (s - low) / (middle - low) if below else (end - s) / (end - middle)
        return amount * math.sin(math.pi / 2.0 * u) ** 2 + more[0 if below else 1] * math.sin(math.pi * u) ** 2

    def at(s: float) -> Pt:
        (x, y), (tx, ty) = up.point(s), up.tangent(s)
        d = inside * by(s)
        return (x - d * ty, y + d * tx)

    below, above = _through(at, low, middle, up.length), _through(at, middle, end, up.length)
    inner = below.then(above)
    start, stop = up.point(low), up.point(end)
    inner = pinned(inner, start, stop)
    curve = up.part(0.0, low).then(inner) if low > 0.0 else inner
    grown = inner.length - (end - low)
    if end < up.length:
        curve = curve.then(up.part(end, up.length))
    marks = {}
    for name, s in edge.marks.items():
        if s <= low:
            marks[name] = s
        elif s >= end:
            marks[name] = s + grown
        else:
            marks[name] = low + inner.nearest(at(s))[0]
    return replace(edge, curve=curve if edge.rising else curve.reversed(), marks=marks)


def _through(at: Callable[[float], Pt], start: float, end: float, whole: float) -> Curve:
    """A smooth curve through the points of `at`, with its directions, in PARTS cubics.

    `at` is known from 0 to `whole`.
    """
    step = (end - start) / PARTS
    # Directions by differences of a hundredth of a part, across the ends of the stretch too: so it runs on smoothly.
    h = step / 100.0

    def slope(s: float) -> Pt:
        a, b = max(s - h, 0.0), min(s + h, whole)
        (x0, y0), (x1, y1) = at(a), at(b)
        return ((x1 - x0) / (b - a), (y1 - y0) / (b - a))

    out: Curve | None = None
    for k in range(PARTS):
        s0, s1 = start + k * step, start + (k + 1) * step
        (p, q), (dp, dq) = (at(s0), at(s1)), (slope(s0), slope(s1))
        f = step / 3.0
        part = cubic(p, (p[0] + f * dp[0], p[1] + f * dp[1]), (q[0] - f * dq[0], q[1] - f * dq[1]), q)
        out = part if out is None else out.then(part)
    assert out is not None
    return out
