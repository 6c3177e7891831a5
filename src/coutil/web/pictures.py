"""Small pictures of what a choice means, drawn from the draft of a standard body: seamings, necklines, backs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cache
from typing import Any, Final, get_args

from coutil.body import as_asked_body
from coutil.make import work_out
from coutil.order import BackLine, Neckline, Order, Style
from coutil.pattern import Panel
from coutil.seaming import READY
from coutil.web.paths import Place, hull, rounded, union

# Between two panels, in mm at the body's size: seen as apart in a picture an inch high.
_APART: Final = 14.0
# White round a picture, in mm: half the breadth of its lines.
_RIM: Final = 4.0
# The body that all are drawn for: the middle size of EN 13402-3, with the cup that is most often made up.
_BUST, _CUP = 920.0, "C"


@cache
def pictures() -> dict[str, dict[str, dict[str, Any]]]:
    """By key and choice what is drawn of it: the paper's box and the panels' outlines, side by side in sewing order,
    waists on y = 0, in mm; of tops what lies above the waist. Shared, never changed."""
    plain = Style()
    return {
        "style.seaming": {name: _picture(_panels(Style(seaming=seaming))) for name, seaming in READY.items()},
        "style.neckline": {n: _above(_part(replace(plain, neckline=n), "front")) for n in get_args(Neckline)},
        "style.back": {n: _above(_part(replace(plain, back=n), "back")) for n in get_args(BackLine)},
    }


def _panels(style: Style) -> tuple[Panel, ...]:
    return work_out(Order("", as_asked_body(_BUST, _CUP), style=style)).pattern.panels


def _part(style: Style, part: str) -> tuple[Panel, ...]:
    return tuple(p for p in _panels(style) if p.part == part)


def _above(panels: Sequence[Panel]) -> dict[str, Any]:
    """A picture of what lies above the waist alone."""
    whole = _picture(panels)
    x0, y0, x1, _ = whole["box"]
    return {**whole, "box": [x0, y0, x1, 0.0]}


def _picture(panels: Sequence[Panel]) -> dict[str, Any]:
    placed = list(_placed(panels))
    x0, y0, x1, y1 = union(box for _, box in placed)
    return {"box": rounded((x0 - _RIM, y0 - _RIM, x1 + _RIM, y1 + _RIM)), "panels": [d for d, _ in placed]}


def _placed(panels: Sequence[Panel]) -> Iterator[tuple[str, tuple[float, float, float, float]]]:
    """Each panel's outline and box on the paper, right side up."""
    at = 0.0
    for panel in panels:
        curves = [e.curve for e in panel.edges]
        x0, y0, x1, y1 = hull(curves)
        if panel.face_up < 0:
            x0, x1 = -x1, -x0
        waist = panel.levels["waist"][0][1] if "waist" in panel.levels else 0.0
        place = Place(panel.face_up, at - x0, waist)
        yield place.curves(curves, closed=True), (at, waist - y1, at + x1 - x0, waist - y0)
        at += x1 - x0 + _APART
