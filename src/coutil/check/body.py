"""Findings that come from the body itself: what was assumed, what looks like a slip, what would be too tight."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from coutil.body import Body, Remark, began_with, judge, reading_words, standard_words
from coutil.body.judge import RemarkKind
from coutil.pattern import Finding, KeysRef, LevelRef, MarkRef, Pattern, Topic, part
from coutil.pattern.model import FindingLevel
from coutil.words import Length

# A garment this much smaller than the body, as a part of the girth, is remarked on; beyond the second figure it is
# stopped. Common practice, no source: 5 cm off a waist of 70 is a firm everyday reduction, 10 cm is for those who are
# used to lacing. Ribs, bust and hip bones give way less than the waist.
TIGHT = {"bust": 0.04, "underbust": 0.04, "waist": 0.07, "high_hip": 0.04, "hip": 0.04}
TOO_TIGHT = {"bust": 0.08, "underbust": 0.08, "waist": 0.15, "high_hip": 0.08, "hip": 0.08}
# Keys of one side's measurements begin so.
_SIDES = ("left.", "right.")
# How grave each kind of remark on the body is for the pattern.
_LEVELS: Mapping[RemarkKind, FindingLevel] = {"refuse": "stop", "warn": "warn", "note": "note"}


def taken_findings(body: Body) -> list[Finding]:
    """A stop that names the readings which are not taken; a note for a standard size that was asked for as such."""
    if body.as_asked and body.standard is not None:
        size = {"size": standard_words(body.standard)}
        return [Finding("body.as_asked", "note", Topic("standard_size"), size)]
    if not body.not_taken:
        return []
    args = {"readings": reading_words(body.not_taken)}
    if body.drawn and body.standard is not None:
        code, args["size"] = "body.not_taken", standard_words(body.standard)
    else:
        begun = began_with(body.measured())
        code = "body.begun_with" if begun is None else "body.begun_with_size"
        if begun is not None:
            args["size"] = standard_words(begun)
    return [Finding(code, "stop", KeysRef(tuple(f"body.{key}" for key in body.not_taken)), args)]


def of_body(pattern: Pattern, body: Body) -> Pattern:
    """The pattern, with whose body it is for, so that every sheet can say it."""
    size = standard_words(body.standard) if body.as_asked and body.standard is not None else ""
    return replace(pattern, not_taken=body.not_taken, body=size)


def body_findings(body: Body) -> list[Finding]:
    """What coutil.body has to say of the measurements, those by rule among it, as findings."""
    return [remark_finding(r) for r in judge(body)]


def remark_finding(remark: Remark) -> Finding:
    """A remark of the judgement, on the body or on the style, as a finding."""
    keys = tuple(k if "." in k and not k.startswith(_SIDES) else f"body.{k}" for k in remark.keys)
    return Finding(remark.code, _LEVELS[remark.kind], KeysRef(keys), remark.args)


def reduction_findings(body: Mapping[str, float], ease: Mapping[str, float]) -> list[Finding]:
    """A warning or a stop for every level at which the garment is much smaller than the body; girths in mm by level."""
    out = []
    for level, girth in body.items():
        reduction = -ease.get(level, 0.0) / girth
        if reduction <= TIGHT[level]:
            continue
        stop = reduction > TOO_TIGHT[level]
        limit = (TOO_TIGHT if stop else TIGHT)[level]
        args = {
            "level": MarkRef(level),
            "by": Length(-ease[level], "both"),
            "share": 100.0 * reduction,
            "limit": Length(limit * girth, "both"),
            "limit_share": 100.0 * limit,
            "caution": part("caution"),
        }
        about = LevelRef(level, "ease")
        out.append(
            Finding("reduction.too_firm", "stop", about, args)
            if stop
            else Finding("reduction.firm", "warn", about, args)
        )
    return out
