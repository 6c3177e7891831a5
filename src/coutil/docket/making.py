"""The sewing and pressing order of this build, with this order's figures in it.

How structured bodices with fused shells and foam cups are made up: common practice in the trade, no source. Stitches
bear their ISO 4915 numbers, seams their ISO 4916 numbers; both from memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

from coutil.docket.model import Bone, Docket
from coutil.order import Order
from coutil.pattern import Pattern, Seam
from coutil.pattern.seams import ONE_STATION, SAME_PLACE, SEWN_END, stations
from coutil.seaming.roles import CENTRE_BACK, HEM, TOP
from coutil.units import ABOUT, inches, millimetres
from coutil.units import full as said
from coutil.words import has, say

# Which drawing of the sheet helps with a step.
Sketch = Literal["pad", "princess", "bones", "closing"]

# From one clip to the next and from its end to the stitching, in mm (common practice, no source).
CLIP_APART: Final = 10.0
CLIP_SHORT: Final = 2.0
# Width to which the allowances of top and hem are graded, in mm: a quarter inch (common practice, no source).
GRADED: Final = 6.35
# Cloth lies still this long after fusing, in minutes (common practice, no source; the maker's sheet tells better).
COOL: Final = 10


@dataclass(frozen=True, slots=True)
class MakingStep:
    """One step of the card: a title, what to do sentence by sentence, and which sketch goes with it.

    `uses` names the stitch and seam by their standards, empty where nothing is sewn.
    """

    title: str
    says: tuple[str, ...]
    uses: str = ""
    sketch: Sketch | None = None


def making_up(order: Order, pattern: Pattern, docket: Docket) -> tuple[MakingStep, ...]:
    """The steps in order; those that this build does not have are left out."""
    return tuple(_Card(order, pattern, docket).steps())


class _Card:
    def __init__(self, order: Order, pattern: Pattern, docket: Docket) -> None:
        self.order, self.pattern, self.docket = order, pattern, docket
        self.layers = {p.layer for p in pattern.pieces}

    @property
    def seam(self) -> str:
        """The stitch of the order's seams, and the plain seam that is pressed open (two plies, sewn once)."""
        return f"{_stitch(self.order.notions.stitch)}, {say('card.standard.plain_seam')}"

    def steps(self) -> Iterator[MakingStep]:
        pads = self.order.build.pad.on if "foam" in self.layers else ()
        yield from self._fuse()
        if pads:
            yield self._pads(pads)
        yield from self._cup("shell", padded="shell" in pads)
        yield from self._others("shell")
        yield from self._casings()
        if "lining" in self.layers:
            yield from self._lining(padded="lining" in pads)
        closing = self.docket.fastening.kind
        if closing == "zip":
            yield self._zip()
        yield self._top()
        yield from self._bones()
        yield self._hem()
        if closing == "lacing":
            yield self._eyelets()
        elif closing == "hooks":
            yield self._hooks()
        yield _step("press_off", (say("card.press_off.press"), say("card.press_off.fit")))

    def _fuse(self) -> Iterator[MakingStep]:
        cut = say("card.fuse.no_blocks")
        if self.docket.fuse:
            blocks = sum(n.quantity for n in self.docket.fuse if n.layer in ("shell", "lining"))
            cut = say("card.fuse.one_block" if blocks == 1 else "card.fuse.blocks", count=blocks)
        # A pair is cut both ways in any case; what serves one side only is not.
        sided = any(p.layer == "lining" and p.side != "both" for p in self.pattern.pieces)
        turned = (say("card.steam.face_down"),) if sided else ()
        fused_too = "lining_interfacing" in self.layers
        if "interfacing" in self.layers:
            layers = say("card.fuse.shell_and_lining" if fused_too else "card.fuse.shell")
            yield _step(
                "fuse",
                (
                    say("card.fuse.test"),
                    say("card.fuse.shrinks", cut=cut, layers=layers),
                    say("card.fuse.press", minutes=COOL),
                    say("card.fuse.cut"),
                    *(turned if fused_too else ()),
                ),
            )
        if "lining" in self.layers and not fused_too:
            yield _step("steam", (say("card.steam.says"), *turned))

    def _pads(self, on: tuple[str, ...]) -> MakingStep:
        build = self.order.build
        room, catch = build.allowance_for(self.pattern.pads[0].sewn.role), build.pad.catch
        where = say("card.pads.where_and").join(on)
        return _step(
            "pads",
            (
                say("card.pads.web"),
                say("card.pads.line", where=where, line=said(room - catch), room=said(room), catch=said(catch)),
                say("card.pads.lay"),
                say("card.pads.fuse", catch=said(catch)),
            ),
            sketch="pad",
        )

    def _cup(self, layer: str, *, padded: bool) -> Iterator[MakingStep]:
        seams = self.pattern.cup_seams
        if not seams:
            return
        room = self.order.build.allowance_for(self.pattern.edge_of(seams[0].a).role)
        first, _ = self.pattern.edges_of(seams[0])
        known = "bust_point" in first.marks
        inner, outer = seams[0].a.panel, seams[0].b.panel
        meets = "; ".join(f"{self._side(s)}{self._meeting(s)}" for s in seams)
        peak = any(name == SEWN_END for s in seams for name, *_ in stations(self.pattern, s))
        notched = any(self._common(s) for s in seams)
        pin = ("pin_from_bust" if known else "pin") if notched else "pin_ends"
        says = (
            say(f"card.cup.{pin}", inner=inner, outer=outer, meets=meets),
            say(f"card.cup.ease_{'notches' if notched else 'pins'}", room=said(room), outer=outer),
            *((say("card.cup.stop", inner=inner, outer=outer),) if peak else ()),
        )
        yield MakingStep(say("card.cup.title", seam=seams[0].name, layer=layer), says, self.seam, "princess")
        yield self._pressed_cup(layer, known=known, padded=padded)

    def _pressed_cup(self, layer: str, *, known: bool, padded: bool) -> MakingStep:
        where = say("card.press_cup.from_bust" if known else "card.press_cup.where_curved")
        clip = say("card.press_cup.clip", apart=said(CLIP_APART), where=where, short=said(CLIP_SHORT))
        says = [
            say("card.press_cup.flat"),
            f"{clip} {say('card.press_cup.foam')}" if padded else clip,
            say("card.press_cup.open"),
        ]
        if padded:
            says.append(say("card.press_cup.mould") + self._depth())
        return MakingStep(say("card.press_cup.title", layer=layer), tuple(says))

    def _depth(self) -> str:
        deep = [(c.side, said(c.depth_mm).removeprefix(ABOUT)) for c in self.pattern.cups if c.depth_mm > 0.0]
        if not deep:
            return ""
        if len({d for _, d in deep}) == 1:
            return " " + say("card.press_cup.depth", depth=deep[0][1])
        return " " + say("card.press_cup.depths", depths=", ".join(f"{side} {d}" for side, d in deep))

    def _others(self, layer: str) -> Iterator[MakingStep]:
        seams = [s for s in self.pattern.seams if not s.cup]
        rows = []
        for s in seams:
            room = self.order.build.allowance_for(self.pattern.edges_of(s)[0].role)
            name = say("card.seams.name", side=self._side(s), seam=s.name).capitalize()
            rows.append(say("card.seams.seam", seam=name, room=said(room), meets=self._meeting(s)))
        if rows:
            title = "title_other" if len(seams) < len(self.pattern.seams) else "title"
            yield MakingStep(say(f"card.seams.{title}", layer=layer), (*rows, say("card.seams.clip")), self.seam)

    def _casings(self) -> Iterator[MakingStep]:
        if not self.docket.bones:
            return
        edge = [b for b in self.docket.bones if b.at_edge]
        seams = [b for b in self.docket.bones if not b.at_edge]
        says = []
        if seams:
            channels = "; ".join(
                say(
                    "card.casings.channel",
                    where=self._where(b.where, b.side),
                    length=said(b.channel),
                    says=b.says,
                )
                for b in seams
            )
            says.append(say("card.casings.seams", channels=channels))
        if edge:
            says.append(say("card.casings.back", channels="; ".join(_channels(b) for b in edge)))
        says.append(say("card.casings.in_all", length=said(self.docket.casing)))
        yield _step("casings", tuple(says), _stitch("301"), "bones")

    def _lining(self, *, padded: bool) -> Iterator[MakingStep]:
        sew = say("card.lining.sew_padded" if padded else "card.lining.sew")
        if "lining_interfacing" in self.layers:
            sew += " " + say("card.lining.fused")
        press = say("card.lining.press_padded" if padded else "card.lining.press")
        yield _step("lining", (sew, press), self.seam)

    def _top(self) -> MakingStep:
        room = said(self.order.build.allowance_for(TOP))
        if "lining" not in self.layers:
            says = (say("card.top.turn_in", room=room), say("card.top.press"))
            return MakingStep(say("card.top.title_unlined"), says, _stitch("301"))
        back = self.order.build.allowance_for(CENTRE_BACK)
        open_ends = self.docket.fastening.kind not in ("zip", "none")
        return _step(
            "top",
            (
                say("card.top.sew", room=room),
                *((say("card.top.ends", back=said(back)),) if open_ends else ()),
                say("card.top.grade", graded=said(GRADED)),
                say("card.top.turn"),
            ),
            f"{_stitch('301')}, {say('card.standard.plain_seam')}",
        )

    def _bones(self) -> Iterator[MakingStep]:
        if not self.docket.bones:
            return
        cut = "; ".join(
            say("card.bones.bone", count=b.quantity, length=said(b.length), where=self._where(b.where, b.side))
            for b in self.docket.bones
        )
        clear = self.docket.bones[0].clearance
        says = (say("card.bones.cut", bones=cut), say("card.bones.tip", clear=said(clear)), say("card.bones.close"))
        yield _step("bones", says, say("card.standard.by_hand"))

    def _hem(self) -> MakingStep:
        room = said(self.order.build.allowance_for(HEM))
        how = say("card.hem.lined" if "lining" in self.layers else "card.hem.unlined", room=room)
        return _step("hem", (how, say("card.hem.press")), say("card.standard.by_hand"))

    def _zip(self) -> MakingStep:
        room = self.order.build.allowance_for(CENTRE_BACK)
        f = self.docket.fastening
        says = (say("card.zip.length", edge=said(min(f.edges)), zip=said(f.zip)), say("card.zip.fold", room=said(room)))
        lining = (say("card.zip.lining"),) if "lining" in self.layers else ()
        return _step("zip", (*says, *lining), _stitch("301"), "closing")

    def _eyelets(self) -> MakingStep:
        f, n = self.docket.fastening, self.order.notions
        return _step(
            "eyelets",
            (
                say(
                    "card.eyelets.mark",
                    count=f.count,
                    inset=said(n.eyelet_inset),
                    first=said(n.closing_inset),
                    step=_stepped(f.spacing),
                ),
                say("card.eyelets.set"),
                say("card.eyelets.cord", cord=said(f.cord), gap=said(self.order.style.gap)),
            ),
            sketch="closing",
        )

    def _hooks(self) -> MakingStep:
        f, n = self.docket.fastening, self.order.notions
        mark = say("card.hooks.mark", count=f.count, first=said(n.closing_inset), step=_stepped(f.spacing))
        return _step("hooks", (mark, say("card.hooks.sew")), say("card.standard.by_hand"), "closing")

    def _meeting(self, seam: Seam) -> str:
        """The notches that meet, each with its distance from the hem along the net line, and the seam's length."""
        notched = self._common(seam)
        a, _ = self.pattern.edges_of(seam)
        spoken = {}
        if {"bust_point"} <= notched & a.marks.keys() and abs(
            a.marks.get("bust", -1.0) - a.marks["bust_point"]
        ) < ONE_STATION:
            # The bust level and the bust point are one station of the seam.
            notched = notched | {"bust"}
            spoken = {"bust": _place("bust_point")}
        met = stations(self.pattern, seam)
        # A notch of a pattern that was brought in may stand at a level, and is told by that.
        at = [a.marks[name] for name in notched if name in a.marks]
        notched = notched | {name for name, s, _ in met if any(abs(s - t) < SAME_PLACE for t in at)}
        places = [(name, (s + t) / 2.0) for name, s, t in met]
        inner = [f"{spoken.get(name) or _place(name)} {said(s)}" for name, s in places[1:-1] if name in notched]
        end, whole = places[-1]
        return f"{', '.join(inner)}{', ' if inner else ''}{_place(end)} {said(whole)}"

    def _common(self, seam: Seam) -> set[str]:
        return self._notches(seam.a.panel, seam.a.edge) & self._notches(seam.b.panel, seam.b.edge)

    def _notches(self, panel: str, edge: str) -> set[str]:
        return {
            n.name
            for p in self.pattern.pieces
            if p.panel == panel and p.layer == "shell"
            for n in p.notches
            if n.edge == edge
        }

    def _side(self, seam: Seam) -> str:
        return "" if seam.side == "both" or seam.on_itself else f"{seam.side}: "

    def _where(self, where: str, side: str) -> str:
        return where if side == "both" else f"{side} {where}"


def _step(name: str, says: tuple[str, ...], uses: str = "", sketch: Sketch | None = None) -> MakingStep:
    """A step whose title stands beside its sentences in the catalogue."""
    return MakingStep(say(f"card.{name}.title"), says, uses, sketch)


def _stitch(number: str) -> str:
    return say("card.standard.stitch", stitch=number)


def _place(mark: str) -> str:
    return say(f"card.place.{mark}") if has(f"card.place.{mark}") else mark


def _stepped(mm: float) -> str:
    """A distance that is stepped off many times, to the mm's tenth: what rounding takes off would add up."""
    return f"{millimetres(mm)} ({inches(mm)})"


def _channels(bone: Bone) -> str:
    side = "" if bone.side == "both" else f"{bone.side}: "
    key = "card.casings.back_channels" if bone.quantity > 1 else "card.casings.back_channel"
    return say(key, side=side, count=bone.quantity, length=said(bone.channel), says=bone.says)
