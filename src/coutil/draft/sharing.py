"""How the widths of the body's levels are shared among the panels of a half, whatever its seaming.

At the bust each panel has its full width; at every lower level its edges stand in from there by a share of what the
front, or the back, has lost. From the underbust down, each edge moves by its share of what the *next* level loses,
counted from where it stands: so no edge turns back on itself between two levels, and a waist taken again changes
nothing above it. Which share an edge has says the seaming.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from coutil.body import Body, BodySide
from coutil.draft.refusal import DraftError, level_told
from coutil.draft.rise import STEEPEST_SHARE
from coutil.draft.style import SettledStyle, ribs
from coutil.seaming import CENTRE_FRONT, Seaming, Shares
from coutil.words import Length

# A panel narrower than this cannot hold two 1/2 in allowances and lie flat, in mm. Common practice, no source.
NARROWEST = 22.0
# A panel that is laced at the centre front has to hold a channel, the eyelets and another channel (31 mm with usual
# parts), and beside them its seam's own channel or a pad: as far as it is so wide at the bust, it stays so wide below,
# in mm. Common practice, no source.
LACED = 46.0
# A panel gives to a narrower one only while it stays this many times as wide as the narrowest. Found by trial.
SPARES = 1.5
# Upper shaping: above the bust point the cup seam's edges close in at least by this part of
# (bust - upper bust) / (bust - underbust) of their own underbust reduction; with the upper bust left to its rule (4/9)
# that is one third. Common practice, no source.
UPPER_PART = 0.75
# The same share never leaves these bounds, whatever the upper bust says: below, the top gapes; above, it cuts in.
UPPER_BOUNDS = (0.15, 0.60)
# Nor is it more than this part of the edge's length above the bust point. Found by trial.
STEEPEST_LEAST = 0.33
# At a half of `upper` the front is as wide above the breasts as the body there; at 1 so many times as much is taken in.
# Neckline and top fall away from the cup's end on both sides, so nothing draws it to the body but the turn of its seam:
# as wide as the body it still stands off by half. Found by trial with `coutil worn` (docs/method.md).
UPPER_ALL = 2.0
# No edge closes in by more than this part of its length above the bust point: its end, which leans by 1.3 times its
# chord, would lean past 45 degrees, and a top square to it would climb more than it goes round. sin(45 / 1.3 degrees).
STEEPEST_UPPER = 0.56
# Nor does it take more than this part of its panel's width at the bust: a deep neckline has to get up past the centre
# front in what is left. Found by trial.
MOST_OF_PANEL = 0.5

Widths = dict[str, float]


@dataclass(frozen=True, slots=True)
class Half:
    """One half of the garment, in mm by level: its front and its back, every panel, and how far its edges stand in.

    `levels` are those that it is drawn by, from the hem up. Tuples go by panel from the centre front. `near[k]` and
    `far[k]` are the insets of panel k's edges towards the centre front and the centre back, counted from where the edge
    stands at the highest level, positive towards the panel's middle; None where the edge is a straight centre. `at[k]`
    is where its near edge stands there: from the centre front on a front panel, from the centre back on a back panel.
    `close` is by seam what its two edges, the one towards the centre front first, close in by above the bust; `least`
    is what the cup seam's first one does whatever the style asks, `short` what they leave of what it asks to be taken
    in there, since an edge's limits let it take no more.
    """

    levels: tuple[str, ...]
    front: Widths
    back: Widths
    width: tuple[Widths, ...]
    near: tuple[Widths | None, ...]
    far: tuple[Widths | None, ...]
    at: tuple[float, ...]
    close: tuple[tuple[float, float], ...]
    least: float
    short: float


def share_out(seaming: Seaming, body: Body, side: BodySide, style: SettledStyle, foam: float, where: str) -> Half:
    """Share the girths of one half. `foam` in mm counts for the whole front.

    `where` names the side in refusals ("" for an even body). Raises DraftError naming the measurements in conflict.
    """
    levels = seaming.levels(hip=style.hip > 0.0)
    front = _front_widths(levels, body, side, style, foam)
    both = tuple(_front_widths(levels, body, s, style, foam) for s in (body.left, body.right))
    back = {
        level: (
            _girth(body, level) + style.ease_at(level) + (foam if level == "bust" else 0.0) - style.open_back
            - both[0][level] - both[1][level]
        )
        / 2.0
        for level in levels
    }  # fmt: skip
    front = {level: width - style.open_front / 2.0 for level, width in front.items()}
    full = _full(seaming, front[seaming.highest], back[seaming.highest], side.bust_point - style.open_front / 2.0)
    edges = (
        *_front_insets(seaming, levels, front, body, side, style, full),
        *(_chain(levels, back, s) for s in seaming.back_shares()),
    )
    # In the order of the edges from the centre front: panel 0's far one, panel 1's near one, and so on.
    far = (*edges[0::2], None)
    near = (None, *edges[1::2])
    width = tuple(
        {level: whole - sum(inset[level] for inset in (n, f) if inset is not None) for level in levels}
        for whole, n, f in zip(full, near, far, strict=True)
    )
    near, width = _widened(levels, near, width, len(seaming.front))
    _refuse_narrow(seaming, width, where, style)
    close, least, short = _closing(seaming, body, side, style, near, far, width)
    return Half(levels, front, back, width, near, far, _standing(seaming, full), close, least, short)


def _widened(
    levels: Sequence[str], near: tuple[Widths | None, ...], width: tuple[Widths, ...], first: int
) -> tuple[tuple[Widths | None, ...], tuple[Widths, ...]]:
    """Near edges and widths with every back panel, from the `first` on, wide enough to be sewn, if the widest can spare
    what it lacks: that takes so much more at its own near edge."""
    insets, wide = [dict(n) if n is not None else None for n in near], [dict(w) for w in width]
    for level in levels[:-1]:
        donor = max(range(first, len(wide)), key=lambda k: wide[k][level])
        for k in range(first, len(wide)):
            lacks = NARROWEST - wide[k][level]
            own, other = insets[k], insets[donor]
            if lacks <= 0.0 or own is None or other is None or wide[donor][level] - lacks < SPARES * NARROWEST:
                continue
            own[level] -= lacks
            wide[k][level] += lacks
            other[level] += lacks
            wide[donor][level] -= lacks
    return tuple(insets), tuple(wide)


def _girth(body: Body, level: str) -> float:
    return float(getattr(body, level))


def _front_widths(levels: Sequence[str], body: Body, side: BodySide, style: SettledStyle, foam: float) -> Widths:
    """Width of one front half as worn, from the centre front to the side line, at each level."""
    # A front waist that is more than half the waist (or less) stays so on the way down: the side line then falls
    # straight, and the side seam flares alike on both sides.
    belly = side.front_waist - body.waist / 4.0
    full = {
        "bust": side.front_bust + foam / 2.0,
        "underbust": body.underbust / 4.0,
        "waist": side.front_waist,
        "high_hip": body.high_hip / 4.0 + belly,
        "hip": body.hip / 4.0 + belly,
    }
    return {level: full[level] + style.ease_at(level) / 4.0 for level in levels}


def _full(seaming: Seaming, front: float, back: float, bust_point: float) -> tuple[float, ...]:
    """Full width of each panel at the highest level, from the centre front.

    The front's seams are placed from the centre front, the back's from the side line. `bust_point` is its distance from
    the edge at the centre front.
    """
    places = [bust_point if s.at is None else s.at * front for s in seaming.seams[: seaming.in_front]]
    fronts = [b - a for a, b in pairwise((0.0, *places, front))]
    parts = (0.0, *(s.at or 0.0 for s in seaming.seams[seaming.behind :]), 1.0)
    backs = [(b - a) * back for a, b in pairwise(parts)]
    if seaming.under_arm is None:
        return (*fronts, *backs)
    return (*fronts[:-1], fronts[-1] + backs[0], *backs[1:])


def _standing(seaming: Seaming, full: Sequence[float]) -> tuple[float, ...]:
    """Where each panel's near edge stands at the highest level: from the centre front, or from the centre back."""
    first_back = len(seaming.front)
    front = (sum(full[:k]) for k in range(first_back))
    back = (sum(full[k:]) for k in range(first_back, len(full)))
    return (*front, *back)


def _chain(levels: Sequence[str], width: Widths, shares: Shares) -> Widths:
    """Insets of an edge that takes its share of each loss, level by level from the highest down."""
    out = {levels[-1]: 0.0}
    for lower, upper in pairwise_down(levels):
        out[lower] = out[upper] + shares.of(lower) * (width[upper] - width[lower])
    return out


def pairwise_down(levels: Sequence[str]) -> Iterator[tuple[str, str]]:
    """Neighbouring levels (lower, upper), from the highest down."""
    return ((levels[k - 1], levels[k]) for k in range(len(levels) - 1, 0, -1))


def _front_insets(
    seaming: Seaming,
    levels: Sequence[str],
    front: Widths,
    body: Body,
    side: BodySide,
    style: SettledStyle,
    full: Sequence[float],
) -> list[Widths]:
    """The front's edges from the centre front out: each its share, within what its curve can take.

    `full` are the panels' widths at the highest level: no edge takes more than its panel can spare. What an edge could
    not take on the first way down goes to the next one, and at last to the one at the side.
    """
    highest, below = levels[-1], levels[-2]
    shares = seaming.front_shares()
    # 0.97: the cap keeps a little off the limit at which the edge itself would refuse.
    cap = 0.97 * STEEPEST_SHARE * (side.bust_to_underbust if seaming.bust else ribs(body))
    own = [_chain(levels, front, share) for share in shares]
    out: list[Widths] = []
    for k, edge in enumerate(own[:-1]):
        # What its panel can spare beside its other edge; the centre front's has but this one.
        other: Widths = {} if k == 0 else (out[k - 1] if k % 2 == 0 else own[k + 1])
        least = _least(style, full[0]) if k == 0 else NARROWEST
        spare = {level: full[(k + 1) // 2] - least - max(other.get(level, 0.0), 0.0) for level in levels}
        # What is left of the loss once those before have had theirs and those behind are kept theirs.
        due = edge[below]
        if k:
            due = _left(front[highest] - front[below], (*out, *own[k + 1 :]), below)
        shift = min(due, cap, spare[below]) - edge[below]
        moved = {level: edge[level] + (0.0 if level == highest else shift) for level in edge}
        out.append(moved | {level: min(moved[level], spare[level]) for level in levels[:-2]})
    return [*out, {level: _left(front[highest] - front[level], out, level) for level in front}]


def _left(loss: float, taken: Sequence[Widths], level: str) -> float:
    """What is left of a loss at a level once these edges have had theirs."""
    for inset in taken:
        loss -= inset[level]
    return loss


def _closing(
    seaming: Seaming,
    body: Body,
    side: BodySide,
    style: SettledStyle,
    near: Sequence[Widths | None],
    far: Sequence[Widths | None],
    width: Sequence[Widths],
) -> tuple[tuple[tuple[float, float], ...], float, float]:
    """By how much both edges of each seam close in above the bust, reached as far above it as the underbust is below;
    what the cup seam's first one does in any case; and what is left of the wish, in mm.

    The cup seam closes in by a third or so of what it takes in below. The cloth of the front would then still be wider
    than the body above the breast. Of UPPER_ALL times that `style.upper` is taken in at the edges of the cup seam, by
    which the top stands off, or without one at all the front's seams: by each edge in proportion to what it takes in
    below. What an edge cannot take within its limits goes to the other one of its seam.
    """
    none = tuple((0.0, 0.0) for _ in seaming.seams)
    if not seaming.bust:
        return none, 0.0, 0.0
    part = (body.bust - body.upper_bust) / max(body.bust - body.underbust, 1.0) * UPPER_PART
    part = min(max(part, UPPER_BOUNDS[0]), UPPER_BOUNDS[1])
    least = [0.0] * (2 * seaming.in_front)
    weight = [s.underbust for s in seaming.front_shares()[: len(least)]]
    if seaming.cup is not None:
        weight = [w if n // 2 == seaming.cup else 0.0 for n, w in enumerate(weight)]
        for n, inset in ((2 * seaming.cup, far[seaming.cup]), (2 * seaming.cup + 1, near[seaming.cup + 1])):
            assert inset is not None
            held = min(STEEPEST_LEAST * side.bust_to_underbust, _room(style, width, n))
            least[n] = min(part * max(inset["underbust"], 0.0), held)
    over = (body.front_bust_arc - body.front_upper_arc) / 2.0 * side.front_bust / (body.front_bust_arc / 2.0)
    rest = style.upper * UPPER_ALL * max(over - sum(least), 0.0) / max(sum(weight), 1e-9)
    steepest = STEEPEST_UPPER * side.bust_to_underbust
    most = [
        max(a, min(steepest, _room(style, width, n), MOST_OF_PANEL * width[(n + 1) // 2]["bust"]))
        for n, a in enumerate(least)
    ]
    wish = [a + rest * w for a, w in zip(least, weight, strict=True)]
    lacks = [max(a - m, 0.0) for a, m in zip(wish, most, strict=True)]
    out = [min(a + lacks[n ^ 1], m) for n, (a, m) in enumerate(zip(wish, most, strict=True))]
    close = tuple(zip(out[0::2], out[1::2], strict=True)) + none[seaming.in_front :]
    return close, 0.0 if seaming.cup is None else least[2 * seaming.cup], sum(wish) - sum(out)


def _least(style: SettledStyle, bust: float) -> float:
    """How wide the panel at the centre front has to be, in mm, if it is `bust` wide at the highest level."""
    laced = any(o.at == CENTRE_FRONT and o.closed_with == "lacing" for o in style.openings)
    return max(min(LACED, bust), NARROWEST) if laced else NARROWEST


def _room(style: SettledStyle, width: Sequence[Widths], edge: int) -> float:
    """How much the front's n-th edge from the centre front may close in so that its panel stays wide enough.

    The centre front's panel has one such edge, every other two: one alone takes no more either, since a top that is
    left narrow beside a leaning edge would have to bend too sharply.
    """
    panel = (edge + 1) // 2
    bust = width[panel]["bust"]
    return (bust - NARROWEST) / 2.0 if panel else bust - _least(style, bust)


def _refuse_narrow(seaming: Seaming, width: Sequence[Widths], where: str, style: SettledStyle) -> None:
    for k, levels in enumerate(width):
        level = min(levels, key=lambda name: levels[name])
        if levels[level] >= NARROWEST:
            continue
        panel = seaming.panels[k]
        if panel.part == "back":
            arcs = ("front_bust_arc",) if seaming.bust else ()
            names: tuple[str, ...] = (seaming.highest, *arcs, "front_waist_arc")
            names += ("style.lacing_gap",) if style.open_back else ()
        else:
            first = "bust_span" if seaming.cup is not None else seaming.highest
            names = (first, "front_bust_arc") if seaming.bust else (first, "front_waist_arc")
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
