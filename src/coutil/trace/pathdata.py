"""The path data of SVG 1.1 (W3C Recommendation, 2nd edition, 2011, section 8.3), as cubic Béziers.

kurbopy can read path data too, but makes arcs only to 0.1 of a unit (0.13), where patterns need a hundredth of that.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from kurbopy import CubicBez, Point

from coutil.plane import Pt, bezier, straight
from coutil.trace.model import Budget, TraceError

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_GAP = re.compile(r"[\s,]*")
# How many numbers each command takes.
_ARGUMENTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
# Longer than any number that a program writes; float() would take its time over a million digits.
_LONGEST_NUMBER = 60
# Coordinates beyond this, in any unit, are a mistake and would lose their decimals.
_FARTHEST = 1e9
# Arcs are cut in pieces of at most this angle; each is within 4e-7 of its radius, as its error falls with the sixth
# power of the angle from the 5e-6 of 45 degrees (see coutil.plane.arc_through).
_ARC_STEP = math.pi / 6


@dataclass(slots=True)
class SubPath:
    """One run of cubics from a move to the next. `straight`: made of straight lines only."""

    path: list[CubicBez]
    closed: bool = False
    straight: bool = True


def number(text: str) -> float:
    """A finite number of sensible size; raises TraceError."""
    if len(text) > _LONGEST_NUMBER:
        raise TraceError("long_number", signs=len(text))
    v = float(text)
    if not abs(v) < _FARTHEST:
        raise TraceError("large_number", number=text[:40])
    return v


def quadratic(a: Pt, b: Pt, c: Pt) -> CubicBez:
    """A quadratic Bézier raised to a cubic, exactly."""
    third = 2.0 / 3.0
    p = (a[0] + third * (b[0] - a[0]), a[1] + third * (b[1] - a[1]))
    q = (c[0] + third * (b[0] - c[0]), c[1] + third * (b[1] - c[1]))
    return bezier(a, p, q, c)


def ellipse_arc(cx: float, cy: float, rx: float, ry: float, turn: float, start: float, sweep: float) -> list[CubicBez]:
    """An arc of an ellipse with semi-axes rx, ry turned by `turn`; from parameter `start` through `sweep` radians."""
    n = max(1, math.ceil(abs(sweep) / _ARC_STEP - 1e-9))
    step = sweep / n
    k = 4.0 / 3.0 * math.tan(step / 4.0)
    ct, st = math.cos(turn), math.sin(turn)

    def at(c: float, s: float) -> tuple[float, float]:
        return cx + ct * rx * c - st * ry * s, cy + st * rx * c + ct * ry * s

    out = []
    for i in range(n):
        a, b = start + i * step, start + (i + 1) * step
        ca, sa, cb, sb = math.cos(a), math.sin(a), math.cos(b), math.sin(b)
        out.append(bezier(at(ca, sa), at(ca - k * sa, sa + k * ca), at(cb + k * sb, sb - k * cb), at(cb, sb)))
    return out


def arc(
    x0: float, y0: float, rx: float, ry: float, degrees: float, large: bool, left: bool, x1: float, y1: float
) -> list[CubicBez]:
    """The elliptical arc of SVG 1.1, by appendix F.6 (from ends to centre; radii that are too small are scaled up)."""
    if x0 == x1 and y0 == y1:
        return []
    rx, ry = abs(rx), abs(ry)
    if rx == 0.0 or ry == 0.0:
        return [straight((x0, y0), (x1, y1))]
    turn = math.radians(degrees % 360.0)
    ct, st = math.cos(turn), math.sin(turn)
    dx, dy = (x0 - x1) / 2.0, (y0 - y1) / 2.0
    u, v = (ct * dx + st * dy) / rx, (-st * dx + ct * dy) / ry
    size = u * u + v * v
    if size > 1.0:
        grow = math.sqrt(size)
        rx, ry, u, v = rx * grow, ry * grow, u / grow, v / grow
        size = 1.0
    if size < 1e-18 or not math.isfinite(size):
        # Ends so close, for such radii, that the centre is lost in rounding: the arc is its chord.
        return [straight((x0, y0), (x1, y1))]
    f = math.sqrt(max(0.0, 1.0 / size - 1.0)) * (-1.0 if large == left else 1.0)
    p, q = f * v, -f * u
    cx = ct * rx * p - st * ry * q + (x0 + x1) / 2.0
    cy = st * rx * p + ct * ry * q + (y0 + y1) / 2.0
    start, end = math.atan2(v - q, u - p), math.atan2(-v - q, -u - p)
    sweep = end - start
    if left and sweep < 0.0:
        sweep += 2.0 * math.pi
    elif not left and sweep > 0.0:
        sweep -= 2.0 * math.pi
    out = ellipse_arc(cx, cy, rx, ry, turn, start, sweep)
    if not out:
        return []
    # The ends are what the file says, not what the angles give back.
    return between((x0, y0), out, (x1, y1))


def between(start: Pt, path: list[CubicBez], end: Pt) -> list[CubicBez]:
    """The path with its two ends set exactly, its handles where they are."""
    first = path[0]
    out = [CubicBez(Point(*start), first.p1, first.p2, first.p3), *path[1:]]
    last = out[-1]
    return [*out[:-1], CubicBez(last.p0, last.p1, last.p2, Point(*end))]


def parse_path(d: str, budget: Budget) -> list[SubPath]:
    """The sub-paths of a `d` attribute, in its own coordinates.

    Raises TraceError where the data breaks the grammar (a viewer would draw what came before; a pattern with a piece
    missing is worse than none). Moves that draw nothing are left out.
    """
    return _Parser(d, budget).run()


class _Parser:
    def __init__(self, d: str, budget: Budget) -> None:
        self.d = d
        self.at = 0
        self.budget = budget
        self.out: list[SubPath] = []
        self.x = self.y = self.start_x = self.start_y = 0.0
        # The control point that a smooth command mirrors, and whether it belongs to a cubic or a quadratic.
        self.handle: tuple[str, float, float] = ("", 0.0, 0.0)

    def run(self) -> list[SubPath]:
        d = self.d
        command = ""
        self._skip()
        while self.at < len(d):
            c = d[self.at]
            if c.upper() in _ARGUMENTS and c.isascii():
                self.at += 1
                if not command and c not in "Mm":
                    raise TraceError("path_start", sign=repr(c))
                command = c
                self._skip()
            elif not command:
                raise TraceError("path_without_move")
            elif command in "Zz":
                raise TraceError("path_after_close")
            self._do(command)
            if command in "Mm":
                # Further pairs after a move are lines.
                command = "L" if command == "M" else "l"
        return [s for s in self.out if s.path]

    def _skip(self) -> None:
        m = _GAP.match(self.d, self.at)
        self.at = m.end() if m else self.at

    def _number(self) -> float:
        m = _NUMBER.match(self.d, self.at)
        if m is None:
            raise TraceError("broken_path", sign=self.at + 1, path=repr(self.d[self.at : self.at + 20]))
        self.at = m.end()
        self._skip()
        return number(m.group())

    def _flag(self) -> bool:
        c = self.d[self.at : self.at + 1]
        if c not in ("0", "1"):
            raise TraceError("arc_flag", sign=self.at + 1)
        self.at += 1
        self._skip()
        return c == "1"

    def _do(self, command: str) -> None:
        kind = command.upper()
        if kind == "Z":
            self._close()
            return
        if kind == "A":
            rx, ry, turn = self._number(), self._number(), self._number()
            large, left = self._flag(), self._flag()
            numbers = [rx, ry, turn, self._number(), self._number()]
        else:
            large = left = False
            numbers = [self._number() for _ in range(_ARGUMENTS[kind])]
        ox, oy = (self.x, self.y) if command.islower() else (0.0, 0.0)
        match kind:
            case "M":
                self.x, self.y = numbers[0] + ox, numbers[1] + oy
                self.start_x, self.start_y = self.x, self.y
                self.budget.segment()
                self.out.append(SubPath([]))
                self.handle = ("", 0.0, 0.0)
            case "L":
                self._line(numbers[0] + ox, numbers[1] + oy)
            case "H":
                self._line(numbers[0] + ox, self.y)
            case "V":
                self._line(self.x, numbers[0] + oy)
            case "C":
                x1, y1, x2, y2, x, y = (v + (ox, oy)[k % 2] for k, v in enumerate(numbers))
                self._cubic(x1, y1, x2, y2, x, y)
            case "S":
                x2, y2, x, y = (v + (ox, oy)[k % 2] for k, v in enumerate(numbers))
                x1, y1 = self._mirrored("C")
                self._cubic(x1, y1, x2, y2, x, y)
            case "Q":
                x1, y1, x, y = (v + (ox, oy)[k % 2] for k, v in enumerate(numbers))
                self._quadratic(x1, y1, x, y)
            case "T":
                x1, y1 = self._mirrored("Q")
                self._quadratic(x1, y1, numbers[0] + ox, numbers[1] + oy)
            case "A":
                rx, ry, turn, x, y = numbers[0], numbers[1], numbers[2], numbers[3] + ox, numbers[4] + oy
                self._add(arc(self.x, self.y, rx, ry, turn, large, left, x, y), x, y)
                self.handle = ("", 0.0, 0.0)

    def _mirrored(self, kind: str) -> tuple[float, float]:
        if self.handle[0] != kind:
            return self.x, self.y
        return 2 * self.x - self.handle[1], 2 * self.y - self.handle[2]

    def _run(self) -> SubPath:
        if not self.out or self.out[-1].closed:
            # After a close without a move the next run starts where that one did.
            self.out.append(SubPath([]))
        return self.out[-1]

    def _add(self, path: list[CubicBez], x: float, y: float) -> None:
        run = self._run()
        self.budget.segment(len(path))
        run.path += path
        run.straight = False
        self.x, self.y = x, y

    def _line(self, x: float, y: float) -> None:
        run = self._run()
        if x != self.x or y != self.y:
            self.budget.segment()
            run.path.append(straight((self.x, self.y), (x, y)))
        self.x, self.y = x, y
        self.handle = ("", 0.0, 0.0)

    def _cubic(self, x1: float, y1: float, x2: float, y2: float, x: float, y: float) -> None:
        self._add([bezier((self.x, self.y), (x1, y1), (x2, y2), (x, y))], x, y)
        self.handle = ("C", x2, y2)

    def _quadratic(self, x1: float, y1: float, x: float, y: float) -> None:
        self._add([quadratic((self.x, self.y), (x1, y1), (x, y))], x, y)
        self.handle = ("Q", x1, y1)

    def _close(self) -> None:
        run = self._run()
        if self.x != self.start_x or self.y != self.start_y:
            self.budget.segment()
            run.path.append(straight((self.x, self.y), (self.start_x, self.start_y)))
        run.closed = True
        self.x, self.y = self.start_x, self.start_y
        self.handle = ("", 0.0, 0.0)
        self._skip()
