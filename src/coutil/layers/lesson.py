"""The lesson's last part: the pads traced from the panels, the notches, and the allowances.

The shapes are those that `coutil.layers` made; the steps read them and say how to draw them with compass, ruler and
curve.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from coutil.draft import Step
from coutil.draft.board import Board
from coutil.layers.half import inset_from
from coutil.order import Build
from coutil.pattern import Edge, Pad, Panel, Pattern, Seam
from coutil.pattern.seams import NOTCH_FROM_BUST_POINT, sewn_length
from coutil.plane import Curve
from coutil.seaming import PRINCESS_4, Seaming, edge_kind
from coutil.seaming.roles import HEM, TOP
from coutil.words import say


def layer_steps(pattern: Pattern, build: Build, seaming: Seaming = PRINCESS_4) -> tuple[Step, ...]:
    """Steps for every pad of a pattern that `layer_up` has layered, then the notches and the allowances."""
    steps: list[Step] = []
    for seam in pattern.cup_seams:
        pair = [
            (p, ref) for ref in (seam.a, seam.b) for p in pattern.pads if (p.panel, p.side) == (ref.panel, ref.side)
        ]
        for inner, (pad, ref) in zip((True, False), pair, strict=False):
            near, far = seaming.numbers(seaming.number(ref.panel))
            cup = _Cup(pattern, seam, pad, build, far if inner else near, inner)
            steps += cup.steps()
    return (*steps, *_notches(pattern), *_allowances(pattern, build, seaming))


@dataclass(frozen=True, slots=True)
class _Cup:
    """One pad of a cup seam: the one nearer to the centre front (`inner`) or the other; `number` its points'."""

    pattern: Pattern
    seam: Seam
    pad: Pad
    build: Build
    number: int
    inner: bool

    def steps(self) -> list[Step]:
        """The pad: its start, its rims, and what the seam catches of it."""
        n, pad, build = self.number, self.pad, self.build
        panel = self.pattern.panel(pad.panel, pad.side)
        b = Board(panel.name, panel.side, panel.face_up)
        b.group(say("draft.group.pad", panel=panel.name.capitalize()))
        # A board turns over what belongs to the right; so the shapes are given to it as those of a left half.
        princess, top = (_left(panel, e).upward() for e in (pad.sewn, _of(pad, "pad_top")))
        start, u = princess.end, princess.start
        b.note(
            "measure along",
            say("draft.pad.start", end=self._end(panel), number=n),
            say("draft.why.pad_start"),
            figures={"top_drop": build.pad.top_drop},
            points={f"P{n}": start},
        )
        b.note(
            "trace",
            say("draft.pad.trace", number=n),
            say("draft.why.pad_trace"),
            figures={"length": princess.length},
            points={f"U{n}": u},
            curves=(princess,),
        )
        lower = _left(panel, _of(pad, "pad_lower")).curve
        lower = lower if math.dist(lower.end, u) < math.dist(lower.start, u) else lower.reversed()
        top = top if math.dist(top.start, start) < math.dist(top.end, start) else top.reversed()
        if self.inner:
            self._towards_the_centre(b, panel, lower, top)
        else:
            self._towards_the_side(b, panel, lower, top)
        b.note(
            "allow", say("draft.pad.allow", number=n), say("draft.why.pad_allow"), figures={"catch": build.pad.catch}
        )
        return b.steps

    def _towards_the_centre(self, b: Board, panel: Panel, lower: Curve, top: Curve) -> None:
        n, edge, pad = self.number, self.pattern.edge_of(self.seam.a), self.build.pad
        radius = edge.marks["bust_point"] - edge.marks["underbust"]
        b.note(
            "swing",
            say("draft.pad.swing", number=n),
            say("draft.why.pad_swing", number=n),
            figures={"radius": radius, "front_dip": pad.front_dip, "aside": pad.apart / 2.0},
            points={"M": lower.start},
            curves=(lower,),
        )
        upper = say("draft.line.pad_upper")
        if math.dist(top.end, lower.start) < 0.1:
            b.draw(f"P{n}", "M", top, upper, say("draft.why.pad_upper_to_m"))
            return
        b.note(
            "mark off",
            say("draft.pad.mark_n"),
            say("draft.why.pad_mark_n"),
            figures={"front_dip": pad.front_dip, "aside": pad.apart / 2.0},
            points={"N": top.end},
        )
        b.draw(f"P{n}", "N", top, upper, say("draft.why.pad_upper"))

    def _towards_the_side(self, b: Board, panel: Panel, lower: Curve, top: Curve) -> None:
        n, pad = self.number, self.build.pad
        far = next(e for e in panel.edges if e.kind in ("seam", "centre") and e.name != self.pad.sewn.name)
        b.note(
            "mark off",
            say("draft.pad.mark_q", seam=say("draft.list.seam", seam=far.role.replace("_", " "))),
            say("draft.why.pad_mark_q"),
            figures={"side_inset": inset_from(far, pad.side_inset), "side_dip": pad.side_dip},
            points={"Q": top.end},
        )
        b.draw(f"P{n}", "Q", top, say("draft.line.pad_upper"), say("draft.why.pad_upper_outer"))
        b.draw("Q", f"U{n}", lower, say("draft.line.pad_lower"), say("draft.why.pad_lower", inner=self.seam.a.panel))

    def _end(self, panel: Panel) -> str:
        """Where the inner edge of the cup seam ends, as the lesson calls it on this panel."""
        edge = self.pattern.edge_of(self.seam.a if self.inner else self.seam.b)
        peaked = edge.curve.length - sewn_length(edge) > 0.5
        if not self.inner and peaked:
            return say("draft.pad.end_peaked", inner=self.seam.a.panel)
        return f"T{self.number}"


def _notches(pattern: Pattern) -> list[Step]:
    b = Board("", "both", 1.0)
    b.group(say("draft.group.notches"))
    for seam in pattern.cup_seams[:1]:
        b.note(
            "notch",
            say("draft.notch.cup", seam=seam.name),
            say("draft.why.notch_cup"),
            figures={"inch": NOTCH_FROM_BUST_POINT},
        )
        outer = pattern.edge_of(seam.b)
        if outer.curve.length - sewn_length(outer) > 0.5:
            b.note(
                "notch",
                say("draft.notch.peak", outer=seam.b.panel, inner=seam.a.panel),
                say("draft.why.notch_peak"),
            )
    plain = [s for s in pattern.seams if not s.cup and not s.on_itself and s.side in ("both", "left")]
    once = [s.name for s in plain if not _tells_the_back(pattern, s)]
    twice = [s.name for s in plain if _tells_the_back(pattern, s)]
    both = "both" if len(once) == len(twice) == 1 else "all"
    key = "draft.notch.plain" if once and twice else "draft.notch.once"
    if once:
        b.note(
            "notch",
            say(key, once=_listed(once), twice=_listed(twice), both=both),
            say("draft.why.notch_plain" if twice else "draft.why.notch_cup"),
        )
    return b.steps


def _tells_the_back(pattern: Pattern, seam: Seam) -> bool:
    """Whether both its panels lie in the back: then it is notched twice at the waist."""
    return all(p.part == "back" for p in pattern.panels_of(seam))


def _listed(names: list[str]) -> str:
    return say("draft.list.and", first=", ".join(names[:-1]), last=names[-1]) if len(names) > 1 else "".join(names)


def _allowances(pattern: Pattern, build: Build, seaming: Seaming) -> list[Step]:
    b = Board("", "both", 1.0)
    b.group(say("draft.group.allowances"))
    there = {e.role for p in pattern.panels for e in p.edges if e.role != p.fold}
    upright = dict.fromkeys(role for k in range(len(seaming.panels)) for role in seaming.edges(k))
    by_amount: dict[float, list[str]] = {}
    for role in (*upright, TOP, HEM):
        if role in there:
            name = role.replace("_", " ")
            name = say("draft.list.seam", seam=name) if edge_kind(role) == "seam" else name
            by_amount.setdefault(build.allowance_for(role), []).append(name)
    for amount, names in by_amount.items():
        b.note(
            "allow",
            say("draft.allow.edges", names=", ".join(names)),
            say("draft.why.allow_edges"),
            figures={"allowance": amount},
        )
    b.note("shape", say("draft.allow.ends"), say("draft.why.allow_ends"))
    return b.steps


def _of(pad: Pad, name: str) -> Edge:
    return next(e for e in pad.edges if e.name == name)


def _left(panel: Panel, edge: Edge) -> Edge:
    """The edge as it would lie on a left half."""
    if panel.side != "right":
        return edge
    return Edge(edge.name, edge.role, edge.curve.mirrored(), edge.rising, edge.marks)
