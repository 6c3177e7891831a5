"""Top and hem run on across seams, and leave folds squarely; a kink of two degrees is found."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from kurbopy import CubicBez, Point

import checked
import four_panels
from coutil.check import true_findings
from coutil.check.true import corner_angle, corners, turn
from coutil.pattern import Finding, Pattern
from coutil.plane import Curve
from spoken import spoken, subject


def found(pattern: Pattern, neckline: str = "straight", hem_point: float = 0.0) -> list[Finding]:
    return true_findings(pattern, asked=corners(checked.styled(neckline=neckline, hem_point=hem_point)))


def kinked(pattern: Pattern, panel: str, edge: str, degrees: float, *, at_end: bool) -> Pattern:
    """The pattern with the direction of an edge at its end, or at its start, turned left by `degrees`."""
    curve = pattern.panel(panel, "both").edge(edge).curve
    segments = list(curve.segments)
    k = -1 if at_end else 0
    s = segments[k]
    pivot, handle = (s.p3, s.p2) if at_end else (s.p0, s.p1)
    c, n = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    dx, dy = handle.x - pivot.x, handle.y - pivot.y
    moved = Point(pivot.x + c * dx - n * dy, pivot.y + n * dx + c * dy)
    segments[k] = CubicBez(s.p0, s.p1, moved, s.p3) if at_end else CubicBez(s.p0, moved, s.p2, s.p3)
    return four_panels.with_edge(pattern, panel, edge, curve=Curve(tuple(segments)))


@pytest.mark.parametrize("peak", [0.0, 18.0])
def test_a_good_pattern_runs_on(peak: float) -> None:
    pattern = four_panels.build(peak=peak)
    assert found(pattern) == []
    assert found(four_panels.uneven(pattern)) == []


def test_angles_at_a_corner_are_those_inside_the_panel() -> None:
    panel = four_panels.build().panel("centre back", "both")
    assert corner_angle(panel, "centre_back", "hem") == pytest.approx(90.0, abs=1e-9)
    assert corner_angle(panel, "top", "back_princess") == pytest.approx(90.0, abs=1e-6)
    with pytest.raises(ValueError, match="top does not meet hem"):
        corner_angle(panel, "top", "hem")
    with pytest.raises(KeyError):
        corner_angle(panel, "top", "side")


@pytest.mark.parametrize(
    ("panel", "edge", "at_end", "about"),
    [
        ("side front", "top", False, "side seam"),
        ("side back", "top", True, "back princess seam"),
        ("centre front", "hem", True, "front princess seam"),
        ("centre front", "top", False, "front princess seam"),
        ("centre back", "hem", True, "back princess seam"),
    ],
)
@pytest.mark.parametrize("degrees", [2.0, -2.0])
def test_a_kink_of_two_degrees_is_found(panel: str, edge: str, at_end: bool, about: str, degrees: float) -> None:
    broken = kinked(four_panels.build(), panel, edge, degrees, at_end=at_end)
    (finding,) = found(broken)
    assert (finding.level, subject(finding)) == ("stop", about)
    assert spoken(finding).startswith(f"The {edge} turns by 2.0 degrees where the ")
    assert finding in checked.findings(broken)
    # Nine tenths of a degree pass.
    assert found(kinked(four_panels.build(), panel, edge, 0.45 * degrees, at_end=at_end)) == []


def test_the_turn_is_positive_where_the_sewn_top_juts_out() -> None:
    # The top starts at the side seam and runs to the princess edge; turned left by 2 degrees it falls away faster.
    pattern = kinked(four_panels.build(), "side front", "top", 2.0, at_end=False)
    seam = pattern.seams[1]
    panels = pattern.panel("side front", "both"), pattern.panel("side back", "both")
    assert turn(*panels, seam, "top") == pytest.approx(2.0, abs=1e-6)
    assert "juts out" in spoken(found(pattern)[0])


def test_a_kink_on_the_right_is_said_to_be_there() -> None:
    pattern = four_panels.uneven(kinked(four_panels.build(), "side front", "top", 2.0, at_end=False))
    assert [subject(f) for f in found(pattern)] == ["left side seam", "right side seam"]


def test_a_peak_is_a_corner_that_the_style_asks_for_and_half_a_millimetre_is_none() -> None:
    broken = kinked(four_panels.build(peak=18.0), "centre front", "top", 20.0, at_end=False)
    assert found(broken) == []
    broken = kinked(four_panels.build(peak=0.4), "centre front", "top", 20.0, at_end=False)
    assert len(found(broken)) == 1


@pytest.mark.parametrize(
    ("edge", "at_end", "neckline", "hem_point", "asked"),
    [
        ("top", True, "straight", 0.0, False),
        ("top", True, "sweetheart", 0.0, True),
        ("top", True, "plunge", 0.0, True),
        ("hem", False, "sweetheart", 0.0, False),
        ("hem", False, "straight", 25.0, True),
    ],
)
def test_the_fold_is_left_squarely_unless_the_style_asks_for_a_corner(
    edge: str, at_end: bool, neckline: str, hem_point: float, asked: bool
) -> None:
    folded = kinked(four_panels.build(), "centre front", edge, 1.0, at_end=at_end)
    said = found(folded, neckline, hem_point)
    if asked:
        assert said == []
    else:
        # Half a degree from the right angle makes one degree on the opened piece.
        (finding,) = said
        assert finding.level == "stop"
        assert f"The {edge} does not leave the centre front squarely" in spoken(finding)
        assert "2.0 degrees" in spoken(finding)
        assert found(kinked(four_panels.build(), "centre front", edge, 0.45, at_end=at_end), neckline, hem_point) == []


def test_the_centre_front_seam_of_an_uneven_pattern_is_held_to_the_same() -> None:
    pattern = four_panels.uneven(kinked(four_panels.build(), "centre front", "top", 1.0, at_end=True))
    (finding,) = found(pattern)
    assert subject(finding) == "centre front seam"
    assert found(pattern, "plunge") == []


def test_an_opening_at_the_centre_back_is_warned_of() -> None:
    broken = kinked(four_panels.build(), "centre back", "top", 3.0, at_end=True)
    (finding,) = found(broken)
    assert (finding.level, subject(finding)) == ("warn", "centre back")
    # Sewn together it is a seam like any other, and stops.
    ref = replace(four_panels.build().seams[2].b, edge="centre_back")
    sewn = replace(broken, seams=(*broken.seams, replace(broken.seams[2], name="centre back", a=ref, b=ref)))
    (finding,) = found(sewn)
    assert (finding.level, subject(finding)) == ("stop", "centre back seam")
