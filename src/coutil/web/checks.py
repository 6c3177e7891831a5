"""What the checks have to show beside findings: the walk, the cup gauge's profile, the girths."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Final

from coutil.check.walk import TOLERANCE
from coutil.pattern import LEVELS, Cup, Pattern, all_round
from coutil.pattern.seams import intervals, stations
from coutil.pattern.telling import mark_name
from coutil.plane import Curve
from coutil.units import plain
from coutil.web.lengths import other, shown
from coutil.web.paths import rounded
from coutil.web.places import Placed
from coutil.words import say

# White round the profile of a cup, in mm.
_RIM: Final = 6.0


def walked(pattern: Pattern, placed: Sequence[Placed]) -> list[dict[str, Any]]:
    """Every interval of every seam, with both stretches of edge as paths."""
    out = []
    at = {p.panel.name + p.panel.side: p for p in placed}
    for seam in pattern.seams:
        a, b = pattern.edges_of(seam)
        pa, pb = (at[p.name + p.side] for p in pattern.panels_of(seam))
        places = {name: (s, t) for name, s, t in stations(pattern, seam)}
        for i in intervals(pattern, seam):
            (a0, b0), (a1, b1) = places[i.start], places[i.end]
            up_a, up_b = a.upward(), b.upward()
            low, high = min(seam.ease_mm, 0.0) - TOLERANCE, max(seam.ease_mm, 0.0) + TOLERANCE
            out.append(
                {
                    "seam": seam.name,
                    "side": seam.side,
                    "from": mark_name(i.start),
                    "to": mark_name(i.end),
                    "a": f"{i.a_mm / 10:.2f} cm",
                    "b": f"{i.b_mm / 10:.2f} cm",
                    "difference": f"{i.difference + 0.0:.2f} mm".replace("-0.00", "0.00"),
                    "level": "fine" if low <= i.difference <= high else "stop",
                    "parts": [f"{pa.id}/edge/{a.role}", f"{pb.id}/edge/{b.role}"],
                    "a_d": _stretch(pa, up_a, a0, a1),
                    "b_d": _stretch(pb, up_b, b0, b1),
                }
            )
    return out


def _stretch(p: Placed, curve: Curve, start: float, end: float) -> str:
    """A stretch of an edge as a path; "" for none: notches that somebody else drew may stand in another order there."""
    start, end = max(start, 0.0), min(end, curve.length)
    return p.place.curve(curve.part(start, end)) if end > start else ""


def cups(found: Sequence[Cup], unit: str) -> list[dict[str, Any]]:
    """Each cup's figures and its profile, apex up, drawn whole from side to side."""
    out = []
    for cup in found:
        base = 2.0 * cup.base_radius_mm
        r, h = cup.base_radius_mm, cup.depth_mm
        half = [(x, -y) for x, y in cup.profile]
        outline = [(-x, y) for x, y in reversed(half)] + half[1:]
        out.append(
            {
                "side": cup.side,
                "depth": {"text": shown(h, unit), "also": shown(h, other(unit))},
                "volume": {"text": f"{cup.volume_cc:.0f} ml"},
                "base": {"text": shown(base, unit), "also": shown(base, other(unit))},
                "profile": {
                    "box": rounded((-r - _RIM, -h - _RIM, r + _RIM, _RIM)),
                    "d": "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in outline),
                    "depth": f"M0 0L0 {-h:.2f}",
                    "base": f"M{-r:.2f} 0L{r:.2f} 0",
                },
            }
        )
    return out


def girths(pattern: Pattern) -> dict[str, Any]:
    """The panels' widths at each level, of those that go round the body, and what they add up to, as a table."""
    rows = []
    panels = all_round(pattern)
    for level in reversed(LEVELS):
        # On a pattern that was brought in a level may be known on some panels only.
        if any(level not in p.levels for p in panels):
            continue
        across = [math.dist(*p.levels[level]) for p in panels]
        total = sum(w * (2.0 if p.side == "both" else 1.0) for w, p in zip(across, panels, strict=True))
        rows.append([say(f"level.{level}"), *(plain(w) for w in across), plain(total)])
    named = [p.name if p.side == "both" else f"{p.side} {p.name}" for p in panels]
    return {"head": [say("table.level"), *named, say("table.round")], "rows": rows}
