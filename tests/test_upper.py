"""The shaping above the bust: how much of the front it takes in, by the lines of the panels, whatever the seaming."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from coutil.body import Body
from coutil.draft import Draft, DraftError, draft
from coutil.make import work_out
from coutil.order import Order, Style
from coutil.pattern import says
from coutil.seaming import READY, Opening
from garments import garments

# No edge closes in by more than this part of its length above the bust point; no panel gets narrower than this, in mm.
STEEPEST, NARROWEST = 0.56, 22.0
CUPS = [name for name, s in READY.items() if s.cup is not None]


def made(body: Body, style: Style, upper: float) -> Draft:
    """Drafted with cups that end as far above the bust point as the underbust lies below."""
    reach = body.left.bust_to_underbust
    openings = (Opening("centre_back", "zip"),)
    told = replace(
        style, upper=upper, cup_height=reach, peak=0.0, neckline="sweetheart", plunge=None, openings=openings
    )
    return draft(body, replace(told, hem=None, back="straight", back_top=None))


def edges(drafted: Draft) -> list[float]:
    """By how much both edges of the left cup seam close in from the bust point to their ends, in mm."""
    out = []
    for ref in (drafted.pattern.cup_seams[0].a, drafted.pattern.cup_seams[0].b):
        p = next(p for p in drafted.pattern.panels if p.name == ref.panel and p.side == ref.side)
        edge = p.edge(ref.edge).upward()
        out.append(abs(edge.end[0] - p.points["bust_point"][0]))
    return out


@pytest.mark.parametrize("name", CUPS)
def test_a_half_takes_in_half_of_what_all_would_unless_a_limit_binds(name: str) -> None:
    seen = bound = 0
    for body, base in garments(5, READY[name], seed=17):
        if not body.symmetric:
            continue
        style = replace(base, seaming=READY[name])
        try:
            none, half, full = (edges(made(body, style, u)) for u in (0.0, 0.5, 1.0))
        except DraftError:
            continue
        reach = body.left.bust_to_underbust
        least = sum(none)
        assert sum(full) >= sum(half) - 0.01
        assert sum(half) >= least - 0.01
        assert max(full) <= STEEPEST * reach + 0.05
        over = max((body.front_bust_arc - body.front_upper_arc) / 2.0 - least, 0.0)
        if sum(full) < least + 2.0 * over - 0.1:
            bound += 1
            # The limits: both edges as steep as may be, or as the panel allows.
            widths = _widths(made(body, style, 1.0))
            rooms = (min(widths[0] - NARROWEST, widths[0] / 2.0), (widths[1] - NARROWEST) / 2.0)
            for edge, room in zip(full, rooms, strict=True):
                assert edge == pytest.approx(min(STEEPEST * reach, room), abs=0.1), (body, edge, room)
        else:
            assert sum(half) - least == pytest.approx((sum(full) - least) / 2.0, abs=0.1)
            assert sum(half) == pytest.approx(least + over, abs=0.1)
            seen += 1
    assert seen >= 1
    assert bound >= 1


def _widths(drafted: Draft) -> list[float]:
    """Widths at the bust of the panels on both sides of the left cup seam, in mm."""
    seam = drafted.pattern.cup_seams[0]
    found = []
    for ref in (seam.a, seam.b):
        p = next(p for p in drafted.pattern.panels if p.name == ref.panel and p.side == ref.side)
        (a, _), (b, _) = p.levels["bust"]
        found.append(abs(b - a))
    return found


def test_what_a_limit_leaves_of_it_is_told() -> None:
    even = ((b, s) for b, s in garments(4, READY["princess-4"], seed=17) if b.symmetric)
    body, base = next((b, s) for b, s in even if b.bust - b.underbust > 200.0)
    style = replace(base, upper=0.0, openings=(Opening("centre_back", "zip"),))
    told = {u: _told(body, replace(style, upper=u)) for u in (0.0, 1.0)}
    assert "asks for" not in told[0.0]
    short = _short(body, replace(style, upper=1.0))
    assert short > 5.0
    assert re.search(rf"asks for ≈?{short / 10.0:.1f} cm more", told[1.0])


def _told(body: Body, style: Style) -> str:
    work = work_out(Order("upper", body, style=style))
    return next(says(f) for f in work.findings if f.code == "style.upper")


def _short(body: Body, style: Style) -> float:
    """Of what is asked for, what is not taken in, in mm, by the sums of the tape: the larger of both halves."""
    drafted = draft(body, style)
    assert drafted.upper is not None
    least = draft(body, replace(style, upper=0.0)).upper
    assert least is not None
    over = (body.front_bust_arc - body.front_upper_arc) / 2.0 - least.taken
    return least.taken + 2.0 * max(over, 0.0) - drafted.upper.taken
