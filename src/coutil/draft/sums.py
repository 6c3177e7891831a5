"""The sums before the drawing: how the girths are shared, told step by step with this client's figures."""

from __future__ import annotations

from itertools import pairwise

from coutil.body import Body, BodySide
from coutil.draft.board import Board
from coutil.draft.sharing import Half, Widths
from coutil.draft.style import SettledStyle
from coutil.pattern.model import Side
from coutil.seaming import Seaming, SeamingPanel
from coutil.words import say


def reckon(
    seaming: Seaming, half: Half, body: Body, measures: BodySide, style: SettledStyle, foam: float, side: Side
) -> Board:
    """Note the sums of one half on a board of their own; they make no points and draw no lines."""
    b = Board("", side, +1.0)
    b.group(say("draft.group.sums"))
    front, back = half.front, half.back
    if seaming.bust:
        figures = {"front": front["bust"], "arc": measures.front_bust, "ease": style.ease["bust"] / 4.0}
        if foam:
            figures["foam"] = foam / 2.0
        b.note(
            "reckon",
            say("draft.sums.front_bust_foam" if foam else "draft.sums.front_bust"),
            say("draft.why.front_bust"),
            figures=figures,
        )
    belly = abs(measures.front_waist - body.waist / 4.0) > 0.5
    down = tuple(reversed(half.levels))
    for level in (v for v in down if v != "bust"):
        b.note(
            "reckon",
            say("draft.sums.front", level=_word(level)),
            say("draft.why.quarter" if level == "underbust" or not belly else "draft.why.fuller"),
            figures={"front": front[level]},
        )
    for opening in style.openings:
        if opening.worn:
            b.note(
                "reckon",
                say(f"draft.sums.{opening.closed_with}_gap", at=say(f"draft.sums.at.{opening.at}")),
                say(f"draft.why.{opening.closed_with}_gap"),
                figures={"gap": opening.gap, **({"worn": opening.worn} if opening.drawn else {})},
            )
    for level in down:
        b.note(
            "reckon",
            say("draft.sums.back", level=_word(level)),
            say("draft.why.back"),
            figures={"back": back[level]},
        )
    for part, width in (("front", front), ("back", back)):
        _share(b, part, width, _edges(seaming, half, part))
    for k, (centre, other) in enumerate(half.close):
        if centre or other:
            near, far = (seaming.panels[n].name for n in (k, k + 1))
            b.note(
                "reckon",
                say("draft.sums.upper", near=near, far=far, seam=seaming.seams[k].spoken),
                say("draft.why.upper"),
                figures={"centre": centre, "side": other, "reach": measures.bust_to_underbust},
            )
    return b


def _edges(seaming: Seaming, half: Half, part: str) -> list[tuple[str, Widths]]:
    """The upright edges of the front or the back from the centre front on: what each is called, and its insets.

    A panel under the arm has one of either.
    """
    out = []
    for k, panel in enumerate(seaming.panels):
        for inset, seam, of in ((half.near[k], k - 1, panel.part), (half.far[k], k, _far_part(panel))):
            if of == part and inset is not None:
                out.append((say("draft.sums.edge", panel=panel.name, edge=seaming.seams[seam].edge_spoken), inset))
    return out


def _far_part(panel: SeamingPanel) -> str:
    return "back" if panel.under_arm else panel.part


def _share(b: Board, part: str, width: Widths, edges: list[tuple[str, Widths]]) -> None:
    """How what one level loses, or gains, against the level above is shared among the edges of the front or back."""
    for upper, lower in pairwise(tuple(reversed(tuple(width)))):
        change = width[upper] - width[lower]
        moved = [inset[lower] - inset[upper] for _, inset in edges]
        parts = ", ".join(
            say(f"draft.sums.share{_against(m, change)}", edge=name, part=f"{{e{k}}}")
            for k, ((name, _), m) in enumerate(zip(edges, moved, strict=True))
        )
        b.note(
            "share",
            say(
                f"draft.sums.{'loses' if change >= 0.0 else 'gains'}_{part}",
                upper=_word(upper),
                lower=_word(lower),
                parts=parts,
            ),
            say("draft.why.shares"),
            figures={"change": abs(change), **{f"e{k}": abs(m) for k, m in enumerate(moved)}},
        )


def _against(moved: float, change: float) -> str:
    """The ending of the text's key for an edge that moves the other way than the whole."""
    return "_against" if moved * change < 0.0 and abs(moved) > 0.05 else ""


def _word(level: str) -> str:
    return say(f"level.{level}")
