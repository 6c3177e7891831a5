"""Body, seaming and style in, panels, seams and lesson out.

The draft goes the same way for every seaming: share the widths (`sharing`), place the seams and solve the heights
(`frame`), cut by top and hem (`lines`), draw the panels (`panels`), sew.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from coutil.body import Body, BodySide
from coutil.draft.bridge import bridge
from coutil.draft.elastic import with_elastic
from coutil.draft.frame import Frame, frames
from coutil.draft.lines import Lines, front_top, lines, side_height, virtual_cup_end
from coutil.draft.neckline import CupEnd, low_point, neckline
from coutil.draft.panels import Draftsman, Drawn, closing_in
from coutil.draft.refusal import hold_lengths
from coutil.draft.steps import Step
from coutil.draft.style import SettledStyle, settle
from coutil.draft.sums import reckon
from coutil.order import Cloth, Style
from coutil.pattern import Edge, EdgeRef, Panel, Pattern, Seam
from coutil.pattern.model import Side
from coutil.seaming import Seaming
from coutil.seaming.roles import BACK_SEAM, CENTRE_BACK, CENTRE_FRONT, ELASTIC, MIDDLE_SEAM


@dataclass(frozen=True, slots=True)
class Upper:
    """Above the breasts, `reach` above the bust: the garment's girth with what its openings leave open, what one half
    front was taken in by, and by how much less than asked for, the larger of two; all in mm."""

    reach: float
    girth: float
    taken: float
    short: float


@dataclass(frozen=True, slots=True)
class Draft:
    """Panels and seams as a Pattern, the lesson's steps, the seaming, and the style with nothing left open.

    `upper` is None for a garment without a bust.
    """

    pattern: Pattern
    steps: tuple[Step, ...]
    style: SettledStyle
    seaming: Seaming
    upper: Upper | None


def draft(body: Body, style: Style, name: str = "", *, cloth: tuple[Cloth, ...] = (), foam_girth: float = 0.0) -> Draft:
    """Draft the panels of the style's seaming. `foam_girth` in mm is added to the front at the bust: what pads take up,
    if the style asks. The usual ease goes by the `cloth`.

    Raises DraftError naming what conflicts.
    """
    hold_lengths(body)
    seaming, settled = style.seaming, settle(style, body, cloth)
    halves = frames(seaming, body, settled, foam_girth)
    sides: tuple[tuple[Side, BodySide], ...] = (
        (("both", body.left),) if body.symmetric else (("left", body.left), ("right", body.right))
    )
    cut = [_cut_edges(seaming, f, settled, body, m) for f, (_, m) in zip(halves, sides, strict=True)]
    # Where left and right meet at the centre front, their necklines meet at one height.
    lows = [
        low_point(
            settled,
            f.centre_front["underbust"],
            c.lines.hem_centre_front,
            c.end,
            side_height(seaming, f, c.lines) if "style.side_top" in settled.assumed else None,
        )
        for f, c in zip(halves, cut, strict=True)
    ]
    low = sum(lows) / len(lows)
    panels: list[Panel] = []
    seams: list[Seam] = []
    nets: list[Panel] = []
    steps: list[Step] = []
    for (side, measures), frame, edges in zip(sides, halves, cut, strict=True):
        made, noted = _half(style, frame, settled, edges, low, side)
        steps.extend(reckon(seaming, frame.half, body, measures, settled, foam_girth, side).steps)
        steps.extend(noted)
        net = bridge(made[0], frame.centre_front["underbust"]) if seaming.bust else None
        if net is not None:
            steps.extend(net[1])
            nets.append(mirrored(net[0]) if side == "right" else net[0])
        if side == "right":
            made = tuple(mirrored(p) for p in made)
        panels.extend(made)
        seams.extend(_seams(seaming, made, side))
    if (elastic := settled.elastic) is not None:
        panels, noted = with_elastic(panels, elastic.gap)
        seams += _elastic(panels)
        steps += noted
    seams += _middles(style, panels)
    panels += nets
    upper = _upper(halves, settled, [m for _, m in sides]) if seaming.bust else None
    pattern = Pattern(name, tuple(panels), tuple(seams), openings=settled.openings)
    return Draft(pattern, tuple(steps), settled, seaming, upper)


def _upper(halves: Sequence[Frame], style: SettledStyle, sides: Sequence[BodySide]) -> Upper:
    taken = [sum(a + b for a, b in f.half.close) for f in halves]
    cloth = [sum(w["bust"] for w in f.half.width) - t for f, t in zip(halves, taken, strict=True)]
    girth = sum(cloth) * 2.0 / len(halves) + style.open_front + style.open_back
    return Upper(min(m.bust_to_underbust for m in sides), girth, max(taken), max(f.half.short for f in halves))


@dataclass(frozen=True, slots=True)
class _Cut:
    """The upright edges of a half by panel, cut off by hem and top; those of the front's seams that have no place of
    their own on the top are cut once the neckline is known."""

    lines: Lines
    end: CupEnd | None
    reach: float
    near: tuple[Drawn | None, ...]
    far: tuple[Drawn | None, ...]


def _cut_edges(seaming: Seaming, frame: Frame, style: SettledStyle, body: Body, measures: BodySide) -> _Cut:
    ln = lines(seaming, frame, style, body)
    n, cup = len(seaming.panels), seaming.cup
    near: list[Drawn | None] = [None] * n
    far: list[Drawn | None] = [None] * n
    reach = measures.bust_to_underbust
    for k, top in enumerate(ln.top):
        if top is not None and k != cup:
            far[k], near[k + 1] = _pair(frame, ln, k, top.along, reach)
    if cup is None:
        end = virtual_cup_end(frame, style, measures.bust_point - style.open_front / 2.0) if seaming.bust else None
        return _Cut(ln, end, reach, tuple(near), tuple(far))
    top = ln.top[cup]
    assert top is not None
    inner, outer = _pair(frame, ln, cup, top.along, reach, peak=ln.peak)
    far[cup] = _with_end(inner, inner.curve.length)
    near[cup + 1] = _with_end(outer, outer.curve.length - ln.peak)
    low, heading = ln.hem[cup].along, inner.heading(True)
    unshaped = closing_in(frame.inner(cup), frame.half.least, low, top.along, reach, reached=ln.reached)
    end = CupEnd(inner.top, heading, heading - unshaped.heading(True))
    return _Cut(ln, end, reach, tuple(near), tuple(far))


def _pair(frame: Frame, ln: Lines, seam: int, top: float, reach: float, *, peak: float = 0.0) -> tuple[Drawn, Drawn]:
    """Both edges of a seam, cut off at the hem and at `top` along them from the waist; the outer runs on by `peak`.

    Where they close in above the bust they have done so `reach` above it.
    """
    low, (a, b) = ln.hem[seam].along, frame.half.close[seam]
    inner, outer = (
        closing_in(rise, close, low, high, reach, reached=ln.reached)
        for rise, close, high in ((frame.inner(seam), a, top), (frame.outer(seam), -b, top + peak))
    )
    return inner, outer


def _with_end(drawn: Drawn, end: float) -> Drawn:
    """Bearing the mark where the edge towards the centre front ends."""
    return replace(drawn, marks={**drawn.marks, "centre_front_end": end})


def _half(
    asked: Style, frame: Frame, style: SettledStyle, cut: _Cut, low: float, side: Side
) -> tuple[tuple[Panel, ...], list[Step]]:
    seaming = asked.seaming
    neck = neckline(style, low, cut.end)
    tops = front_top(seaming, frame, cut.lines, neck, cut.end)
    near, far = list(cut.near), list(cut.far)
    for k, top in enumerate(tops):
        if far[k] is None:
            far[k], near[k + 1] = _pair(frame, cut.lines, k, top.along, cut.reach)
    folds = frozenset(at for at in (CENTRE_FRONT, CENTRE_BACK) if side == "both" and asked.folded(at))
    man = Draftsman(seaming, frame, cut.lines, style, side, folds, neck, tuple(near), tuple(far), tops)
    made = [man.panel(k) for k in range(len(seaming.panels))]
    return tuple(p for p, _ in made), [s for _, b in made for s in b.steps]


def _seams(seaming: Seaming, panels: tuple[Panel, ...], side: Side) -> list[Seam]:
    out = []
    for k, seam in enumerate(seaming.seams):
        a, b = panels[k], panels[k + 1]
        stations = _shared(a.edge(seam.role), b.edge(seam.role))
        refs = EdgeRef(a.name, seam.role, side), EdgeRef(b.name, seam.role, side)
        out.append(Seam(seam.name, side, *refs, stations, cup=seam.cup))
    return out


def _middles(style: Style, panels: list[Panel]) -> list[Seam]:
    """The seams at the centres that neither open nor lie on a fold, which join the two halves.

    A body whose sides differ has no fold: what is not open is sewn.
    """
    out = []
    for role, name in ((CENTRE_FRONT, MIDDLE_SEAM), (CENTRE_BACK, BACK_SEAM)):
        at = [p for p in panels if any(e.role == role for e in p.edges)]
        if style.opening(role) is not None or any(p.fold == role for p in at):
            continue
        a, b = at if len(at) > 1 else at * 2
        side: Side = "left" if len(at) > 1 else "both"
        refs = EdgeRef(a.name, role, a.side), EdgeRef(b.name, role, b.side)
        out.append(Seam(name, side, *refs, _shared(a.edge(role), b.edge(role))))
    return out


def _elastic(panels: list[Panel]) -> list[Seam]:
    """The seams of an elastic panel, which is the last, to what would be the centre back."""
    *cloth, made = panels
    backs = [p for p in cloth if any(e.role == ELASTIC for e in p.edges)]
    return [
        Seam(
            ELASTIC,
            p.side,
            EdgeRef(p.name, ELASTIC, p.side),
            EdgeRef(made.name, ELASTIC, made.side),
            _shared(p.edge(ELASTIC), made.edge(ELASTIC)),
        )
        for p in backs
    ]


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
