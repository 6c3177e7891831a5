"""The drafting steps: complete, true to the panels, and readable by someone who only has them."""

import math
import re

import pytest

from bodies import plausible
from coutil.draft import DraftError, draft
from coutil.layers import layer_steps, layer_up
from coutil.order import Build

FIELD = re.compile(r"\{(\w+)\}")


@pytest.fixture(scope="module")
def drafts():
    made = []
    for body, style in plausible(6):
        try:
            made.append((body, draft(body, style)))
        except DraftError:
            continue
    assert any(body.symmetric for body, _ in made)
    assert any(not body.symmetric for body, _ in made)
    return made


def test_every_figure_that_a_step_speaks_of_is_given_and_none_is_idle(drafts):
    for _, made in drafts:
        for step in made.steps:
            assert set(FIELD.findall(step.says)) == {f.name for f in step.figures}, step.says
            assert all(f.value >= 0.0 or step.verb == "reckon" for f in step.figures), step.says
            assert step.why.endswith(".")


def test_every_corner_of_every_panel_is_a_point_of_the_lesson(drafts):
    for _, made in drafts:
        for panel in made.pattern.panels:
            points = [p for s in made.steps if (s.panel, s.side) == (panel.name, panel.side) for _, p in s.points]
            for edge in panel.edges:
                assert min(math.dist(edge.curve.start, p) for p in points) < 0.01, (panel.name, edge.name)


def test_the_curves_of_the_lesson_are_the_edges(drafts):
    for _, made in drafts:
        for panel in made.pattern.panels:
            mine = [s for s in made.steps if (s.panel, s.side) == (panel.name, panel.side)]
            drawn = sum(c.length for s in mine for c in s.curves)
            straight = {"centre front": "centre_front", "centre back": "centre_back"}.get(panel.name)
            edges = sum(e.curve.length for e in panel.edges if e.name != straight)
            assert drawn == pytest.approx(edges, abs=0.2)
            for step in mine:
                for curve in step.curves:
                    middle = curve.point(curve.length / 2)
                    assert min(e.curve.nearest(middle)[1] for e in panel.edges) < 0.01


STEP = re.compile(r"(?:Square out \{measure\} from|From) (?P<a>\S+?)(?: go| to| measure)\b")


def test_left_and_right_are_those_of_the_panel_lying_face_up(drafts):
    told = 0
    for _, made in drafts:
        for panel in made.pattern.panels:
            at = {}
            for step in (s for s in made.steps if (s.panel, s.side) == (panel.name, panel.side)):
                for name, p in step.points:
                    way = re.search(r"to the (left|right)", step.says)
                    begins = STEP.match(step.says)
                    if way and begins:
                        across = (p[0] - at[begins["a"]][0]) * panel.face_up
                        assert (way[1] == "right") == (across > 0), (panel.name, panel.side, step.says)
                        told += 1
                    at[name] = p
    assert told > 500


def test_the_lessons_drawings_lie_face_up_as_the_words_say(drafts):
    from coutil.sheets.lesson import turned_face_up

    told = 0
    for _, made in drafts:
        at = {}
        for step in made.steps:
            shown = turned_face_up(step)
            way, begins = re.search(r"to the (left|right)", step.says), STEP.match(step.says)
            for name, p in shown.points:
                if way and begins and step.curves == ():
                    assert (way[1] == "right") == (p[0] > at[begins["a"]][0]), (step.panel, step.side, step.says)
                    told += 1
                at[name] = p
    assert told > 500


def test_the_sums_add_up(drafts):
    for _, made in drafts:
        for step in made.steps:
            if step.verb != "share":
                continue
            values = {f.name: f.value for f in step.figures}
            signs = [-1.0 if "the other way" in part else 1.0 for part in step.says.split(": ")[1].split(",")]
            shared = sum(s * values[f"e{k}"] for k, s in enumerate(signs))
            assert shared == pytest.approx(values["change"], abs=0.2)


def test_the_pads_of_the_lesson_are_the_pads(drafts):
    seen = 0
    for _, made in drafts:
        layered = layer_up(made.pattern, Build())
        steps = layer_steps(layered, Build())
        for pad in layered.pads:
            mine = [s for s in steps if (s.panel, s.side) == (pad.panel, pad.side)]
            drawn = sum(c.length for s in mine for c in s.curves)
            inside = {e.name for e in pad.edges if e.name == "pad_centre_front"}
            edges = sum(e.curve.length for e in pad.edges if e.name not in inside)
            assert drawn == pytest.approx(edges, abs=0.2)
            for step in mine:
                assert set(FIELD.findall(step.says)) == {f.name for f in step.figures}
                for curve in step.curves:
                    middle = curve.point(curve.length / 2)
                    assert min(e.curve.nearest(middle)[1] for e in pad.edges) < 0.01, (pad.panel, pad.side, step.says)
            seen += 1
    assert seen > 100
