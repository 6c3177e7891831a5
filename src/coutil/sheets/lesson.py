"""The lesson: the steps of the draft as numbered instructions with this client's figures, to be done by hand.

Each group of steps has a small drawing: what the group draws in ink, what stands already as a hairline. The drawings
show every panel face up, and the steps speak of left and right as seen there.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from coutil.draft.steps import Figure as StepFigure
from coutil.draft.steps import Step
from coutil.pattern.model import Layer
from coutil.plane import Box, Path, Pt, union
from coutil.sheets import typeset
from coutil.sheets.drawing import Drawing
from coutil.sheets.fonts import PRINTED_ABOUT, printed, showable
from coutil.sheets.labels import BlockLine, Figure, disc, set_block
from coutil.sheets.svg import svg
from coutil.sheets.wording import cautions, not_taken_line, owner_words
from coutil.units import INCH, TELL, both, in_order, inches, millimetres
from coutil.words import say

# Ratios that the small drawings may have, as 1:n; one for the whole lesson, the largest whose drawings fit the column.
RATIOS = (3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 15.0, 20.0)
# Width of the column of drawings and height of the tallest drawing, in mm: a third of the page's width, a third of its
# height (found by trial: a group's steps take about as much room beside it).
COLUMN = 62.0
TALLEST = 105.0
# Type size of the names of points, and radius of their dots, in mm on paper.
POINT_SIZE = 2.6
DOT = 0.5
# Room for names round a drawing, in mm on paper.
RIM = 6.0
# Lengths below this are said in mm: nobody reads 0.2 cm off a ruler (a way of speaking, no source).
SAID_IN_MM = 10.0
# Lengths below this are nothing, in mm: they would be shown as 0.0.
NOTHING = 0.05
# Parts of an inch that such lengths are said in: the finest that rulers for cloth usually bear (common practice).
FINE = 32

_FIELD = re.compile(r"\{([^{}]+)\}")


@dataclass(frozen=True, slots=True)
class Group:
    """Steps that share one drawing, with the number of the first."""

    title: str
    first: int
    steps: tuple[Step, ...]

    @property
    def draws(self) -> bool:
        """Whether there is anything to show; sums draw nothing."""
        return any(s.points or s.curves or s.guides for s in self.steps)


def lesson_pdf(
    steps: Sequence[Step],
    order_name: str,
    label: str,
    *,
    layers: Collection[Layer] = (),
    paper: str = "A4",
    body: str = "",
    not_taken: Sequence[str] = (),
) -> bytes:
    """The lesson as PDF. `layers` are those of the build: they tell which cautions apply.

    `body` and `not_taken` are the pattern's: whose body it is, and which of its readings must still be taken.

    Raises ValueError for an unknown paper or for a step that speaks of a figure which it does not bear.
    """
    title = order_name or say("lesson.unnamed")
    heading = say("lesson.title", order=title)
    drafted = say("lesson.client", client=label) if showable(label).text else say("lesson.no_client")
    if body:
        drafted = say("lesson.size_for" if label else "lesson.size", size=body, client=label)
    out = [
        f"#heading(level: 1, {typeset.quoted(heading)})",
        typeset.words(drafted),
        typeset.bullets(_manners(ratio := _ratio(steps))),
        f"#heading(level: 2, {typeset.quoted(say('card.sheet.care'))})",
        typeset.bullets(cautions(layers)),
    ]
    earlier: dict[tuple[str, str], list[Step]] = {}
    for group in groups(steps):
        key = (group.steps[0].panel, group.steps[0].side)
        before = earlier.setdefault(key, [])
        out.append(_set_group(group, before, ratio))
        before += group.steps
    owner = owner_words(showable(label).text, body)
    footer = f"{title} · {owner}" if owner else title
    warn = not_taken_line(not_taken)
    return typeset.typeset("\n\n".join(out), title=heading, paper=paper, footer=footer, warn=warn)


def lesson_text(steps: Sequence[Step]) -> str:
    """The lesson as plain text: a title for each group, numbered steps, the reason of each in brackets."""
    out = []
    for group in groups(steps):
        out.append(group.title)
        for n, (s, reason) in enumerate(reasoned(group.steps), group.first):
            why = f" ({reason})" if reason else ""
            out.append(f"{n:>3}. {''.join(text for text, _ in parts(s))}{why}")
        out.append("")
    return "\n".join(out)


def lesson_data(steps: Sequence[Step]) -> list[dict[str, object]]:
    """The lesson for other programs: one record a step, figures in mm or degrees."""
    return [
        {
            "number": n,
            "group": s.group,
            "panel": s.panel,
            "side": s.side,
            "says": "".join(text for text, _ in parts(s)),
            "why": s.why,
            "figures": [{"name": f.name, "value": round(f.value, 4), "unit": f.unit} for f in s.figures],
            "points": {name: [round(x, 4), round(y, 4)] for name, (x, y) in s.points},
        }
        for n, s in enumerate(steps, 1)
    ]


def groups(steps: Sequence[Step]) -> Iterator[Group]:
    """Runs of steps with one group, panel and side, numbered on through the lesson."""
    n = 1
    for (title, _, side), run in groupby(steps, key=lambda s: (s.group, s.panel, s.side)):
        members = tuple(run)
        yield Group(title if side == "both" else say(f"lesson.{side}", title=title), n, members)
        n += len(members)


def reasoned(steps: Sequence[Step]) -> Iterator[tuple[Step, str]]:
    """Each step with its reason, left out where the step before gave the same one."""
    last = ""
    for s in steps:
        yield s, "" if s.why == last else s.why
        last = s.why


def parts(step: Step) -> Iterator[tuple[str, bool]]:
    """The instruction in pieces of text, each with whether it is a figure.

    Raises ValueError if it speaks of a figure that the step does not bear.
    """
    figures = {f.name: f for f in step.figures}
    for k, piece in enumerate(_FIELD.split(step.says)):
        if k % 2 == 0:
            if piece:
                yield piece, False
        elif piece in figures:
            yield figure_words(figures[piece]), True
        else:
            raise ValueError(f"the step {step.says!r} speaks of {piece!r}, but bears {sorted(figures) or 'no figures'}")


def figure_words(f: StepFigure) -> str:
    """A length in cm (below 1 cm in mm) and inches, the reader's first; an angle in degrees; else with its own unit."""
    if f.unit == "mm":
        if abs(f.value) < NOTHING:
            return in_order("0 cm", "0 in")
        if abs(f.value) < SAID_IN_MM:
            # Half a part would be shown as 0 in, which a maker who thinks in inches takes for no bow at all.
            fine = FINE if abs(f.value) >= INCH / (2 * FINE) else 2 * FINE
            return in_order(millimetres(f.value), inches(f.value, fine))
        return both(f.value)
    if f.unit in ("degree", "deg", "°"):
        return f"{f.value:.1f}°"
    return f"{f.value:g} {f.unit}".strip()


def group_drawing(group: Group, before: Sequence[Step], ratio: float) -> Drawing:
    """What a group draws, at full size and face up; names of points are as large as 1:`ratio` needs."""
    fig = Figure(group.title)
    before = [turned_face_up(s) for s in before]
    steps = [turned_face_up(s) for s in group.steps]
    for s in before:
        # The straight line under a curve would lie so close to it as to blur it: it has done its work.
        for g in s.guides if not s.curves else ():
            fig.stroke(Path.of([g]), "light")
        for c in s.curves:
            fig.stroke(Path.of([c]), "level")
    for s in steps:
        for g in s.guides:
            fig.stroke(Path.of([g]), "light")
        for c in s.curves:
            fig.stroke(Path.of([c]), "panel")
    known = {name: at for s in (*before, *steps) for name, at in s.points}
    spoken = " ".join(s.says for s in steps)
    new = {name for s in steps for name, _ in s.points}
    named = {n: at for n, at in known.items() if n in new or re.search(rf"(?<!\w){re.escape(n)}(?![\w'])", spoken)}
    for at in named.values():
        fig.fill(disc(at, DOT * ratio))
    if not fig.lines:
        # A single point: a little of the paper round it.
        x, y = next(iter(named.values()), (0.0, 0.0))
        fig.run([(x - 10 * ratio, y), (x + 10 * ratio, y)], "light")
    fig.open_places(cell=ratio / 2, around=RIM * ratio)
    for name, at in named.items():
        _name_point(fig, name, at, ratio)
    return fig.done()


def turned_face_up(step: Step) -> Step:
    """The step as it is drawn with the right side of the cloth up: left and right are then those that it speaks of."""
    if step.part == "front":
        return step
    return replace(
        step,
        points=tuple((name, (-x, y)) for name, (x, y) in step.points),
        curves=tuple(c.mirrored() for c in step.curves),
        guides=tuple(c.mirrored() for c in step.guides),
    )


def _name_point(fig: Figure, name: str, at: Pt, ratio: float) -> None:
    """The point's name as near to it as ink allows; with a leader when that is more than twice its size away."""
    size = POINT_SIZE * ratio
    lines = [BlockLine(showable(name).text)]
    for reach in (2.0, 4.0, 8.0):
        r = reach * size
        box: Box = (at[0] - r, at[1] - r, at[0] + r, at[1] + r)
        if fig.block([lines], near=at, sizes=(size,), turns=(0.0,), clearance=0.2 * ratio, within=box):
            t = fig.texts[-1]
            if reach > 4.0:
                fig.run([(t.at[0], t.at[1] + size / 3), at], "leader")
            return
    fig.texts += set_block(lines, size, (at[0] + DOT * 2 * ratio, at[1] + DOT * 2 * ratio), 0.0)


def _set_group(group: Group, before: Sequence[Step], ratio: float) -> str:
    rows = []
    for n, (s, reason) in enumerate(reasoned(group.steps), group.first):
        why = f' #linebreak() #text(size: 7.5pt, style: "italic")[{typeset.words(reason)}]' if reason else ""
        rows.append(f"[{n}.], block(breakable: false)[{''.join(_run(*part) for part in parts(s))}{why}]")
    manner = "columns: (2.2em, 1fr), column-gutter: 0.5em, row-gutter: 0.75em, align: (right, left)"
    steps = f"grid({manner}, {', '.join(rows)})"
    heading = f"#heading(level: 2, {typeset.quoted(group.title)})\n"
    if not group.draws:
        return f"{heading}#{steps}"
    drawing = svg([group_drawing(group, before, ratio)], group.title, ratio=ratio, fit=False)
    picture = typeset.figure(drawing, about=f"Drawing: {group.title}").removeprefix("#")
    return f"{heading}#grid(columns: ({COLUMN}mm, 1fr), column-gutter: 5mm, align(center, {picture}), {steps})"


def _run(text: str, is_figure: bool) -> str:
    """A stretch of an instruction as typst markup, with the spaces at its ends; a figure is not broken in two."""
    said = f"#box(strong({typeset.quoted(printed(text))}))" if is_figure else typeset.words(text)
    return f"{' ' * text[:1].isspace()}{said}{' ' * text[-1:].isspace()}" if text.strip() else " "


def _manners(ratio: float) -> Iterable[str]:
    yield say("lesson.net_lines")
    yield say("lesson.reduced", ratio=f"{ratio:g}")
    yield say("lesson.line_kinds")
    yield say("lesson.about", about=PRINTED_ABOUT, tell=f"{TELL:g}")


def _ratio(steps: Sequence[Step]) -> float:
    """The largest ratio of RATIOS at which the drawing of every panel fits the column."""
    sizes = []
    for _, run in groupby(sorted(steps, key=lambda s: (s.panel, s.side)), key=lambda s: (s.panel, s.side)):
        boxes: list[Box] = []
        for s in run:
            boxes += [Path.of([c]).bounds() for c in (*s.curves, *s.guides)]
            boxes += [(x, y, x, y) for _, (x, y) in s.points]
        if boxes:
            x0, y0, x1, y1 = union(boxes)
            sizes.append((x1 - x0, y1 - y0))
    for r in RATIOS:
        if all(w / r + 2 * RIM <= COLUMN and h / r + 2 * RIM <= TALLEST for w, h in sizes):
            return r
    return RATIOS[-1]
