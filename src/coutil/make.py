"""The whole job in one readable function: an order in, everything out.

`work_out` gives the checked pattern, `lay_out` lays it on its cloth and reckons the docket, `documents` gives the
sheets one by one, each made when it is asked for. Writing them down is the command line's business.
"""

from __future__ import annotations

import datetime
import json
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from coutil.check import check, worth_findings
from coutil.check.body import remark_finding, taken_findings
from coutil.docket import Docket, DocketError, docket_json, make_docket
from coutil.docket.making_cut import TOILE
from coutil.dome import cups, foam_total
from coutil.draft import Draft, DraftError, Step, draft
from coutil.lay import LayPlan, lay_json, plan
from coutil.lay.plan import SECONDS
from coutil.layers import LayerError, clear_of_front, kit_up, layer_steps, layer_up, toile
from coutil.order import Build, Order, OrderError, judge_order
from coutil.pattern import Finding, KeysRef, Pattern, Topic, about_words, each_once, gravest_first, says
from coutil.pattern.json import dumps
from coutil.pattern.model import Layer
from coutil.seaming import CENTRE_FRONT
from coutil.units import leading
from coutil.words import Key, Length

# What is printed when nothing is asked for: what a home printer takes, what a copy shop takes.
PAPERS = ("a4", "letter", "a3", "a0", "roll")
# Width of the roll where none is given, in mm: 36 in, a common width of plotter paper (common practice, no source).
ROLL_WIDTH = 914.4
# Time for all lays together when it must be quick, in seconds: with it the whole job stays under 6 s on two cores.
QUICK = 1.0
# The foam's girth is worked out on a draft without it and added once more with it: the cup grows a little by what is
# added, and by trial the second pass is within 0.2 mm of the third.
FOAM_PASSES = 2
# What the shaping above the bust leaves of what is asked for is told from this on, in mm.
TOLD_SHORT = 1.0
# The notes on values that nobody gave, by their codes; a summary may take them together.
ASSUMED = frozenset(("body.assumed", "body.assumed_standard", "style.assumed"))


@dataclass(frozen=True, slots=True)
class Work:
    """An order and all that was worked out from it; `foam` is what was added to the front for the pads, in mm.

    `draft` is None where the order brings a pattern of its own; then there is no lesson either.
    """

    order: Order
    draft: Draft | None
    pattern: Pattern
    foam: float = 0.0
    plan: LayPlan | None = None
    docket: Docket | None = None

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What the checks, the lays and the docket have to say, the gravest first, each once."""
        said = [*self.pattern.findings, *(self.plan.findings if self.plan else ())]
        said += self.docket.findings if self.docket else ()
        return gravest_first(each_once(said))

    @property
    def stopped(self) -> bool:
        return any(f.level == "stop" for f in self.findings)

    @property
    def lesson(self) -> tuple[Step, ...]:
        """All steps: the draft's, then those for pads, notches and allowances; none for a pattern brought in."""
        if self.draft is None:
            return ()
        return (*self.draft.steps, *layer_steps(self.pattern, _as_built(self.order, self.pattern), self.draft.seaming))

    @property
    def layers(self) -> tuple[Layer, ...]:
        """The layers that have pieces."""
        return tuple(dict.fromkeys(p.layer for p in self.pattern.pieces))


@dataclass(frozen=True, slots=True)
class Document:
    """A file to be: its name and its bytes."""

    name: str
    data: bytes


def whose_body(order: Order) -> tuple[Finding, ...]:
    """What there is to say of whose body it is, though nothing can be drafted: readings not taken, a size asked for."""
    return tuple(taken_findings(order.body))


def work_out(order: Order, folder: Path = Path()) -> Work:
    """Draft, layer up and check one order; or read, layer up and check the pattern of its own that it names.

    That pattern's file counts from `folder`, where the order lies. Raises OrderError
    naming what conflicts when it cannot be drafted, what is wrong with its pattern, or which piece cannot be cut.
    """
    if order.pattern is not None:
        return _own_pattern(order, folder)
    try:
        drafted, foam = _draft(order)
    except DraftError as refused:
        raise OrderError.of(*refused.led(order.name or "order")) from None
    layered, build = _layered(order, drafted.pattern)
    layered = replace(layered, findings=(*layered.findings, *_style_findings(order, drafted, layered)))
    checked = check(layered, order.body, order.style, build, ease=drafted.style.ease, foam=foam)
    return Work(order, drafted, checked, foam)


def _own_pattern(order: Order, folder: Path) -> Work:
    from coutil.trace import TraceError, pattern_from_order

    try:
        pattern = pattern_from_order(order, folder)
    except TraceError as refused:
        raise OrderError.of(*refused.led(order.name or "order")) from None
    layered, build = _layered(order, pattern)
    return Work(order, None, check(layered, order.body, order.style, build, own=True))


def _layered(order: Order, pattern: Pattern) -> tuple[Pattern, Build]:
    """The pattern in its layers, and the build by which it was layered."""
    build = _as_built(order, pattern)
    try:
        layered = kit_up(layer_up(pattern, build), order)
    except LayerError as refused:
        raise OrderError.of(*refused.led(order.name or "order")) from None
    if layered.pads and build.pad.apart > order.build.pad.apart:
        clear = Length(build.pad.apart / 2.0, "full")
        said = Finding("pad.clear_of_front", "note", Topic("pads"), {"clear": clear})
        layered = replace(layered, findings=(*layered.findings, said))
    return layered, build


def _as_built(order: Order, pattern: Pattern) -> Build:
    """The build with what the rest of the order asks of the pads.

    A ready cup that is set in takes their place; beside an opening at the centre front they keep clear of its channels.
    """
    build, pad = order.build, order.build.pad
    if any(c.used for c in order.shelf.cups):
        pad = replace(pad, on=())
    return replace(build, pad=replace(pad, apart=max(pad.apart, 2.0 * clear_of_front(order, pattern))))


def lay_out(
    work: Work,
    *,
    seconds: float | None = None,
    progress: Callable[[float, str], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Work:
    """Lay the pieces on their cloth and reckon the docket; `seconds` is for all lays together (None: the usual time).

    `progress` and `stop` are the lay room's, see `coutil.lay.plan`. Raises OrderError where the docket refuses money.
    """
    planned = plan(work.pattern, work.order, seconds=seconds or SECONDS, progress=progress, stop=stop)
    try:
        with leading(work.order.told_in):
            return replace(work, plan=planned, docket=make_docket(work.order, work.pattern, planned))
    except DocketError as refused:
        raise OrderError.of(*refused.led(work.order.name or "order")) from None


def documents(work: Work, *, papers: Sequence[str] = PAPERS, roll_width: float = ROLL_WIDTH) -> Iterator[Document]:
    """Every file of an order, in the order in which they are wanted at the table; last what all of them have to say.

    Lengths stand in them in the order's own unit first.
    """
    yield from _told(work, _documents(work, papers, roll_width))


def _told(work: Work, made: Iterator[Document]) -> Iterator[Document]:
    """The documents, each made with the order's own unit first; who takes them keeps his."""
    while True:
        with leading(work.order.told_in):
            document = next(made, None)
        if document is None:
            return
        yield document


def _documents(work: Work, papers: Sequence[str], roll_width: float) -> Iterator[Document]:
    found = list(work.findings)
    yield from _pattern_documents(work, papers, roll_width, found)
    if work.plan is not None:
        yield from _cutter_documents(work)
        yield from _lay_documents(work.plan, work.pattern, work.order.name, _paper(papers))
    if work.docket is not None:
        yield from _docket_documents(work, work.docket, _paper(papers))
        yield from _toile_documents(work, papers, roll_width)
    yield Document("findings.txt", findings_text(found).encode())


def _pattern_documents(
    work: Work, papers: Sequence[str], roll_width: float, found: list[Finding]
) -> Iterator[Document]:
    """Pattern, sheets and lesson; what the sheets have to say is added to `found`."""
    from coutil import sheets

    pattern, label, name = work.pattern, work.order.client.label, work.order.name
    yield Document("pattern.json", dumps(pattern).encode())
    yield Document("panels.svg", sheets.panels_svg(pattern, name).encode())
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
    if work.lesson:
        yield Document("lesson.pdf", lesson_of(work, paper=_paper(papers)))


def _toile_documents(work: Work, papers: Sequence[str], roll_width: float) -> Iterator[Document]:
    """The toile's print on the first of the papers, and its short card."""
    from coutil import sheets
    from coutil.sheets.card import toile_card_pdf

    order = work.order
    if not work.pattern.pieces:
        return
    try:
        cut = toile(work.pattern, TOILE)
    except LayerError as refused:
        raise OrderError.of(*refused.led(order.name or "order")) from None
    for paper in papers[:1]:
        width = roll_width if paper == "roll" else None
        sheet = sheets.pattern_pdf(cut, paper, label=order.client.label, order_name=order.name, roll_width=width)
        yield Document(f"toile-{paper}.pdf", sheet.data)
    yield Document("toile-card.pdf", toile_card_pdf(order, work.pattern, paper=_paper(papers)))


def lesson_of(work: Work, *, paper: str = "A4") -> bytes:
    """The lesson's PDF, with whose body it is for."""
    from coutil import sheets

    pattern, order = work.pattern, work.order
    with leading(order.told_in):
        return sheets.lesson_pdf(
            work.lesson,
            order.name,
            order.client.label,
            layers=work.layers,
            body=pattern.body,
            not_taken=pattern.not_taken,
            paper=paper,
        )


def _cutter_documents(work: Work) -> Iterator[Document]:
    """The pieces for other programs and for machines that cut them one by one."""
    from coutil.sheets.cutting import cutting_svgs
    from coutil.sheets.dxf import pattern_dxf
    from coutil.sheets.wording import not_taken_line

    if work.pattern.pieces:
        yield Document("pattern.dxf", pattern_dxf(work.pattern, order=work.order.name, client=work.order.client.label))
    for piece, text in cutting_svgs(work.pattern.pieces, warn=not_taken_line(work.pattern.not_taken)):
        yield Document(f"cutting/{_file_name(piece)}.svg", text.encode())


def _lay_documents(planned: LayPlan, pattern: Pattern, name: str, paper: str) -> Iterator[Document]:
    from coutil.sheets.lays import lays_pdf, lays_svg
    from coutil.sheets.plotter import lay_hpgl
    from coutil.sheets.wording import NOT_TAKEN

    yield Document("lays.json", json.dumps(lay_json(planned, not_taken=pattern.not_taken), ensure_ascii=False).encode())
    for k, (lay, svg) in enumerate(lays_svg(planned, name, pattern=pattern), start=1):
        stem = f"cutting/lay-{k}-{_file_name(lay.cloth)}"
        yield Document(f"{stem}.svg", svg.encode())
        if lay.placements:
            yield Document(f"{stem}.plt", lay_hpgl(lay, warn=NOT_TAKEN if pattern.not_taken else ""))
    if planned.lays:
        yield Document("lays.pdf", lays_pdf(planned, name, pattern=pattern, paper=paper))


def docket_documents(work: Work, docket: Docket, *, paper: str = "A4") -> Iterator[Document]:
    """Docket, quote (where there is a price) and making-up card."""
    return _told(work, _docket_documents(work, docket, paper))


def _docket_documents(work: Work, docket: Docket, paper: str) -> Iterator[Document]:
    from coutil.sheets.card import card_pdf
    from coutil.sheets.docket import docket_pdf, quote_pdf

    yield Document("docket.json", json.dumps(docket_json(docket), ensure_ascii=False).encode())
    yield Document("docket.pdf", docket_pdf(docket, paper=paper))
    if docket.price is not None:
        yield Document("quote.pdf", quote_pdf(docket, issued=datetime.date.today(), paper=paper))
    yield Document("card.pdf", card_pdf(work.order, work.pattern, docket, paper=paper))


def _paper(papers: Sequence[str]) -> str:
    """On what the sheets of running text are set: Letter where the pattern is printed on that and not on A4."""
    return "Letter" if "letter" in papers and "a4" not in papers else "A4"


def _file_name(text: str) -> str:
    """A name that any file system takes: letters and digits of any script, and hyphens between them."""
    return "-".join(re.findall(r"\w+", text.lower())) or "unnamed"


def findings_text(findings: Sequence[Finding]) -> str:
    """Findings for the eye, the gravest first, one paragraph each."""
    if not findings:
        return "Nothing to remark.\n"
    return "".join(f"{f.level.upper():5} {about_words(f.about)}\n      {says(f)}\n" for f in gravest_first(findings))


def _draft(order: Order) -> tuple[Draft, float]:
    drafted, foam = draft(order.body, order.style, order.name, cloth=order.cloth), 0.0
    thickness = order.build.pad.thickness
    if order.style.foam_ease and thickness:
        left, right = order.body.left.bust_to_underbust, order.body.right.bust_to_underbust
        reach = {s.side: right if s.side == "right" else left for s in drafted.pattern.cup_seams}
        for _ in range(FOAM_PASSES):
            foam = foam_total(thickness, cups(drafted.pattern, reach))
            drafted = draft(order.body, order.style, order.name, cloth=order.cloth, foam_girth=foam)
    return drafted, foam


def _style_findings(order: Order, drafted: Draft, pattern: Pattern) -> list[Finding]:
    """What goes badly together in the style, and how the values were drawn that the order left open."""
    out = [
        remark_finding(r)
        for r in judge_order(order)
        if any("." in key for key in r.keys) and not any(key.startswith(("left.", "right.")) for key in r.keys)
    ]
    out += worth_findings(pattern, order.body, side_top=drafted.style.side_top, hem=drafted.style.hem)
    if drafted.upper is not None:
        args = {
            "reach": Length(drafted.upper.reach, "cm"),
            "girth": Length(drafted.upper.girth, "cm"),
            "body": Length(order.body.upper_bust, "cm"),
            "taken": Length(drafted.upper.taken, "cm"),
            "short": Length(drafted.upper.short, "cm"),
            "held": drafted.upper.short > TOLD_SHORT,
        }
        out.append(Finding("style.upper", "note", KeysRef(("style.upper",)), args))
    for key in drafted.style.assumed:
        value = drafted.style.value(key.removeprefix("style."))
        # The draft leaves the plunge to the neckline; where that put it, the panel shows.
        drawn = Length(_plunge(drafted.pattern) if value is None else value, "both")
        out.append(Finding("style.assumed", "note", KeysRef((key,)), {"key": Key(key), "drawn": drawn}))
    return out


def _plunge(pattern: Pattern) -> float:
    """How far above the underbust level the top of the centre front lies, in mm; on uneven sides the left one's."""
    panel, edge = next((p, e) for p in pattern.panels for e in p.edges if e.role == CENTRE_FRONT)
    return edge.upward().end[1] - panel.levels["underbust"][0][1]
