"""The walk: every seam, interval by interval, one edge rolled along the other."""

from __future__ import annotations

from coutil.check.words import capital, length, mark_words, panel_words, precise, seam_words
from coutil.pattern import Finding, Pattern, Seam
from coutil.pattern.seams import Interval, intervals

# Both edges agree within this over every interval, in mm: the width of a sharp pencil line. Requirement of the project.
TOLERANCE = 0.3


def walk(pattern: Pattern) -> tuple[Interval, ...]:
    """Every interval of every seam, from the hem up; raises ValueError where a seam names a mark its edge lacks."""
    return tuple(interval for seam in pattern.seams for interval in intervals(pattern, seam))


def walk_findings(pattern: Pattern, *, eased: float = TOLERANCE) -> list[Finding]:
    """A stop for every interval whose edges do not match: where, by how much and what to change.

    Differences of no more than `eased` mm, which a sewer can ease in, are a warning; none are unless asked for.

    An ease that the style asks for may lie in any interval or be spread over several: each interval may then differ
    by anything between nothing and the whole ease, and their sum by the ease. Raises ValueError as `walk` does.
    """
    out = []
    for seam in pattern.seams:
        walked = intervals(pattern, seam)
        low, high = min(seam.ease_mm, 0.0) - TOLERANCE, max(seam.ease_mm, 0.0) + TOLERANCE
        more = max(eased - TOLERANCE, 0.0)
        out += [
            _mismatch(pattern, seam, i, stop=not low - more <= i.difference <= high + more)
            for i in walked
            if not low <= i.difference <= high
        ]
        total = sum(i.difference for i in walked)
        if seam.ease_mm and abs(total - seam.ease_mm) > TOLERANCE:
            out.append(_wrong_ease(pattern, seam, total))
    return out


def _mismatch(pattern: Pattern, seam: Seam, interval: Interval, *, stop: bool) -> Finding:
    a, b = (f"the {panel_words(p)}'s edge" for p in pattern.panels_of(seam))
    longer, shorter = (a, b) if interval.difference > 0.0 else (b, a)
    more, less = max(interval.a_mm, interval.b_mm), min(interval.a_mm, interval.b_mm)
    off = length(more - less)
    return Finding(
        "stop" if stop else "warn",
        seam_words(seam),
        f"From {mark_words(interval.start)} to {mark_words(interval.end)}, {longer} is {off} longer than {shorter} "
        f"({precise(more)} against {precise(less)}); {length(TOLERANCE)} is the most that may pass. "
        f"Take the longer one in or let the shorter one out by {off} there, and walk the seam again.",
    )


def _wrong_ease(pattern: Pattern, seam: Seam, total: float) -> Finding:
    a, b = (f"the {panel_words(p)}'s edge" for p in pattern.panels_of(seam))
    return Finding(
        "stop",
        seam_words(seam),
        f"{capital(a)} should be {length(seam.ease_mm)} longer than {b} for the ease that was asked for, but it is "
        f"{length(total)} longer. Change one of them by {length(abs(seam.ease_mm - total))}.",
    )
