"""Curves as SVG path data in paper coordinates: mm, x to the right, y down."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from coutil.plane import Curve, Pt

# A control point nearer to the chord than this makes no visible bend, in mm: a thousandth of the thinnest line.
_FLAT = 1e-3
# How far a length stands from its edge, in mm on paper: clear of the line at any usual zoom (found by trial).
LABEL_AWAY = 6.0
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
            for s in curve.segments:
                a, b, c, d = s.p0, s.p1, s.p2, s.p3
                if start:
                    out.append(f"M{ox + fx * a.x:.2f} {oy - a.y:.2f}")
                    start = False
                dx, dy = d.x - a.x, d.y - a.y
                reach = _FLAT * (abs(dx) + abs(dy))
                flat = (
                    abs((b.x - a.x) * dy - (b.y - a.y) * dx) < reach
                    and abs((c.x - a.x) * dy - (c.y - a.y) * dx) < reach
                )
                if flat:
                    out.append(f"L{ox + fx * d.x:.2f} {oy - d.y:.2f}")
                else:
                    out.append(
                        f"C{ox + fx * b.x:.2f} {oy - b.y:.2f} {ox + fx * c.x:.2f} {oy - c.y:.2f}"
                        f" {ox + fx * d.x:.2f} {oy - d.y:.2f}"
                    )
        if closed:
            out.append("Z")
        return "".join(out)

    def line(self, *points: Pt) -> str:
        return "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in map(self.point, points))

    def label(self, curve: Curve, *, inside: bool) -> dict[str, object]:
        """A place beside the middle of a curve of an anticlockwise outline, and the angle of a text there."""
        s = curve.length / 2.0
        (x, y), (tx, ty) = curve.point(s), curve.tangent(s)
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
            xs += (s.p0.x, s.p1.x, s.p2.x, s.p3.x)
            ys += (s.p0.y, s.p1.y, s.p2.y, s.p3.y)
    return min(xs), min(ys), max(xs), max(ys)


def polygon(points: Iterable[Pt]) -> str:
    """The `d` of a closed polygon whose points are in paper coordinates already."""
    return "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in points) + "Z"


def union(boxes: Iterable[Box]) -> Box:
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return min(x0), min(y0), max(x1), max(y1)


def rounded(box: Box) -> list[float]:
    return [round(v, 1) + 0.0 for v in box]
