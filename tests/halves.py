"""Halves of bodices of any number of panels, of our own invention, written as drawing programs would write them.

Neighbours' edges are mirror images of each other, so that partners are equal in length to rounding. Lengths in mm, the
waist at y = 0, y up, x from the centre front outwards.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence

from coutil.plane import Pt

# Four control points, x and y in turn, as these tests write and turn them themselves.
Cubic = tuple[float, float, float, float, float, float, float, float]


def half(n: int, seed: int, *, hem: float = 90.0) -> list[list[Cubic]]:
    """The outlines of n panels from the centre front on, anticlockwise: hem, outer edge up, top, inner edge down."""
    rng = random.Random(seed)
    along = [j / n for j in range(n + 1)]
    tops = [200 + 60 * math.sin(math.pi * min(1.0, 1.6 * t + 0.2)) ** 2 - 45 * t + rng.uniform(-4, 4) for t in along]
    hems = [-hem * (1 - 0.35 * math.sin(math.pi * t)) + rng.uniform(-3, 3) for t in along]
    shaped: list[tuple[float, ...]] = []
    for j in range(n + 1):
        waist = rng.uniform(8, 14)
        above = rng.uniform(0, 6) if j < n / 2 else rng.uniform(-2, 2)
        shaped.append((rng.uniform(-6, 4), waist, waist * rng.uniform(0.5, 0.7), 0.0, above))
    out = []
    for i in range(n):
        width = rng.uniform(58, 80)
        edges = []
        for j, x, sign in ((i, 0.0, -1.0), (i + 1, width, 1.0)):
            low, high = hems[j], tops[j]
            levels = [(y, r) for y, r in zip((0, 90, 150), shaped[j][1:4], strict=True) if low + 25 < y < high - 25]
            rows = [(low, shaped[j][0]), *levels, (high, shaped[j][4])]
            centre = j in (0, n)
            edges.append(_smooth([(x, low), (x, high)] if centre else [(x - sign * r, y) for y, r in rows]))
        inner, outer = edges
        top = _smooth([_end(inner), _middle(_end(inner), _end(outer), -3.0), _end(outer)])
        bottom = _smooth([_start(inner), _middle(_start(inner), _start(outer), -2.0), _start(outer)])
        out.append([*bottom, *outer, *reversed_path(top), *reversed_path(inner)])
    return out


def reversed_path(path: Sequence[Cubic]) -> list[Cubic]:
    return [(c[6], c[7], c[4], c[5], c[2], c[3], c[0], c[1]) for c in reversed(path)]


def turned_over(path: Sequence[Cubic]) -> list[Cubic]:
    """Mirrored, and anticlockwise again."""
    return reversed_path([(-a, b, -c, d, -e, f, -g, h) for a, b, c, d, e, f, g, h in path])


def laid(outlines: Sequence[Sequence[Cubic]], *, over: Sequence[bool] = ()) -> list[list[Cubic]]:
    """Side by side from the left to the right, 4 cm apart, y down as on a page of 1200 by 600 mm; some turned over."""
    out, x = [], 30.0
    for k, path in enumerate(outlines):
        p = turned_over(path) if over and over[k] else list(path)
        left, right = min(c[0] for c in p), max(c[0] for c in p)
        dx = x - left
        out.append(
            [(a + dx, 330 - b, c + dx, 330 - d, e + dx, 330 - f, g + dx, 330 - h) for a, b, c, d, e, f, g, h in p]
        )
        x += right - left + 40
    return out


def d(path: Sequence[Cubic], *, times: float = 1.0, closed: bool = True) -> str:
    """The `d` attribute of a path."""

    def n(*values: float) -> str:
        return " ".join(f"{v * times:.5f}" for v in values)

    return f"M{n(*path[0][:2])}" + "".join(f"C{n(*c[2:])}" for c in path) + ("Z" if closed else "")


def page(body: str, size: str = 'width="1200mm" height="600mm" viewBox="0 0 1200 600"') -> bytes:
    """A whole SVG file."""
    return f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:i="https://example.org/i" {size}>{body}</svg>'.encode()


def drawn(outlines: Sequence[Sequence[Cubic]]) -> str:
    """A path for each outline, without any name."""
    return "".join(f'<path d="{d(p)}"/>' for p in outlines)


def _smooth(pts: Sequence[Pt]) -> list[Cubic]:
    """A curve through points, tangents along the chord of both neighbours."""
    last = len(pts) - 1
    ends = [(pts[max(k - 1, 0)], pts[min(k + 1, last)], 2.0 if 0 < k < last else 1.0) for k in range(last + 1)]
    speeds = [((b[0] - a[0]) / n / 3.0, (b[1] - a[1]) / n / 3.0) for a, b, n in ends]
    return [
        (*p, p[0] + u[0], p[1] + u[1], q[0] - v[0], q[1] - v[1], *q)
        for p, q, u, v in zip(pts, pts[1:], speeds, speeds[1:], strict=False)
    ]


def _start(path: Sequence[Cubic]) -> Pt:
    return path[0][0], path[0][1]


def _end(path: Sequence[Cubic]) -> Pt:
    return path[-1][6], path[-1][7]


def _middle(a: Pt, b: Pt, up: float) -> Pt:
    return (a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0 + up
