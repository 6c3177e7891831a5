"""Findings that come from the body itself: what was assumed, what looks like a slip, what would be too tight."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from coutil.body import Body, began_with, judge, reading_words, standard_words
from coutil.check.words import mark_words
from coutil.pattern import Finding, Pattern
from coutil.pattern.model import FindingLevel
from coutil.units import both

# A garment this much smaller than the body, as a part of the girth, is remarked on; beyond the second figure it is
# stopped. Common practice, no source: 5 cm off a waist of 70 is a firm everyday reduction, 10 cm is for those who are
# used to lacing. Ribs, bust and hip bones give way less than the waist.
TIGHT = {"bust": 0.04, "underbust": 0.04, "waist": 0.07, "high_hip": 0.04}
TOO_TIGHT = {"bust": 0.08, "underbust": 0.08, "waist": 0.15, "high_hip": 0.08}
CAUTION = (
    "A bodice that is too tight harms: try it on standing and sitting, and stop at pain, numbness or short breath. "
    "After surgery, or with an implant or prosthesis, the client's clinician decides."
)
# How grave each kind of remark on the body is for the pattern.
_LEVELS: Mapping[str, FindingLevel] = {"refuse": "stop", "warn": "warn", "note": "note"}


def taken_findings(body: Body) -> list[Finding]:
    """A stop that names the readings which are not taken; a note for a standard size that was asked for as such."""
    if body.as_asked and body.standard is not None:
        size = standard_words(body.standard)
        says = f"The body is a standard size, {size}, as asked for. No client was measured: do not cut for one by it."
        return [Finding("note", "standard size", says)]
    if not body.not_taken:
        return []
    says = f"Not taken: {reading_words(body.not_taken)}. Nothing may be cut by it. "
    if body.drawn and body.standard is not None:
        says += f"In the place of what is not taken a standard body is drawn, {standard_words(body.standard)}. "
        says += "Take the readings and write them down."
    else:
        begun = began_with(body.measured())
        named = "" if begun is None else f", {standard_words(begun)}"
        says += (
            f"What stands in the order are the figures of a standard body{named}, with which a new order once began. "
            'If they are the client\'s own all the same, confirm it: press "These are hers" on the page, or write '
            "confirmed = true under [body]."
        )
    return [Finding("stop", f"body: {', '.join(body.not_taken)}", says)]


def of_body(pattern: Pattern, body: Body) -> Pattern:
    """The pattern, with whose body it is for, so that every sheet can say it."""
    size = standard_words(body.standard) if body.as_asked and body.standard is not None else ""
    return replace(pattern, not_taken=body.not_taken, body=size)


def body_findings(body: Body) -> list[Finding]:
    """What coutil.body has to say of the measurements, those by rule among it, as findings."""
    return [Finding(_LEVELS[r.kind], f"body: {', '.join(r.keys)}", _sentence(r.text)) for r in judge(body)]


def reduction_findings(body: Mapping[str, float], ease: Mapping[str, float]) -> list[Finding]:
    """A warning or a stop for every level at which the garment is much smaller than the body; girths in mm by level."""
    out = []
    for level, girth in body.items():
        reduction = -ease.get(level, 0.0) / girth
        if reduction <= TIGHT[level]:
            continue
        stop = reduction > TOO_TIGHT[level]
        limit = (TOO_TIGHT if stop else TIGHT)[level]
        says = (
            f"At {mark_words(level)} the garment is {both(-ease[level])} smaller than the body, "
            f"{100.0 * reduction:.1f} % of it; {both(limit * girth)} ({100.0 * limit:.0f} %) is "
            f"{'the most that may be asked for' if stop else 'what most people wear with comfort'}. "
            f"{'Give more ease.' if stop else 'Agree it with the client.'} {CAUTION}"
        )
        out.append(Finding("stop" if stop else "warn", f"{level.replace('_', ' ')} ease", says))
    return out


def _sentence(text: str) -> str:
    # Keys stay as they are written in the order, so no capital.
    return text if text.endswith((".", "!")) else f"{text}."
