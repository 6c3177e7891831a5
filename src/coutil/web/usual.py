"""What is counted on where a cloth of the order leaves a value open: the same that the lays and the docket take."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from coutil.docket.materials import SOLD_BY
from coutil.docket.thread import THICKNESS
from coutil.lay.cloths import USUAL, Material, materials
from coutil.order import Cloth, Order

# Values left open that are told in words, by the texts' names under "value.cloth".
_NOTHING: Final = ("on_hand", "remnants")
_BY_SHEET: Final = ("sold_by", "price_per")


def usual(order: Order, cloth: Cloth, name: str) -> float | str | None:
    """What is counted on for a value that a cloth leaves open: mm, percent or a choice; None where nothing is.

    Nor is anything told where the cloth is for several layers and each would take another value.
    """
    if name == "sold_by":
        return None if cloth.sheet is not None else SOLD_BY
    found = {_for_layer(order, cloth, layer, name) for layer in cloth.layers}
    return found.pop() if len(found) == 1 else None


def in_words(cloth: Cloth, name: str) -> str:
    """The key of the text that says what a value left open stands for, "" where a value says it."""
    if name in _NOTHING and not getattr(cloth, name):
        return "value.cloth.nothing"
    return "value.cloth.by_sheet" if name in _BY_SHEET and cloth.sheet is not None else ""


def why(order: Order, cloth: Cloth, name: str) -> str:
    """The key of the text that says whence the usual value comes, "" where there is none."""
    if in_words(cloth, name) or usual(order, cloth, name) is None:
        return ""
    if name == "width" and cloth.sheet is not None:
        return "value.cloth.of_sheet"
    if name == "thickness" and cloth.layers == ("foam",) and order.build.pad.thickness is not None:
        return "value.cloth.of_pad"
    return "value.usual"


def _for_layer(order: Order, cloth: Cloth, layer: str, name: str) -> float | str | None:
    if name == "thickness":
        pad = order.build.pad.thickness
        return pad if layer == "foam" and pad is not None else THICKNESS.get(layer)
    settled: Material | None = materials(replace(order, cloth=(cloth,)), (layer,))[0].get(layer)
    if settled is None:
        return None
    selvedge = cloth.selvedge
    if selvedge is None:
        # As `coutil.lay.cloths` has it: a sheet has none.
        selvedge = 0.0 if cloth.sheet is not None else USUAL[layer].selvedge or 0.0
    match name:
        case "width":
            return settled.width + 2.0 * selvedge
        case "selvedge":
            return selvedge
        case "gap":
            return settled.gap
        case "shrink_length":
            return round(100.0 * settled.shrink_length, 6)
        case "shrink_width":
            return round(100.0 * settled.shrink_width, 6)
        case "direction":
            return "one-way" if settled.one_way else "two-way"
        case "laid":
            return "folded" if settled.folded else "single"
        case _:
            return None
