"""How the widths of the body's levels are shared among the panels of a half, whatever its seaming.

At the bust each panel has its full width; at every lower level its edges stand in from there by a share of what the
front, or the back, has lost. From the underbust down, each edge moves by its share of what the *next* level loses,
counted from where it stands: so no edge turns back on itself between two levels, and a waist taken again changes
nothing above it. Which share an edge has says the seaming.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from coutil.body import Body, BodySide
from coutil.draft.refusal import DraftError, level_told
from coutil.draft.rise import STEEPEST_SHARE
from coutil.seaming import Seaming, Shares
from coutil.words import Length

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

Widths = dict[str, float]


@dataclass(frozen=True, slots=True)
class Half:
    """One half of the garment, in mm by level: its front and its back, every panel, and how far its edges stand in.

    Tuples go by panel from the centre front. `near[k]` and `far[k]` are the insets of panel k's edges towards the
    centre front and the centre back, counted from where the edge stands at the bust, positive towards the panel's
    middle; None where the edge is a straight centre. `at[k]` is where its near edge stands at the bust: from the centre
    front on a front panel, from the centre back on a back panel. `close` is what the cup seam's two edges close in by
    above the bust point.
    """

    front: Widths
    back: Widths
    width: tuple[Widths, ...]
    near: tuple[Widths | None, ...]
    far: tuple[Widths | None, ...]
    at: tuple[float, ...]
    close: tuple[float, float]


def share_out(
    seaming: Seaming, body: Body, side: BodySide, ease: dict[str, float], gap: float, foam: float, where: str
) -> Half:
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
    at_bust = (*_front_at_bust(seaming, front["bust"], side), *_back_at_bust(seaming, back["bust"]))
    edges = (*_front_insets(seaming, front, side, at_bust[0]), *(_chain(back, s) for s in _back_shares(seaming)))
    # In the order of the edges from the centre front: panel 0's far one, panel 1's near one, and so on.
    far = (*edges[0::2], None)
    near = (None, *edges[1::2])
    width = tuple(
        {level: full - sum(inset[level] for inset in (n, f) if inset is not None) for level in girth}
        for full, n, f in zip(at_bust, near, far, strict=True)
    )
    _refuse_narrow(seaming, width, where, gap)
    upper = (body.bust - body.upper_bust) / max(body.bust - body.underbust, 1.0) * UPPER_PART
    upper = min(max(upper, UPPER_BOUNDS[0]), UPPER_BOUNDS[1])
    return Half(front, back, width, near, far, _standing(seaming, at_bust), _closing(seaming, near, far, upper))


def _front_widths(body: Body, side: BodySide, ease: dict[str, float], foam: float) -> Widths:
    """Width of one front half, from the centre front to the side seam, at each level."""
    waist = side.front_waist + ease["waist"] / 4.0
    belly = BELLY_CARRIED * (side.front_waist - body.waist / 4.0)
    return {
        "bust": side.front_bust + ease["bust"] / 4.0 + foam / 2.0,
        "underbust": body.underbust / 4.0 + ease["underbust"] / 4.0,
        "waist": waist,
        "high_hip": body.high_hip / 4.0 + ease["high_hip"] / 4.0 + belly,
    }


def _front_at_bust(seaming: Seaming, front: float, side: BodySide) -> Iterator[float]:
    """Full width of each front panel at the bust."""
    before = 0.0
    for seam in seaming.seams[: seaming.side]:
        place = side.bust_point if seam.at is None else seam.at * front
        yield place - before
        before = place
    yield front - before


def _back_at_bust(seaming: Seaming, back: float) -> Iterator[float]:
    """Full width of each back panel at the bust; the back's seams are placed from the side."""
    before = 0.0
    for seam in seaming.seams[seaming.side + 1 :]:
        assert seam.at is not None
        yield (seam.at - before) * back
        before = seam.at
    yield (1.0 - before) * back


def _standing(seaming: Seaming, at_bust: Sequence[float]) -> tuple[float, ...]:
    """Where each panel's near edge stands at the bust: from the centre front, or from the centre back."""
    first_back = seaming.side + 1
    front = (sum(at_bust[:k]) for k in range(first_back))
    back = (sum(at_bust[k:]) for k in range(first_back, len(at_bust)))
    return (*front, *back)


def _chain(width: Widths, shares: Shares) -> Widths:
    """Insets of an edge that takes its share of each loss, level by level from the bust down."""
    underbust = shares.underbust * (width["bust"] - width["underbust"])
    waist = underbust + shares.waist * (width["underbust"] - width["waist"])
    high_hip = waist + shares.high_hip * (width["waist"] - width["high_hip"])
    return {"bust": 0.0, "underbust": underbust, "waist": waist, "high_hip": high_hip}


def _front_shares(seaming: Seaming) -> list[Shares]:
    """The front's edges from the centre front out; the side's is the last."""
    *inner, side = seaming.seams[: seaming.side + 1]
    return [*(shares for s in inner for shares in (s.near, s.far)), side.near]


def _back_shares(seaming: Seaming) -> list[Shares]:
    side, *inner = seaming.seams[seaming.side :]
    return [side.far, *(shares for s in inner for shares in (s.near, s.far))]


def _front_insets(seaming: Seaming, front: Widths, side: BodySide, first: float) -> list[Widths]:
    """The front's edges from the centre front out: each its share, within what its curve can take.

    `first` is the width of the centre front's panel at the bust: its one edge takes no more than the panel can spare.
    What an edge could not take at the underbust goes to the next one, and at last to the side.
    """
    shares = _front_shares(seaming)
    # 0.97: the cap keeps a little off the limit at which the edge itself would refuse.
    cap = 0.97 * STEEPEST_SHARE * side.bust_to_underbust
    spare = first - NARROWEST
    own = [_chain(front, share) for share in shares]
    out: list[Widths] = []
    for k, edge in enumerate(own[:-1]):
        # What is left of the loss once those before have had theirs and those behind are kept theirs.
        due = edge["underbust"]
        if k:
            due = _left(front["bust"] - front["underbust"], (*out, *own[k + 1 :]), "underbust")
        taken = min(due, cap) if k else min(due, cap, spare)
        shift = taken - edge["underbust"]
        moved = {level: edge[level] + (0.0 if level == "bust" else shift) for level in edge}
        if k == 0:
            moved |= {level: min(moved[level], spare) for level in ("waist", "high_hip")}
        out.append(moved)
    return [*out, {level: _left(front["bust"] - front[level], out, level) for level in front}]


def _left(loss: float, taken: Sequence[Widths], level: str) -> float:
    """What is left of a loss at a level once these edges have had theirs."""
    for inset in taken:
        loss -= inset[level]
    return loss


def _closing(
    seaming: Seaming, near: Sequence[Widths | None], far: Sequence[Widths | None], upper: float
) -> tuple[float, float]:
    if seaming.cup is None:
        return 0.0, 0.0
    edges = far[seaming.cup], near[seaming.cup + 1]
    a, b = (upper * max(inset["underbust"], 0.0) if inset is not None else 0.0 for inset in edges)
    return a, b


def _refuse_narrow(seaming: Seaming, width: Sequence[Widths], where: str, gap: float) -> None:
    for k, levels in enumerate(width):
        level = min(levels, key=lambda name: levels[name])
        if levels[level] >= NARROWEST:
            continue
        panel = seaming.panels[k]
        if panel.part == "back":
            names: tuple[str, ...] = ("bust", "front_bust_arc", "front_waist_arc")
            names += ("style.lacing_gap",) if gap else ()
        else:
            names = ("bust_span", "front_bust_arc") if seaming.cup is not None else ("bust", "front_bust_arc")
            names += ("waist",) if k else ()
        raise DraftError(
            names,
            "narrow_panel",
            panel=panel.name,
            side=where,
            width=Length(levels[level], "cm"),
            level=level_told(level),
            least=Length(NARROWEST, "cm"),
        )
