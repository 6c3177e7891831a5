"""Patterns of which little is known: whatever is missing, every step works on the rest or says in words why not."""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path

import pytest

from bodies import plausible
from coutil.check import check
from coutil.docket import DocketError, make_docket, making_up
from coutil.draft import DraftError, draft
from coutil.layers import layer_up
from coutil.layers.words import LayerError
from coutil.make import Work, work_out
from coutil.order import Build, Lining, Order, OwnPattern, PadBuild, Style, read_order
from coutil.sheets import panels_svg
from coutil.trace import Traced, TraceError, pattern_of, trace_drawing
from coutil.web.checks import walked
from coutil.web.drawing import drawing
from coutil.web.places import place_panels
from coutil.web.spreads import spread
from spoken import spoken, subject

DEMO = read_order(Path(__file__).parents[1] / "examples" / "sea-green.toml")
ROUNDS = 60


@pytest.fixture(scope="module")
def drawings() -> list[Traced]:
    """Even and uneven, with and without a peak."""
    out = []
    for body, style in plausible(3):
        try:
            pattern = draft(body, style, "x").pattern
        except DraftError:
            continue
        out.append(trace_drawing(panels_svg(pattern, "x").encode(), "x.svg"))
    assert len({s.name for t in out for s in t.shapes}) > 4
    return out


def test_whatever_is_missing_the_rest_is_worked_on(drawings: list[Traced]) -> None:
    worked, refusals = 0, []
    for seed in range(ROUNDS):
        rng = random.Random(seed)
        traced = poorer(rng.choice(drawings), rng)
        order = replace(
            DEMO,
            style=Style(closing=rng.choice(["lacing", "zip", "hooks"])),
            build=Build(
                allowance=rng.choice([6.0, 12.7, 20.0]),
                pad=PadBuild(thickness=rng.choice([None, 6.0]), on=rng.choice([("shell",), ("shell", "lining")])),
                lining=Lining(rng.random() < 0.5),
            ),
            pattern=OwnPattern("x.svg", line="net"),
        )
        try:
            every_step(traced, order)
        except (TraceError, LayerError, DocketError) as e:
            refusals.append(str(e))
            continue
        worked += 1
    assert worked > ROUNDS / 2
    # Each is one line that says what to do or what is wrong.
    assert all(len(says) > 20 and "\n" not in says for says in refusals)


def poorer(traced: Traced, rng: random.Random) -> Traced:
    """The drawing without some of its panels, levels, points, notches and grain lines."""
    shapes = [
        replace(
            s,
            levels={k: v for k, v in s.levels.items() if rng.random() < 0.7},
            points={k: v for k, v in s.points.items() if rng.random() < 0.6},
            notches=tuple(n for n in s.notches if rng.random() < 0.7),
            grain=s.grain if rng.random() < 0.7 else None,
        )
        for s in traced.shapes
        if rng.random() < 0.94
    ]
    return replace(traced, shapes=tuple(shapes or traced.shapes[:1]))


def every_step(traced: Traced, order: Order) -> None:
    assert order.pattern is not None
    pattern = layer_up(pattern_of(traced, order.pattern, "x"), order.build)
    work = Work(order, None, check(pattern, order.body, order.style, order.build, own=True))
    docket = make_docket(order, work.pattern, None)
    assert making_up(order, work.pattern, docket)
    placed = place_panels(work.pattern)
    assert drawing(work, "cm", placed)["panels"]
    walked(work.pattern, placed)
    for name in ("checks", "making", "money"):
        assert spread(name, work, "cm", None)


def test_what_is_not_there_to_be_walked_is_said(drawings: list[Traced]) -> None:
    """Without the right centre front the seam between the sides has nothing to be sewn to."""
    traced = next(t for t in drawings if any("right" in s.name for s in t.shapes))
    kept = tuple(s for s in traced.shapes if not ("right" in s.name and "centre front" in s.name))
    pattern = pattern_of(replace(traced, shapes=kept), OwnPattern("x.svg", line="net"), "x")
    for seam in pattern.seams:
        pattern.edges_of(seam)
    assert "centre front" not in {s.name for s in pattern.seams}
    assert [f.level for f in pattern.findings if subject(f) == "centre front seam" and "not walked" in spoken(f)] == [
        "warn"
    ]


def test_every_rim_that_a_pad_may_have_is_called_something_on_the_page() -> None:
    """A deep neckline lets the pad reach the centre front: it then has a rim there."""
    names = set()
    for body, style in plausible(6):
        try:
            work = work_out(replace(DEMO, body=body, style=style))
        except ValueError:
            continue
        names |= {e.name for pad in work.pattern.pads for e in pad.edges}
        if "pad_centre_front" in {e.name for pad in work.pattern.pads for e in pad.edges}:
            assert drawing(work, "cm")["panels"]
            break
    assert "pad_centre_front" in names
