"""How the widths of the body's levels are shared among the panels of a half.

At the bust each panel has its full width; at every lower level its edges stand in from there by a share of what the
front, or the back, has lost. The shares start from a division of the whole reduction of the half of 30 : 40 : 30 at
the underbust (centre front's princess edge, side front's, side seam) and 30 : 35 : 35 at the waist, with the side
seam's part divided between its two edges so that front and back each keep half of the underbust girth. Two things are
done otherwise, for these reasons:

- From the underbust down, each edge moves by a share of what the *next* level loses, counted from where it stands. So
  no edge turns back on itself between two levels, and a waist taken again changes nothing above it.
- The back princess seam takes part from the underbust down. The hollow of the back lies there and not at the side;
  without it the side back's side edge alone would slant by up to 5 cm at the waist.
"""

from __future__ import annotations

from dataclasses import dataclass

from coutil.body import Body, BodySide
from coutil.draft.refusal import DraftError
from coutil.draft.rise import STEEPEST_SHARE
from coutil.units import cm

# Shares of what a front half loses: centre front's princess edge, side front's princess edge, side front's side edge.
# Bust to underbust: 30, 40 and 10 of the whole half's 100, 80 of which lie in front (common practice, no source).
FRONT_TO_UNDERBUST = (0.375, 0.5, 0.125)
FRONT_TO_WAIST = (0.35, 0.40, 0.25)  # found by trial: near 30 : 35 : 35 of the whole on common figures
FRONT_TO_HIGH_HIP = (0.25, 0.30, 0.45)  # the flare lies mostly over the hip bone, at the side
# Shares of what a back half loses: side back's side edge, its princess edge, centre back's princess edge. By trial.
BACK_TO_UNDERBUST = (0.5, 0.25, 0.25)
BACK_TO_WAIST = (0.3, 0.35, 0.35)
BACK_TO_HIGH_HIP = (0.5, 0.25, 0.25)
# Part of the back's width at the bust that the side back panel gets; the rest is the centre back's. Common practice.
SIDE_BACK_PART = 0.55
# How much of a front waist that is more than half the waist (or less) shows at the high hip too: half. Found by trial.
BELLY_CARRIED = 0.5
# A panel narrower than this cannot hold two 1/2 in allowances and lie flat, in mm. Common practice, no source.
NARROWEST = 22.0
# Upper shaping: above the bust point the princess edges close in by this part of
# (bust - upper bust) / (bust - underbust) of their own underbust reduction; with the upper bust left to its rule (4/9)
# that is one third. Common practice, no source.
UPPER_PART = 0.75
# The same share never leaves these bounds, whatever the upper bust says: below, the top gapes; above, it cuts in.
UPPER_BOUNDS = (0.15, 0.60)


@dataclass(frozen=True, slots=True)
class Half:
    """One half of the garment: the width of every panel at every level, and how far its edges stand in, in mm.

    `insets[edge][level]` counts from where the edge stands at the bust, positive towards the panel's middle.
    """

    width: dict[str, dict[str, float]]
    insets: dict[str, dict[str, float]]
    bust_point: float
    close_centre: float
    close_side: float


def share_out(body: Body, side: BodySide, ease: dict[str, float], gap: float, foam: float, where: str) -> Half:
    """Share the girths of one half. `ease` by level and `gap` count for the whole girth, `foam` for the whole front.

    `where` names the side in refusals ("" for an even body). Raises DraftError naming the measurements in conflict.
    """
    girth = {"bust": body.bust, "underbust": body.underbust, "waist": body.waist, "high_hip": body.high_hip}
    front = _front_widths(body, side, ease, foam)
    both = _front_widths(body, body.left, ease, foam), _front_widths(body, body.right, ease, foam)
    back = {
        level: (girth[level] + ease[level] + (foam if level == "bust" else 0.0) - gap - both[0][level] - both[1][level])
        / 2.0
        for level in girth
    }
    centre = _centre_insets(front, side)
    sf_inset, ss_inset = _side_front_insets(front, side, centre)
    sb_inset = _chain(back, (BACK_TO_UNDERBUST[0], BACK_TO_WAIST[0], BACK_TO_HIGH_HIP[0]))
    bp_inset = _chain(back, (BACK_TO_UNDERBUST[1], BACK_TO_WAIST[1], BACK_TO_HIGH_HIP[1]))
    cb_inset = _chain(back, (BACK_TO_UNDERBUST[2], BACK_TO_WAIST[2], BACK_TO_HIGH_HIP[2]))
    at_bust = {
        "centre front": side.bust_point,
        "side front": front["bust"] - side.bust_point,
        "side back": SIDE_BACK_PART * back["bust"],
        "centre back": (1.0 - SIDE_BACK_PART) * back["bust"],
    }
    gone = {
        "centre front": (centre,),
        "side front": (sf_inset, ss_inset),
        "side back": (sb_inset, bp_inset),
        "centre back": (cb_inset,),
    }
    width = {
        panel: {level: at_bust[panel] - sum(inset[level] for inset in gone[panel]) for level in girth} for panel in gone
    }
    _refuse_narrow(width, where, gap)
    upper = (body.bust - body.upper_bust) / max(body.bust - body.underbust, 1.0) * UPPER_PART
    upper = min(max(upper, UPPER_BOUNDS[0]), UPPER_BOUNDS[1])
    return Half(
        width=width,
        insets={
            "centre front/front_princess": centre,
            "side front/front_princess": sf_inset,
            "side front/side": ss_inset,
            "side back/side": sb_inset,
            "side back/back_princess": bp_inset,
            "centre back/back_princess": cb_inset,
        },
        bust_point=side.bust_point,
        close_centre=upper * max(centre["underbust"], 0.0),
        close_side=upper * max(sf_inset["underbust"], 0.0),
    )


def _front_widths(body: Body, side: BodySide, ease: dict[str, float], foam: float) -> dict[str, float]:
    """Width of one front half, from the centre front to the side seam, at each level."""
    waist = side.front_waist + ease["waist"] / 4.0
    belly = BELLY_CARRIED * (side.front_waist - body.waist / 4.0)
    return {
        "bust": side.front_bust + ease["bust"] / 4.0 + foam / 2.0,
        "underbust": body.underbust / 4.0 + ease["underbust"] / 4.0,
        "waist": waist,
        "high_hip": body.high_hip / 4.0 + ease["high_hip"] / 4.0 + belly,
    }


def _chain(width: dict[str, float], shares: tuple[float, float, float]) -> dict[str, float]:
    """Insets of an edge that takes its share of each loss, level by level from the bust down."""
    underbust = shares[0] * (width["bust"] - width["underbust"])
    waist = underbust + shares[1] * (width["underbust"] - width["waist"])
    high_hip = waist + shares[2] * (width["waist"] - width["high_hip"])
    return {"bust": 0.0, "underbust": underbust, "waist": waist, "high_hip": high_hip}


def _centre_insets(front: dict[str, float], side: BodySide) -> dict[str, float]:
    """The centre front's princess edge: its share, within what its curve can take and the panel can spare."""
    cap = min(_princess_cap(side), side.bust_point - NARROWEST)
    inset = _chain(front, (FRONT_TO_UNDERBUST[0], FRONT_TO_WAIST[0], FRONT_TO_HIGH_HIP[0]))
    over = max(inset["underbust"] - cap, 0.0)
    spare = side.bust_point - NARROWEST
    return {
        "bust": 0.0,
        "underbust": inset["underbust"] - over,
        "waist": min(inset["waist"] - over, spare),
        "high_hip": min(inset["high_hip"] - over, spare),
    }


def _side_front_insets(
    front: dict[str, float], side: BodySide, centre: dict[str, float]
) -> tuple[dict[str, float], dict[str, float]]:
    """The side front's two edges. What the centre front could not take goes to its princess edge, then to the side."""
    own = _chain(front, (FRONT_TO_UNDERBUST[1], FRONT_TO_WAIST[1], FRONT_TO_HIGH_HIP[1]))
    due = {level: front["bust"] - front[level] - centre[level] for level in front}
    due_side = _chain(front, (FRONT_TO_UNDERBUST[2], FRONT_TO_WAIST[2], FRONT_TO_HIGH_HIP[2]))
    princess = min(due["underbust"] - due_side["underbust"], _princess_cap(side))
    shift = princess - own["underbust"]
    out = {level: own[level] + (0.0 if level == "bust" else shift) for level in own}
    return out, {level: due[level] - out[level] for level in front}


def _princess_cap(side: BodySide) -> float:
    # 0.97: the cap keeps a little off the limit at which the edge itself would refuse.
    return 0.97 * STEEPEST_SHARE * side.bust_to_underbust


def _refuse_narrow(width: dict[str, dict[str, float]], where: str, gap: float) -> None:
    conflict = {
        "centre front": ("bust_span", "front_bust_arc"),
        "side front": ("bust_span", "front_bust_arc", "waist"),
        "side back": ("bust", "front_bust_arc", "front_waist_arc"),
        "centre back": ("bust", "front_bust_arc", "front_waist_arc"),
    }
    for panel, levels in width.items():
        level = min(levels, key=lambda name: levels[name])
        if levels[level] < NARROWEST:
            names = conflict[panel] + (("style.lacing_gap",) if gap and "back" in panel else ())
            raise DraftError(
                names,
                f"the {panel} panel{where} would be {cm(levels[level])} wide at the {level.replace('_', ' ')}, "
                f"less than the {cm(NARROWEST)} that can be sewn",
            )
