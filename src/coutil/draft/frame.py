"""The frame of a half: where every edge stands at every level, and how high each level lies on each panel.

A seam's two edges must be equally long between two levels, but they curve differently: the side front's princess edge
stands in further below the bust than the centre front's, so the same length reaches less high. Each panel therefore
has its own heights of the levels, found one after the other from the centre front to the centre back: the princess
edge from the tape, every other edge from the panel it will be sewn to.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from coutil.body import Body, BodySide
from coutil.draft.refusal import DraftError
from coutil.draft.rise import Rise, SteepError, from_heights, from_lengths
from coutil.draft.sharing import Half, share_out
from coutil.draft.style import SettledStyle
from coutil.pattern import LEVELS
from coutil.units import cm

# Left and right of an uneven body meet at the centre front and at the centre back; the levels of their panels tilt to
# meet there. Beyond this tilt, in mm, the grain of a narrow panel would be visibly off. Found by trial.
MOST_TILT = 30.0


@dataclass(frozen=True, slots=True)
class Frame:
    """Rises of one half. Front panels: x from the centre front; back panels: x from the centre back's own edge."""

    half: Half
    centre_front: dict[str, float]  # heights of the levels on the centre front edge
    cf_princess: Rise
    sf_princess: Rise
    sf_side: Rise
    sb_side: Rise
    sb_princess: Rise
    cb_princess: Rise
    centre_back: dict[str, float]  # heights of the levels on the centre back edge
    side_front_at: float  # x of the side front's princess edge at the bust


def frames(body: Body, style: SettledStyle, foam: float) -> tuple[Frame, ...]:
    """One frame for an even body, two (left, right) for an uneven one. Raises DraftError."""
    if body.symmetric:
        return (_frame(body, body.left, style, foam, "", None, None),)
    sides = ((body.left, " on the left"), (body.right, " on the right"))
    loose = [_frame(body, side, style, foam, where, None, None) for side, where in sides]
    front = _meet(loose[0].centre_front, loose[1].centre_front, "front")
    half_way = [_frame(body, side, style, foam, where, front, None) for side, where in sides]
    back = _meet(half_way[0].centre_back, half_way[1].centre_back, "back")
    return tuple(_frame(body, side, style, foam, where, front, back) for side, where in sides)


def _meet(left: Mapping[str, float], right: Mapping[str, float], where: str) -> dict[str, float]:
    """Heights half way between the two sides, for the edges where they meet."""
    for level in left:
        if abs(left[level] - right[level]) > 2.0 * MOST_TILT:
            raise DraftError(
                ("body.left", "body.right"),
                f"at the centre {where} the {level.replace('_', ' ')} of the two sides would lie "
                f"{cm(abs(left[level] - right[level]))} apart; up to {cm(2.0 * MOST_TILT)} can be shared",
            )
    return {level: (left[level] + right[level]) / 2.0 for level in left}


def _frame(
    body: Body,
    side: BodySide,
    style: SettledStyle,
    foam: float,
    where: str,
    front: Mapping[str, float] | None,
    back: Mapping[str, float] | None,
) -> Frame:
    half = share_out(body, side, style.ease, style.gap, foam, where)
    over = side.bust_to_waist - side.bust_to_underbust
    try:
        princess = {("waist", "underbust"): over, ("underbust", "bust"): side.bust_to_underbust}
        cf_width = half.width["centre front"]
        # Below the waist nothing curves much: the centre front's own straight edge carries the tape's depth.
        cf_x = {level: _level_end(cf_width[level], front[level] if front else None) for level in LEVELS}
        cf_x["bust"] = _constant(half.bust_point)  # the bust point's distance is square to the centre front
        cf = _centre_front(cf_x, princess, body.high_hip_depth)
        cf_heights = dict(front) if front else {level: cf.height(level) for level in LEVELS}
        lengths = cf.lengths()

        at = half.bust_point
        sf = from_lengths(LEVELS, _standing(at, half.insets["side front/front_princess"], +1.0), lengths)
        # On an uneven body the bust level tilts on the centre front: its chord is a little longer than the bust span's
        # half, and the side front gives that little back.
        sf_width = dict(half.width["side front"])
        sf_width["bust"] -= math.hypot(half.bust_point, cf.height("bust") - cf_heights["bust"]) - half.bust_point
        sf_side = from_heights(LEVELS, [(sf.point(v)[0] + sf_width[v], sf.height(v)) for v in LEVELS])

        cb_width, sb_width = half.width["centre back"], half.width["side back"]
        sb_at = cb_width["bust"] + sb_width["bust"]
        sb_side = from_lengths(LEVELS, _standing(sb_at, half.insets["side back/side"], -1.0), sf_side.lengths())
        sb = from_heights(LEVELS, [(sb_side.point(v)[0] - sb_width[v], sb_side.height(v)) for v in LEVELS])
        cb_x = {level: _level_end(cb_width[level], back[level] if back else None) for level in LEVELS}
        cb = from_lengths(LEVELS, cb_x, sb.lengths())
    except SteepError as steep:
        raise _explain(steep, where) from None
    cb_heights = dict(back) if back else {level: cb.height(level) for level in LEVELS}
    return Frame(half, cf_heights, cf, sf, sf_side, sb_side, sb, cb, cb_heights, at)


def _centre_front(
    place: Mapping[str, Callable[[float], float]], princess: Mapping[tuple[str, str], float], depth: float
) -> Rise:
    """The centre front's princess edge: by length from the waist up, by depth from the waist down."""
    upper = from_lengths(LEVELS[1:], place, princess)
    points = [(place["high_hip"](-depth), -depth), *upper.points]
    guess = from_heights(LEVELS, points)
    # Once more with the high hip in play, since its slope at the waist steers the curve above.
    skirt = guess.segments[0].arclen(1e-8)
    return from_lengths(LEVELS, place, {**princess, ("high_hip", "waist"): skirt})


def _constant(x: float) -> Callable[[float], float]:
    return lambda _y: x


def _level_end(width: float, meets: float | None) -> Callable[[float], float]:
    """x of the far end of a level `width` long whose end on the centre line lies at height `meets` (None: level)."""
    if meets is None:
        return _constant(width)
    return lambda y: max(width * width - (y - meets) ** 2, 0.0) ** 0.5


def _standing(at: float, inset: Mapping[str, float], inward: float) -> dict[str, Callable[[float], float]]:
    """x of an edge that stands at `at` at the bust and moves towards `inward` (+1 or -1) by its insets."""
    return {level: _constant(at + inward * inset[level]) for level in LEVELS}


def _explain(steep: SteepError, where: str) -> DraftError:
    """Which measurements conflict when a stretch of edge cannot be drawn."""
    conflicts = {
        ("underbust", "bust"): ("bust", "underbust", "bust_to_underbust"),
        ("waist", "underbust"): ("underbust", "waist", "bust_to_waist"),
        ("high_hip", "waist"): ("waist", "high_hip", "high_hip_depth"),
    }
    names = conflicts.get((steep.lower, steep.upper), ("bust", "underbust", "waist", "bust_to_waist"))
    return DraftError(
        names,
        f"between {steep.lower.replace('_', ' ')} and {steep.upper.replace('_', ' ')}{where} a panel edge would have "
        f"to move {cm(steep.sideways)} sideways in {cm(steep.length)} of seam; measure these again",
    )
