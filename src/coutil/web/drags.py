"""A drag turned into values: the handle's own reckoning first, then aimed once more at where it came to lie."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from coutil.layers.words import LayerError
from coutil.make import Work, work_out
from coutil.order import OrderError
from coutil.plane import Pt
from coutil.web.edits import Edit, Refusal, RefusedError, edited, raw
from coutil.web.handles import AIMS, MISS, Handle, find_handles
from coutil.web.keys import address
from coutil.web.lengths import exact, is_in_inches, snapped
from coutil.web.parts import percent
from coutil.web.places import place_panels
from coutil.web.refused import judged, parsed, undraftable
from coutil.words import say

# Decimals to which a seam's place falls when it is pulled: half a percent of a front is 1 mm, the ruler's mark.
_PART_DECIMALS: Final = 3


class DragError(ValueError):
    """A place that the point cannot go to."""

    def __init__(self, refusals: tuple[Refusal, ...]) -> None:
        self.refusals = refusals
        super().__init__("; ".join(r.says for r in refusals))


@dataclass(frozen=True, slots=True)
class Dragged:
    """The order's text after a drag, what was worked out from it, and the values as they were written, by key."""

    text: str
    work: Work
    values: Mapping[str, str]

    @property
    def keys(self) -> list[str]:
        return list(self.values)


def dragged(work: Work, text: str, doc: Mapping[str, Any], name: str, to: Pt, unit: str) -> Dragged:
    """Pull the handle `name` to the place `to` on the paper; values fall on the marks of the ruler.

    The panel is held where it lies on the paper of `work`. Raises DragError.
    """
    placed = place_panels(work.pattern)
    place = next((p.place for p in placed for h in find_handles(work, [p]) if h.id == name), None)
    handle = _find(work, name)
    if handle is None or place is None:
        raise DragError((Refusal("", say("refused.no_handle")),))
    point = place.back(to)
    best: Dragged | None = None
    aimed: Handle | None = handle
    for _ in range(AIMS):
        if aimed is None:
            break
        wanted = [_held(k, v, doc, unit) for k, v in zip(aimed.keys, aimed.values(point), strict=True)]
        if best is not None and (aimed.miss(point) <= MISS or [w for _, w in wanted] == list(best.values.values())):
            break
        try:
            best = _with(text, wanted, unit)
        except RefusedError as e:
            if best is None:
                raise DragError(e.refusals) from None
            break
        aimed = _find(best.work, name)
    if best is None:
        raise DragError((Refusal("", say("refused.no_handle")),))
    return best


def _with(text: str, wanted: Sequence[tuple[str, str]], unit: str) -> Dragged:
    for key, value in wanted:
        text = edited(text, Edit(key, text=value), unit)
    first = wanted[0][0]
    order = parsed(text, first)
    impossible = judged(order, first)
    if impossible:
        raise RefusedError(*impossible)
    try:
        return Dragged(text, work_out(order), dict(wanted))
    except (OrderError, LayerError) as e:
        raise RefusedError(*undraftable(e, first)) from None


def _held(key: str, mm: float, doc: Mapping[str, Any], unit: str) -> tuple[str, str]:
    """The value on the nearest mark of the ruler, within what the order file allows, as it is typed."""
    at = address(key)
    if at.spec.kind == "part":
        return key, percent(min(max(round(mm, _PART_DECIMALS), at.spec.low), at.spec.high))
    stands = raw(doc, at)
    if isinstance(stands, str):
        unit = "in" if is_in_inches(stands) else "cm"
    return key, exact(min(max(snapped(mm, unit), at.spec.low), at.spec.high), unit)


def _find(work: Work, name: str) -> Handle | None:
    return next((h for h in find_handles(work, place_panels(work.pattern)) if h.id == name), None)
