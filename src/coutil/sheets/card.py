"""The making-up card: in which order this build is sewn and pressed, step by step, to lie beside the machine."""

from __future__ import annotations

from coutil.docket import Docket, MakingStep, making_up, toile_steps
from coutil.docket.step import Sketch
from coutil.order import Order
from coutil.pattern import Pattern
from coutil.sheets import typeset
from coutil.sheets.drawing import Drawing
from coutil.sheets.fonts import PRINTED_ABOUT
from coutil.sheets.sketches import fits, sketch
from coutil.sheets.svg import svg
from coutil.sheets.wording import body_line, cautions, not_taken_line, owner_words
from coutil.units import TELL
from coutil.words import say

# Ratios that the sketches may have, as 1:n; each takes the largest drawing that fits its column.
RATIOS = (5.0, 6.0, 8.0, 10.0, 12.0, 15.0)
# Width and height in mm that a sketch may have: about half of the page's width at most, so that the words keep theirs.
COLUMN: dict[Sketch, float] = {"pad": 62.0, "princess": 74.0, "bones": 88.0, "closing": 56.0}
TALLEST = 54.0
# A step of no more signs than this, some fourteen lines, stays on one page.
LONGEST_WHOLE = 1400


def card_pdf(order: Order, pattern: Pattern, docket: Docket, *, paper: str = "A4") -> bytes:
    """The card as PDF; the same order gives the same bytes. Raises ValueError for an unknown paper."""
    title = say("card.sheet.title", order=order.name)
    body = [
        # A little smaller than the other sheets: two pages lie beside the machine as one leaf.
        "#set text(size: 9pt)",
        f"#heading(level: 1, {typeset.quoted(title)})",
        *([f"#strong({typeset.quoted(body_line(pattern.body))})"] if pattern.body else []),
        typeset.words(f"{docket.garment}."),
        f"#heading(level: 2, {typeset.quoted(say('card.sheet.care'))})",
        typeset.bullets(cautions({p.layer for p in pattern.pieces})),
        f"#fine[{typeset.words(_manners())}]",
    ]
    drawn: set[Sketch] = set()
    part = ""
    for number, step in enumerate(making_up(order, pattern, docket), 1):
        picture = None
        if step.part != part:
            part = step.part
            # It stays with its first step.
            named = typeset.quoted(say(f"card.part.{part}"))
            body.append(f"#block(sticky: true, strong(upper({named})))")
        if step.sketch is not None and step.sketch not in drawn:
            drawn.add(step.sketch)
            picture = _picture(step.sketch, order, pattern, docket)
        body.append(_step(number, step, picture))
    owner = owner_words(order.client.label, pattern.body)
    footer = " · ".join(s for s in (say("card.sheet.footer"), order.name, owner) if s)
    warn = not_taken_line(pattern.not_taken)
    return typeset.typeset("\n\n".join(body), title=title, paper=paper, footer=footer, warn=warn)


def toile_card_pdf(order: Order, pattern: Pattern, *, paper: str = "A4") -> bytes:
    """The short card of the toile, as PDF. Raises ValueError for an unknown paper."""
    title = say("card.sheet.toile", order=order.name)
    body = [
        "#set text(size: 9pt)",
        f"#heading(level: 1, {typeset.quoted(title)})",
        f"#fine[{typeset.words(_manners())}]",
        *(_step(k, step, None) for k, step in enumerate(toile_steps(order, pattern), 1)),
    ]
    owner = owner_words(order.client.label, pattern.body)
    footer = " · ".join(s for s in (say("card.sheet.toile_footer"), order.name, owner) if s)
    warn = not_taken_line(pattern.not_taken)
    return typeset.typeset("\n\n".join(body), title=title, paper=paper, footer=footer, warn=warn)


def _manners() -> str:
    return say("card.sheet.manners", about=PRINTED_ABOUT, tell=f"{TELL:g}")


def _step(number: int, step: MakingStep, picture: str | None) -> str:
    says = ", ".join(f"[{typeset.prose(s)}]" for s in step.says)
    uses = f"#fine(emph({typeset.quoted(step.uses)}))" if step.uses else ""
    must = ""
    if step.must:
        must = f"#strong[{typeset.prose(say('card.sheet.must', must=step.must))}]\n"
    text = f"[#list({says})\n{must}{uses}]"
    words = text
    if picture is not None and step.sketch is not None:
        words = f"grid(columns: (1fr, {COLUMN[step.sketch]}mm), column-gutter: 4mm, {text}, {picture})"
    # Words and the drawing that goes with them stay together, and so does a step of usual length.
    whole = "false" if picture or sum(len(s) for s in step.says) <= LONGEST_WHOLE else "true"
    heading = f"heading(level: 2, {typeset.quoted(f'{number}. {step.title}')})"
    return f"#block(breakable: {whole}, width: 100%, above: 8pt, {{ {heading}; {words} }})"


def _picture(kind: Sketch, order: Order, pattern: Pattern, docket: Docket) -> str | None:
    for ratio in RATIOS:
        drawing: Drawing | None = sketch(kind, order, pattern, docket, ratio)
        if drawing is None:
            return None
        if fits(drawing, ratio, COLUMN[kind], TALLEST) or ratio == RATIOS[-1]:
            markup = svg([drawing], drawing.name, ratio=ratio, fit=False)
            image = typeset.figure(markup, about=f"{drawing.name}. {drawing.about}").removeprefix("#")
            caption = f"{drawing.name}. {drawing.about} 1:{ratio:g}"
            return f"align(center, stack(spacing: 2mm, {image}, fine({typeset.cell(caption)})))"
    return None
