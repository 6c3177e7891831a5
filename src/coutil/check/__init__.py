"""Checks of a finished pattern: walk, true, soundness, girths, pads, notches, and the cup gauge. They give findings."""

from __future__ import annotations

from dataclasses import replace

from coutil.body import Body
from coutil.check.body import body_findings, of_body, reduction_findings, taken_findings
from coutil.check.foam import foam_angle, foam_findings, foam_girth, foam_total
from coutil.check.gauge import cup, cup_findings, cups, round_cup
from coutil.check.girth import bust_point_findings, girth_findings, girths, mark_findings
from coutil.check.notches import notch_findings
from coutil.check.pads import pad_findings
from coutil.check.sound import sound_findings
from coutil.check.true import true_findings
from coutil.check.walk import walk, walk_findings
from coutil.order import Build, Style
from coutil.pattern import Finding, Pattern, gravest_first
from coutil.pattern.model import Side

__all__ = [
    "bust_point_findings",
    "check",
    "cup",
    "cups",
    "foam_angle",
    "foam_girth",
    "foam_total",
    "girth_findings",
    "girths",
    "mark_findings",
    "notch_findings",
    "pad_findings",
    "round_cup",
    "sound_findings",
    "true_findings",
    "walk",
    "walk_findings",
]


def check(pattern: Pattern, body: Body, style: Style, build: Build, *, foam: float = 0.0) -> Pattern:
    """The pattern with its cups and with everything that the checks have to say, the gravest first.

    `foam` is what the draft added to the front's girth at the bust for the foam, in mm. Findings that the pattern
    bears already are kept, before those of the same level. Raises ValueError where a seam names a mark that its edge
    lacks, and KeyError where one of the four panels is missing.
    """
    girth = {"bust": body.bust, "underbust": body.underbust, "waist": body.waist, "high_hip": body.high_hip}
    ease = {level: getattr(style.ease, level) for level in girth}
    sides: tuple[Side, ...] = ("both",) if pattern.panel("centre front", "both").side == "both" else ("left", "right")
    of_side = {side: body.right if side == "right" else body.left for side in sides}
    made = cups(pattern, {side: of_side[side].bust_to_underbust for side in sides})
    found: list[Finding] = [
        # Before all else: whose body this is.
        *taken_findings(body),
        *pattern.findings,
        *sound_findings(pattern),
        *walk_findings(pattern),
        *true_findings(pattern, neckline=style.neckline, hem_point=style.hem_point),
        *girth_findings(pattern, body=girth, ease={**ease, "bust": ease["bust"] + foam}, gap=style.gap),
        *mark_findings(pattern),
    ]
    for side, measured in of_side.items():
        found += bust_point_findings(
            pattern,
            side,
            from_centre=measured.bust_point,
            to_underbust=measured.bust_to_underbust,
            to_waist=measured.bust_to_waist,
        )
    pad = build.pad
    found += [
        *pad_findings(pattern, top_drop=pad.top_drop, side_inset=pad.side_inset, side_dip=pad.side_dip),
        *notch_findings(pattern),
        *reduction_findings(girth, ease),
        *body_findings(body),
        *cup_findings(made),
        *foam_findings(pad.thickness, made, added=foam),
    ]
    return of_body(replace(pattern, cups=made, findings=gravest_first(found)), body)
