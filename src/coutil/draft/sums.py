"""The sums before the drawing: how the girths are shared, told step by step with this client's figures."""

from __future__ import annotations

from coutil.body import Body, BodySide
from coutil.draft.board import Board
from coutil.draft.sharing import Half
from coutil.draft.style import SettledStyle
from coutil.pattern.model import Side

_EDGE = {"front_princess": "princess edge", "back_princess": "princess edge", "side": "side edge"}
_LOSSES = (("bust", "underbust"), ("underbust", "waist"), ("waist", "high_hip"))


def reckon(half: Half, body: Body, measures: BodySide, style: SettledStyle, foam: float, side: Side) -> Board:
    """Note the sums of one half on a board of their own; they make no points and draw no lines."""
    b = Board("", side, +1.0)
    b.group("The sums")
    front = {v: half.width["centre front"][v] + half.width["side front"][v] for v in half.width["centre front"]}
    back = {v: half.width["side back"][v] + half.width["centre back"][v] for v in half.width["side back"]}
    figures = {"front": front["bust"], "arc": measures.front_bust, "ease": style.ease["bust"] / 4.0}
    more = ""
    if foam:
        figures["foam"] = foam / 2.0
        more = " and {foam} for the foam"
    b.note(
        "reckon",
        f"Half the front at the bust: {{arc}} of the body, with {{ease}} of ease{more}, makes {{front}}.",
        "From the centre front to the side seam.",
        figures=figures,
    )
    belly = abs(measures.front_waist - body.waist / 4.0) > 0.5
    fuller = "A quarter of the girth and of its ease, and what this front is fuller at the waist than a quarter."
    for level in ("underbust", "waist", "high_hip"):
        b.note(
            "reckon",
            f"Half the front at the {_word(level)}: {{front}}.",
            "A quarter of the girth and of its ease." if level == "underbust" or not belly else fuller,
            figures={"front": front[level]},
        )
    if style.gap:
        b.note(
            "reckon",
            "The lacing leaves {gap} open at the centre back, half of it on each side. The cloth is that much less.",
            "Edges that meet cannot be laced tighter.",
            figures={"gap": style.gap},
        )
    for level in ("bust", "underbust", "waist", "high_hip"):
        b.note(
            "reckon",
            f"Half the back at the {_word(level)}: {{back}}.",
            "Half of what is left of girth, ease and gap once both fronts are taken off.",
            figures={"back": back[level]},
        )
    _share(b, half, "front", front, ("centre front/front_princess", "side front/front_princess", "side front/side"))
    _share(b, half, "back", back, ("side back/side", "side back/back_princess", "centre back/back_princess"))
    b.note(
        "reckon",
        "Above the bust point the seam closes in again: by {centre} on the centre front and by {side} on the side "
        "front, reached {reach} above the bust point.",
        "Upper shaping, so that the top does not gape: about a third of what the seam takes in below.",
        figures={"centre": half.close_centre, "side": half.close_side, "reach": measures.bust_to_underbust},
    )
    return b


def _share(b: Board, half: Half, part: str, width: dict[str, float], edges: tuple[str, ...]) -> None:
    """How what one level loses, or gains, against the level above is shared among the edges of the front or back."""
    names = [f"{panel}'s {_EDGE[edge]}" for panel, edge in (e.split("/") for e in edges)]
    for upper, lower in _LOSSES:
        change = width[upper] - width[lower]
        moved = [half.insets[e][lower] - half.insets[e][upper] for e in edges]
        verb = "loses" if change >= 0.0 else "gains"
        parts = ", ".join(
            f"the {n} {{e{k}}}{_against(m, change)}" for k, (n, m) in enumerate(zip(names, moved, strict=True))
        )
        b.note(
            "share",
            f"From the {_word(upper)} to the {_word(lower)} half the {part} {verb} {{change}}: {parts}.",
            "Shares that keep every seam a calm line and follow the body where it goes in and out.",
            figures={"change": abs(change), **{f"e{k}": abs(m) for k, m in enumerate(moved)}},
        )


def _against(moved: float, change: float) -> str:
    """A word for an edge that moves the other way than the whole."""
    return " the other way" if moved * change < 0.0 and abs(moved) > 0.05 else ""


def _word(level: str) -> str:
    return level.replace("_", " ")
