"""What a value lights on the page is what it moves: seen from the page's own answers, against the tape's arithmetic."""

from __future__ import annotations

import math
from typing import Any

import pytest

from web_page import Window, numbers_of

# The demo's tape and ease in mm: girth, and what the garment measures more. The lacing leaves 5 cm open.
GIRTHS = {
    "bust": (960.0, 0.0),
    "underbust": (780.0, -10.0),
    "waist": (705.0, -38.1),
    "high_hip": (890.0, 10.0),
}
GAP = 50.0
# A change of each value that moves a line, in cm.
CHANGES = {
    "body.bust": "97",
    "body.underbust": "79",
    "body.waist": "72",
    "body.high_hip": "90",
    "body.high_hip_depth": "10.5",
    "body.bust_span": "20",
    "body.bust_to_underbust": "8.4",
    "body.bust_to_waist": "19",
    "body.side_length": "21",
    "body.front_bust_arc": "55",
    "body.front_waist_arc": "36.5",
    "style.neckline": "straight",
    "style.plunge": "6",
    "style.cup_height": "6",
    "style.peak": "1",
    "style.side_top": "17",
    "style.back_top": "13",
    "style.hem": "8",
    "style.hem_point": "4",
    "style.lacing_gap": "6",
    "style.ease.bust": "1",
    "style.ease.underbust": "0",
    "style.ease.waist": "-3",
    "style.ease.high_hip": "2",
    "build.pad.top_drop": "1.6",
    # Where the demo's pad ends by the root of the breast: only what is nearer than that moves it.
    "build.pad.side_inset": "6",
    "build.pad.front_dip": "1",
    "build.pad.apart": "5",
    "build.pad.beyond": "1",
    "build.pad.side_dip": "1",
}
LEVELS = {**{f"body.{k}": k for k in GIRTHS}, **{f"style.ease.{k}": k for k in GIRTHS}}


def drawn(sheet: dict[str, Any]) -> dict[str, list[tuple[float, float]]]:
    """The points of everything that is drawn, by id; x counts from its first point, since panels make room."""
    out: dict[str, list[tuple[float, float]]] = {}
    for p in sheet["drawing"]["panels"]:
        parts = [*p["edges"], *p["levels"], *(p["pad"]["edges"] if p["pad"] else [])]
        for part in parts:
            points = numbers_of(part["d"])
            out[part["id"]] = [(x - points[0][0], y) for x, y in points]
        waist = next(numbers_of(v["d"]) for v in p["levels"] if v["level"] == "waist")
        for q in p["points"]:
            # From the end of the waist that lies at the centre front, or at its princess seam.
            out[q["id"]] = [(q["at"][0] - waist[0][0], q["at"][1])]
    return out


def moved(before: list[tuple[float, float]], after: list[tuple[float, float]]) -> float:
    if len(before) != len(after):
        return math.inf
    return max(math.dist(a, b) for a, b in zip(before, after, strict=True))


def test_the_girths_are_the_lines_that_they_light(window: Window) -> None:
    """Twice the lit lengths and what the lacing leaves open are the body's girth with its ease."""
    assert window.edit("style.hem", "12").status_code == 200, "below the high hip, so that it is drawn"
    sheet = window.sheet()
    lengths = {v["id"]: v["length"] for p in sheet["drawing"]["panels"] for v in p["levels"]}
    for key, level in LEVELS.items():
        lit = sheet["values"][key]["governs"]
        assert len(lit) == len(sheet["drawing"]["panels"]), key
        girth, ease = GIRTHS[level]
        assert 2 * sum(lengths[part] for part in lit) + GAP == pytest.approx(girth + ease, abs=0.5), key


@pytest.mark.parametrize("key", CHANGES)
def test_what_a_value_lights_first_is_moved_by_it(key: str, window: Window) -> None:
    assert window.edit("style.hem", "12").status_code == 200, "below the high hip, so that it is drawn"
    before = window.sheet()
    lit = before["values"][key]["governs"]
    assert lit, key
    answer = window.edit(key, CHANGES[key])
    assert answer.status_code == 200, answer.text
    old, new = drawn(before), drawn(window.sheet())
    # The lacing's gap lies beside the centre back edge, which stays straight: it moves the widths of that panel.
    chief = lit[1] if key == "style.lacing_gap" else lit[0]
    assert moved(old[chief], new[chief]) > 0.2, f"{key} lights {chief} and does not move it"
    if key in LEVELS:
        for part in lit:
            front = part.startswith(("centre-front", "side-front"))
            # The front's half of the bust follows from bust and underbust, and ease is shared by all.
            assert moved(old[part], new[part]) > (0.2 if front else 0.05), f"{key} lights {part} and does not move it"


def test_what_comes_to_hand_lights_the_line_again(window: Window) -> None:
    """A line that is touched brings a value to hand which lights that very line, or one that meets it."""
    sheet = window.sheet()
    levels = {v["id"]: v["level"] for p in sheet["drawing"]["panels"] for v in p["levels"]}
    for part, key in sheet["drawing"]["hand"].items():
        if part in levels:
            assert key == f"body.{levels[part]}"
            assert part in sheet["values"][key]["governs"]
