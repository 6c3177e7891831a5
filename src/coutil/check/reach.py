"""How high the top may stand: against the neck behind, and against neck and shoulder in front."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from coutil.body import Body, rests_on
from coutil.pattern import Finding, KeysRef, Pattern
from coutil.seaming.roles import CENTRE_BACK
from coutil.words import Length

# A top edge that comes nearer than this to the bone of the neck, or to where neck and shoulder meet, is looked at
# before it is cut, in mm: boned up to there it would keep the head from turning (judgement, no source).
NEAR: Final = 50.0


def reach_findings(pattern: Pattern, body: Body) -> list[Finding]:
    """A warning where the centre back or the seam over the bust point ends near the neck, a stop where beyond it.

    Both are measured as the tape reads, along the edge: from the waist up the centre back against centre_back_length,
    from the bust point up its seam against bust_depth. A length that a rule filled stops nothing, and one that rests
    on a standard size in the place of what was not taken says nothing.
    """
    back = [
        e.curve.length - e.marks["waist"]
        for p in pattern.panels
        for e in p.edges
        if e.role == CENTRE_BACK and "waist" in e.marks
    ]
    front = [
        e.curve.length - e.marks["bust_point"]
        for s in pattern.cup_seams
        for e in pattern.edges_of(s)
        if "bust_point" in e.marks
    ]
    return [
        *_of(body, "centre_back_length", ("style.back_top",), back, ("reach.back_near", "reach.back_beyond")),
        *_of(body, "bust_depth", ("style.cup_height", "style.peak"), front, ("reach.front_near", "reach.front_beyond")),
    ]


def _of(body: Body, key: str, style: tuple[str, ...], ends: list[float], codes: tuple[str, str]) -> Iterator[Finding]:
    near, beyond = codes
    most = getattr(body, key)
    if not ends or max(ends) <= most - NEAR or (body.not_taken and rests_on(body, (key,))):
        return
    by_rule = key in body.assumed
    args = {"stands": Length(max(ends), "both"), "most": Length(most, "both"), "by_rule": by_rule}
    about = KeysRef((*style, f"body.{key}"))
    if max(ends) >= most and not by_rule:
        yield Finding(beyond, "stop", about, args)
    else:
        yield Finding(near, "warn", about, args)
