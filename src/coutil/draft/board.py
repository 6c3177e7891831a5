"""The drafting board: verbs that make points and lines and note each as a step of the lesson.

A draft written with these verbs reads as the lesson does, and is the lesson. Coordinates are those of the panel on
the board: x to the wearer's left, y up, in mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from coutil.draft.steps import Figure, Step
from coutil.plane import Curve, Pt, line
from coutil.seaming import Part
from coutil.words import say

# A line that strays less than this from its chord is drawn with the ruler, in mm: the width of a pencil line.
PENCIL = 0.3


@dataclass(slots=True)
class Board:
    """Steps in the making. `toward_back` is +1 on front panels, where the body's back lies at greater x, and -1 on
    back panels, where x is counted from the centre back."""

    panel: str
    side: str
    toward_back: float
    steps: list[Step] = field(default_factory=list)
    _group: str = ""

    @property
    def part(self) -> Part:
        return "front" if self.toward_back > 0.0 else "back"

    def group(self, title: str) -> None:
        """Begin a group of steps; the lesson shows one drawing for each."""
        self._group = title

    def note(
        self,
        verb: str,
        says: str,
        why: str,
        *,
        figures: dict[str, float] | None = None,
        points: dict[str, Pt] | None = None,
        curves: tuple[Curve, ...] = (),
        guides: tuple[Curve, ...] = (),
    ) -> None:
        """Add a step in its own words. Figures named ..._deg are degrees, all others mm."""
        made = tuple(Figure(k, v, "degree" if k.endswith("_deg") else "mm") for k, v in (figures or {}).items())
        named = tuple((points or {}).items())
        if self.side == "right":  # drafted as a left half, then turned over like its panel
            named = tuple((k, (-x, y)) for k, (x, y) in named)
            curves = tuple(c.mirrored() for c in curves)
            guides = tuple(c.mirrored() for c in guides)
        self.steps.append(
            Step(self._group, self.panel, self.side, verb, says, why, made, named, curves, guides, self.part)
        )

    def start(self, name: str, at: Pt, says: str, why: str) -> Pt:
        """The first point of a panel."""
        self.note("start", says, why, points={name: at})
        return at

    def mark_up(self, a: tuple[str, Pt], name: str, by: float, why: str) -> Pt:
        """A point straight above `a` (below it when `by` is negative)."""
        p = (a[1][0], a[1][1] + by)
        way = "up" if by >= 0 else "down"
        self.note(
            f"mark {way}",
            say(f"draft.verb.mark_{way}", start=a[0], point=name),
            why,
            figures={"measure": abs(by)},
            points={name: p},
            guides=(line(a[1], p),) if by else (),
        )
        return p

    def square_out(self, a: tuple[str, Pt], name: str, to: Pt, why: str) -> Pt:
        """The far end of a level that starts at `a`; with a tilt where the two sides of the body differ."""
        across, rise = to[0] - a[1][0], to[1] - a[1][1]
        if abs(across) < PENCIL / 10.0 and abs(rise) < PENCIL / 10.0:
            return to
        tilts = ""
        figures = {"measure": abs(across)}
        if abs(rise) > PENCIL:
            tilts = "_higher" if rise > 0 else "_lower"
            figures["tilt"] = abs(rise)
        says = say(f"draft.verb.square_{self._hand(across)}{tilts}", start=a[0], point=name)
        self.note("square out", says, why, figures=figures, points={name: to}, guides=(line(a[1], to),))
        return to

    def go(self, a: tuple[str, Pt], name: str, at: Pt, why: str) -> Pt:
        """A point at the end of a seam, straight up or down and then square to the side from one that is there."""
        across, rise = at[0] - a[1][0], at[1] - a[1][1]
        way, figures = "up" if rise >= 0 else "down", {"rise": abs(rise)}
        if abs(across) > PENCIL / 10.0:
            way += f"_{self._hand(across)}"
            figures["across"] = abs(across)
        self.note(
            "mark off", say(f"draft.verb.go_{way}", start=a[0], point=name), why, figures=figures, points={name: at}
        )
        return at

    def _hand(self, across: float) -> str:
        """Left or right as the panel lies face up: a right-hand panel is turned over, back panels count x reversed."""
        turned = -1.0 if self.side == "right" else 1.0
        return "right" if across * self.toward_back * turned > 0.0 else "left"

    def draw(self, a: str, b: str, curve: Curve, what: str, why: str) -> None:
        """Join two points; the step tells how far the line bows from the ruler, and its length on the tape."""
        deviations = _deviations(curve)
        bow, share, left = _bow(deviations)
        if bow < PENCIL:
            says = say("draft.verb.rule", start=a, end=b, what=what)
            self.note("rule", says, why, figures={"length": curve.length}, curves=(curve,))
            return
        hand = self._hand(-1.0 if left else 1.0)
        shape = f"s_{hand}" if _both_ways(deviations) else f"bow_{hand}"
        self.note(
            "join with a curve",
            say(f"draft.verb.{shape}", start=a, end=b, what=what, part=say(f"draft.verb.{_part(share)}")),
            why,
            figures={"bow": bow, "length": curve.length},
            curves=(curve,),
            guides=(line(curve.start, curve.end),),
        )


def _deviations(curve: Curve) -> list[float]:
    """Signed distances of sample points from the chord, positive to the left of travel."""
    (x0, y0), (x1, y1) = curve.start, curve.end
    n = math.hypot(x1 - x0, y1 - y0)
    ux, uy = (x1 - x0) / n, (y1 - y0) / n
    out = []
    per_segment = 16
    for s in curve.segments:
        for k in range(1, per_segment + 1):
            p = s.eval(k / per_segment)
            out.append(ux * (p.y - y0) - uy * (p.x - x0))
    return out


def _bow(d: list[float]) -> tuple[float, float, bool]:
    """Greatest deviation from the chord in mm, where along the curve (0 to 1), and whether to the left of travel."""
    k = max(range(len(d)), key=lambda i: abs(d[i]))
    return abs(d[k]), (k + 1) / len(d), d[k] > 0


def _both_ways(d: list[float]) -> bool:
    return max(d) > PENCIL and min(d) < -PENCIL


def _part(share: float) -> str:
    if share < 0.42:
        return "third"
    return "half" if share < 0.58 else "two_thirds"
