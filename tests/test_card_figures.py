"""Every figure on the card and in the boning plan, computed anew from pattern.json and the order's own text."""

from __future__ import annotations

import json
import math
import re
from functools import cache
from itertools import pairwise
from typing import Any

import pytest
from shapely import LineString, Point

from coutil.docket import Docket, make_docket, making_up
from coutil.make import Work, work_out
from coutil.order import parse_order
from coutil.pattern.json import dumps
from order_texts import BODY

KIT = '[build.kit]\ngripper = true\n[build.bones]\nextra = "always"\n[build.pad]\nthickness = "6 mm"\n[build.lining]\n'
ORDERS = {
    "laced": '[build]\nlayers = ["lace", "shell", "strength", "foam", "web"]\n' + KIT,
    "hooked": '[style]\nclosing = "hooks"\n' + KIT,
    "zipped": '[style]\nclosing = "zip"\n' + KIT,
    "uneven": "[body.left]\nbust_to_underbust = 8.5\nbust_to_waist = 19\n" + KIT,
    "plain": "",
}
# Stated nowhere in the order: 1 in of toile, 1 cm moved at most, from clip to clip and short of the stitching, 6 mm of
# bevel, 1/4 in graded, an inch beside the bust point (common practice, no source); and the fitting's 6 mm.
FIXED = {25.4, 10.0, 2.0, 6.0, 6.35}
# The order's usual figures: allowance, catch, lace, zip; clearances; eyelets' and hooks' first; bone widths, channels;
# rim; waist stay's ends; ribbon; cord's opening and tails; the lacing's gap.
ALLOWANCE, CATCH, LACE, ZIP = 12.7, 3.175, 20.0, 25.0
LOW, HIGH, FIRST = 10.0, 6.0, 10.0
FLAT, SPIRAL, MORE = 7.0, 6.0, 2.0
RIM, TURNED, RIBBON, GAP, OPEN, TAIL = 10.0, 25.0, 600.0, 50.0, 100.0, 400.0


@cache
def made(name: str) -> tuple[Work, dict[str, Any], Docket]:
    work = work_out(parse_order(BODY + ORDERS[name]))
    return work, json.loads(dumps(work.pattern)), make_docket(work.order, work.pattern, None)


def length(line: list[list[float]]) -> float:
    return sum(math.dist(a, b) for a, b in pairwise(line))


def halves(side: str) -> int:
    return 2 if side == "both" else 1


def edges(pattern: dict[str, Any], role: str) -> list[tuple[dict[str, Any], list[list[float]]]]:
    return [(p, e["points"]) for p in pattern["panels"] for e in p["edges"] if e["role"] == role]


def stations(seam: dict[str, Any]) -> list[tuple[str, float]]:
    """The places of a seam from the hem, as the mean of its two edges."""
    out, at = [], 0.0
    for i in seam["intervals"]:
        at += (i["a_mm"] + i["b_mm"]) / 2
        out.append((i["to"], at))
    return out


def opens(pattern: dict[str, Any]) -> list[float]:
    back = [length(points) for p, points in edges(pattern, "centre_back") if p["fold"] != "centre_back"]
    return back * 2 if len(back) == 1 else back


def channels(name: str) -> list[tuple[str, int, float, float]]:
    """(where, how many, channel in mm, width of the bone) by the test's own arithmetic."""
    _, pattern, _ = made(name)
    out = []
    for seam in pattern["seams"]:
        role = seam["a"]["edge"]
        if role == "centre_front":
            continue
        places = dict(stations(seam))
        mm = places["underbust"] if role == "front_princess" else stations(seam)[-1][1]
        out.append((f"{seam['name']} seam", halves(seam["side"]), mm, SPIRAL))
    each = 2 if "hooks" not in ORDERS[name] and "zip" not in ORDERS[name] else 1
    for p, points in edges(pattern, "centre_back"):
        out.append(("centre back edge", each * halves(p["side"]), length(points), FLAT))
    if "extra" in ORDERS[name]:
        front = edges(pattern, "centre_front")[0][1]
        out.append(("centre front line", 1, length(front), SPIRAL))
        for p in pattern["panels"]:
            if p["name"] == "side front":
                x = beside_cup(pattern, p)
                ring = LineString([*p["outline"], p["outline"][0]])
                ys = sorted(q.y for q in ring.intersection(LineString([(x, -900), (x, 900)])).geoms)
                out.append(("line beside the cup", halves(p["side"]), ys[-1] - ys[0], SPIRAL))
    return out


def beside_cup(pattern: dict[str, Any], panel: dict[str, Any]) -> float:
    """Where the line beside the cup stands: 2 mm and half a channel beyond the pad's outermost point."""
    out = -1.0 if panel["side"] == "right" else 1.0
    pad = next(q for q in pattern["pads"] if (q["panel"], q["side"]) == (panel["name"], panel["side"]))
    return out * (max(out * x for x, _ in pad["net"]) + 2.0 + (SPIRAL + MORE) / 2)


@pytest.mark.parametrize("name", ORDERS)
def test_the_boning_plan(name: str) -> None:
    _, _, docket = made(name)
    wanted = channels(name)
    assert [(b.where, b.quantity, b.width) for b in docket.bones] == [(w, n, width) for w, n, _, width in wanted]
    for b, (where, _, mm, _) in zip(docket.bones, wanted, strict=True):
        # The line beside the cup keeps to a polyline of the pad.
        near = 0.6 if where == "line beside the cup" else 0.05
        assert b.channel == pytest.approx(mm, abs=near), where
        assert b.length == pytest.approx(mm - LOW - HIGH, abs=near), where


def known(name: str) -> list[float]:
    """Every length that the card may tell, in mm."""
    work, pattern, docket = made(name)
    out = [*FIXED, ALLOWANCE, CATCH, ALLOWANCE - CATCH, LACE, LOW, HIGH, FIRST, FLAT, SPIRAL, RIM, GAP]
    out += [SPIRAL + MORE, FLAT + MORE, RIBBON]
    for seam in pattern["seams"]:
        out += [mm for _, mm in stations(seam)]
    bones = channels(name)
    out += [mm for _, _, mm, _ in bones] + [mm - LOW - HIGH for _, _, mm, _ in bones]
    cased = [b for b in bones if b[0] != "centre back edge" or "kit" not in ORDERS[name]]
    out.append(sum(n * mm for _, n, mm, _ in cased))
    out += [c["depth_mm"] for c in pattern["cup"]]
    out.append(sum(halves(p["side"]) * length(points) for p, points in edges(pattern, "top")))
    back = opens(pattern)
    out += back
    laced = "hooks" not in ORDERS[name] and "zip" not in ORDERS[name]
    wished = 25.0 if laced else 20.0
    gaps = max(1, math.floor((min(back) - 2 * FIRST) / wished + 0.5))
    step = (min(back) - 2 * FIRST) / gaps
    out.append(step)
    inset = FLAT + MORE + max(RIM + 3, 13) / 2
    across = GAP + 2 * inset + OPEN
    out += [inset, 2 * gaps * math.hypot(across, step) + across + 2 * TAIL]
    if "kit" in ORDERS[name]:
        waist = sum(halves(p["side"]) * math.dist(*p["levels"]["waist"]) for p in pattern["panels"])
        stay = waist + (GAP if laced else 0.0) - 15.0
        out += [stay, stay + 2 * TURNED, ZIP]
        for p in pattern["pieces"]:
            if p["layer"] == "facing":
                edge = LineString(next(q for pp, q in edges(pattern, "centre_back") if pp["name"] == p["panel"]))
                out += [edge.distance(Point(n["points"][len(n["points"]) // 2])) for n in p["lines"]]
                far = sorted(edge.distance(Point(q)) for q in p["net"])
                # Of its inner edge, away from the corners.
                out.append(far[-2])
    assert docket.order == work.order.name
    return out


@pytest.mark.parametrize("name", ORDERS)
def test_every_length_on_the_card_is_one_that_the_pattern_has(name: str) -> None:
    work, pattern, docket = made(name)
    there = known(name)
    steps = making_up(work.order, work.pattern, docket)
    seen = 0
    for s in steps:
        for text in s.says:
            for number, unit in re.findall(r"(\d+(?:\.\d+)?) (cm|mm)\b", text):
                mm = float(number) * (10.0 if unit == "cm" else 1.0)
                # Half of the last digit that is printed.
                near = (0.5 if unit == "cm" else 0.05) + 0.1
                assert any(abs(mm - k) <= near for k in there), (s.title, number, unit, text)
                seen += 1
    assert seen > 25
    assert pattern["pieces"]


@pytest.mark.parametrize("name", ["laced", "hooked"])
def test_eyelets_and_hooks_lie_where_the_card_says(name: str) -> None:
    _, pattern, docket = made(name)
    edge = LineString(edges(pattern, "centre_back")[0][1])
    for p in pattern["pieces"]:
        if p["layer"] == "facing":
            at = sorted(edge.project(Point(s["at"])) for s in p["spots"])
            assert len(at) == docket.fastening.count
            assert at[0] == pytest.approx(FIRST, abs=0.1)
            assert edge.length - at[-1] == pytest.approx(FIRST, abs=0.1)
            assert [b - a for a, b in pairwise(at)] == pytest.approx(
                [docket.fastening.spacing] * (len(at) - 1), abs=0.1
            )


def told(name: str, title: str, before: str) -> float:
    """The metric figure, in mm, that stands right behind these words in a step."""
    work, _, docket = made(name)
    (step,) = [s for s in making_up(work.order, work.pattern, docket) if s.title.startswith(title)]
    found = re.search(re.escape(before) + r" ≈?(\d+(?:\.\d+)?) (cm|mm)\b", " ".join(step.says))
    assert found is not None, (title, before)
    return float(found[1]) * (10.0 if found[2] == "cm" else 1.0)


@pytest.mark.parametrize("name", ["laced", "hooked", "zipped", "uneven"])
def test_each_figure_stands_in_its_own_sentence(name: str) -> None:
    """That a length is one of the pattern's is not enough: here it must be the one that the sentence speaks of."""
    _, pattern, _ = made(name)
    hooked, zipped = name == "hooked", name == "zipped"
    back = opens(pattern)
    waist = sum(halves(p["side"]) * math.dist(*p["levels"]["waist"]) for p in pattern["panels"])
    stay = waist + (0.0 if hooked or zipped else GAP) - 15.0
    assert told(name, "Sew in the waist stay", "it measures") == pytest.approx(stay, abs=0.6)
    assert told(name, "Sew in the waist stay", "Cut the ribbon") == pytest.approx(stay + 2 * TURNED, abs=0.6)
    # From the edge: a channel, the eyelets' strip and a second channel; or half a zip's tape, or a row, and a channel.
    wide = FLAT + MORE
    facing = 5.0 + (12.0 + wide if hooked or zipped else 2 * wide + max(RIM + 3, 13))
    for p in pattern["pieces"]:
        if p["layer"] in ("facing", "lining") and "centre back" in p["name"]:
            edge = LineString(next(q for pp, q in edges(pattern, "centre_back") if pp["name"] == p["panel"]))
            reach = [edge.distance(Point(q)) for q in p["net"]]
            # On either piece the line along which they are joined lies so far from the finished edge.
            assert min(abs(r - facing) for r in reach) < 0.1
    assert told(name, "Join the lining to the facing", "where the facing begins,") == pytest.approx(facing, abs=0.6)
    assert told(name, "Join the lining to the facing", "with") == pytest.approx(ALLOWANCE, abs=0.6)
    assert told(name, "Join shell and lining", "sew the top edge") == pytest.approx(ALLOWANCE, abs=0.6)
    assert told(name, "Close the hem", "Turn in") == pytest.approx(ALLOWANCE, abs=0.6)
    cased = sum(n * mm for where, n, mm, _ in channels(name) if where != "centre back edge")
    assert told(name, "Sew the casings", "Casing in all:") == pytest.approx(cased, abs=1.5)
    if zipped:
        assert told(name, "Set the zip", "centre back edge is") == pytest.approx(min(back), abs=0.6)
        assert told(name, "Set the zip", "Fold in") == pytest.approx(ZIP, abs=0.6)
        return
    title = "Sew on hooks" if hooked else "Set the eyelets"
    gaps = max(1, math.floor((min(back) - 2 * FIRST) / (20.0 if hooked else 25.0) + 0.5))
    step = (min(back) - 2 * FIRST) / gaps
    assert told(name, title, "the first") == pytest.approx(FIRST, abs=0.06)
    assert told(name, title, "then every") == pytest.approx(step, abs=0.06)
    if not hooked:
        inset = wide + max(RIM + 3, 13) / 2
        cord = 2 * gaps * math.hypot(GAP + 2 * inset + OPEN, step) + GAP + 2 * inset + OPEN + 2 * TAIL
        assert told(name, title, "eyelets are marked,") == pytest.approx(inset, abs=0.06)
        assert told(name, title, "Cord:") == pytest.approx(cord, abs=0.6)
        assert told(name, title, "the edges stand") == pytest.approx(GAP, abs=0.6)
