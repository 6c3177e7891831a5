"""No bone over a cup: pads keep clear of channels beside an opening at the centre front; one that does not is found."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely  # type: ignore[import-untyped]

from coutil.check.pads import over_channels
from coutil.layers import layer_up
from coutil.make import work_out
from coutil.order import parse_order
from coutil.pattern import Pattern
from coutil.seaming import CENTRE_FRONT
from order_texts import BODY

# From the edge to the far line of stitching beside it, in mm, by hand: a flat steel of 7 mm in a channel of 9 mm,
# beside half a busk (15), half a zip's tape (12), a row of hooks or buttons (12), or a channel and a strip of 13 (22).
FAR = {"busk": 24.0, "zip": 21.0, "hooks": 21.0, "buttons": 21.0, "lacing": 31.0}
SEAMINGS = ("princess-4", "princess-5", "corset-6")
UNEVEN = "[body.left]\nbust_to_underbust = 8.5\nbust_to_waist = 19\n"


def text(closed_with: str, seaming: str = "princess-4", body: str = BODY) -> str:
    opening = f'[[style.opening]]\nat = "centre_front"\nwith = "{closed_with}"\n'
    return f'{body}[style]\nseaming = "{seaming}"\n{opening}[build.kit]\n'


def kept(pattern: Pattern) -> list[float]:
    """What each inner pad keeps from its centre front edge, in mm."""
    out = []
    for pad in pattern.pads:
        panel = pattern.panel(pad.panel, pad.side)
        for e in panel.edges:
            if e.role == CENTRE_FRONT:
                rim, edge = pad.outline(tolerance=0.02), e.curve.points(tolerance=0.02)
                out.append(float(shapely.distance(shapely.linestrings([*rim, rim[0]]), shapely.linestrings(edge))))
    return out


@pytest.mark.parametrize("seaming", SEAMINGS)
@pytest.mark.parametrize("closed_with", FAR)
@pytest.mark.parametrize("body", [BODY, BODY + UNEVEN])
def test_a_pad_keeps_clear_of_the_channels_beside_a_centre_front_that_opens(
    closed_with: str, seaming: str, body: str
) -> None:
    pattern = work_out(parse_order(text(closed_with, seaming, body))).pattern
    found = kept(pattern)
    assert len(found) == len(pattern.pads) / 2
    assert min(found) > FAR[closed_with] + 1.9
    assert [f.code for f in pattern.findings if f.level == "stop"] == []
    (said,) = [f for f in pattern.findings if f.code == "pad.clear_of_front"]
    assert said.args["clear"].mm == pytest.approx(FAR[closed_with] + 2.0)


def test_without_an_opening_there_the_pads_are_as_far_apart_as_asked() -> None:
    pattern = work_out(parse_order(BODY)).pattern
    assert min(kept(pattern)) < min(FAR.values())
    assert "pad.clear_of_front" not in {f.code for f in pattern.findings}


def test_a_wider_gap_that_is_asked_for_is_kept() -> None:
    pattern = work_out(parse_order(text("busk") + '[build.pad]\napart = "5.6 cm"\n')).pattern
    assert min(kept(pattern)) == pytest.approx(28.0, abs=0.1) or min(kept(pattern)) > 28.0
    assert "pad.clear_of_front" not in {f.code for f in pattern.findings}


def test_a_pad_over_a_channel_is_found() -> None:
    """The pads of a front that does not open, on the pieces of one that does: they lie under its bones."""
    order = parse_order(text("lacing"))
    made = work_out(order).pattern
    assert over_channels(made) == []
    near = layer_up(replace(made, pads=(), pieces=()), order.build)
    spoilt = over_channels(replace(made, pads=near.pads))
    assert {(f.code, f.level) for f in spoilt} == {("pad.on_channel", "stop")}
    assert all(f.args["over"].mm > 1.0 and math.isfinite(f.args["over"].mm) for f in spoilt)
