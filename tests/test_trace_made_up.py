"""What is made of a pattern that was brought in: the card, the docket and the checks speak only of what it has."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coutil.check import check
from coutil.docket import Docket, make_docket, making_up
from coutil.layers import layer_up
from coutil.order import Build, Lining, Order, OwnPattern, Style
from coutil.pattern import Pattern
from coutil.sheets.sketches import sketch
from coutil.trace import pattern_of, trace_drawing
from halves import drawn, half, laid, page
from lay_pieces import body
from spoken import spoken, subject


def docket_of(n: int, *, fold: str | None = None) -> tuple[Order, Pattern, Docket]:
    """A pattern of n panels a half with nothing but its outlines, cut and reckoned; `fold` on its last panel."""
    own = OwnPattern("x.svg", line="net")
    p = pattern_of(trace_drawing(page(drawn(laid(half(n, 3)))), "x.svg"), own, "x")
    p = layer_up(replace(p, panels=(*p.panels[:-1], replace(p.panels[-1], fold=fold))), Build(lining=Lining()))
    order = Order("x", body(), pattern=own)
    return order, p, make_docket(order, p, None)


@pytest.mark.parametrize("n", [2, 3, 5])
def test_the_card_speaks_only_of_what_the_pattern_has(n: int) -> None:
    order, p, docket = docket_of(n)
    steps = making_up(order, p, docket)
    words = " ".join(" ".join((s.title, *s.says)) for s in steps)
    assert "bust point" not in words
    assert ": ." not in words
    assert "neckline" not in docket.garment
    assert ("front princess" in words) == (n > 2)
    assert sum("These notches meet" in s for step in steps for s in step.says) == 0
    if n == 3:
        assert "Pin centre front to side, both ends first" in words
    assert sum(s.title.endswith("seams of the shell") for s in steps) == (1 if n == 2 else 2)


@pytest.mark.parametrize(("n", "fold"), [(1, None), (4, "centre_back")])
def test_a_pattern_that_does_not_open_at_the_centre_back_is_reckoned_without_a_closing(
    n: int, fold: str | None
) -> None:
    """A panel alone, and a back on the fold: nothing is refused, no eyelets are bought, no gap is added."""
    order, p, docket = docket_of(n, fold=fold)
    assert docket.fastening.kind == "none"
    assert [f.level for f in docket.findings if subject(f) == "closing"] == ["warn"]
    assert not {m.what for m in docket.materials} & {"eyelets", "cord", "zip", "hooks and eyes"}
    assert all(b.where != "centre back edge" for b in docket.bones)
    words = " ".join(" ".join((s.title, *s.says)) for s in making_up(order, p, docket))
    assert "eyelet" not in words
    assert "centre back edges" not in words
    assert "laced" not in docket.garment
    q = replace(p, panels=tuple(replace(x, levels={"waist": ((0.0, 0.0), (80.0, 0.0))}) for x in p.panels))
    said = [
        spoken(f)
        for f in check(q, order.body, Style(lacing_gap=50.0), Build(), own=True).findings
        if subject(f) == "waist girth"
    ]
    assert said
    assert not any("gap" in s for s in said)


def test_hours_bones_and_sketches_are_those_of_the_pattern() -> None:
    order, _, docket = docket_of(1)
    assert not {h.what for h in docket.hours} & {"bone", "closing"}
    assert "boned" not in docket.garment
    order, p, docket = docket_of(5)
    # Where the underbust is not known a bone may run over the cup.
    assert [f.level for f in docket.findings if subject(f) == "front princess seam"] == ["warn"]
    assert sketch("princess", order, p, docket, 8.0) is None
    # One bone on each of the four seams, drawn once, and one at the centre back.
    drawing = sketch("bones", order, p, docket, 8.0)
    assert drawing is not None
    assert sum(line.style == "cut" for line in drawing.lines) == 4 + (2 if order.style.closing == "lacing" else 1)
