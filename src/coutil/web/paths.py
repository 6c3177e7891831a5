"""Curves as SVG path data in paper coordinates: mm, x to the right, y down."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from coutil.plane import Curve, Pt

# A control point nearer to the chord than this makes no visible bend, in mm: a thousandth of the thinnest line.
_FLAT = 1e-3
# How far a length stands from its edge, in mm on paper: clear of the line at any usual zoom (found by trial).
LABEL_AWAY = 6.0
# How the `d` of a line begins: where its pen is set down.
_MOVE = re.compile(r"M[^LC]*")
Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Place:
    """Where a panel lies on the paper: its own (x, y) goes to (ox + fx x, oy - y)."""

    fx: float = 1.0
    ox: float = 0.0
    oy: float = 0.0

    def point(self, p: Pt) -> Pt:
        return (self.ox + self.fx * p[0], self.oy - p[1])

    def back(self, p: Pt) -> Pt:
        """From the paper to the panel."""
        return ((p[0] - self.ox) * self.fx, self.oy - p[1])

    def vector(self, v: Pt) -> Pt:
        return (self.fx * v[0], -v[1])

    def at(self, p: Pt) -> list[float]:
        x, y = self.point(p)
        return [round(x, 2) + 0.0, round(y, 2) + 0.0]

    def curve(self, curve: Curve, *, start: bool = True) -> str:
        return self.curves((curve,), start=start)

    def curves(self, curves: Iterable[Curve], *, closed: bool = False, start: bool = True) -> str:
        """The `d` of a run of curves end to end; without `start` the first M is left out."""
        out: list[str] = []
        fx, ox, oy = self.fx, self.ox, self.oy
        for curve in curves:
            ax, ay = curve.start
            if start:
                out.append(f"M{ox + fx * ax:.2f} {oy - ay:.2f}")
                start = False
            for s in curve.segments:
                b, c, d = s.p1, s.p2, s.p3
                bx, by, cx, cy, ex, ey = b.x, b.y, c.x, c.y, d.x, d.y
                dx, dy = ex - ax, ey - ay
                reach = _FLAT * (abs(dx) + abs(dy))
                flat = abs((bx - ax) * dy - (by - ay) * dx) < reach and abs((cx - ax) * dy - (cy - ay) * dx) < reach
                if flat:
                    out.append(f"L{ox + fx * ex:.2f} {oy - ey:.2f}")
                else:
                    out.append(
                        f"C{ox + fx * bx:.2f} {oy - by:.2f} {ox + fx * cx:.2f} {oy - cy:.2f}"
                        f" {ox + fx * ex:.2f} {oy - ey:.2f}"
                    )
                ax, ay = ex, ey
        if closed:
            out.append("Z")
        return "".join(out)

    def line(self, *points: Pt) -> str:
        fx, ox, oy = self.fx, self.ox, self.oy
        return "M" + "L".join([f"{ox + fx * x:.2f} {oy - y:.2f}" for x, y in points])

    def label(self, curve: Curve, *, inside: bool) -> dict[str, object]:
        """A place beside the middle of a curve of an anticlockwise outline, and the angle of a text there."""
        (x, y), (tx, ty) = curve.at(curve.length / 2.0)
        away = LABEL_AWAY if inside else -LABEL_AWAY
        return {"at": self.at((x - ty * away, y + tx * away)), "angle": self.angle((tx, ty))}

    def angle(self, v: Pt) -> float:
        """The angle of a text along a direction, in SVG's degrees, never on its head."""
        x, y = self.vector(v)
        a = math.degrees(math.atan2(y, x))
        if a > 90.0 + 1e-9:
            a -= 180.0
        elif a <= -90.0 + 1e-9:
            a += 180.0
        return round(a, 1) + 0.0


def hull(curves: Iterable[Curve]) -> Box:
    """A box round the control points of curves, in the panel's own coordinates."""
    xs: list[float] = []
    ys: list[float] = []
    for curve in curves:
        for s in curve.segments:
            a, b, c, d = s.p0, s.p1, s.p2, s.p3
            xs += (a.x, b.x, c.x, d.x)
            ys += (a.y, b.y, c.y, d.y)
    return min(xs), min(ys), max(xs), max(ys)


def joined(lines: Sequence[str]) -> str:
    """The `d` of an outline from those of its edges, each of which starts where the one before it ended."""
    return "".join((lines[0], *(_MOVE.sub("", d, count=1) for d in lines[1:]), "Z"))


def polygon(points: Iterable[Pt]) -> str:
    """The `d` of a closed polygon whose points are in paper coordinates already."""
    return "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in points) + "Z"


def union(boxes: Iterable[Box]) -> Box:
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return min(x0), min(y0), max(x1), max(y1)


def rounded(box: Box) -> list[float]:
    return [round(v, 1) + 0.0 for v in box]
