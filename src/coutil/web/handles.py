"""Points of the drawing that can be dragged, and what a drag says of the values that they show.

A handle knows its place on the panel, the way on which it runs and by how much its value grows along that way. The
drag is turned into a value here; whether the value is possible is for the draft to say.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from coutil.body import Body, rests_on
from coutil.draft.style import SettledStyle
from coutil.make import Work
from coutil.pattern import Edge, Pad
from coutil.plane import Pt
from coutil.seaming.roles import CENTRE_BACK, CENTRE_FRONT, SIDE, TOP
from coutil.web.governs import tells_low
from coutil.web.lengths import shown
from coutil.web.places import Placed
from coutil.words import say

# A handle that misses the pointer by more than this after its value was changed is aimed once more, in mm: below a
# step of the ruler, so that the second aim is seldom needed.
MISS = 0.5
# No more aims than this: each costs a draft.
AIMS = 2


@dataclass(frozen=True, slots=True)
class Handle:
    """`at` and `along` in the panel's own coordinates. `keys` change with it; `now` are their values in mm.

    Moving by d mm along `along` (a unit vector) changes the one value by d times `ratio`. With `along` None the handle
    is free and `read` tells the values from a point.
    """

    id: str
    keys: tuple[str, ...]
    panel: str
    at: Pt
    along: Pt | None
    now: tuple[float, ...]
    ratio: float = 1.0
    read: Callable[[Pt], tuple[float, ...]] | None = None

    def values(self, to: Pt) -> tuple[float, ...]:
        """The values in mm that bring the handle to a point of its panel, as far as its way goes."""
        if self.along is None:
            return self.now if self.read is None else self.read(to)
        d = (to[0] - self.at[0]) * self.along[0] + (to[1] - self.at[1]) * self.along[1]
        return (self.now[0] + self.ratio * d,)

    def miss(self, to: Pt) -> float:
        """How far the handle lies from a point, along its way, in mm."""
        if self.along is None:
            return 0.0
        return abs((to[0] - self.at[0]) * self.along[0] + (to[1] - self.at[1]) * self.along[1])


def find_handles(work: Work, placed: Sequence[Placed]) -> tuple[Handle, ...]:
    """Every handle of a drawing. On an uneven body each side has its own, and both change what is common to them."""
    if work.draft is None:
        # A pattern that was brought in has no values of style to pull.
        return ()
    style = work.draft.style
    pads = {(p.panel, p.side): p for p in work.pattern.pads}
    cups = {(r.panel, r.side): r for seam in work.pattern.cup_seams for r in (seam.a, seam.b)}
    inner = {(seam.a.panel, seam.a.side) for seam in work.pattern.cup_seams}
    out: list[Handle] = []
    for p in placed:
        at = (p.panel.name, p.panel.side)
        ref = cups.get(at)
        tail = "" if p.panel.side == "both" else f":{p.panel.side}"
        found: list[Handle] = []
        roles = {e.role: e for e in p.panel.edges}
        if CENTRE_FRONT in roles:
            found += _neckline(p, work, style)
        if ref is not None:
            found.append(_cup_end(p, p.panel.edge(ref.edge), style, inner=at in inner))
        if CENTRE_FRONT in roles:
            found += [_hem_point(p, style), *_levels(p, work)]
        if at in inner:
            found += _bust_point(p, work)
        if SIDE in roles and p.panel.part == "front":
            found += _side(p, roles[SIDE], style)
        if CENTRE_BACK in roles:
            found += _centre_back(p, style)
        pad = pads.get(at)
        if pad is not None:
            found += _pad(p, pad, work, inner=at in inner)
        out += [_named(h, h.id + tail) for h in found if not _nobodys(h, work.order.body)]
    return tuple(out)


def _nobodys(h: Handle, body: Body) -> bool:
    """Whether a handle would make a reading of a figure that nobody took: such are typed from the tape, not pulled."""
    return any(key.startswith("body.") and rests_on(body, (key.removeprefix("body."),)) for key in h.keys)


def handles(work: Work, placed: Sequence[Placed], unit: str) -> list[dict[str, Any]]:
    """The handles as the page gets them."""
    places = {p.id: p.place for p in placed}
    out = []
    for h in find_handles(work, placed):
        place = places[h.panel]
        along = None if h.along is None else place.vector(h.along)
        out.append(
            {
                "id": h.id,
                "keys": list(h.keys),
                "name": say(f"handle.{h.id.partition(':')[0]}"),
                "panel": h.panel,
                "at": place.at(h.at),
                "along": None if along is None else [round(along[0], 4) + 0.0, round(along[1], 4) + 0.0],
                "cursor": _cursor(along),
                "text": ", ".join(shown(v, unit) for v in h.now),
            }
        )
    return out


def plunge_now(work: Work) -> float | None:
    """How far the neckline's lowest point lies above the underbust now, in mm, stated or not."""
    for panel in work.pattern.panels:
        for edge in panel.edges:
            if edge.role == CENTRE_FRONT and "underbust" in panel.levels:
                return edge.upward().end[1] - panel.levels["underbust"][0][1]
    return None


def _named(h: Handle, name: str) -> Handle:
    return Handle(name, h.keys, h.panel, h.at, h.along, h.now, h.ratio, h.read)


def _cursor(along: Pt | None) -> str:
    if along is None:
        return "move"
    angle = math.degrees(math.atan2(along[1], along[0])) % 180.0
    return ("ew", "nwse", "ns", "nesw")[round(angle / 45.0) % 4]


def _up(edge: Edge) -> tuple[Pt, Pt]:
    """The upper end of an edge and its direction there."""
    curve = edge.upward()
    return curve.end, curve.tangent(curve.length)


def _down(edge: Edge) -> tuple[Pt, Pt]:
    """The lower end of an edge and the direction that leads on downwards."""
    curve = edge.upward()
    x, y = curve.tangent(0.0)
    return curve.start, (-x, -y)


def _neckline(p: Placed, work: Work, style: SettledStyle) -> list[Handle]:
    plunge = plunge_now(work)
    if not tells_low(style) or plunge is None:
        return []
    top = p.panel.edge(CENTRE_FRONT).upward().end
    return [Handle("plunge", ("style.plunge",), p.id, top, (0.0, 1.0), (plunge,))]


def _cup_end(p: Placed, edge: Edge, style: SettledStyle, *, inner: bool) -> Handle:
    """The end of the cup seam: on the inner panel the cup's height, on the outer one how far it runs on above."""
    at, along = _up(edge)
    if inner:
        return Handle("cup_height", ("style.cup_height",), p.id, at, along, (style.cup_height,))
    return Handle("peak", ("style.peak",), p.id, at, along, (style.peak,))


def _hem_point(p: Placed, style: SettledStyle) -> Handle:
    low, _ = _down(p.panel.edge(CENTRE_FRONT))
    return Handle("hem_point", ("style.hem_point",), p.id, low, (0.0, -1.0), (style.hem_point,))


def _own(p: Placed, work: Work) -> Mapping[str, float]:
    """What was measured of this panel's side alone."""
    sides = dict(zip(("left", "right"), work.order.body.measured_sides(), strict=True))
    return sides.get(p.panel.side, {})


def _levels(p: Placed, work: Work) -> list[Handle]:
    """Heights of the levels: the tape's lengths down the body."""
    body, panel = work.order.body, p.panel
    side, own = panel.side, _own(p, work)
    measures = body.right if side == "right" else body.left

    def key(name: str) -> str:
        return f"body.{side}.{name}" if name in own else f"body.{name}"

    out = []
    if "bust" in panel.levels:
        at = panel.levels["bust"][0]
        out.append(Handle("bust", (key("bust_to_waist"),), p.id, at, (0.0, 1.0), (measures.bust_to_waist,)))
    if "underbust" in panel.levels:
        at = panel.levels["underbust"][0]
        reach = measures.bust_to_underbust
        out.append(Handle("underbust", (key("bust_to_underbust"),), p.id, at, (0.0, -1.0), (reach,)))
    if "high_hip" in panel.levels:
        at = panel.levels["high_hip"][0]
        out.append(Handle("high_hip", ("body.high_hip_depth",), p.id, at, (0.0, -1.0), (body.high_hip_depth,)))
    return out


def _bust_point(p: Placed, work: Work) -> list[Handle]:
    """The bust point from the centre front."""
    body, panel = work.order.body, p.panel
    if "bust_point" not in panel.points:
        return []
    at = panel.points["bust_point"]
    out_of_centre = (-1.0 if at[0] < 0 else 1.0, 0.0)
    if "bust_point" in _own(p, work):
        measures = body.right if panel.side == "right" else body.left
        key = f"body.{panel.side}.bust_point"
        return [Handle("bust_point", (key,), p.id, at, out_of_centre, (measures.bust_point,))]
    return [Handle("bust_point", ("body.bust_span",), p.id, at, out_of_centre, (body.bust_span,), 2.0)]


def _side(p: Placed, edge: Edge, style: SettledStyle) -> list[Handle]:
    top, up = _up(edge)
    low, down = _down(edge)
    return [
        Handle("side_top", ("style.side_top",), p.id, top, up, (style.side_top,)),
        Handle("hem", ("style.hem",), p.id, low, down, (style.hem,)),
    ]


def _centre_back(p: Placed, style: SettledStyle) -> list[Handle]:
    panel = p.panel
    top, up = _up(panel.edge(CENTRE_BACK))
    return [Handle("back_top", ("style.back_top",), p.id, top, up, (style.back_top,))]


def _pad(p: Placed, pad: Pad, work: Work, *, inner: bool) -> list[Handle]:
    build = work.order.build.pad
    sewn = pad.sewn
    if inner:
        # The pad starts lower the greater the drop is.
        top, up = _up_of(sewn)
        return [Handle("pad_start", ("build.pad.top_drop",), p.id, top, (-up[0], -up[1]), (build.top_drop,))]
    corner = _outer_corner(pad)
    if corner is None:
        return []
    beyond = next(e for e in p.panel.edges if e.kind in ("seam", "centre") and e.name != sewn.name)
    side, rim = beyond.curve, p.panel.edge(TOP).curve

    def read(to: Pt) -> tuple[float, ...]:
        return side.nearest(to)[1], rim.nearest(to)[1]

    keys = ("build.pad.side_inset", "build.pad.side_dip")
    return [Handle("pad_corner", keys, p.id, corner, None, (build.side_inset, build.side_dip), read=read)]


def _up_of(sewn: Edge) -> tuple[Pt, Pt]:
    curve = sewn.curve if sewn.curve.end[1] >= sewn.curve.start[1] else sewn.curve.reversed()
    return curve.end, curve.tangent(curve.length)


def _outer_corner(pad: Pad) -> Pt | None:
    """Where the two free rims of a side front's pad meet."""
    rims: Mapping[str, Edge] = {e.name: e for e in pad.edges if e.kind == "rim"}
    if "pad_lower" not in rims or "pad_top" not in rims:
        return None
    ends = [rims["pad_lower"].curve.start, rims["pad_lower"].curve.end]
    others = [rims["pad_top"].curve.start, rims["pad_top"].curve.end]
    return min(((a, b) for a in ends for b in others), key=lambda ab: math.dist(*ab))[0]
