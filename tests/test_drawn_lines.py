"""Lines that are drawn where a rule says: allowances all round, grain lines, and the shapes that a plotter draws."""

from __future__ import annotations

import itertools
import json
import math
from typing import Any

import numpy as np
import pytest
from shapely import LineString, MultiLineString, Point, Polygon

import drawn
from coutil.plane import upright_line
from drawn import DRAWN, allowances
from test_plotter import strokes as plotted

EVERY = pytest.mark.parametrize("name", DRAWN)


def places_on(line: list[list[float]]) -> list[Point]:
    """Places along the middle three fifths of an edge, clear of its corners."""
    run = LineString(line)
    return [run.interpolate(f, normalized=True) for f in np.linspace(0.2, 0.8, 13)]


@EVERY
def test_every_edge_has_its_allowance(name: str) -> None:
    pattern = drawn.pattern_of(name)
    seen = set()
    for piece in pattern["pieces"]:
        if piece["layer"] in ("foam", "web"):
            continue
        panel = drawn.panel_of(pattern, piece)
        ring = [*piece["cut"], piece["cut"][0]]
        # On the fold nothing is cut.
        sides = [s for s in itertools.pairwise(ring) if not (piece["on_fold"] and abs(s[0][0]) + abs(s[1][0]) < 1e-3)]
        cut = MultiLineString(sides)
        whole = Polygon(piece["cut"]).buffer(1e-3)
        for edge in panel["edges"]:
            seen.add(edge["role"])
            if panel["fold"] == edge["name"]:
                continue
            wanted = allowances(name, edge["role"])
            for p in places_on(edge["points"]):
                assert whole.covers(p), piece["name"]
                assert cut.distance(p) == pytest.approx(wanted, abs=0.06), (piece["name"], edge["name"])
    assert len(seen) == 7


@EVERY
def test_pads_have_an_allowance_only_where_the_seam_catches_them(name: str) -> None:
    """1/8 in along the princess seam; elsewhere they are cut on their net line."""
    pattern = drawn.pattern_of(name)
    for piece in pattern["pieces"]:
        if piece["layer"] not in ("foam", "web"):
            continue
        panel = drawn.panel_of(pattern, piece)
        seam = LineString(next(e["points"] for e in panel["edges"] if e["role"] == "front_princess"))
        cut, net = LineString([*piece["cut"], piece["cut"][0]]), Polygon(piece["net"]).exterior
        rim = [net.interpolate(f, normalized=True) for f in np.linspace(0, 1, 200)]
        caught = [p for p in rim if seam.distance(p) < 0.05]
        ends = [p for p in rim if seam.distance(p) > 12.0]
        assert len(caught) > 20
        assert len(ends) > 50
        assert max(cut.distance(p) for p in ends) < 0.06, piece["name"]
        assert [cut.distance(p) for p in caught[5:-5]] == pytest.approx([3.175] * len(caught[5:-5]), abs=0.06)


# --- grain


def highest(outline: list[tuple[float, float]], x: float) -> LineString:
    """The longest stretch of the upright at x inside an outline."""
    shape = Polygon(outline)
    upright = LineString([(x, shape.bounds[1] - 1), (x, shape.bounds[3] + 1)])
    cut = shape.intersection(upright)
    return max(getattr(cut, "geoms", [cut]), key=lambda g: g.length)


@EVERY
def test_pads_bear_their_grain_where_they_are_highest(name: str) -> None:
    """Upright, over three fifths of the height, in the middle of the highest upright of the middle third."""
    for piece in drawn.pattern_of(name)["pieces"]:
        if piece["layer"] not in ("foam", "web"):
            continue
        (x, low), (x1, high) = piece["grain"]
        net = drawn.points(piece["net"])
        assert x == pytest.approx(x1, abs=1e-6)
        left, right = min(p[0] for p in net), max(p[0] for p in net)
        thirds = np.linspace(left + (right - left) / 3, right - (right - left) / 3, 400)
        most = max(highest(net, float(t)).length for t in thirds)
        here = highest(net, x)
        assert high - low == pytest.approx(0.6 * here.length, abs=0.5)
        assert (low + high) / 2 == pytest.approx(here.centroid.y, abs=0.5)
        # Nine uprights are tried, so a still higher one may lie between two of them.
        assert here.length > 0.97 * most


@pytest.mark.parametrize(("low_arm", "high_arm"), [(20.0, 70.0), (70.0, 20.0), (45.0, 44.0)])
def test_a_hollow_pad_bears_its_grain_in_the_higher_of_its_arms(low_arm: float, high_arm: float) -> None:
    """A shape like a bracket: two arms one above the other, open to the right. Known by construction."""
    h = low_arm + 10.0 + high_arm
    outline = [
        (0, 0),
        (100, 0),
        (100, low_arm),
        (10, low_arm),
        (10, low_arm + 10),
        (100, low_arm + 10),
        (100, h),
        (0, h),
    ]
    (x0, a), (x1, b) = upright_line([(float(x), float(y)) for x, y in outline])
    assert x0 == x1
    arm = (0.0, low_arm) if low_arm > high_arm else (low_arm + 10.0, h)
    assert b - a == pytest.approx(0.6 * (arm[1] - arm[0]))
    assert (a + b) / 2 == pytest.approx(sum(arm) / 2)


# --- plots


@EVERY
def test_a_plot_draws_the_pieces_that_are_to_be_cut(name: str) -> None:
    """Every outline in the plot of a lay has the area of its piece or block, and they are as many as are needed."""
    pattern, lays = drawn.pattern_of(name), json.loads(drawn.file(name, "lays.json"))
    areas = {p["name"]: _area(p) for p in pattern["pieces"]}
    blocks = {b["name"]: Polygon(b["outline"]).area for b in lays["blocks"]}
    plots = [data for file, data in drawn.files(name).items() if file.endswith(".plt")]
    laid = [lay for lay in lays["lays"] if lay["placements"]]
    assert len(plots) == len(laid)
    for lay, data in zip(laid, plots, strict=True):
        read = [s for s in plotted(data) if len(s) > 3 and math.dist(s[0], s[-1]) < 0.1]
        found = sorted((Polygon(s).area for s in read), reverse=True)
        wanted = sorted((_laid(p, {**areas, **blocks}) for p in lay["placements"]), reverse=True)
        # Letters are outlines too, and smaller than any piece.
        assert found[: len(wanted)] == pytest.approx(wanted, rel=0.01)
        assert found[len(wanted) :] == [] or found[len(wanted)] < 200.0


def _area(piece: dict[str, Any]) -> float:
    return float(Polygon(piece["cut"]).area) * (2.0 if piece["on_fold"] else 1.0)


def _laid(placed: dict[str, Any], areas: dict[str, float]) -> float:
    """The area of what is placed; a part of a pieced one has that of its polygon."""
    return float(Polygon(placed["polygon"]).area) if "part" in placed else areas[placed["piece"]]
