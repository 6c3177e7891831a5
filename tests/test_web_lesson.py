"""The page's lesson shows every panel as its words speak of it."""

import re
from pathlib import Path

from coutil.make import work_out
from coutil.order import read_order
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
