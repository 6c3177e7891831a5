"""Points of the drawing that can be dragged, and what a drag says of the values that they show.

A handle knows its place on the panel, the way on which it runs and by how much its value grows along that way. The
drag is turned into a value here; whether the value is possible is for the draft to say.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from coutil.body import Body, rests_on
from coutil.draft.style import SettledStyle
from coutil.make import Work
from coutil.order.key import Kind
from coutil.pattern import Edge, Pad
from coutil.plane import Pt
from coutil.seaming import CENTRE_FRONT, HEM, OWN, SIDE, TOP, Seaming
from coutil.web.governs import tells_low
from coutil.web.keys import SEAM, address
from coutil.web.lengths import shown
from coutil.web.parts import percent
from coutil.web.places import Placed
from coutil.words import say

# A handle that misses the pointer by more than this after its value was changed is aimed once more, in mm: below a
# step of the ruler, so that the second aim is seldom needed.
MISS = 0.5
# No more aims than this: each costs a draft.
AIMS = 2


@dataclass(frozen=True, slots=True)
class Handle:
    """`at` and `along` in the panel's own coordinates. `keys` change with it; `now` are their values in mm, a seam's
    place as a part.

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
    # What it is called, where its id does not say it.
    called: str = ""

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
    style, seaming = work.draft.style, work.draft.seaming
    arm = None if seaming.under_arm is None else seaming.panels[seaming.under_arm].name
    pads = {(p.panel, p.side): p for p in work.pattern.pads}
    cups = {(r.panel, r.side): r for seam in work.pattern.cup_seams for r in (seam.a, seam.b)}
    inner = {(seam.a.panel, seam.a.side) for seam in work.pattern.cup_seams}
    out: list[Handle] = []
    named = [panel.name for panel in seaming.panels]
    for p in placed:
        if p.panel.name not in named:
            # An elastic panel and the net of a low plunge lie where the panels beside them say.
            continue
        at = (p.panel.name, p.panel.side)
        ref = cups.get(at)
        tail = "" if p.panel.side == "both" else f":{p.panel.side}"
        found: list[Handle] = []
        roles = {e.role: e for e in p.panel.edges}
        if CENTRE_FRONT in roles:
            found += _neckline(p, work)
        if ref is not None:
            found.append(_cup_end(p, p.panel.edge(ref.edge), style, inner=at in inner))
        if CENTRE_FRONT in roles:
            found += [_hem_point(p, style), *_levels(p, work)]
        if at in inner:
            found += _bust_point(p, work)
        if SIDE in roles and p.panel.part == "front":
            found += _side(p, roles[SIDE], style)
        if p.panel.name == arm:
            found += _under_arm(p, style)
        if p.panel.name == named[-1]:
            found += _centre_back(p, seaming, style)
        found += _seams(p, seaming)
        pad = pads.get(at)
        if pad is not None:
            found += _pad(p, pad, work, inner=at in inner)
        out += [replace(h, id=h.id + tail) for h in found if not _nobodys(h, work.order.body)]
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
                "name": h.called or say(f"handle.{h.id.partition(':')[0]}"),
                "panel": h.panel,
                "at": place.at(h.at),
                "along": None if along is None else [round(along[0], 4) + 0.0, round(along[1], 4) + 0.0],
                "cursor": _cursor(along),
                "text": ", ".join(_said(k, v, unit) for k, v in zip(h.keys, h.now, strict=True)),
            }
        )
    return out


def kind_of(key: str) -> Kind:
    """What a handle's value is: a length, or a seam's place as a part."""
    return address(key).spec.kind


def _said(key: str, value: float, unit: str) -> str:
    return percent(value) if kind_of(key) == "part" else shown(value, unit)


def plunge_now(work: Work) -> float | None:
    """How far the neckline's lowest point lies above the underbust now, in mm, stated or not."""
    for panel in work.pattern.panels:
        for edge in panel.edges:
            if edge.role == CENTRE_FRONT and "underbust" in panel.levels:
                return edge.upward().end[1] - panel.levels["underbust"][0][1]
    return None


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


def _neckline(p: Placed, work: Work) -> list[Handle]:
    plunge = plunge_now(work)
    if not tells_low(work.order.style) or plunge is None:
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
    if "underbust" in panel.levels and "underbust_to_waist" in body.needed:
        at = panel.levels["underbust"][0]
        out.append(Handle("ribs", ("body.underbust_to_waist",), p.id, at, (0.0, 1.0), (body.underbust_to_waist,)))
    elif "underbust" in panel.levels:
        at = panel.levels["underbust"][0]
        reach = measures.bust_to_underbust
        out.append(Handle("underbust", (key("bust_to_underbust"),), p.id, at, (0.0, -1.0), (reach,)))
    if "high_hip" in panel.levels:
        at = panel.levels["high_hip"][0]
        out.append(Handle("high_hip", ("body.high_hip_depth",), p.id, at, (0.0, -1.0), (body.high_hip_depth,)))
    if "hip" in panel.levels:
        at = panel.levels["hip"][0]
        out.append(Handle("hip", ("body.hip_depth",), p.id, at, (0.0, -1.0), (body.hip_depth,)))
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


def _centre_back(p: Placed, seaming: Seaming, style: SettledStyle) -> list[Handle]:
    """The ends of the last panel's edge at the centre back, or where elastic is sewn to it."""
    before = seaming.edges(len(seaming.panels) - 1)[0]
    edge = next(e for e in p.panel.edges if e.role not in (before, TOP, HEM))
    top, up = _up(edge)
    low, down = _down(edge)
    return [
        Handle("back_top", ("style.back_top",), p.id, top, up, (style.back_top,)),
        Handle("hem_point_back", ("style.hem_point_back",), p.id, low, down, (style.hem_point_back,)),
    ]


def _under_arm(p: Placed, style: SettledStyle) -> list[Handle]:
    """What is pulled at the side seam elsewhere, at the middle of a panel that lies under the arm."""
    top, low = (p.panel.edge(role).curve for role in (TOP, HEM))
    return [
        Handle("side_top", ("style.side_top",), p.id, top.point(top.length / 2.0), (0.0, 1.0), (style.side_top,)),
        Handle("hem", ("style.hem",), p.id, low.point(low.length / 2.0), (0.0, -1.0), (style.hem,)),
    ]


def _seams(p: Placed, seaming: Seaming) -> list[Handle]:
    """The places of one's own seams at the highest level: a front's on the panel before it, a back's on that behind it.

    A front's panel counts x from the centre front, where the seam stands at its part of the front's width; a back's
    from the centre back, where it stands at what its part leaves of the back's.
    """
    k, ends = seaming.number(p.panel.name), p.panel.levels.get(seaming.highest)
    if seaming.name != OWN or ends is None:
        return []
    front = k < seaming.in_front
    number = k if front else k - 1
    if not front and number < seaming.behind:
        return []
    seam, at = seaming.seams[number], ends[1 if front else 0]
    if seam.at is None:
        return []
    outwards = math.copysign(1.0, at[0])
    part, along = (seam.at, outwards) if front else (1.0 - seam.at, -outwards)
    key, called = f"{SEAM}.{number}.at", say("handle.seam", name=seam.spoken)
    ratio = part / abs(at[0])
    return [Handle(f"seam_{number}", (key,), p.id, at, (along, 0.0), (seam.at,), ratio, called=called)]


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
