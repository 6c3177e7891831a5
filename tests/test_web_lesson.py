"""The page's lesson shows every panel as its words speak of it."""

import re
from pathlib import Path

from coutil.make import work_out
from coutil.order import read_order
from coutil.sheets.lesson import groups
from coutil.web.spreads import _lesson

DEMO = Path(__file__).parent.parent / "examples" / "sea-green.toml"


def test_drawings_lie_face_up_as_the_words_say():
    told = 0
    at = {}
    for group in _lesson(work_out(read_order(DEMO)).lesson):
        if group["figure"] is None:
            continue
        for p in group["figure"]["points"]:
            at[p["name"]] = p["at"]
        for step in group["steps"]:
            way = re.search(
                r"(?:from|From) (\w+) (?:go .*, then \S+ .* )?to the (left|right)(?:, .*)?\. Mark (\w+'?)\.",
                step["says"],
            )
            if way and way[1] in at and way[3] in at:
                assert (way[2] == "right") == (at[way[3]][0] > at[way[1]][0]), step["says"]
                told += 1
    assert told > 10


def test_points_of_earlier_groups_that_are_spoken_of_are_shown():
    """Every point that a step names is on the figure: its own group's, and earlier ones marked as such."""
    earlier: dict[str, set[str]] = {}
    marked = 0
    steps = work_out(read_order(DEMO)).lesson
    for made, told in zip(groups(steps), _lesson(steps), strict=True):
        own = {name for s in made.steps for name, _ in s.points}
        before = earlier.setdefault(made.steps[0].panel, set())
        if told["figure"] is not None:
            shown = {p["name"]: p.get("before", False) for p in told["figure"]["points"]}
            words = set(re.findall(r"\w+'?", " ".join(s.says for s in made.steps)))
            assert {n for n, old in shown.items() if not old} == own
            assert {n for n, old in shown.items() if old} == (words & before) - own, told["title"]
            x0, y0, x1, y1 = told["figure"]["box"]
            for p in told["figure"]["points"]:
                assert x0 < p["at"][0] < x1, p
                assert y0 < p["at"][1] < y1, p
            marked += sum(shown.values())
        before |= own
    assert marked > 10


def test_earlier_points_lie_where_they_were_drawn():
    """A point shown again lies where it lay, unless a step has moved it since: the figures share one paper."""
    at: dict[tuple[str, str], list[float]] = {}
    seen = 0
    steps = work_out(read_order(DEMO)).lesson
    for made, told in zip(groups(steps), _lesson(steps), strict=True):
        for p in told["figure"]["points"] if told["figure"] else ():
            key = (made.steps[0].panel, p["name"])
            if p.get("before"):
                assert p["at"] == at[key], key
                seen += 1
            at[key] = p["at"]
    assert seen > 10
