"""The cup gauge against the cone and the sphere.

Source of both: Gauss and Bonnet, for instance M. do Carmo, Differential Geometry of Curves and Surfaces, section 4-5.
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import four_panels
from coutil.check.cup import cup_findings
from coutil.check.foam import foam_findings
from coutil.dome import cup, foam_angle, foam_girth, foam_total, round_cup
from coutil.dome.gauge import headings, sum_of_turns
from coutil.pattern import Cup, Edge
from coutil.plane import arc_through, line
from spoken import spoken, subject

REACH = 80.0


@pytest.mark.parametrize("dart", [0.05, 0.5, 1.5, 3.0, 6.0])
def test_a_dart_makes_a_cone(dart: float) -> None:
    # Closed form: the cone's slant is R and its base radius R (1 - d / 2 pi).
    made = round_cup(lambda rho: np.full_like(rho, dart), REACH)
    radius = REACH * (1.0 - dart / math.tau)
    depth = REACH * math.sqrt(1.0 - (1.0 - dart / math.tau) ** 2)
    assert made.depth_mm == pytest.approx(depth, rel=1e-12)
    assert made.base_radius_mm == pytest.approx(radius, rel=1e-12)
    assert made.curvature_rad == dart
    assert made.volume_cc == pytest.approx(math.pi * radius**2 * depth / 3.0 / 1000.0, rel=1e-4)


@pytest.mark.parametrize("radius", [30.0, 60.0, 150.0, 2000.0])
def test_a_sphere_stays_a_sphere(radius: float) -> None:
    # Closed form: a cap of radius s whose rim lies R from its pole along the sphere, its volume pi h^2 (3 s - h) / 3.
    made = round_cup(lambda rho: math.tau * (1.0 - np.cos(rho / radius)), REACH)
    depth = radius * (1.0 - math.cos(REACH / radius))
    assert made.depth_mm == pytest.approx(depth, rel=1e-4)
    assert made.base_radius_mm == pytest.approx(radius * math.sin(REACH / radius), rel=1e-4)
    assert made.volume_cc == pytest.approx(math.pi * depth**2 * (3.0 * radius - depth) / 3.0 / 1000.0, rel=2e-4)
    # Every point of the profile lies on the sphere; apex first, base last.
    centre = depth - radius
    for r, height in made.profile:
        assert math.hypot(r, height - centre) == pytest.approx(radius, rel=1e-4)
    assert made.profile[0] == (0.0, made.depth_mm)
    assert made.profile[-1][1] == pytest.approx(0.0, abs=1e-9)


def test_no_curvature_stays_flat() -> None:
    made = round_cup(np.zeros_like, REACH)
    assert made.depth_mm == 0.0
    assert made.volume_cc == 0.0
    assert made.base_radius_mm == REACH


def test_a_saddle_is_no_cup_and_counts_as_flat() -> None:
    made = round_cup(lambda rho: np.full_like(rho, -0.3), REACH)
    assert (made.depth_mm, made.volume_cc, made.curvature_rad) == (0.0, 0.0, -0.3)


@pytest.mark.parametrize("power", [1.0, 2.0])
def test_the_error_falls_with_the_square_of_the_samples(power: float) -> None:
    # K proportional to rho is what a seam of even curvature has, K to rho squared what a sphere has near its pole.
    def total(rho: np.ndarray) -> np.ndarray:
        return 1.2 * (rho / REACH) ** power

    true = round_cup(total, REACH, samples=20_000)
    errors = [abs(round_cup(total, REACH, samples=n).depth_mm - true.depth_mm) for n in (25, 50, 100, 200)]
    for coarse, fine in pairwise(errors):
        assert 3.5 < coarse / fine < 4.5
    volumes = [abs(round_cup(total, REACH, samples=n).volume_cc - true.volume_cc) for n in (25, 50, 100, 200)]
    for coarse, fine in pairwise(volumes):
        assert 3.5 < coarse / fine < 4.5
    assert errors[-1] / true.depth_mm < 2e-5
    assert volumes[-1] / true.volume_cc < 5e-5


@given(st.floats(0.01, 2.0), st.floats(1.0, 3.0))
def test_depth_and_volume_grow_with_curvature(curvature: float, factor: float) -> None:
    low = round_cup(lambda rho: curvature * rho / REACH, REACH)
    high = round_cup(lambda rho: curvature * factor * rho / REACH, REACH)
    assert high.depth_mm >= low.depth_mm
    assert high.base_radius_mm <= low.base_radius_mm


@pytest.mark.parametrize(("reach", "samples"), [(0.0, 10), (-1.0, 10), (10.0, 1), (math.nan, 10)])
def test_a_cup_without_reach_is_refused(reach: float, samples: int) -> None:
    with pytest.raises(ValueError, match="positive reach"):
        round_cup(np.zeros_like, reach, samples=samples)


def arc_edge(radius: float, *, outward: bool) -> Edge:
    """A rising edge of 160 mm on a circle, bulging out of the panel (to the right of travel) or into it."""
    sweep = 160.0 / radius
    curve = (
        arc_through((0.0, 0.0), radius, -sweep / 2.0, sweep)
        if outward
        else arc_through((0.0, 0.0), radius, math.pi + sweep / 2.0, -sweep)
    )
    return Edge("front_princess", "front_princess", curve, True, {"bust_point": 80.0})


@pytest.mark.parametrize("rising", [True, False])
def test_the_turns_of_two_arcs_add_up(rising: bool) -> None:
    # Closed form: within rho of the bust point an arc of radius s turns by 2 rho / s.
    rho = np.linspace(0.0, 80.0, 50)
    edges = [arc_edge(200.0, outward=True), arc_edge(500.0, outward=False)]
    if not rising:
        # The other side of a panel: travelled downwards, the same bend must count the same.
        edges = [replace(e, curve=e.curve.mirrored().reversed(), rising=False) for e in edges]
    assert sum_of_turns(edges, rho) == pytest.approx(2.0 * rho / 200.0 - 2.0 * rho / 500.0, abs=2e-5)


def test_a_straight_dart_counts_where_its_point_is() -> None:
    # Two straight edges that break outwards by 0.2 and 0.3 at the bust point: a cone with a dart of their sum.
    edges = []
    for angle in (0.2, 0.3):
        lower = line((0.0, -80.0), (0.0, 0.0))
        upper = line((0.0, 0.0), (-80.0 * math.sin(angle), 80.0 * math.cos(angle)))
        edges.append(Edge("front_princess", "front_princess", lower.then(upper), True, {"bust_point": 80.0}))
    made = round_cup(lambda rho: sum_of_turns(edges, rho), REACH)
    assert made.curvature_rad == pytest.approx(0.5, abs=1e-12)
    assert made.depth_mm == pytest.approx(REACH * math.sqrt(1.0 - (1.0 - 0.5 / math.tau) ** 2), rel=1e-3)


def test_headings_agree_with_the_curve() -> None:
    edge = four_panels.build().panel("centre front", "both").edge("front_princess")
    at, heading = headings(edge)
    assert at[-1] == pytest.approx(edge.curve.length, abs=1e-4)
    for s, h in list(zip(at, heading, strict=True))[::7]:
        assert h == pytest.approx(edge.curve.heading(float(s)), abs=1e-4)


def test_above_a_low_top_the_curvature_stays() -> None:
    pattern = four_panels.build()
    edge = pattern.panel("centre front", "both").edge("front_princess")
    above = edge.curve.length - edge.marks["bust_point"]
    near, far = cup(pattern, "both", above), cup(pattern, "both", 80.0)
    assert above < 80.0
    # Below the bust point the seam goes on bending, above there is nothing more.
    parts = [edge.upward().heading(edge.marks["bust_point"] - r) for r in (above, 80.0)]
    assert far.curvature_rad - near.curvature_rad == pytest.approx(2.0 * (parts[0] - parts[1]), abs=1e-4)


def test_a_peak_that_is_not_sewn_adds_nothing() -> None:
    # The peak runs straight on, so bend it: what lies above the end of the centre front must not count.
    pattern = four_panels.build(peak=18.0)
    edge = pattern.panel("side front", "both").edge("front_princess")
    up = edge.upward().part(0.0, edge.marks["centre_front_end"])
    (x, y), (tx, ty) = up.end, up.tangent(up.length)
    bent = up.then(line((x, y), (x + 18.0 * ty, y - 18.0 * tx))).reversed()
    broken = four_panels.with_edge(pattern, "side front", "front_princess", curve=bent)
    assert cup(broken, "both", 80.0) == cup(pattern, "both", 80.0)


def test_both_sides_of_an_uneven_pattern_are_gauged_alike() -> None:
    pattern = four_panels.uneven(four_panels.build(peak=18.0))
    left, right = cup(pattern, "left", 80.0), cup(pattern, "right", 80.0)
    assert right.depth_mm == pytest.approx(left.depth_mm, rel=1e-9)
    assert right.curvature_rad == pytest.approx(left.curvature_rad, rel=1e-9)
    assert (left.side, right.side) == ("left", "right")


@pytest.mark.parametrize("radius", [50.0, 80.0, 300.0])
def test_foam_over_a_sphere_takes_up_its_angle_times_its_thickness(radius: float) -> None:
    # Closed form: a great circle through the pole covers 2 R / s; on a sphere larger by t the arc is t * 2 R / s more.
    made = round_cup(lambda rho: math.tau * (1.0 - np.cos(rho / radius)), REACH)
    assert foam_angle(made) == pytest.approx(2.0 * REACH / radius, rel=1e-9)
    arc = 2.0 * REACH
    assert foam_girth(6.0, made) == pytest.approx(arc * (radius + 6.0) / radius - arc, rel=1e-9)
    assert foam_total(6.0, (made,)) == 2.0 * foam_girth(6.0, made)
    left, right = replace(made, side="left"), replace(made, side="right")
    assert foam_total(6.0, (left, right)) == 2.0 * foam_girth(6.0, made)


def test_foam_findings_say_what_is_missing() -> None:
    made = round_cup(lambda rho: math.tau * (1.0 - np.cos(rho / 80.0)), REACH)
    takes = foam_total(5.0, (made,))
    assert takes == pytest.approx(20.0)
    assert foam_findings(None, (made,)) == []
    (alone,) = foam_findings(5.0, (made,))
    assert alone.level == "note"
    assert "2.0 cm" in spoken(alone)
    assert "not been added" in spoken(alone)
    (added,) = foam_findings(5.0, (made,), added=19.0)
    assert (added.level, "has been added" in spoken(added)) == ("note", True)
    (wrong,) = foam_findings(5.0, (made,), added=12.0)
    assert (wrong.level, "8.0 mm" in spoken(wrong)) == ("warn", True)
    with pytest.raises(ValueError, match="cannot be -1"):
        foam_girth(-1.0, made)


def test_a_cup_is_noted_and_none_is_warned_of() -> None:
    (note,) = cup_findings(four_panels.build(), (Cup("both", 34.8, 223.0, 71.4, 0.873),))
    assert note.level == "note"
    assert "about 3.5 cm deep" in spoken(note), "not about ≈3.5 cm"
    assert "223 ml" in spoken(note)
    (flat,) = cup_findings(four_panels.uneven(four_panels.build()), (Cup("left", 1.0, 5.0, 80.0, 0.01),))
    assert (flat.level, subject(flat)) == ("warn", "left cup")
