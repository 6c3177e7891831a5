"""Rules of the draft and the lays that the constants stand for, by what must come out of them on the files of orders.

Each is the rule as the order file's page, the decisions or the constant's own comment tells it, worked out here anew.
"""

from __future__ import annotations

import json
import math
import re
from functools import cache
from itertools import islice
from typing import Any

import pytest

import drawn
from coutil.lay.blocks import MARGIN
from coutil.lay.cloths import materials
from coutil.lay.wants import gather
from coutil.make import documents, work_out
from coutil.order import OrderError, parse_order
from drawn import Pt
from reference_orders import order_texts

BODY = """unit = "mm"
[body]
bust = {bust}
underbust = {underbust}
waist = {waist}
bust_span = 200
bust_to_underbust = 90
bust_to_waist = 195
high_hip = {high_hip}
"""
SIZES = [
    {"bust": 920, "underbust": 760, "waist": 680, "high_hip": 860},
    {"bust": 1040, "underbust": 830, "waist": 760, "high_hip": 950},
    {"bust": 1160, "underbust": 980, "waist": 940, "high_hip": 1080},
]


@cache
def made(text: str) -> dict[str, bytes]:
    """pattern.json and panels.svg of an order's text."""
    return {d.name: d.data for d in islice(documents(work_out(parse_order(text)), papers=()), 2)}


def pattern(text: str) -> dict[str, Any]:
    read: dict[str, Any] = json.loads(made(text)["pattern.json"])
    return read


def panel(found: dict[str, Any], name: str) -> dict[str, Any]:
    return next(p for p in found["panels"] if p["name"] == name)


def width(panel: dict[str, Any], level: str) -> float:
    return math.dist(*panel["levels"][level])


def girth(found: dict[str, Any], level: str) -> float:
    """Cloth at a level, all round, in mm."""
    return sum((2 if p["side"] == "both" else 1) * width(p, level) for p in found["panels"])


def front(found: dict[str, Any], level: str) -> float:
    """Width of one front half at a level, in mm."""
    return width(panel(found, "centre front"), level) + width(panel(found, "side front"), level)


# --- above the bust point


def closes_in(found: dict[str, Any], name: str) -> float:
    """How far the princess edge closes in above the bust point, as a part of how far it does at the underbust.

    Counted as far above the bust point as the underbust lies below: there the orders' centre fronts end.
    """
    p = panel(found, name)
    (edge,) = (e["points"] for e in p["edges"] if e["name"] == "front_princess")
    top = max(edge, key=lambda q: q[1])
    # The underbust's end on the princess edge: the panel's two ends are its edges.
    low = min(p["levels"]["underbust"], key=lambda q: min(math.dist(q, e) for e in edge))
    x = p["points"]["bust_point"][0]
    return (x - top[0]) / (x - low[0])


@pytest.mark.parametrize("size", SIZES)
def test_above_the_bust_the_princess_edges_close_in_by_a_third_at_least(size: dict[str, int]) -> None:
    """By a third of what they stand in at the underbust, where nothing more is asked for against gaping."""
    found = pattern(BODY.format(**size) + "[style]\npeak = 0\ncup_height = 90\nupper = 0\n")
    for name in ("centre front", "side front"):
        assert closes_in(found, name) == pytest.approx(1 / 3, abs=0.002)


@pytest.mark.parametrize("part", [0.30, 0.45, 0.60])
@pytest.mark.parametrize("size", SIZES)
def test_they_follow_an_upper_bust_that_was_measured(size: dict[str, int], part: float) -> None:
    """Three quarters of the part of the difference between bust and underbust that is gone at the upper bust."""
    upper = size["bust"] - part * (size["bust"] - size["underbust"])
    text = BODY.format(**size) + f"upper_bust = {upper}\n[style]\npeak = 0\ncup_height = 90\nupper = 0\n"
    found = pattern(text)
    assert closes_in(found, "centre front") == pytest.approx(0.75 * part, abs=0.002)
    assert closes_in(found, "side front") == pytest.approx(0.75 * part, abs=0.002)


def taken_in(found: dict[str, Any]) -> float:
    """By how much the half front is narrower as far above the bust point as the underbust lies below, in mm."""
    out = 0.0
    for name in ("centre front", "side front"):
        p = panel(found, name)
        (edge,) = (e["points"] for e in p["edges"] if e["name"] == "front_princess")
        out += abs(p["points"]["bust_point"][0] - max(edge, key=lambda q: q[1])[0])
    return out


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("front_upper", [None, 15, 30])
def test_upper_says_how_much_of_what_would_stand_off_is_taken_in(size: dict[str, int], front_upper: int | None) -> None:
    """At a half the front is as wide above the breasts as the body there, measured or by the rule of its arc; a quarter
    takes in half of that, 1 twice, unless both edges of the seam lean as far as they may."""
    bust_arc = size["underbust"] / 2 + 0.8 * (size["bust"] - size["underbust"])
    arc = size["underbust"] / 2
    told = ""
    if front_upper is not None:
        arc = bust_arc - 2 * front_upper
        told = f"front_upper_arc = {arc}\n"
    made = {}
    for upper in (0, 0.25, 0.5, 1):
        text = f"{told}[style]\npeak = 0\ncup_height = 90\nside_top = 195\nupper = {upper}\n"
        made[upper] = taken_in(pattern(BODY.format(**size) + text))
    over = (bust_arc - arc) / 2
    # No edge closes in by more than 0.56 of its length above the bust point (90 mm here, as below it), nor by more than
    # half its panel's width at the bust: the centre front is 100 mm wide.
    for upper in (0.25, 0.5, 1):
        asked = made[0] + 2 * upper * max(over - made[0], 0.0)
        assert made[upper] == pytest.approx(min(asked, 100 / 2 + 0.56 * 90), abs=0.1)
    assert made[0.25] == pytest.approx((made[0] + over) / 2 if over > made[0] else made[0], abs=0.1)


def cubics(d: str) -> list[list[Pt]]:
    """The cubics of a path's data; straight ones with their inner points on the line."""
    out: list[list[Pt]] = []
    at: Pt = (0.0, 0.0)
    for verb, numbers in re.findall(r"([MLCZ])([^A-Z]*)", d):
        n = [float(v) for v in numbers.split()]
        pts = list(zip(n[::2], n[1::2], strict=True))
        if verb == "L":
            (x, y), (u, v) = at, pts[0]
            out.append([at, ((2 * x + u) / 3, (2 * y + v) / 3), ((x + 2 * u) / 3, (y + 2 * v) / 3), pts[0]])
        elif verb == "C":
            out.append([at, *pts])
        at = pts[-1] if pts else at
    return out


def bend(p: Pt, q: Pt, r: Pt) -> float:
    """Curvature in 1/mm at the first of three control points of a cubic, positive to the left."""
    (ax, ay), (bx, by) = (q[0] - p[0], q[1] - p[1]), (r[0] - p[0], r[1] - p[1])
    return 2.0 / 3.0 * (ax * by - ay * bx) / math.hypot(ax, ay) ** 3


def test_the_princess_edge_is_round_at_the_bust_point() -> None:
    """It bends above the bust point as it does below: read from the curves of panels.svg, on many random bodies."""
    seen = 0
    for text in order_texts(24, 9):
        try:
            files = made(text)
        except OrderError:
            continue
        found = json.loads(files["pattern.json"])
        paths = re.findall(r'<path class="panel" d="([^"]+)"', files["panels.svg"].decode())
        for p in found["panels"]:
            if "bust_point" not in p["points"]:
                continue
            below, above = _at_bust_point(p, paths)
            assert above == pytest.approx(below, rel=0.02), (found["name"], p["name"])
            assert abs(below) > 1e-4
            seen += 1
    assert seen > 40


def _at_bust_point(p: dict[str, Any], paths: list[str]) -> tuple[float, float]:
    """The bends of a front panel's edge just below and just above its bust point, both as if read upwards."""
    for d in paths:
        (outline,) = drawn.flattened(d)
        line = [(x, -y) for x, y in outline]
        move = drawn.move_onto(p["outline"], line, 1.0)
        if drawn.strays(p["outline"], line, move) > 0.3:
            continue
        x, y = move(p["points"]["bust_point"])
        run = [[(u, -v) for u, v in c] for c in cubics(d)]
        (k,) = (k for k, c in enumerate(run) if math.dist(c[3], (x, y)) < 0.1)
        before, after = run[k], run[(k + 1) % len(run)]
        one = bend(before[3], before[2], before[1])
        other = bend(after[0], after[1], after[2])
        return (-one, other) if before[0][1] < y else (-other, one)
    raise AssertionError(f"{p['name']} is not drawn")


def test_every_mark_lies_on_its_edge() -> None:
    """Where a hem ends just short of the high hip, that mark lies at the hem and not below it."""
    at_hem = 0
    for text in order_texts(8, 1):
        try:
            panels = work_out(parse_order(text)).pattern.panels
        except OrderError:
            continue
        for edge in (e for p in panels for e in p.edges):
            assert all(0.0 <= s <= edge.curve.length + 1e-6 for s in edge.marks.values()), (text[:60], edge.name)
            at_hem += edge.marks.get("high_hip") == 0.0
    assert at_hem > 4


# --- the belly


def flares(found: dict[str, Any]) -> tuple[float, float]:
    """By how much the side front's and the side back's side edges stand out from the waist to the high hip, in mm."""
    out = []
    for name in ("side front", "side back"):
        p = panel(found, name)
        (edge,) = (e["points"] for e in p["edges"] if e["name"] == "side")
        near = {v: min(p["levels"][v], key=lambda q: min(math.dist(q, e) for e in edge)) for v in ("waist", "high_hip")}
        out.append(near["high_hip"][0] - near["waist"][0])
    return abs(out[0]), abs(out[1])


@pytest.mark.parametrize("more", [-30, 20, 40])
@pytest.mark.parametrize("size", SIZES)
def test_a_fuller_front_waist_is_carried_on_and_the_side_seam_flares_alike(size: dict[str, int], more: int) -> None:
    text = BODY.format(**size) + "front_waist_arc = {}\n[style]\nhem = 100\n"
    plain, fuller = (pattern(text.format(size["waist"] / 2 + n)) for n in (0, more))
    at_waist = front(fuller, "waist") - front(plain, "waist")
    assert at_waist == pytest.approx(more / 2, abs=0.1), "half of it on each half"
    assert front(fuller, "high_hip") - front(plain, "high_hip") == pytest.approx(at_waist, abs=0.1)
    for level in ("waist", "high_hip"):
        assert girth(fuller, level) == pytest.approx(girth(plain, level), abs=0.2), (
            "the back gives what the front takes"
        )
    assert flares(fuller) == pytest.approx(flares(plain), abs=0.2)


# --- foam


@pytest.mark.parametrize("thickness", [6, 12, 20])
@pytest.mark.parametrize("size", SIZES)
def test_foam_that_is_counted_in_is_what_the_cup_takes_up(size: dict[str, int], thickness: int) -> None:
    """Within 0.2 mm of the girth that foam takes up over the very cups that were drawn.

    Cloth over foam runs round at its thickness, so it is longer by thickness times the angle that the cup's section
    turns by; the slope at the cup's base is acos(1 - K / 2 pi) (J. Steiner on parallel surfaces; Gauss and Bonnet).
    """
    style = "[style]\nclosing = 'zip'\nfoam_ease = {}\n[style.ease]\nbust = 0\n[build.pad]\nthickness = {}\n"
    found = pattern(BODY.format(**size) + style.format("true", thickness))
    takes = 0.0
    for cup in found["cup"]:
        turn = 2.0 * math.acos(1.0 - cup["curvature_rad"] / (2.0 * math.pi))
        takes += thickness * turn * (2 if cup["side"] == "both" else 1)
    added = girth(found, "bust") - size["bust"]
    assert takes > 5.0
    assert added == pytest.approx(takes, abs=0.2)
    assert girth(pattern(BODY.format(**size) + style.format("false", thickness)), "bust") == pytest.approx(
        size["bust"], abs=0.1
    )


# --- blocks that are shared


def test_neighbours_share_a_block_where_that_saves_four_hundredths() -> None:
    """Every shared block saves that much of what its two would take, and savings not far above it are taken."""
    saved = []
    for text in order_texts(40, 4):
        try:
            work = work_out(parse_order(text))
        except OrderError:
            continue
        mats, _ = materials(work.order, work.layers)
        alone, shared = (gather(work.pattern, mats, margin=MARGIN, share=s)[1] for s in (False, True))
        size = {b.pieces[0][0]: _area(b.outline) for b in alone}
        for b in shared:
            if len(b.pieces) == 2:
                apart = sum(size[name] for name, _ in b.pieces)
                saved.append(1.0 - _area(b.outline) / apart)
    assert len(saved) > 20
    assert min(saved) > 0.04 - 1e-9
    assert sum(s < 0.08 for s in saved) > 4


def _area(line: Any) -> float:
    pts = list(line)
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(pts, [*pts[1:], pts[0]], strict=True))) / 2
