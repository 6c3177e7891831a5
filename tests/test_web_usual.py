"""Cloth that states little: its sentences say what is counted on, and the lays count on just that."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from coutil.lay.cloths import USUAL, materials
from coutil.order import Cloth, read_order
from coutil.web.usual import usual
from web_page import Window

DEMO = read_order(Path(__file__).parent.parent / "examples" / "sea-green.toml")


def _told(values: dict[str, Any], key: str) -> tuple[str, str, str]:
    return values[key]["text"], values[key]["state"], values[key].get("why", "")


def test_what_is_left_open_is_said_as_assumed(window: Window) -> None:
    # The demo's interfacing states its width, price, step of sale and a remnant; its foam a sheet and a price.
    values = window.sheet()["values"]
    trade = "usual in the trade"
    assert _told(values, "cloth.1.selvedge") == ("5 mm", "assumed", trade)
    assert _told(values, "cloth.1.direction") == ("no direction", "assumed", trade)
    assert _told(values, "cloth.1.laid") == ("in a single layer", "assumed", trade)
    assert _told(values, "cloth.1.gap") == ("3 mm", "assumed", trade)
    assert _told(values, "cloth.1.shrink_length") == ("3", "assumed", trade)
    assert _told(values, "cloth.1.shrink_width") == ("2", "assumed", trade)
    assert _told(values, "cloth.1.thickness") == ("0.25 mm", "assumed", trade)
    assert _told(values, "cloth.1.on_hand") == ("none", "assumed", "")
    assert _told(values, "cloth.1.width") == ("90 cm", "stated", "")
    assert _told(values, "cloth.2.width") == ("50 cm", "assumed", "the width of its sheets")
    assert _told(values, "cloth.2.thickness") == ("6 mm", "assumed", "the thickness of the foam in the pads")
    assert _told(values, "cloth.2.sold_by")[:2] == ("the sheet", "assumed")
    assert _told(values, "cloth.2.price_per")[:2] == ("the sheet", "assumed")


def test_what_is_stated_is_no_longer_assumed_and_back(window: Window) -> None:
    answer = window.edit("cloth.1.gap", "5 mm").json()["sheet"]["values"]
    assert _told(answer, "cloth.1.gap") == ("5 mm", "stated", "")
    answer = window.edit("cloth.1.gap", "").json()["sheet"]["values"]
    assert _told(answer, "cloth.1.gap")[:2] == ("3 mm", "assumed")
    nudged = window.change("edit", key="cloth.1.gap", nudge=1).json()["sheet"]["values"]
    assert _told(nudged, "cloth.1.gap")[:2] == ("4 mm", "stated"), "from what was assumed"


def test_thin_cloth_is_told_in_millimetres_to_everyone(window: Window) -> None:
    window.post("/api/settings", {"unit": "in"})
    values = window.sheet()["values"]
    assert values["cloth.1.thickness"]["text"] == "0.25 mm", "no ruler bears 1/100 in"
    assert "also" not in values["cloth.1.thickness"]
    assert values["cloth.1.gap"]["text"] == "1/8 in"


def test_what_nothing_is_counted_on_for_is_not_stated(window: Window) -> None:
    window.edit("cloth.0.price", "")
    values = window.sheet()["values"]
    assert values["cloth.0.price"]["text"] == "not stated"
    assert values["cloth.0.sheet"]["text"] == "not stated"


@pytest.mark.parametrize("layer", list(USUAL))
@pytest.mark.parametrize("sheet", [None, (700.0, 900.0)])
def test_a_cloth_that_states_the_usual_is_laid_as_one_that_states_nothing(
    layer: str, sheet: tuple[float, float] | None
) -> None:
    bare = Cloth("cloth", (layer,), sheet=sheet)
    names = ("width", "selvedge", "gap", "shrink_length", "shrink_width", "direction", "laid")
    counted_on: dict[str, Any] = {name: usual(DEMO, bare, name) for name in names}
    stated = replace(bare, **counted_on)
    assert None not in [getattr(stated, name) for name in names]
    plain, said = (materials(replace(DEMO, cloth=(c,)), (layer,))[0][layer] for c in (bare, stated))
    assert replace(said, cloth=bare) == plain


def test_a_cloth_for_layers_that_differ_says_nothing_for_both() -> None:
    cloth = Cloth("cloth", ("shell", "interfacing"))
    assert usual(DEMO, cloth, "width") is None, "140 cm or 90 cm"
    assert usual(DEMO, cloth, "gap") == 3.0
    assert usual(DEMO, Cloth("cloth", ("shell", "lining")), "width") == 1400.0
