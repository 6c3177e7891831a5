"""The walk: every seam, interval by interval, one edge rolled along the other."""

from __future__ import annotations

from coutil.pattern import Finding, MarkRef, Pattern, Seam, panel_ref, seam_ref
from coutil.pattern.seams import Interval, intervals
from coutil.words import Length

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
    a, b = map(panel_ref, pattern.panels_of(seam))
    longer, shorter = (a, b) if interval.difference > 0.0 else (b, a)
    more, less = max(interval.a_mm, interval.b_mm), min(interval.a_mm, interval.b_mm)
    args = {
        "start": MarkRef(interval.start),
        "end": MarkRef(interval.end),
        "longer": longer,
        "shorter": shorter,
        "off": Length(more - less),
        "more": Length(more, "precise"),
        "less": Length(less, "precise"),
        "most": Length(TOLERANCE),
    }
    return Finding("walk.mismatch", "stop" if stop else "warn", seam_ref(seam), args)


def _wrong_ease(pattern: Pattern, seam: Seam, total: float) -> Finding:
    a, b = map(panel_ref, pattern.panels_of(seam))
    args = {
        "a": a,
        "b": b,
        "wanted": Length(seam.ease_mm),
        "total": Length(total),
        "off": Length(abs(seam.ease_mm - total)),
    }
    return Finding("walk.ease", "stop", seam_ref(seam), args)
