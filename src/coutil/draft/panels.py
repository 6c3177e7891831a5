"""The panels of a half of any seaming, each drafted step by step on the board. The code reads as the lesson does."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from itertools import pairwise

from kurbopy import CubicBez

from coutil.draft.board import Board
from coutil.draft.frame import Frame
from coutil.draft.join import join
from coutil.draft.lines import Crossing, Lines
from coutil.draft.neckline import Neckline
from coutil.draft.rise import Rise, lengthened, upper_shaping
from coutil.draft.style import SettledStyle
from coutil.pattern import Edge, Panel
from coutil.pattern.model import Role, Side
from coutil.plane import Curve, Pt, closed_points, controls, line, upright_line
from coutil.seaming import CENTRE_BACK, CENTRE_FRONT, LEVELS, Seaming, SeamingPanel, SeamingSeam
from coutil.words import say

LEVEL_LETTER = {"hip": "S", "high_hip": "H", "waist": "W", "underbust": "U", "bust": "B"}
BELOW_WAIST = ("hip", "high_hip")
# A panel lower than this, in mm, slants so much under a pointed hem that its grain line is looked for. Found by trial.
LOW_PANEL = 120.0
# Nor less than this beside an end of a level, of the hem or of the top, in mm.
BESIDE = 4.0
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


def cut_off(rise: Rise, upper: CubicBez | None, low: float, high: float, *, reached: Collection[str]) -> Drawn:
    """The edge from `low` to `high`, both along the edge from the waist, negative below; run on straight if short.

    It bears the marks of the levels that are `reached` and lie on it.
    """
    lengths = rise.lengths()
    skirt = sum(n for (lower, _), n in lengths.items() if lower in BELOW_WAIST)
    segments = rise.segments if upper is None else (*rise.segments, upper)
    reach = sum(lengths.values()) - skirt + (upper.arclen(1e-8) if upper is not None else 0.0)
    # A millimetre more than needed, so that rounding never leaves the cut short.
    below = max(-low - skirt, 0.0) + 1.0
    above = max(high - reach, 0.0) + 1.0
    whole = lengthened(segments, below, above)
    waist = below + skirt
    curve = whole.part(waist + low, waist + high)
    marks = {"hem": 0.0}
    at = -low - skirt
    for name, length in zip(rise.names, (*lengths.values(), 0.0), strict=True):
        # A point of the hem may go below the waist where the rest of it does not: the edge passes that level then.
        passed = name in reached or (name == "waist" and at > 0.0)
        if passed and at <= curve.length + 1e-9:
            marks[name] = max(at, 0.0)
        at += length
    marks["top"] = curve.length
    return Drawn(curve, marks)


def square(heading: float, tilt: float, toward_back: float) -> float:
    """Direction, going towards the back, of a line with `tilt` against the square to a seam of this heading."""
    return heading - toward_back * (math.pi / 2.0 - tilt)


@dataclass(frozen=True, slots=True)
class Upright:
    """One upright edge of a panel as it is drawn: its rise and cut, the number of its points, the seam that it is of.

    `top_tilt` and `hem_tilt` are those of the lines across it. `cup`: it lies on the seam over the bust point.
    """

    rise: Rise
    drawn: Drawn
    number: int
    seam: SeamingSeam
    hem_tilt: float
    top_tilt: float

    @property
    def hem_heading(self) -> float:
        return self.drawn.heading(False)

    @property
    def top_heading(self) -> float:
        return self.drawn.heading(True)

    def edge(self, *, rising: bool) -> Edge:
        """The edge of the outline, with the marks that it bears."""
        marks = dict(self.drawn.marks)
        if self.seam.cup:
            marks["bust_point"] = marks["bust"]
        return _edge(self.seam.role, self.drawn.curve if rising else self.drawn.curve.reversed(), rising, marks)


@dataclass(frozen=True, slots=True)
class Draftsman:
    """What all panels of one half share."""

    seaming: Seaming
    frame: Frame
    lines: Lines
    style: SettledStyle
    side: Side
    folds: frozenset[str]
    neck: Neckline
    near: tuple[Drawn | None, ...]
    far: tuple[Drawn | None, ...]
    tops: tuple[Crossing, ...]

    def panel(self, k: int) -> tuple[Panel, Board]:
        """Panel k, drawn step by step: the frame, its upright edges, the hem and the top."""
        b = Board(self.seaming.panels[k].name, self.side, 1.0 if self.seaming.panels[k].part == "front" else -1.0)
        if k == 0:
            return self._at_centre_front(b, self.seaming.panels[k + 1])
        return self._at_centre_back(b) if k == len(self.seaming.seams) else self._between(b, k)

    def _upright(self, k: int, *, far: bool) -> Upright:
        """The edge of panel k towards the centre back (`far`) or towards the centre front."""
        seam = k if far else k - 1
        rise = self.frame.inner(seam) if far else self.frame.outer(seam)
        drawn = self.far[k] if far else self.near[k]
        assert drawn is not None
        hem, top = self.lines.hem[seam], self.tops[seam]
        number = self.seaming.numbers(k)[1 if far else 0]
        return Upright(rise, drawn, number, self.seaming.seams[seam], hem.tilt, top.tilt)

    def _at_centre_front(self, b: Board, following: SeamingPanel) -> tuple[Panel, Board]:
        f, ln, neck = self.frame, self.lines, self.neck
        u = self._upright(0, far=True)
        b.group(say("draft.group.frame", panel=_capital(b.panel)))
        ends = self._levels(b, f.centre_front, u.rise, 0, u.number, u.seam)
        self._draw_edge(b, u)
        b.group(say("draft.group.hem_and_neckline", panel=_capital(b.panel)))
        e0, n0 = (0.0, ln.hem_centre_front), (0.0, neck.low)
        b.mark_up(("W0", (0.0, 0.0)), "E0", ln.hem_centre_front, say("draft.why.hem_centre_front"))
        hem = Curve((join(e0, u.drawn.hem, ln.hem_centre_front_slope, square(u.hem_heading, u.hem_tilt, 1.0)),))
        b.draw("E0", f"E{u.number}", hem, _what("hem"), say("draft.why.hem_met", next=following.name))
        b.mark_up(
            ("U0", ends["underbust"][0]), "N0", neck.low - f.centre_front["underbust"], say("draft.why.neckline_low")
        )
        arrive = neck.arrive if u.seam.cup else square(u.top_heading, u.top_tilt, 1.0)
        top = Curve((join(n0, u.drawn.top, neck.leave, arrive),))
        b.draw("N0", f"T{u.number}", top, _what("neckline"), say("draft.why.neckline", neckline=self.style.neckline))
        edges = (
            _edge("hem", hem, True),
            u.edge(rising=True),
            _edge("top", top.reversed(), True),
            _edge("centre_front", line(n0, e0), False, self._centre_marks(f.centre_front, e0[1], n0[1])),
        )
        return self._panel(b, edges, ends, (u,), self._fold(CENTRE_FRONT)), b

    def _between(self, b: Board, k: int) -> tuple[Panel, Board]:
        """A panel between two seams."""
        near, far = self._upright(k, far=False), self._upright(k, far=True)
        b.group(say("draft.group.frame", panel=_capital(b.panel)))
        heights = {v: near.rise.height(v) for v in near.rise.names}
        start = near.rise.point("waist")
        ends = self._levels(b, heights, far.rise, near.number, far.number, far.seam, first=near.rise, start=start)
        self._draw_edge(b, near)
        self._draw_edge(b, far)
        b.group(say("draft.group.hem_and_top", panel=_capital(b.panel)))
        hem = self._join(
            near.drawn.hem, far.drawn.hem, near.hem_heading, far.hem_heading, near.hem_tilt, far.hem_tilt, b.toward_back
        )
        b.draw(f"E{near.number}", f"E{far.number}", hem, _what("hem"), self._why_hem(k))
        top = self._top(near, far, b.toward_back)
        what, why = ("neckline", "neckline_on") if far.seam.cup else ("top", self._why_top(k))
        b.draw(
            f"T{near.number}",
            f"T{far.number}",
            top,
            _what(what),
            say(f"draft.why.{why}", near=near.seam.name, far=far.seam.name),
        )
        if b.toward_back > 0.0:
            edges = (
                _edge("hem", hem, True),
                far.edge(rising=True),
                _edge("top", top.reversed(), True),
                near.edge(rising=False),
            )
        else:
            edges = (
                _edge("hem", hem.reversed(), True),
                near.edge(rising=True),
                _edge("top", top, True),
                far.edge(rising=False),
            )
        return self._panel(b, edges, ends, (near, far), None), b

    def _at_centre_back(self, b: Board) -> tuple[Panel, Board]:
        f, ln = self.frame, self.lines
        k = len(self.seaming.seams)
        u = self._upright(k, far=False)
        centre = self.seaming.numbers(k)[1]
        b.group(say("draft.group.frame", panel=_capital(b.panel)))
        ends = self._levels(b, f.centre_back, u.rise, centre, u.number, u.seam)
        self._draw_edge(b, u)
        b.group(say("draft.group.hem_and_top", panel=_capital(b.panel)))
        e, t = (0.0, ln.hem_centre_back), (0.0, ln.top_centre_back)
        b.mark_up((f"W{centre}", (0.0, 0.0)), f"E{centre}", ln.hem_centre_back, say("draft.why.hem_centre_back"))
        b.mark_up((f"W{centre}", (0.0, 0.0)), f"T{centre}", ln.top_centre_back, say("draft.why.top_centre_back"))
        upright = math.pi / 2
        hem = self._join(u.drawn.hem, e, u.hem_heading, upright, u.hem_tilt, ln.hem_centre_back_slope, -1.0)
        b.draw(f"E{u.number}", f"E{centre}", hem, _what("hem"), say("draft.why.hem_to_centre_back"))
        top = self._join(u.drawn.top, t, u.top_heading, upright, u.top_tilt, ln.top_centre_back_slope, -1.0)
        before = self.seaming.panels[k - 1].name
        b.draw(f"T{u.number}", f"T{centre}", top, _what("top"), say("draft.why.top_to_centre_back", before=before))
        edges = (
            _edge("hem", hem.reversed(), True),
            u.edge(rising=True),
            _edge("top", top, True),
            _edge("centre_back", line(t, e), False, self._centre_marks(f.centre_back, e[1], t[1])),
        )
        # The level's end nearer the side comes first on the back.
        turned = {level: (pair[1], pair[0]) for level, pair in ends.items()}
        return self._panel(b, edges, turned, (), self._fold(CENTRE_BACK)), b

    def _fold(self, centre: str) -> str | None:
        return centre if centre in self.folds else None

    def _top(self, near: Upright, far: Upright, back: float) -> Curve:
        """The top between two seams; beside the cup seam it takes up, or ends as, the neckline."""
        p, q = near.drawn.top, far.drawn.top
        leave = square(near.top_heading, near.top_tilt, back)
        if near.seam.cup:
            leave = square(near.top_heading, self.neck.corner_tilt, back)
            # A peak is a corner by style: the further it runs on, the more directly the top falls from it to the side.
            chord = math.atan2(q[1] - p[1], q[0] - p[0])
            sharp = 1.0 if self.neck.cornered else self.style.peak / (self.style.peak + 10.0)
            leave += sharp * (0.8 * chord - leave)
        arrive = self.neck.arrive if far.seam.cup else square(far.top_heading, far.top_tilt, back)
        return Curve((join(p, q, leave, arrive),))

    def _why_hem(self, k: int) -> str:
        return say("draft.why.hem_to_side" if k == self.seaming.in_front else "draft.why.hem_between")

    def _why_top(self, k: int) -> str:
        if self.seaming.side is None:
            return "top_between"
        if k == self.seaming.side:
            return "top_to_side"
        return "top_from_side" if k == self.seaming.side + 1 else "top_between"

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
        seam: SeamingSeam,
        *,
        first: Rise | None = None,
        start: Pt = (0.0, 0.0),
    ) -> dict[str, tuple[Pt, Pt]]:
        """Square out every level; returns its two ends, the near one first. `first` is a curved near edge."""
        last = self.seaming.numbers(len(self.seaming.seams))[1]
        where = {0: "centre_front", last: "centre_back"}.get(near_number, "between")
        w = f"W{near_number}"
        b.start(w, start, say(f"draft.start.{where}", point=w), say("draft.why.start"))
        ends: dict[str, tuple[Pt, Pt]] = {}
        drawn = self.frame.half.levels
        for level in (v for v in ("waist", "underbust", "bust", "high_hip", "hip") if v in drawn):
            if level in BELOW_WAIST and level not in self.lines.reached:
                continue
            letter, word = LEVEL_LETTER[level], say(f"level.{level}")
            guide = (start[0], heights[level])
            name = f"{letter}{near_number}"
            if level != "waist":
                b.mark_up(
                    (w, start), name if first is None else f"{letter}'", heights[level], _why_height(level, near_number)
                )
            near = guide if first is None else (first.point(level)[0], heights[level])
            if first is not None and level != "waist":
                b.square_out((f"{letter}'", guide), name, near, say("draft.why.level_near", level=word))
            to = far.point(level)
            b.square_out(
                (name, near), f"{letter}{far_number}", to, say("draft.why.level_far", level=word, seam=seam.spoken)
            )
            if level in self.lines.reached:
                ends[level] = (near, to)
        return ends

    def _draw_edge(self, b: Board, u: Upright) -> None:
        """Draw an edge stretch by stretch, from the hem up, as it is left after hem and top have cut it."""
        b.group(say("draft.group.seam", panel=_capital(b.panel), seam=u.seam.spoken))
        drawn, number = u.drawn, u.number
        names = [n for n in ("hem", *LEVELS, "top") if n in drawn.marks]
        letters = {"hem": "E", "top": "T", **LEVEL_LETTER}
        # A short panel may lie between two levels and bear none; its ends are then found from the waist.
        on_body = [n for n in names if n in LEVEL_LETTER] or ["waist"]
        for end in ("hem", "top"):
            near = on_body[0] if end == "hem" else on_body[-1]
            if near not in drawn.marks or abs(drawn.marks[end] - drawn.marks[near]) > 1e-6:
                at = drawn.hem if end == "hem" else drawn.top
                what = "end_hem" if end == "hem" else ("end_cup" if u.seam.cup else "end_top")
                b.go(
                    (f"{letters[near]}{number}", u.rise.point(near)),
                    f"{letters[end]}{number}",
                    at,
                    say(f"draft.why.{what}"),
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
                say("draft.line.seam", seam=u.seam.spoken),
                _why_stretch(low, high, u.seam.cup),
            )

    def _centre_marks(self, heights: Mapping[str, float], hem: float, top: float) -> dict[str, float]:
        marks = {"hem": 0.0}
        for level in self.lines.reached:
            if heights[level] <= top:
                marks[level] = max(heights[level] - hem, 0.0)
        marks["top"] = top - hem
        return marks

    def _panel(
        self,
        b: Board,
        edges: tuple[Edge, ...],
        ends: dict[str, tuple[Pt, Pt]],
        uprights: tuple[Upright, ...],
        fold: str | None,
    ) -> Panel:
        (x0, _), (x1, _) = ends.get("waist", ends["underbust"])
        x = (x0 + x1) / 2.0
        ys = [p[1] for e in edges for p in (e.curve.start,)]
        low, high = max(sorted(ys)[:2]), min(sorted(ys)[-2:])
        room = high - low
        grain = ((x, low + GRAIN_MARGIN * room), (x, high - GRAIN_MARGIN * room))
        leaves = [ends[v] for v in ends] + [
            (edges[0].curve.start, edges[0].curve.end),
            (edges[2].curve.start, edges[2].curve.end),
        ]
        bowed = _reaches(edges[0].curve, grain[0][1], 1.0) or _reaches(edges[2].curve, grain[1][1], -1.0)
        beside = any(not min(p[0], q[0]) + BESIDE < x < max(p[0], q[0]) - BESIDE for p, q in leaves)
        if room < LOW_PANEL or bowed or beside:
            grain = upright_line(closed_points((e.curve for e in edges), tolerance=0.1))
        apex = next((u.rise.point("bust") for u in uprights if u.seam.cup), None)
        points = {} if apex is None else {"bust_point": apex}
        return Panel(b.panel, self.side, b.part, fold, edges, ends, points, grain)


def closing_in(rise: Rise, close: float, low: float, high: float, reach: float, *, reached: Collection[str]) -> Drawn:
    """An edge with the upper shaping on top, as `cut_off`. `close` positive closes towards lesser x; 0: not at all."""
    if close == 0.0:
        return cut_off(rise, None, low, high, reached=reached)
    upper = upper_shaping(rise.point("bust"), close, reach, rise.segments[-1].curvature(1.0))
    return cut_off(rise, upper, low, high, reached=reached)


def _edge(role: Role, curve: Curve, rising: bool, marks: Mapping[str, float] | None = None) -> Edge:
    return Edge(role, role, curve, rising, marks or {})


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _what(name: str) -> str:
    return say(f"draft.line.{name}")


def _why_height(level: str, number: int) -> str:
    return say("draft.why.height_first" if number == 0 else "draft.why.height", level=say(f"level.{level}"))


def _why_stretch(low: str, high: str, cup: bool) -> str:
    if (low, high) == ("underbust", "bust"):
        return say("draft.why.stretch_breast" if cup else "draft.why.stretch_bust")
    if low == "bust" and cup:
        return say("draft.why.stretch_upper")
    return say("draft.why.stretch_skirt" if high == "waist" else "draft.why.stretch")


def _reaches(curve: Curve, height: float, up: float) -> bool:
    """Whether a hem (`up` 1), or a top (-1), bows in as far as a height."""
    # A curve lies in the hull of its control points: most need not be drawn.
    if all(up * q[1] <= up * height for s in curve.segments for q in controls(s)):
        return False
    return any(up * y > up * height for _, y in curve.points(tolerance=0.1))
