"""The whole job in one readable function: an order in, everything out.

`work_out` gives the checked pattern and lays no paper; `documents` gives the sheets one by one, each made when it is
asked for. Writing them down is the command line's business.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from coutil.check import check, cups, foam_total
from coutil.draft import Draft, DraftError, Step, draft
from coutil.layers import layer_steps, layer_up
from coutil.order import Order, OrderError, judge_order
from coutil.pattern import Finding, Pattern
from coutil.pattern.json import dumps
from coutil.pattern.model import FindingLevel, Layer
from coutil.units import both

# What is printed when nothing is asked for: what a home printer takes, what a copy shop takes.
PAPERS = ("a4", "letter", "a3", "a0", "roll")
# Width of the roll where none is given, in mm: 36 in, a common width of plotter paper (common practice, no source).
ROLL_WIDTH = 914.4
# The foam's girth is worked out on a draft without it and added once more with it: the cup grows a little by what is
# added, and by trial the second pass is within 0.2 mm of the third.
FOAM_PASSES = 2
# How the notes on values that nobody gave begin to speak; a summary may take them together.
ASSUMED = ("was not measured; assumed", "was not given; drawn as")


@dataclass(frozen=True, slots=True)
class Work:
    """An order and all that was worked out from it; `foam` is what was added to the front for the pads, in mm."""

    order: Order
    draft: Draft
    pattern: Pattern
    foam: float = 0.0

    @property
    def lesson(self) -> tuple[Step, ...]:
        """All steps: the draft's, then those for pads, notches and allowances."""
        return (*self.draft.steps, *layer_steps(self.pattern, self.order.build))

    @property
    def layers(self) -> tuple[Layer, ...]:
        """The layers that have pieces."""
        return tuple(dict.fromkeys(p.layer for p in self.pattern.pieces))


@dataclass(frozen=True, slots=True)
class Document:
    """A file to be: its name and its bytes."""

    name: str
    data: bytes


def work_out(order: Order) -> Work:
    """Draft, layer up and check one order. Raises OrderError naming what conflicts when it cannot be drafted."""
    try:
        drafted, foam = _draft(order)
    except DraftError as refused:
        raise OrderError(f"{order.name or 'order'}: {refused}") from None
    layered = layer_up(drafted.pattern, order.build)
    layered = replace(layered, findings=(*layered.findings, *_style_findings(order, drafted)))
    checked = check(layered, order.body, order.style, order.build, foam=foam)
    return Work(order, drafted, checked, foam)


def documents(work: Work, *, papers: Sequence[str] = PAPERS, roll_width: float = ROLL_WIDTH) -> Iterator[Document]:
    """Every file of an order, in the order in which they are wanted at the table. Findings of the sheets come last."""
    from coutil import sheets

    order, pattern = work.order, work.pattern
    label, name = order.client.label, order.name
    yield Document("pattern.json", dumps(pattern).encode())
    yield Document("panels.svg", sheets.panels_svg(pattern, name).encode())
    found: list[Finding] = list(pattern.findings)
    if pattern.pieces:
        drawings = sheets.piece_figures(pattern, label=label, order_name=name)
        yield Document("pieces.svg", sheets.pieces_svg(pattern, name, drawings=drawings).encode())
        for paper in papers:
            width = roll_width if paper == "roll" else None
            sheet = sheets.pattern_pdf(
                pattern, paper, label=label, order_name=name, roll_width=width, drawings=drawings
            )
            found += [f for f in sheet.findings if f not in found]
            yield Document(f"pattern-{paper}.pdf", sheet.data)
    yield Document("lesson.pdf", sheets.lesson_pdf(work.lesson, name, label, layers=work.layers))
    yield Document("findings.txt", findings_text(found).encode())


def findings_text(findings: Sequence[Finding]) -> str:
    """Findings for the eye, the gravest first, one paragraph each."""
    if not findings:
        return "Nothing to remark.\n"
    return "".join(f"{f.level.upper():5} {f.about}\n      {f.says}\n" for f in findings)


def _draft(order: Order) -> tuple[Draft, float]:
    drafted, foam = draft(order.body, order.style, order.name), 0.0
    thickness = order.build.pad.thickness
    if order.style.foam_ease and thickness:
        for _ in range(FOAM_PASSES):
            left, right = order.body.left.bust_to_underbust, order.body.right.bust_to_underbust
            reach = {p.side: right if p.side == "right" else left for p in drafted.pattern.panels}
            foam = foam_total(thickness, cups(drafted.pattern, reach))
            drafted = draft(order.body, order.style, order.name, foam_girth=foam)
    return drafted, foam


def _style_findings(order: Order, drafted: Draft) -> list[Finding]:
    """What goes badly together in the style, and how the values were drawn that the order left open."""
    levels: dict[str, FindingLevel] = {"refuse": "stop", "warn": "warn", "note": "note"}
    out = [
        Finding(levels[r.kind], ", ".join(r.keys), f"{r.text}.")
        for r in judge_order(order)
        if any("." in key for key in r.keys) and not any(key.startswith(("left.", "right.")) for key in r.keys)
    ]
    for key in drafted.style.assumed:
        value = getattr(drafted.style, key.removeprefix("style."))
        drawn = "the neckline's own place for it" if value is None else both(value)
        out.append(Finding("note", key, f"{key} was not given; drawn as {drawn}. State it to change it."))
    return out
