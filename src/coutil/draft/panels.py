"""The four panels of a half, each drafted step by step on the board. The code reads as the lesson does."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from kurbopy import CubicBez

from coutil.draft.board import Board
from coutil.draft.frame import Frame
from coutil.draft.join import join
from coutil.draft.lines import Lines, Neckline
from coutil.draft.rise import Rise, lengthened, upper_shaping
from coutil.draft.style import SettledStyle
from coutil.pattern import LEVELS, Edge, Panel
from coutil.pattern.model import Role, Side
from coutil.plane import Curve, Pt, line

LEVEL_LETTER = {"high_hip": "H", "waist": "W", "underbust": "U", "bust": "B"}
LEVEL_WORD = {"high_hip": "high hip", "waist": "waist", "underbust": "underbust", "bust": "bust"}
# The grain line keeps this part of its room free at either end.
GRAIN_MARGIN = 0.15


@dataclass(frozen=True, slots=True)
class Drawn:
    """A vertical edge as it is cut off by hem and top: rising curve, marks by arc length from the hem."""

    curve: Curve
    marks: dict[str, float]

    @property
    def hem(self) -> Pt:
        return self.curve.start

    @property
    def top(self) -> Pt:
        return self.curve.end

    def heading(self, at_top: bool) -> float:
        return self.curve.heading(self.curve.length if at_top else 0.0)


def cut_off(rise: Rise, upper: CubicBez | None, low: float, high: float, *, reaches_high_hip: bool) -> Drawn:
    """The edge from `low` (negative: below) to `high`, both along the edge from the waist; run on straight if short."""
    lengths = rise.lengths()
    skirt = lengths[("high_hip", "waist")]
    segments = rise.segments if upper is None else (*rise.segments, upper)
    reach = sum(lengths.values()) - skirt + (upper.arclen(1e-8) if upper is not None else 0.0)
    # A millimetre more than needed, so that rounding never leaves the cut short.
    below = max(-low - skirt, 0.0) + 1.0
    above = max(high - reach, 0.0) + 1.0
    whole = lengthened(segments, below, above)
    waist = below + skirt
    curve = whole.part(waist + low, waist + high)
    marks = {"hem": 0.0}
    if reaches_high_hip:
        marks["high_hip"] = max(-low - skirt, 0.0)
    at = -low
    for lower, name in pairwise(LEVELS):
        at += lengths[(lower, name)] if lower != "high_hip" else 0.0
        if at <= curve.length + 1e-9:
            marks[name] = at
    marks["top"] = curve.length
    return Drawn(curve, marks)


def square(heading: float, tilt: float, toward_back: float) -> float:
    """Direction, going towards the back, of a line with `tilt` against the square to a seam of this heading."""
    return heading - toward_back * (math.pi / 2.0 - tilt)


@dataclass(frozen=True, slots=True)
class Draftsman:
    """What all four panels of one half share."""

    frame: Frame
    lines: Lines
    style: SettledStyle
    side: Side

    def centre_front(self, neck: Neckline, cup: Drawn) -> tuple[Panel, Board]:
        b = Board("centre front", self.side, +1.0)
        f, ln = self.frame, self.lines
        b.group("Centre front: the frame")
        ends = self._levels(b, f.centre_front, f.cf_princess, 0, 1, "the princess seam")
        b.group("Centre front: the princess seam")
        self._draw_edge(b, f.cf_princess, 1, cup, upper=True, seam="princess seam")
        b.group("Centre front: hem and neckline")
        e0, n0 = (0.0, ln.hem_centre_front), (0.0, neck.low)
        b.mark_up(("W0", (0.0, 0.0)), "E0", ln.hem_centre_front, "The hem at the centre front, with its point.")
        hem = Curve((join(e0, cup.hem, ln.hem_centre_front_slope, square(cup.heading(False), ln.hem_front.tilt, 1.0)),))
        b.draw("E0", "E1", hem, "the hem", "It meets the seam at the angle that the side front will carry on.")
        b.mark_up(
            ("U0", ends["underbust"][0]),
            "N0",
            neck.low - f.centre_front["underbust"],
            "The lowest point of the neckline, above the underbust.",
        )
        top = Curve((join(n0, cup.top, neck.leave, neck.arrive),))
        b.draw("N0", "T1", top, "the neckline", f"A {self.style.neckline} top.")
        edges = (
            _edge("hem", hem, True),
            _edge("front_princess", cup.curve, True, {**cup.marks, "bust_point": cup.marks["bust"]}),
            _edge("top", top.reversed(), True),
            _edge("centre_front", line(n0, e0), False, self._centre_marks(f.centre_front, e0[1], n0[1])),
        )
        fold = "centre_front" if self.side == "both" else None
        return self._panel(b, edges, ends, f.cf_princess.point("bust"), fold), b

    def side_front(self, neck: Neckline, cup: Drawn, side: Drawn) -> tuple[Panel, Board]:
        b = Board("side front", self.side, +1.0)
        f, ln = self.frame, self.lines
        b.group("Side front: the frame")
        at = f.sf_princess.point("waist")[0]
        heights = {v: f.sf_princess.height(v) for v in LEVELS}
        ends = self._levels(b, heights, f.sf_side, 2, 3, "the side seam", first=f.sf_princess, start=(at, 0.0))
        b.group("Side front: the princess seam")
        self._draw_edge(b, f.sf_princess, 2, cup, upper=True, seam="princess seam")
        b.group("Side front: the side seam")
        self._draw_edge(b, f.sf_side, 3, side, upper=False, seam="side seam")
        b.group("Side front: hem and top")
        hem = self._join(cup.hem, side.hem, cup.heading(False), side.heading(False), ln.hem_front.tilt, 0.0, +1.0)
        b.draw("E2", "E3", hem, "the hem", "Square to the side seam, so that it runs on without a corner.")
        leave = square(cup.heading(True), neck.corner_tilt, 1.0)
        chord = math.atan2(side.top[1] - cup.top[1], side.top[0] - cup.top[0])
        # A peak is a corner by style: the further it runs on, the more directly the top falls from it to the side.
        sharp = self.style.peak / (self.style.peak + 10.0)
        leave += sharp * (0.8 * chord - leave)
        top = Curve((join(cup.top, side.top, leave, square(side.heading(True), ln.top_side.tilt, 1.0)),))
        b.draw("T2", "T3", top, "the top", "It carries on the neckline and ends square to the side seam.")
        end = cup.curve.length - ln.peak
        marks = {**cup.marks, "bust_point": cup.marks["bust"], "centre_front_end": end}
        edges = (
            _edge("hem", hem, True),
            _edge("side", side.curve, True, side.marks),
            _edge("top", top.reversed(), True),
            _edge("front_princess", cup.curve.reversed(), False, marks),
        )
        return self._panel(b, edges, ends, f.sf_princess.point("bust"), None), b

    def side_back(self, side: Drawn, back: Drawn) -> tuple[Panel, Board]:
        b = Board("side back", self.side, -1.0)
        f, ln = self.frame, self.lines
        b.group("Side back: the frame")
        start = f.sb_side.point("waist")
        heights = {v: f.sb_side.height(v) for v in LEVELS}
        ends = self._levels(b, heights, f.sb_princess, 4, 5, "the back princess seam", first=f.sb_side, start=start)
        b.group("Side back: the side seam")
        self._draw_edge(b, f.sb_side, 4, side, upper=False, seam="side seam")
        b.group("Side back: the back princess seam")
        self._draw_edge(b, f.sb_princess, 5, back, upper=False, seam="back princess seam")
        b.group("Side back: hem and top")
        hem = self._join(side.hem, back.hem, side.heading(False), back.heading(False), 0.0, 0.0, -1.0)
        b.draw("E4", "E5", hem, "the hem", "Square to both seams.")
        top = self._join(
            side.top, back.top, side.heading(True), back.heading(True), ln.top_side.tilt, ln.top_back.tilt, -1.0
        )
        b.draw(
            "T4", "T5", top, "the top", "Square to the side seam; at the back princess it leans as its neighbour will."
        )
        edges = (
            _edge("hem", hem.reversed(), True),
            _edge("side", side.curve, True, side.marks),
            _edge("top", top, True),
            _edge("back_princess", back.curve.reversed(), False, back.marks),
        )
        return self._panel(b, edges, ends, None, None), b

    def centre_back(self, back: Drawn) -> tuple[Panel, Board]:
        b = Board("centre back", self.side, -1.0)
        f, ln = self.frame, self.lines
        b.group("Centre back: the frame")
        ends = self._levels(b, f.centre_back, f.cb_princess, 7, 6, "the back princess seam")
        b.group("Centre back: the back princess seam")
        self._draw_edge(b, f.cb_princess, 6, back, upper=False, seam="back princess seam")
        b.group("Centre back: hem and top")
        e7, t7 = (0.0, ln.hem_centre_back), (0.0, ln.top_centre_back)
        b.mark_up(("W7", (0.0, 0.0)), "E7", ln.hem_centre_back, "The hem at the centre back.")
        b.mark_up(("W7", (0.0, 0.0)), "T7", ln.top_centre_back, "The top at the centre back.")
        hem = self._join(back.hem, e7, back.heading(False), math.pi / 2, 0.0, 0.0, -1.0)
        b.draw("E6", "E7", hem, "the hem", "Square to the seam and to the centre back.")
        top = self._join(back.top, t7, back.heading(True), math.pi / 2, ln.top_back.tilt, 0.0, -1.0)
        b.draw("T6", "T7", top, "the top", "It carries on the side back's line and ends square to the centre back.")
        edges = (
            _edge("hem", hem.reversed(), True),
            _edge("back_princess", back.curve, True, back.marks),
            _edge("top", top, True),
            _edge("centre_back", line(t7, e7), False, self._centre_marks(f.centre_back, e7[1], t7[1])),
        )
        # The level's end nearer the side comes first on the back.
        turned = {level: (pair[1], pair[0]) for level, pair in ends.items()}
        return self._panel(b, edges, turned, None, None), b

    def _join(self, p: Pt, q: Pt, up_p: float, up_q: float, tilt_p: float, tilt_q: float, back: float) -> Curve:
        """A hem or top, from the seam nearer the front to the seam nearer the back."""
        return Curve((join(p, q, square(up_p, tilt_p, back), square(up_q, tilt_q, back)),))

    def _levels(
        self,
        b: Board,
        heights: Mapping[str, float],
        far: Rise,
        near_number: int,
        far_number: int,
        seam: str,
        *,
        first: Rise | None = None,
        start: Pt = (0.0, 0.0),
    ) -> dict[str, tuple[Pt, Pt]]:
        """Square out every level; returns its two ends, the near one first. `first` is a curved near edge."""
        where = {0: "the centre front", 7: "the centre back"}.get(near_number, "a guide line") + " upright"
        w = f"W{near_number}"
        b.start(w, start, f"Draw {where} on the paper. Mark {w} on it, the waist.", "Everything is set from it.")
        ends = {}
        for level in ("waist", "underbust", "bust", "high_hip"):
            if level == "high_hip" and not self.lines.reaches_high_hip:
                continue
            letter, word = LEVEL_LETTER[level], LEVEL_WORD[level]
            guide = (start[0], heights[level])
            name = f"{letter}{near_number}"
            if level != "waist":
                b.mark_up(
                    (w, start), name if first is None else f"{letter}'", heights[level], _why_height(level, near_number)
                )
            near = guide if first is None else (first.point(level)[0], heights[level])
            if first is not None and level != "waist":
                b.square_out((f"{letter}'", guide), name, near, f"The {word} on the near seam.")
            to = far.point(level)
            b.square_out(
                (name, near), f"{letter}{far_number}", to, f"The {word} on {seam}: this panel's share of the girth."
            )
            ends[level] = (near, to)
        return ends

    def _draw_edge(self, b: Board, rise: Rise, number: int, drawn: Drawn, *, upper: bool, seam: str) -> None:
        """Draw an edge stretch by stretch, from the hem up, as it is left after hem and top have cut it."""
        names = [n for n in ("hem", *LEVELS, "top") if n in drawn.marks]
        letters = {"hem": "E", "top": "T", **LEVEL_LETTER}
        on_body = [n for n in names if n in LEVEL_LETTER]
        for end in ("hem", "top"):
            near = on_body[0] if end == "hem" else on_body[-1]
            if abs(drawn.marks[end] - drawn.marks[near]) > 1e-6:
                at = drawn.hem if end == "hem" else drawn.top
                what = "The hem" if end == "hem" else ("The end of the cup" if upper else "The top")
                b.go(
                    (f"{letters[near]}{number}", rise.point(near)),
                    f"{letters[end]}{number}",
                    at,
                    f"{what} on this seam.",
                )
        for low, high in pairwise(names):
            s0, s1 = drawn.marks[low], drawn.marks[high]
            if s1 - s0 < 0.01:
                continue
            part = drawn.curve.part(s0, s1)
            b.draw(
                f"{letters[low]}{number}",
                f"{letters[high]}{number}",
                part,
                f"the {seam}",
                _why_stretch(low, high, upper),
            )

    def _centre_marks(self, heights: Mapping[str, float], hem: float, top: float) -> dict[str, float]:
        marks = {"hem": 0.0}
        for level in LEVELS:
            if (level != "high_hip" or self.lines.reaches_high_hip) and heights[level] <= top:
                marks[level] = max(heights[level] - hem, 0.0)
        marks["top"] = top - hem
        return marks

    def _panel(
        self, b: Board, edges: tuple[Edge, ...], ends: dict[str, tuple[Pt, Pt]], apex: Pt | None, fold: str | None
    ) -> Panel:
        (x0, _), (x1, _) = ends["waist"]
        x = (x0 + x1) / 2.0
        ys = [p[1] for e in edges for p in (e.curve.start,)]
        low, high = max(sorted(ys)[:2]), min(sorted(ys)[-2:])
        room = high - low
        grain = ((x, low + GRAIN_MARGIN * room), (x, high - GRAIN_MARGIN * room))
        points = {"bust_point": apex} if apex is not None else {}
        return Panel(b.panel, self.side, fold, edges, ends, points, grain)


def princess(rise: Rise, close: float, low: float, high: float, radius: float, *, reaches_high_hip: bool) -> Drawn:
    """A front princess edge: the rise with the upper shaping on top. `close` positive closes towards lesser x."""
    below = rise.segments[-1]
    upper = upper_shaping(rise.point("bust"), close, radius, below.curvature(1.0))
    return cut_off(rise, upper, low, high, reaches_high_hip=reaches_high_hip)


def _edge(role: Role, curve: Curve, rising: bool, marks: Mapping[str, float] | None = None) -> Edge:
    return Edge(role, role, curve, rising, marks or {})


def _why_height(level: str, number: int) -> str:
    word = LEVEL_WORD[level]
    if number == 0:
        return f"The {word}. This height lets the curved princess seam measure what the body does."
    return f"The {word}. This height makes the seam as long as the one it is sewn to."


def _why_stretch(low: str, high: str, upper: bool) -> str:
    if (low, high) == ("underbust", "bust"):
        return "Under the breast; it stands upright at the bust." if upper else "It stands upright at the bust."
    if low == "bust" and upper:
        return "Upper shaping: the seam closes in again so that the top does not gape."
    if high == "waist":
        return "The skirt part flares from the waist."
    return "One smooth sweep; no corner at the level."
