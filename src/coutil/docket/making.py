"""The sewing and pressing order of this build, with this order's figures in it.

How structured bodices are made up: common practice in the trade, no source. Toile and fitting, cut, mark, fuse, pads,
baste, bones on the strength layer, lining, second fitting, opening, hem last. Stitches bear their ISO 4915 numbers,
seams their ISO 4916 numbers; both from memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from coutil.docket.making_closing import Closing
from coutil.docket.making_cut import TOILE, Cutting
from coutil.docket.meeting import common, meeting, side_of
from coutil.docket.model import Bone, Docket
from coutil.docket.ready import used_cup
from coutil.docket.step import MakingStep, Part, step, stitch
from coutil.layers.boning import boned
from coutil.layers.openings import openings
from coutil.order import Order
from coutil.pattern import Pattern, Seam
from coutil.pattern.seams import SEWN_END, stations
from coutil.seaming import SIDE
from coutil.seaming.roles import HEM, TOP
from coutil.units import ABOUT
from coutil.units import full as said
from coutil.words import say

# From one clip to the next and from its end to the stitching, in mm (common practice, no source).
CLIP_APART: Final = 10.0
CLIP_SHORT: Final = 2.0
# Width to which the allowances of top and hem are graded, in mm: a quarter inch (common practice, no source).
GRADED: Final = 6.35
# A seam is let out no nearer than this to its cut edge, and a toile is sewn with stitches so long, in mm (common
# practice, no source).
NEAREST: Final = 6.0
TOILE_STITCH: Final = 4.0
# What lies at a free edge of foam is bevelled to nothing over this many mm (common practice, no source).
BEVEL: Final = 6.0


def making_up(order: Order, pattern: Pattern, docket: Docket) -> tuple[MakingStep, ...]:
    """The steps in order; those that this build does not have are left out."""
    return tuple(_Card(order, pattern, docket).steps())


def toile_steps(order: Order, pattern: Pattern) -> tuple[MakingStep, ...]:
    """The short card of the toile: what to cut, how to sew it, what to look for, and what to write down."""
    seams = [
        say("card.seams.name", side=side_of(s), seam=s.name).capitalize() + ": " + meeting(pattern, s)
        for s in pattern.seams
    ]
    kinds = dict.fromkeys(o.closed_with for o in openings(order, pattern))
    closings = [say(f"card.toile.close_{_TOILE_CLOSED.get(k, 'other')}") for k in kinds]
    return (
        step("toile_cut", (say("card.toile_cut.cut", room=said(TOILE)), say("card.toile_cut.mark")), part="toile"),
        step("toile_sew", (say("card.toile_sew.sew", stitch=said(TOILE_STITCH)), *seams, *closings), part="toile"),
        step("toile_fit", tuple(say(f"card.toile_fit.{k}") for k in ("close", "look", "pin", "write")), part="toile"),
    )


def piled(order: Order) -> bool:
    """Whether the shell has a pile, which is pressed otherwise."""
    return next((c.pile for c in order.cloth if "shell" in c.layers), False)


# How the toile is closed in the place of what closes the garment.
_TOILE_CLOSED: Final = {"lacing": "lacing", "elastic": "lacing", "zip": "zip"}


class _Card:
    def __init__(self, order: Order, pattern: Pattern, docket: Docket) -> None:
        self.order, self.pattern, self.docket = order, pattern, docket
        self.layers = {p.layer for p in pattern.pieces}
        self.closing = Closing(order, pattern, docket)
        self.lined = "lining" in self.layers
        self.strong = "strength" in self.layers
        self.pile = piled(order)

    @property
    def seam(self) -> str:
        """The stitch of the order's seams, and the plain seam that is pressed open (two plies, sewn once)."""
        return f"{stitch(self.order.notions.stitch)}, {say('card.standard.plain_seam')}"

    @property
    def sewn(self) -> tuple[str, ...]:
        """The states in which all that lies outside the lining is one."""
        return (f"joined:{'strength' if self.strong else 'shell'}", *(("mounted",) if self.mounted else ()))

    @property
    def mounted(self) -> bool:
        return self.strong or "lace" in self.layers

    def steps(self) -> Iterator[MakingStep]:
        pads = tuple(x for x in self.order.build.pad.on if x in self.layers) if "foam" in self.layers else ()
        yield from Cutting(self.order, self.pattern, self.docket, pile=self.pile).steps()
        if "flat_lining" in self.layers:
            yield self._flat_lining()
        # Each pad is set before the layer that carries it is sewn.
        first = next((x for x in ("shell", "strength", "lining") if x in pads), "")
        if first == "shell":
            yield self._pads(pads, "shell")
        yield self._baste()
        yield from self._layer("shell", "shell", padded="shell" in pads)
        if "lace" in self.layers:
            yield from self._others("lace", "shell", whole=True)
        if first == "strength":
            yield self._pads(pads, "strength")
        if self.strong:
            yield from self._layer("strength", "strength", padded="strength" in pads)
        yield from self._casings()
        if self.mounted:
            yield self._mount()
        if used_cup(self.order) is not None:
            yield self._ready_cups()
        if self.docket.kit.stay:
            yield self._stay()
        yield from self.closing.before(self.sewn)
        if first == "lining":
            yield self._pads(pads, "lining")
        if self.lined:
            yield from self._lining(padded="lining" in pads)
            yield from self.closing.joined()
        if "net" in self.layers:
            says = (say("card.net.lay"), say("card.net.sew"))
            yield step("net", says, stitch("301"), part="closing", needs=(*self.sewn, "cut:net"), leaves=("net",))
        yield self._top()
        yield from self.closing.felled(lined=self.lined)
        yield from self._bones()
        yield self._fitting()
        yield from self.closing.after()
        if not self.lined:
            yield self._finished()
        yield self._hem()
        yield from self._last()
        yield step(
            "press_off",
            (
                say("card.press_off.pile" if self.pile else "card.press_off.press"),
                say("card.press_off.needles"),
                say("card.press_off.fit"),
            ),
            part="finishing",
            needs=("hem",),
            leaves=("done",),
        )

    def _flat_lining(self) -> MakingStep:
        return step(
            "flat_lining",
            (say("card.flat_lining.lay"), say("card.flat_lining.tack")),
            part="shell",
            needs=("cut:shell", "cut:flat_lining", "marked"),
            leaves=("backed:shell",),
        )

    def _pads(self, on: tuple[str, ...], part: Part) -> MakingStep:
        build = self.order.build
        room, catch = build.allowance_for(self.pattern.pads[0].sewn.role), build.pad.catch
        where = say("card.pads.where_and").join(say(f"cloth_layer.{x}") for x in on)
        web = "web" in self.layers
        says = [
            say("card.pads.bevel", bevel=said(BEVEL)),
            *((say("card.pads.web"),) if web else ()),
            say("card.pads.line", where=where, line=said(room - catch), room=said(room), catch=said(catch)),
            say("card.pads.lay" if web else "card.pads.lay_tacked"),
            say("card.pads.fuse" if web else "card.pads.tack", catch=said(catch)),
        ]
        needs = ("marked", "cut:foam", *(("cut:web",) if web else ()), *(f"cut:{x}" for x in on))
        return step(
            "pads",
            tuple(says),
            sketch="pad",
            part=part,
            needs=needs,
            leaves=tuple(f"padded:{x}" for x in on),
            must=True,
        )

    def _baste(self) -> MakingStep:
        uneven = any(p.side != "both" for p in self.pattern.panels)
        says = (say("card.baste.tack"), say("card.baste.uneven" if uneven else "card.baste.try"))
        backed = ("backed:shell",) if "flat_lining" in self.layers else ()
        return step("baste", says, part="shell", needs=("marked", *backed), leaves=("basted:shell",), must=True)

    def _layer(self, layer: str, part: Part, *, padded: bool) -> Iterator[MakingStep]:
        """Both kinds of seams of the shell or of the strength layer."""
        yield from self._cup(layer, part, padded=padded)
        yield from self._others(layer, part, whole=False)

    def _ready(self, layer: str) -> tuple[str, ...]:
        """What must be so before a layer is sewn together."""
        pads = self.order.build.pad.on if "foam" in self.layers else ()
        more = (("basted:shell",) if layer == "shell" else ()) + ((f"padded:{layer}",) if layer in pads else ())
        return (f"cut:{layer}", *more)

    def _cup(self, layer: str, part: Part, *, padded: bool) -> Iterator[MakingStep]:
        seams = self.pattern.cup_seams
        if not seams:
            return
        room = self.order.build.allowance_for(self.pattern.edge_of(seams[0].a).role)
        first, _ = self.pattern.edges_of(seams[0])
        known = "bust_point" in first.marks
        inner, outer = seams[0].a.panel, seams[0].b.panel
        meets = "; ".join(f"{side_of(s)}{meeting(self.pattern, s)}" for s in seams)
        peak = any(name == SEWN_END for s in seams for name, *_ in stations(self.pattern, s))
        notched = any(common(self.pattern, s) for s in seams)
        pin = ("pin_from_bust" if known else "pin") if notched else "pin_ends"
        says = (
            say(f"card.cup.{pin}", inner=inner, outer=outer, meets=meets),
            say(f"card.cup.ease_{'notches' if notched else 'pins'}", room=said(room), outer=outer),
            *((say("card.cup.stop", inner=inner, outer=outer),) if peak else ()),
        )
        title = say("card.cup.title", seam=seams[0].name, layer=say(f"cloth_layer.{layer}"))
        yield MakingStep(title, says, self.seam, "princess", part, "", self._ready(layer), (f"cup:{layer}",))
        yield self._pressed_cup(layer, part, known=known, padded=padded)

    def _pressed_cup(self, layer: str, part: Part, *, known: bool, padded: bool) -> MakingStep:
        where = say("card.press_cup.from_bust" if known else "card.press_cup.where_curved")
        clip = say("card.press_cup.clip", apart=said(CLIP_APART), where=where, short=said(CLIP_SHORT))
        piled = self.pile and layer == "shell"
        says = [
            *(() if piled else (say("card.press_cup.flat"),)),
            f"{clip} {say('card.press_cup.foam')}" if padded else clip,
            say("card.press_cup.pile" if piled else "card.press_cup.open"),
        ]
        if padded:
            says.append(say("card.press_cup.mould") + self._depth())
        # A ready cup is tacked to the innermost of the layers, once.
        if layer == ("strength" if self.strong else "shell") and used_cup(self.order) is None:
            says.append(say("card.press_cup.more"))
        title = say("card.press_cup.title", layer=say(f"cloth_layer.{layer}"))
        return MakingStep(title, tuple(says), "", None, part, "", (f"cup:{layer}",), (f"pressed:{layer}",))

    def _depth(self) -> str:
        deep = [(c.side, said(c.depth_mm).removeprefix(ABOUT)) for c in self.pattern.cups if c.depth_mm > 0.0]
        if not deep:
            return ""
        if len({d for _, d in deep}) == 1:
            return " " + say("card.press_cup.depth", depth=deep[0][1])
        return " " + say("card.press_cup.depths", depths=", ".join(f"{side} {d}" for side, d in deep))

    def _others(self, layer: str, part: Part, *, whole: bool) -> Iterator[MakingStep]:
        """The seams that make no cup; with `whole` all of them."""
        # An elastic panel is let in when its edges are ready.
        cloth = [s for s in self.pattern.seams if all(p.material == "cloth" for p in self.pattern.panels_of(s))]
        seams = [s for s in cloth if whole or not s.cup]
        rows = []
        build = self.order.build
        for s in seams:
            room = build.lace.allowance if layer == "lace" else build.allowance_for(self.pattern.edges_of(s)[0].role)
            name = say("card.seams.name", side=side_of(s), seam=s.name).capitalize()
            open_at = self._open_at(s)
            if len(open_at) < (2 if s.side == "both" else 1):
                rows.append(say("card.seams.seam", seam=name, room=said(room), meets=meeting(self.pattern, s)))
            rows += [say("card.seams.open", side=side) for side in open_at]
        if layer == "shell" and not self.lined and not self.strong:
            rows.append(say("card.seams.finish"))
        pressed = (f"pressed:{layer}",) if self.pattern.cup_seams and not whole else self._ready(layer)
        title = "title_other" if len(seams) < len(self.pattern.seams) else "title"
        how = "lace" if layer == "lace" else "clip_pile" if self.pile and layer == "shell" else "clip"
        clip = say(f"card.seams.{how}")
        yield MakingStep(
            say(f"card.seams.{title}", layer=say(f"cloth_layer.{layer}")),
            (*rows, clip),
            self.seam,
            None,
            part,
            "",
            pressed,
            (f"joined:{layer}",),
        )

    def _open_at(self, seam: Seam) -> list[str]:
        """The sides on which a seam is not sewn, because the garment opens there."""
        if self.pattern.edges_of(seam)[0].role != SIDE:
            return []
        return [s for s in self.closing.sides if seam.side in (s, "both")]

    def _casings(self) -> Iterator[MakingStep]:
        bones = self.docket.bones
        if not bones:
            return
        edge = [b for b in bones if b.at_edge and b.cased]
        lines = [b for b in bones if b.place == "lines"]
        seams = [b for b in bones if b.place == "seams"]
        says = [say(f"card.casings.on_{x}") for x in self.order.build.bones.on]

        def told(some: list[Bone]) -> str:
            return "; ".join(
                say("card.casings.channel", where=_where(b), length=said(b.channel), says=b.says) for b in some
            )

        if seams:
            says.append(say("card.casings.seams", width=said(seams[0].channel_width), channels=told(seams)))
            if any(boned(self.pattern.edge_of(s.a), self.order) for s in self.pattern.seams if self._open_at(s)):
                says += [say("card.casings.side", side=side) for side in self.closing.sides]
        if edge:
            says.append(say("card.casings.back", channels="; ".join(_channels(b) for b in edge)))
        if lines:
            says.append(say("card.casings.lines", width=said(lines[0].channel_width), channels=told(lines)))
        says.append(say("card.casings.in_all", length=said(self.docket.casing)))
        carriers = [x for x in self.order.build.bones.on if x != "lining"]
        # The lining's own channels are sewn when it is joined.
        yield step(
            "casings",
            tuple(says),
            stitch("301"),
            "bones",
            part="strength" if self.strong else "shell",
            needs=tuple(f"joined:{x}" for x in carriers) or ("cut:lining",),
            leaves=("channels",),
        )

    def _mount(self) -> MakingStep:
        says = []
        if self.strong:
            says.append(say("card.mount.strength"))
        if "lace" in self.layers:
            says.append(say("card.mount.lace"))
        layers = [x for x in ("shell", "strength", "lace") if x in self.layers]
        channels = ("channels",) if self.docket.bones else ()
        return step(
            "mount",
            tuple(says),
            stitch("301"),
            part="strength" if self.strong else "shell",
            needs=(*(f"joined:{x}" for x in layers), *channels),
            leaves=("mounted",),
            must=True,
        )

    def _ready_cups(self) -> MakingStep:
        cup = used_cup(self.order)
        name = "" if cup is None else f"{cup.name} {cup.size}".strip()
        says = (say("card.ready_cups.lay", cup=name), say("card.ready_cups.tack"))
        by_hand = say("card.standard.by_hand")
        return step(
            "ready_cups", says, by_hand, part="strength" if self.strong else "shell", needs=self.sewn, leaves=("cups",)
        )

    def _stay(self) -> MakingStep:
        kit = self.docket.kit
        # The allowances of the strength layer look at the shell, under their casings.
        sew = say("card.stay.sew_strength" if self.strong else "card.stay.sew")
        return step(
            "stay",
            (say("card.stay.cut", cut=said(kit.stay_cut), stay=said(kit.stay)), sew),
            part="closing",
            needs=self.sewn,
            leaves=("stay",),
        )

    def _lining(self, *, padded: bool) -> Iterator[MakingStep]:
        sew = say("card.lining.sew_padded" if padded else "card.lining.sew")
        lining = self.order.build.lining
        if lining is not None and lining.smaller and "foam" in self.layers:
            sew += " " + say("card.lining.smaller")
        if "lining_interfacing" in self.layers:
            sew += " " + say("card.lining.fused")
        press = say("card.lining.press_padded" if padded else "card.lining.press")
        pads = ("padded:lining",) if padded else ()
        yield step(
            "lining",
            (sew, press),
            self.seam,
            part="lining",
            needs=("cut:lining", *pads),
            leaves=("joined:lining",),
        )

    def _top(self) -> MakingStep:
        room = said(self.order.build.allowance_for(TOP))
        net = ("net",) if "net" in self.layers else ()
        needs = (*self.sewn, *self.closing.ready, *net, *(("stay",) if self.docket.kit.stay else ()))
        if not self.lined:
            faced = any(self.closing.faced(o) for o in self.closing.openings)
            turn = say("card.top.turn_in_faced" if faced else "card.top.turn_in", room=room)
            says = (turn, say("card.top.press_pile" if self.pile else "card.top.press"))
            title = say("card.top.title_unlined")
            return MakingStep(title, says, stitch("301"), None, "finishing", "", needs, ("top",))
        return step(
            "top",
            (
                say("card.top.sew", room=room),
                *self.closing.ends(),
                say("card.top.grade", graded=said(GRADED)),
                say("card.top.turn"),
            ),
            f"{stitch('301')}, {say('card.standard.plain_seam')}",
            part="lining",
            needs=(*needs, "joined:lining", *self.closing.lining_joined),
            leaves=("top", "lined"),
        )

    def _bones(self) -> Iterator[MakingStep]:
        bones = self.docket.bones
        if not bones:
            return
        cut = "; ".join(
            say("card.bones.bone", count=b.quantity, length=said(b.length), where=_where(b), kind=_kind(b))
            for b in bones
        )
        low, high = bones[0].clearance, bones[0].clearance_top
        says = (
            say("card.bones.cut", bones=cut),
            say("card.bones.tip", tips=sum(b.tips for b in bones), clear=said(low), top=said(high)),
            say("card.bones.close"),
        )
        yield step(
            "bones",
            says,
            say("card.standard.by_hand"),
            part="finishing",
            needs=("channels", "top", *self.closing.channelled),
            leaves=("boned",),
        )

    def _fitting(self) -> MakingStep:
        boned = ("boned",) if self.docket.bones else ("top",)
        return step(
            "fitting",
            tuple(say(f"card.fitting.{k}", near=said(NEAREST)) for k in ("close", "look", "pin")),
            part="finishing",
            needs=boned,
            leaves=("fitted:second",),
            must=True,
        )

    def _finished(self) -> MakingStep:
        """Without a lining every raw edge is finished, and the channels are seen."""
        covered = (say("card.finished.channels"),) if self.docket.bones else ()
        if self.strong:
            covered = (say("card.finished.between"),)
        return step(
            "finished",
            (say("card.finished.edges"), *covered),
            stitch("504"),
            part="finishing",
            needs=("top",),
            leaves=("finished",),
        )

    def _hem(self) -> MakingStep:
        room = said(self.order.build.allowance_for(HEM))
        how = say("card.hem.lined" if self.lined else "card.hem.unlined", room=room)
        needs = ("fitted:second", *self.closing.closed, *(() if self.lined else ("finished",)))
        return step(
            "hem",
            (how, say("card.hem.press_pile" if self.pile else "card.hem.press")),
            say("card.standard.by_hand"),
            part="finishing",
            needs=needs,
            leaves=("hem",),
        )

    def _last(self) -> Iterator[MakingStep]:
        """What is sewn on by hand when all else is closed."""
        by_hand = say("card.standard.by_hand")
        if "lace" in self.layers:
            scallop = "scallop" if self.order.build.lace.scallop else "turned"
            yield step(
                "lace",
                (say(f"card.lace.{scallop}"), say("card.lace.hem")),
                by_hand,
                part="finishing",
                needs=("mounted", "top", "hem"),
                leaves=("lace",),
            )
        kit = self.docket.kit
        if kit.gripper or kit.ribbon:
            says = []
            if kit.gripper:
                says.append(say("card.trim.gripper", length=said(kit.gripper)))
            if kit.ribbon:
                says.append(say("card.trim.loops", length=said(kit.ribbon)))
            yield step("trim", tuple(says), by_hand, part="finishing", needs=("top",), leaves=("trim",))


def _where(bone: Bone) -> str:
    return bone.where if bone.side == "both" else f"{bone.side} {bone.where}"


def _kind(bone: Bone) -> str:
    return say("card.bones.kind", kind=bone.kind, width=said(bone.width))


def _channels(bone: Bone) -> str:
    side = "" if bone.side == "both" else f"{bone.side}: "
    key = "card.casings.back_channels" if bone.quantity > 1 else "card.casings.back_channel"
    return say(key, side=side, count=bone.quantity, length=said(bone.channel), says=bone.says)
