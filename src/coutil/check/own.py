"""Checks of a pattern that was brought in: the same ones, as far as it tells what they need.

Its maker drew it, so what is off is said and left to them: only an outline that is none, a seam that cannot be eased
together and a garment that is much too tight are a stop. The client's body serves as a measure: what the pattern has
more or less than it at each level.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

from coutil.body import Body, rests_on
from coutil.check.body import TIGHT, body_findings, of_body, reduction_findings, taken_findings
from coutil.check.foam import foam_findings
from coutil.check.gauge import cup_findings, cups
from coutil.check.girth import bust_point_findings, mark_findings
from coutil.check.notches import notch_findings
from coutil.check.pads import pad_findings
from coutil.check.sound import outline_findings, panel_findings
from coutil.check.true import true_findings
from coutil.check.walk import walk_findings
from coutil.check.words import mark_words
from coutil.order import Build
from coutil.pattern import LEVELS, Finding, Panel, Pattern, gravest_first
from coutil.pattern.model import Side
from coutil.units import both, cm

# What a sewer eases into a seam between two notches without a pucker, in mm (1/8 in; common practice, no source). It is
# also what a hand-drawn or photographed line may be off.
EASED = 3.175
# A line that was drawn elsewhere may break by this much at a join, in degrees: files round to a tenth of a micrometre,
# which turns the short handles of a curve by some hundredths; half of what a top may turn by where it runs on.
DRAWN_BREAK = 0.5
# And bend the other way by this much, in degrees: on 10 cm that strays 0.1 mm from straight, less than a pencil line.
DRAWN_TURN = 0.5
# A garment this much larger than the body, as a part of the girth, stands off it: as much as counts as tight.
LOOSE = TIGHT
_PRINCESS = ("centre front", "side front")


def check_own(pattern: Pattern, body: Body, build: Build, *, gap: float) -> Pattern:
    """The pattern with its cups, if it tells where they are, and with what the checks have to say, gravest first.

    `gap` is what the closing leaves open when worn, in mm; it counts where a centre back opens. Nothing is raised for
    what the pattern lacks: checks that need it are left out, and the room that read the pattern says so.
    """
    gap = gap if _opens(pattern) else 0.0
    sides = _cup_sides(pattern)
    of_side = {side: body.right if side == "right" else body.left for side in sides}
    made = cups(pattern, {side: of_side[side].bust_to_underbust for side in sides})
    found = [*taken_findings(body), *_lowered(pattern.findings)]
    for panel in pattern.panels:
        outline = outline_findings(panel)
        found += outline
        shape = panel_findings(panel, wiggles=bool(panel.levels), breaks=DRAWN_BREAK, turns=DRAWN_TURN)
        found += _lowered(f for f in shape if f not in outline)
    found += walk_findings(pattern, eased=EASED)
    found += _lowered(true_findings(pattern, neckline="sweetheart", hem_point=1.0, whole=False))
    found += _lowered(mark_findings(pattern))
    found += _girths(pattern, body, gap)
    for side, measured in of_side.items():
        found += _lowered(
            bust_point_findings(
                pattern,
                side,
                from_centre=measured.bust_point,
                to_underbust=measured.bust_to_underbust,
                to_waist=measured.bust_to_waist,
            )
        )
    pad = build.pad
    if pattern.pads:
        found += pad_findings(pattern, top_drop=pad.top_drop, side_inset=pad.side_inset, side_dip=pad.side_dip)
    found += _lowered(notch_findings(pattern))
    found += [*body_findings(body), *cup_findings(made), *foam_findings(pad.thickness, made)]
    return of_body(replace(pattern, cups=made, findings=gravest_first(found)), body)


def _opens(pattern: Pattern) -> bool:
    """Whether a centre back opens: one that lies on the fold does not."""
    return any(e.role == "centre_back" and p.fold not in (e.name, e.role) for p in pattern.panels for e in p.edges)


def own_girths(pattern: Pattern, *, gap: float) -> dict[str, float]:
    """The garment's girth in mm at each level that every panel bears that goes round the body, from the hem up.

    Those are the panels that are sewn to another one; all, where no seam is known. A panel that serves both sides
    counts twice.
    """
    sewn = {ref.panel for s in pattern.seams for ref in (s.a, s.b)}
    round_body = [p for p in pattern.panels if not sewn or p.name in sewn]
    out = {}
    for level in LEVELS:
        if round_body and all(level in p.levels for p in round_body):
            out[level] = gap + sum((2.0 if p.side == "both" else 1.0) * math.dist(*p.levels[level]) for p in round_body)
    return out


def _girths(pattern: Pattern, body: Body, gap: float) -> list[Finding]:
    girth = {"bust": body.bust, "underbust": body.underbust, "waist": body.waist, "high_hip": body.high_hip}
    found = own_girths(pattern, gap=gap)
    out = []
    for level, mm in found.items():
        more = mm - girth[level]
        # A figure that nobody read off a tape is not called the client's.
        whose = "the standard size's" if rests_on(body, (level,)) else "the client's"
        size = f"{both(abs(more))} {'more' if more >= 0.0 else 'less'} than"
        closed = f", the gap of {cm(gap)} with it," if gap else ""
        says = f"At {mark_words(level)} the pattern measures {cm(mm)} all round{closed} {size} {whose} "
        says += f"{cm(girth[level])}."
        loose = more > LOOSE[level] * girth[level]
        if loose:
            says += " It stands off the body there: take it in, or cut a smaller size."
        out.append(Finding("warn" if loose else "note", f"{level.replace('_', ' ')} girth", says))
    return out + reduction_findings({k: girth[k] for k in found}, {k: found[k] - girth[k] for k in found})


def _lowered(findings: Iterable[Finding]) -> list[Finding]:
    """Stops as warnings: its maker may have meant it so."""
    return [replace(f, level="warn") if f.level == "stop" else f for f in findings]


def _cup_sides(pattern: Pattern) -> list[Side]:
    """The sides whose two front panels both bear a bust point on their princess edges."""

    def bears(p: Panel) -> bool:
        return any(e.name == "front_princess" and "bust_point" in e.marks for e in p.edges)

    out: list[Side] = []
    for p in pattern.panels:
        if p.name != _PRINCESS[0] or not bears(p):
            continue
        beside = [q for q in pattern.panels if q.name == _PRINCESS[1] and (q.side == p.side or q.side == "both")]
        if beside and bears(beside[0]):
            out.append(p.side)
    return out
