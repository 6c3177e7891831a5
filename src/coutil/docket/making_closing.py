"""The steps of the card that an opening asks for: facing, panel behind it, what closes it. Common practice."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from coutil.docket.bones import BUSK_SHORT
from coutil.docket.model import Docket, Fastening
from coutil.docket.step import MakingStep, Sketch, step, stitch
from coutil.layers.kit import STRIPS
from coutil.layers.openings import beside, faced, openings, place_words
from coutil.order import Order
from coutil.pattern import Pattern
from coutil.seaming import SIDE, Opening
from coutil.seaming.roles import TOP
from coutil.units import full as said
from coutil.units import stepped
from coutil.words import say


class Closing:
    """The openings of a pattern, and the work on them before the lining, at the lining, and when the rest is done."""

    def __init__(self, order: Order, pattern: Pattern, docket: Docket) -> None:
        self.order, self.docket = order, docket
        self.openings = openings(order, pattern)
        self.layers = {p.layer for p in pattern.pieces}
        self.lined = "lining" in self.layers

    def _of(self, o: Opening) -> Fastening:
        """What closes an opening."""
        return next(f for f in self.docket.fastenings if f.at == o.at)

    @property
    def sides(self) -> tuple[str, ...]:
        """The sides, "left" or "right", whose seam opens."""
        return tuple(o.at.rpartition("_")[2] for o in self.openings if o.side)

    @property
    def ready(self) -> tuple[str, ...]:
        """What must be so of the openings before the top is closed."""
        return tuple(f"edge:{o.at}" for o in self.openings)

    @property
    def channelled(self) -> tuple[str, ...]:
        """What must be so before bones go in beside the openings."""
        return self.ready

    @property
    def closed(self) -> tuple[str, ...]:
        """What must be so of the openings before the hem is closed."""
        return tuple(f"opening:{o.at}" for o in self.openings)

    def ends(self) -> tuple[str, ...]:
        """What the seam of the top does at the openings: where no facing lies there it runs on down both edges."""
        says = []
        for o in self.openings:
            if self.faced(o):
                says.append(say("card.top.ends_faced", edge=place_words(o.at)))
            elif o.closed_with != "zip":
                says.append(say("card.top.ends", edge=place_words(o.at), back=said(self._room(o))))
        return tuple(says)

    def _room(self, o: Opening) -> float:
        """The allowance along its edges, in mm."""
        return self.order.build.allowance_for(SIDE if o.side else o.at)

    def before(self, sewn: tuple[str, ...]) -> Iterator[MakingStep]:
        """What is done to the edges before lining and top are sewn, then what lies behind them."""
        for o in self.openings:
            yield from (self._titled(o, made) for made in self._edge(o, sewn))
        for layer in ("modesty_panel", "guard", "underlap"):
            if layer in self.layers:
                needs = (f"cut:{layer}", *self.ready)
                edges = say("docket.closes.and").join(
                    place_words(o.at) for o in self.openings if STRIPS.get(o.closed_with) == layer
                )
                says = (say(f"card.{layer}.sew"), say(f"card.{layer}.set", edge=edges))
                yield step(layer, says, stitch("301"), part="closing", needs=needs, leaves=(f"set:{layer}",))

    def _titled(self, o: Opening, made: MakingStep) -> MakingStep:
        """The step; where there are several openings, with the one that it is about in its title."""
        several = len(self.openings) > 1
        return replace(made, title=say("card.sheet.at", title=made.title, edge=place_words(o.at))) if several else made

    def _edge(self, o: Opening, sewn: tuple[str, ...]) -> Iterator[MakingStep]:
        """What is done to the edges of one opening."""
        if self.faced(o) and o.closed_with != "zip":
            yield self._facing(o, sewn)
        match o.closed_with:
            case "zip":
                yield self._zip(o, sewn)
            case "busk":
                yield self._busk(o, sewn)
            case "elastic":
                yield self._elastic(o, sewn)
            case _ if not self.faced(o):
                yield self._plain(o, sewn)

    def joined(self) -> Iterator[MakingStep]:
        """The lining is joined to the facings before its top is closed."""
        for o in self.openings:
            if self.lined and self.faced(o):
                room, top = self.order.build.allowance, self.order.build.allowance_for(TOP)
                width = said(beside(self.order, o).facing)
                says = (
                    say("card.joined.sew", edge=place_words(o.at), width=width, room=said(room), top=said(top)),
                    say("card.joined.press"),
                )
                needs, leaves = ("joined:lining", f"edge:{o.at}"), (f"joined:facing:{o.at}",)
                yield self._titled(o, step("joined", says, stitch("301"), part="lining", needs=needs, leaves=leaves))

    @property
    def lining_joined(self) -> tuple[str, ...]:
        """What must be so of lining and facings before the top is closed."""
        return tuple(f"joined:facing:{o.at}" for o in self.openings if self.lined and self.faced(o))

    def felled(self, *, lined: bool) -> Iterator[MakingStep]:
        """The lining is joined before it is felled to a zip that has no facing."""
        for o in self.openings:
            if o.closed_with == "zip" and lined and not self.faced(o):
                says = (say("card.felled.fell", edge=place_words(o.at)),)
                by_hand = say("card.standard.by_hand")
                yield step("felled", says, by_hand, part="lining", needs=("lined",), leaves=(f"felled:{o.at}",))

    def after(self) -> Iterator[MakingStep]:
        """What closes the openings, once the garment has been fitted."""
        for o in self.openings:
            yield from (self._titled(o, made) for made in self._closed(o))

    def _closed(self, o: Opening) -> Iterator[MakingStep]:
        """What closes one opening."""
        needs = ("fitted:second", f"edge:{o.at}", *self._behind(o))
        leaves = (f"opening:{o.at}",)
        match o.closed_with:
            case "lacing":
                yield self._eyelets(o, needs, leaves)
            case "hooks":
                yield self._row(o, "closing", needs, leaves)
            case "buttons":
                yield self._row(o, None, needs, leaves)
            case "zip":
                says = (say("card.zip_last.try", edge=place_words(o.at)),)
                felled = (f"felled:{o.at}",) if self.lined and not self.faced(o) else ()
                yield step("zip_last", says, part="closing", needs=(*needs, *felled), leaves=leaves)
            case _:
                busk = (f"busk:{o.at}",) if o.closed_with == "busk" else ()
                says = (say("card.busk_last.try", edge=place_words(o.at)),)
                yield step("busk_last", says, part="closing", needs=(*needs, *busk), leaves=leaves)

    def _behind(self, o: Opening) -> tuple[str, ...]:
        layer = {"lacing": "modesty_panel", "zip": "guard", "busk": "guard"}.get(o.closed_with, "underlap")
        return (f"set:{layer}",) if layer in self.layers else ()

    def _facing(self, o: Opening, sewn: tuple[str, ...]) -> MakingStep:
        width, top = said(beside(self.order, o).facing), said(self.order.build.allowance_for(TOP))
        says = [say("card.facing.sew", edge=place_words(o.at), room=said(self._room(o)), width=width, top=top)]
        # The busk goes in before the channel beside it closes its pocket.
        busk = o.closed_with == "busk"
        says += [say("card.facing.busk")] if busk else []
        says += [
            say("card.facing.turn_lined" if self.lined else "card.facing.turn"),
            *(() if busk else self._channels(o)),
        ]
        needs = (*sewn, "cut:facing")
        return step("facing", tuple(says), stitch("301"), part="closing", needs=needs, leaves=(f"edge:{o.at}",))

    def _channels(self, o: Opening) -> tuple[str, ...]:
        """The channels that are sewn through a facing."""
        channels = "; ".join(
            say("card.facing.channel" if near > 0.0 else "card.facing.first", near=said(near), far=said(far))
            for near, far in beside(self.order, o).channels
        )
        return (say("card.facing.channels", channels=channels),) if channels else ()

    def faced(self, o: Opening) -> bool:
        """Whether a facing lies behind its edges."""
        return "facing" in self.layers and faced(o)

    def _elastic(self, o: Opening, sewn: tuple[str, ...]) -> MakingStep:
        says = (say("card.elastic.sew", edge=place_words(o.at)), say("card.elastic.line"))
        needs = (*sewn, "cut:elastic")
        return step("elastic", says, stitch("301"), part="closing", needs=needs, leaves=(f"edge:{o.at}",))

    def _plain(self, o: Opening, sewn: tuple[str, ...]) -> MakingStep:
        """An edge without a facing: its allowance is folded in."""
        says = (say("card.edge.fold", edge=place_words(o.at), room=said(self._room(o))),)
        return step("edge", says, stitch("301"), part="closing", needs=sewn, leaves=(f"edge:{o.at}",))

    def _zip(self, o: Opening, sewn: tuple[str, ...]) -> MakingStep:
        f = self._of(o)
        says = [
            say("card.zip.length", at=place_words(o.at), edge=said(min(f.edges)), zip=said(f.zip)),
            say("card.zip.fold", room=said(self._room(o))),
        ]
        faced = ("cut:facing",) if self.faced(o) else ()
        if faced:
            width, top = said(beside(self.order, o).facing), said(self.order.build.allowance_for(TOP))
            says += [say("card.zip.faced", width=width, top=top), *self._channels(o)]
        return step(
            "zip",
            tuple(says),
            stitch("301"),
            "closing",
            part="closing",
            needs=(*sewn, *faced),
            leaves=(f"edge:{o.at}",),
        )

    def _busk(self, o: Opening, sewn: tuple[str, ...]) -> MakingStep:
        length = said(self._of(o).zip)
        # Where a facing lies there it has left the edge ready, and gaps in its seam.
        faced = self.faced(o)
        loops = say("card.busk.loops_faced" if faced else "card.busk.loops", edge=place_words(o.at))
        says = [loops, say("card.busk.studs"), say("card.busk.length", length=length, short=said(BUSK_SHORT))]
        says += self._channels(o) if faced else ()
        needs = (*sewn, *((f"edge:{o.at}",) if faced else ()))
        leaves = (f"busk:{o.at}", *(() if faced else (f"edge:{o.at}",)))
        return step("busk", tuple(says), stitch("301"), part="closing", needs=needs, leaves=leaves)

    def _eyelets(self, o: Opening, needs: tuple[str, ...], leaves: tuple[str, ...]) -> MakingStep:
        f, n = self._of(o), self.order.notions
        says = (
            say(
                "card.eyelets.mark",
                edge=place_words(o.at),
                count=f.count,
                inset=stepped(f.inset),
                first=said(n.closing_inset),
                step=stepped(f.spacing),
            ),
            say("card.eyelets.set", rim=stepped(self.order.shelf.eyelet.rim)),
            say("card.eyelets.cord", cord=said(f.cord), gap=said(o.gap)),
        )
        return step("eyelets", says, sketch="closing", part="closing", needs=needs, leaves=leaves)

    def _row(self, o: Opening, sketch: Sketch | None, needs: tuple[str, ...], leaves: tuple[str, ...]) -> MakingStep:
        """Hooks, or buttons, at even distances, sewn by hand."""
        f, name = self._of(o), o.closed_with
        mark = say(
            f"card.{name}.mark",
            edge=place_words(o.at).capitalize(),
            count=f.count,
            first=said(self.order.notions.closing_inset),
            step=stepped(f.spacing),
        )
        by_hand = say("card.standard.by_hand")
        says = (mark, say(f"card.{name}.sew"))
        return step(name, says, by_hand, sketch, part="closing", needs=needs, leaves=leaves)
