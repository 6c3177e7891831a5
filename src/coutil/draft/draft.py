"""Body and style in, panels, seams and lesson out."""

from __future__ import annotations

from dataclasses import dataclass, replace

from coutil.body import Body, BodySide
from coutil.draft.frame import Frame, frames
from coutil.draft.lines import Lines, lines, low_point, neckline
from coutil.draft.panels import Draftsman, Drawn, cut_off, princess
from coutil.draft.steps import Step
from coutil.draft.style import SettledStyle, settle
from coutil.draft.sums import reckon
from coutil.order import Style
from coutil.pattern import Edge, EdgeRef, Panel, Pattern, Seam
from coutil.pattern.model import Side


@dataclass(frozen=True, slots=True)
class Draft:
    """Panels and seams as a Pattern, the lesson's steps, and the style with nothing left open."""

    pattern: Pattern
    steps: tuple[Step, ...]
    style: SettledStyle


def draft(body: Body, style: Style, name: str = "", *, foam_girth: float = 0.0) -> Draft:
    """Draft the panels. `foam_girth` in mm is added to the front at the bust (what pads take up, if the style asks).

    Raises DraftError naming what conflicts.
    """
    settled = settle(style, body)
    halves = frames(body, settled, foam_girth)
    sides: tuple[tuple[Side, BodySide], ...] = (
        (("both", body.left),) if body.symmetric else (("left", body.left), ("right", body.right))
    )
    panels: list[Panel] = []
    seams: list[Seam] = []
    steps: list[Step] = []
    cut = [_cut_edges(f, settled, body, m) for f, (_, m) in zip(halves, sides, strict=True)]
    # Where left and right meet at the centre front, their necklines meet at one height.
    lows = [
        low_point(settled, f.centre_front["underbust"], c.cf.top, c.cf.heading(True))
        for f, c in zip(halves, cut, strict=True)
    ]
    low = sum(lows) / len(lows)
    for (side, measures), frame, edges in zip(sides, halves, cut, strict=True):
        made, noted = _half(frame, settled, edges, low, side)
        steps.extend(reckon(frame.half, body, measures, settled, foam_girth, side).steps)
        if side == "right":
            made = tuple(mirrored(p) for p in made)
        panels.extend(made)
        steps.extend(noted)
        seams.extend(_seams(made, side))
    if not body.symmetric:
        left, right = panels[0], panels[4]
        a, b = (EdgeRef("centre front", "centre_front", p.side) for p in (left, right))
        seams.append(Seam("centre front", "left", a, b, _shared(left.edge(a.edge), right.edge(b.edge))))
    return Draft(Pattern(name, tuple(panels), tuple(seams)), tuple(steps), settled)


@dataclass(frozen=True, slots=True)
class _Cut:
    """The six curved edges of a half, cut off by hem and top."""

    lines: Lines
    cf: Drawn
    sf: Drawn
    side_front: Drawn
    side_back: Drawn
    back_side: Drawn
    back_centre: Drawn


def _cut_edges(frame: Frame, style: SettledStyle, body: Body, measures: BodySide) -> _Cut:
    ln = lines(frame, style, body.high_hip_depth)
    hip = ln.reaches_high_hip
    radius = measures.bust_to_underbust
    low, high = ln.hem_front.along, ln.top_front
    cf = princess(frame.cf_princess, frame.half.close_centre, low, high, radius, reaches_high_hip=hip)
    sf = princess(frame.sf_princess, -frame.half.close_side, low, high + ln.peak, radius, reaches_high_hip=hip)
    return _Cut(
        ln,
        replace(cf, marks={**cf.marks, "centre_front_end": cf.curve.length}),
        sf,
        cut_off(frame.sf_side, None, ln.hem_side.along, ln.top_side.along, reaches_high_hip=hip),
        cut_off(frame.sb_side, None, ln.hem_side.along, ln.top_side.along, reaches_high_hip=hip),
        cut_off(frame.sb_princess, None, ln.hem_back.along, ln.top_back.along, reaches_high_hip=hip),
        cut_off(frame.cb_princess, None, ln.hem_back.along, ln.top_back.along, reaches_high_hip=hip),
    )


def _half(frame: Frame, style: SettledStyle, cut: _Cut, low: float, side: Side) -> tuple[tuple[Panel, ...], list[Step]]:
    man = Draftsman(frame, cut.lines, style, side)
    neck = neckline(style, low, cut.cf.top, cut.cf.heading(True))
    made = (
        man.centre_front(neck, cut.cf),
        man.side_front(neck, cut.sf, cut.side_front),
        man.side_back(cut.side_back, cut.back_side),
        man.centre_back(cut.back_centre),
    )
    return tuple(p for p, _ in made), [s for _, b in made for s in b.steps]


def _seams(panels: tuple[Panel, ...], side: Side) -> list[Seam]:
    pairs = (("front princess", "front_princess", 0), ("side", "side", 1), ("back princess", "back_princess", 2))
    out = []
    for name, edge, k in pairs:
        a, b = panels[k], panels[k + 1]
        stations = _shared(a.edge(edge), b.edge(edge))
        refs = EdgeRef(a.name, edge, side), EdgeRef(b.name, edge, side)
        out.append(Seam(name, side, *refs, stations, cup=name == "front princess"))
    return out


def _shared(a: Edge, b: Edge) -> tuple[str, ...]:
    """Marks that both edges bear, from the hem up; the top only where both end together; no place named twice."""
    both = [m for m in a.marks if m in b.marks and m != "bust_point"]
    if "centre_front_end" in both:
        both.remove("top")
    return tuple(sorted(both, key=lambda m: a.marks[m]))


def mirrored(panel: Panel) -> Panel:
    """The same panel for the other side: x becomes -x, and the outline is turned to run anticlockwise again."""

    def flip(p: tuple[float, float]) -> tuple[float, float]:
        return (-p[0], p[1])

    edges = tuple(
        replace(e, curve=e.curve.mirrored().reversed(), rising=not e.rising if e.marks else True)
        for e in reversed(panel.edges)
    )
    return replace(
        panel,
        edges=edges,
        levels={k: (flip(p), flip(q)) for k, (p, q) in panel.levels.items()},
        points={k: flip(p) for k, p in panel.points.items()},
        grain=(flip(panel.grain[0]), flip(panel.grain[1])),
    )
