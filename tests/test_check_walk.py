"""The walk fails where a seam does not match, and only there."""

from __future__ import annotations

from dataclasses import replace

import pytest

import checked
import four_panels
from coutil.check import walk, walk_findings
from coutil.pattern import Pattern
from coutil.pattern.seams import NOTCH_ABOVE, NOTCH_BELOW, intervals
from coutil.plane import line
from spoken import spoken, subject


def lengthened(pattern: Pattern, panel: str, edge: str, by: float) -> Pattern:
    """The pattern with one rising edge drawn straight on at its top by `by` mm."""
    old = pattern.panel(panel, "both").edge(edge)
    up = old.upward()
    (x, y), (tx, ty) = up.end, up.tangent(up.length)
    up = up.then(line((x, y), (x + by * tx, y + by * ty)))
    marks = {**old.marks, "top": up.length}
    return four_panels.with_edge(pattern, panel, edge, curve=up if old.rising else up.reversed(), marks=marks)


@pytest.mark.parametrize("peak", [0.0, 18.0])
def test_a_good_pattern_walks(peak: float) -> None:
    pattern = four_panels.build(peak=peak)
    assert walk_findings(pattern) == []
    assert walk_findings(four_panels.uneven(pattern)) == []
    assert max(abs(i.difference) for i in walk(pattern)) < 1e-6


def test_every_seam_is_walked_from_end_to_end() -> None:
    pattern = four_panels.build(peak=18.0)
    for seam in pattern.seams:
        a, b = pattern.edges_of(seam)
        walked = intervals(pattern, seam)
        assert sum(i.a_mm for i in walked) == pytest.approx(a.curve.length, abs=1e-6)
        assert sum(i.b_mm for i in walked) == pytest.approx(b.marks.get("centre_front_end", b.curve.length), abs=1e-6)
        assert [i.end for i in walked[:-1]] == [i.start for i in walked[1:]]
    names = [i.start for i in intervals(pattern, pattern.seams[0])]
    assert names == ["hem", "high_hip", "waist", "underbust", NOTCH_BELOW, "bust", NOTCH_ABOVE]
    assert intervals(pattern, pattern.seams[0])[-1].end == "centre_front_end"
    assert intervals(four_panels.build(), pattern.seams[0])[-1].end == "top"


def test_a_seam_is_walked_to_its_ends_even_if_its_stations_leave_them_out() -> None:
    pattern = four_panels.build()
    seam = replace(pattern.seams[1], stations=("waist",))
    assert [(i.start, i.end) for i in intervals(pattern, seam)] == [("hem", "waist"), ("waist", "top")]


def test_no_notch_is_walked_beyond_a_low_top() -> None:
    pattern = four_panels.build()
    seam = pattern.seams[0]
    a, b = pattern.edges_of(seam)
    low = a.marks["bust"] + 20.0
    for panel, edge in (("centre front", a), ("side front", b)):
        up = edge.upward().part(0.0, low)
        pattern = four_panels.with_edge(
            pattern,
            panel,
            "front_princess",
            curve=up if edge.rising else up.reversed(),
            marks={k: min(s, low) for k, s in edge.marks.items()},
        )
    names = [i.end for i in intervals(pattern, seam)]
    assert NOTCH_BELOW in names
    assert NOTCH_ABOVE not in names


@pytest.mark.parametrize(
    ("panel", "edge"), [("side front", "side"), ("side back", "side"), ("centre back", "back_princess")]
)
def test_half_a_millimetre_too_long_is_found(panel: str, edge: str) -> None:
    broken = lengthened(four_panels.build(), panel, edge, 0.5)
    (finding,) = walk_findings(broken)
    assert finding.level == "stop"
    assert subject(finding) == ("side seam" if edge == "side" else "back princess seam")
    assert spoken(finding).startswith(f"From the bust to the top, the {panel}'s edge is 0.5 mm longer than ")
    # So does the whole check, and two tenths pass.
    assert any(f == finding for f in checked.findings(broken))
    assert walk_findings(lengthened(four_panels.build(), panel, edge, 0.2)) == []


def test_a_mark_in_the_wrong_place_is_found_on_both_sides_of_it() -> None:
    pattern = four_panels.build()
    edge = pattern.panel("side back", "both").edge("side")
    marks = {**edge.marks, "waist": edge.marks["waist"] + 0.4}
    found = walk_findings(four_panels.with_edge(pattern, "side back", "side", marks=marks))
    assert [("high hip to the waist" in spoken(f), "waist to the underbust" in spoken(f)) for f in found] == [
        (True, False),
        (False, True),
    ]


def test_a_seam_names_its_side() -> None:
    pattern = four_panels.uneven(lengthened(four_panels.build(), "side front", "side", 0.5))
    found = walk_findings(pattern)
    assert {subject(f) for f in found} == {"left side seam", "right side seam"}
    assert "the right side front's edge is 0.5 mm longer than the right side back's edge" in spoken(found[1])


def test_uneven_centre_fronts_must_match() -> None:
    pattern = four_panels.uneven(four_panels.build())
    left = pattern.panel("centre front", "left").edge("centre_front")
    short = left.upward().part(0.0, left.curve.length - 0.6).reversed()
    panels = tuple(
        replace(p, edges=tuple(replace(e, curve=short) if e is left else e for e in p.edges)) for p in pattern.panels
    )
    (finding,) = walk_findings(replace(pattern, panels=panels))
    assert subject(finding) == "centre front seam"
    assert "the right centre front's edge is 0.6 mm longer than the left centre front's edge" in spoken(finding)


def test_ease_that_is_asked_for_passes_and_any_other_does_not() -> None:
    pattern = lengthened(four_panels.build(), "side front", "side", 4.0)

    def eased(ease: float) -> list[str]:
        seams = tuple(replace(s, ease_mm=ease) if s.name == "side" else s for s in pattern.seams)
        return [spoken(f) for f in walk_findings(replace(pattern, seams=seams))]

    assert eased(4.0) == []
    assert eased(4.2) == []
    (too_little,) = eased(5.0)
    assert "should be 5.0 mm longer than the side back's edge" in too_little
    assert len(eased(2.0)) == 2
    # An ease the other way round is no excuse.
    assert len(eased(-4.0)) == 2


def test_a_station_that_an_edge_lacks_is_an_error() -> None:
    pattern = four_panels.build()
    seams = (replace(pattern.seams[1], stations=("hem", "hip")),)
    with pytest.raises(ValueError, match="side seam has a station 'hip'"):
        walk(replace(pattern, seams=seams))
