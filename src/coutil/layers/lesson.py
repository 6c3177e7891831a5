"""The lesson's last part: the pads traced from the panels, the notches, and the allowances.

The shapes are those that `coutil.layers` made; the steps read them and say how to draw them with compass, ruler and
curve.
"""

from __future__ import annotations

import math

from coutil.draft import Step
from coutil.draft.board import Board
from coutil.order import Build
from coutil.pattern import Edge, Pad, Panel, Pattern
from coutil.pattern.seams import NOTCH_FROM_BUST_POINT, SEWN_END
from coutil.plane import Curve

# Roles in the order in which allowances are told, and what they are called.
_ROLES = {
    "centre_front": "centre front",
    "front_princess": "front princess seam",
    "side": "side seam",
    "back_princess": "back princess seam",
    "centre_back": "centre back",
    "top": "top",
    "hem": "hem",
}


def layer_steps(pattern: Pattern, build: Build) -> tuple[Step, ...]:
    """Steps for every pad of a pattern that `layer_up` has layered, then the notches and the allowances."""
    steps: list[Step] = []
    for pad in pattern.pads:
        seam = pattern.cup_seam(pad.side)
        cup = next(e for ref, e in zip((seam.a, seam.b), pattern.edges_of(seam), strict=True) if ref.panel == pad.panel)
        number = 1 if pad.panel == seam.a.panel else 2
        steps += _pad(pattern.panel(pad.panel, pad.side), pad, build, number, cup)
    return (*steps, *_notches(pattern), *_allowances(pattern, build))


def _pad(panel: Panel, pad: Pad, build: Build, number: int, cup: Edge) -> list[Step]:
    """The pad of one front panel: its start, its rims, and what the seam catches of it; `cup` is the panel's edge."""
    b = Board(panel.name, panel.side, panel.face_up)
    b.group(f"{panel.name.capitalize()}: the pad")
    # A board turns over what belongs to the right; so the shapes are given to it as those of a left half.
    princess, top = (_left(panel, e).upward() for e in (_of(pad, cup.role), _of(pad, "pad_top")))
    start, u = princess.end, princess.start
    b.note(
        "measure along",
        f"Along the princess seam, measure {{top_drop}} down from {_end(cup, number)}. Mark P{number}: the "
        "pad starts there.",
        "Lower than the top, so that no foam is caught in the top seam.",
        figures={"top_drop": build.pad.top_drop},
        points={f"P{number}": start},
    )
    b.note(
        "trace",
        f"Trace the princess seam from U{number} up to P{number}. It measures {{length}}.",
        "The pad ends at the underbust.",
        figures={"length": princess.length},
        points={f"U{number}": u},
        curves=(princess,),
    )
    lower = _left(panel, _of(pad, "pad_lower")).curve
    lower = lower if math.dist(lower.end, u) < math.dist(lower.start, u) else lower.reversed()
    top = top if math.dist(top.start, start) < math.dist(top.end, start) else top.reversed()
    if number == 1:
        _centre_front(b, cup, lower, top)
    else:
        _side_front(b, build, lower, top)
    b.note(
        "allow",
        f"Add {{catch}} along the princess seam from U{number} to P{number}, and nothing elsewhere.",
        "The seam catches just so much of the foam; more would make it thick. Cut the adhesive web to the same shape.",
        figures={"catch": build.pad.catch},
    )
    return b.steps


def _centre_front(b: Board, edge: Edge, lower: Curve, top: Curve) -> None:
    radius = edge.marks["bust_point"] - edge.marks["underbust"]
    b.note(
        "swing",
        "Open the compass to {radius}, set its point on B1 and swing an arc from near U1 towards the centre front, "
        "until it meets the top edge or the centre front. Mark M. Ease the last stretch of it into U1.",
        "The root of the breast lies as far from the bust point all round as it does below. U1 itself lies a little "
        "nearer, since the seam is curved.",
        figures={"radius": radius},
        points={"M": lower.start},
        curves=(lower,),
    )
    if math.dist(top.end, lower.start) < 0.1:
        b.draw("P1", "M", top, "the pad's upper rim", "It follows the neckline and comes up to meet it at M.")
        return
    b.note(
        "mark off",
        "Mark N on the centre front, as far below the neckline as P1 is below its end of the seam. Rule M to N.",
        "The pad meets the centre front.",
        points={"N": top.end},
    )
    b.draw("P1", "N", top, "the pad's upper rim", "It follows the neckline.")


def _side_front(b: Board, build: Build, lower: Curve, top: Curve) -> None:
    b.note(
        "mark off",
        "Mark Q where it is {side_inset} in from the side seam and {side_dip} below the top, both measured squarely.",
        "The pad keeps clear of the side seam and of the top.",
        figures={"side_inset": build.pad.side_inset, "side_dip": build.pad.side_dip},
        points={"Q": top.end},
    )
    b.draw("P2", "Q", top, "the pad's upper rim", "It follows the top.")
    b.draw("Q", "U2", lower, "the pad's lower rim", "It runs on from the centre front's pad across the seam.")


def _notches(pattern: Pattern) -> list[Step]:
    b = Board("", "both", 1.0)
    b.group("Notches")
    if pattern.cup_seams:
        b.note(
            "notch",
            "Notch the front princess edges of both panels at the underbust, at the bust point, and {inch} to either "
            "side.",
            "Curves of different shape are sewn notch to notch.",
            figures={"inch": NOTCH_FROM_BUST_POINT},
        )
        outer = pattern.edge_of(pattern.cup_seam("left").b)
        if outer.curve.length - outer.marks.get(SEWN_END, outer.curve.length) > 0.5:
            b.note("notch", "On the side front notch also where the centre front ends.", "What lies above is not sewn.")
    b.note(
        "notch",
        "Notch the side seams once at the waist, the back princess seams twice, and both once at the underbust.",
        "Two nicks tell the back.",
    )
    return b.steps


def _allowances(pattern: Pattern, build: Build) -> list[Step]:
    b = Board("", "both", 1.0)
    b.group("Allowances")
    roles = {e.role for p in pattern.panels for e in p.edges if e.role != p.fold}
    by_amount: dict[float, list[str]] = {}
    for role, name in _ROLES.items():
        if role in roles:
            by_amount.setdefault(build.allowance_for(role), []).append(name)
    for amount, names in by_amount.items():
        b.note(
            "allow",
            f"Add {{allowance}} outside the net line at: {', '.join(names)}.",
            "Set the ruler square to the line at many points and join them: a parallel, not a copy moved over.",
            figures={"allowance": amount},
        )
    b.note(
        "shape",
        "At the ends of seams fold the allowance back along the net line and cut it to the top or hem as it lies.",
        "So it lies flush once the seam is pressed open.",
    )
    return b.steps


def _of(pad: Pad, name: str) -> Edge:
    return next(e for e in pad.edges if e.name == name)


def _left(panel: Panel, edge: Edge) -> Edge:
    """The edge as it would lie on a left half."""
    if panel.side != "right":
        return edge
    return Edge(edge.name, edge.role, edge.curve.mirrored(), edge.rising, edge.marks)


def _end(edge: Edge, number: int) -> str:
    """Where the centre front's princess edge ends, as the lesson calls it on this panel."""
    peaked = edge.curve.length - edge.marks.get(SEWN_END, edge.curve.length) > 0.5
    return "where the centre front's edge ends on it" if number == 2 and peaked else f"T{number}"
