"""The first steps of the card: the toile, fusing and cutting, marking. Common practice, no source."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from coutil.docket.model import Docket
from coutil.docket.step import MakingStep, step
from coutil.lay.cloths import cut_from
from coutil.order import KIT, Order
from coutil.pattern import Pattern, level_words
from coutil.seaming.roles import TOP
from coutil.units import full as said
from coutil.words import say

# Cloth lies still this long after fusing, in minutes (common practice, no source; the maker's sheet tells better).
COOL: Final = 10
# Allowances of a toile, in mm: 1 in, so that it can be let out (common practice, no source).
TOILE: Final = 25.4
# A second toile is worth its cloth where the first was moved by more than this, in mm (judgement, no source).
AGAIN: Final = 10.0


class Cutting:
    """The steps up to where the pieces lie cut and marked. `pile`: the shell has one, and is pressed otherwise."""

    def __init__(self, order: Order, pattern: Pattern, docket: Docket, *, pile: bool) -> None:
        self.order, self.pattern, self.docket, self.pile = order, pattern, docket, pile
        self.layers = {p.layer for p in pattern.pieces}
        self.lined = "lining" in self.layers

    def steps(self) -> Iterator[MakingStep]:
        yield self._toile()
        yield from self._cut()
        yield self._mark()

    def _toile(self) -> MakingStep:
        return step(
            "toile",
            (
                say("card.toile.cut", room=said(TOILE)),
                say("card.toile.fit"),
                say("card.toile.again", moved=said(AGAIN)),
            ),
            part="toile",
            leaves=("fitted:toile",),
            must=True,
        )

    def _cut(self) -> Iterator[MakingStep]:
        """Cutting: fused cloth as blocks first, all other layers after steaming."""
        blocks = say("card.fuse.no_blocks")
        if self.docket.fuse:
            count = sum(n.quantity for n in self.docket.fuse if n.layer in ("shell", "lining"))
            blocks = say("card.fuse.one_block" if count == 1 else "card.fuse.blocks", count=count)
        # A pair is cut both ways in any case; what serves one side only is not.
        sided = any(p.layer == "lining" and p.side != "both" for p in self.pattern.pieces)
        turned = (say("card.steam.face_down"),) if sided else ()
        fused_too = "lining_interfacing" in self.layers
        done: set[str] = set()
        if "interfacing" in self.layers or fused_too:
            both = "interfacing" in self.layers and fused_too
            layers = say(
                "card.fuse.shell_and_lining" if both else "card.fuse.lining" if fused_too else "card.fuse.shell"
            )
            fused = {x for x in ("shell", "interfacing") if "interfacing" in self.layers}
            fused |= {x for x in ("lining", "lining_interfacing") if fused_too}
            done |= fused
            yield step(
                "fuse",
                (
                    say("card.fuse.test_foam" if "web" in self.layers else "card.fuse.test"),
                    say("card.fuse.shrinks", cut=blocks, layers=layers),
                    say("card.fuse.press", minutes=COOL),
                    say("card.fuse.cut"),
                    *(turned if fused_too else ()),
                ),
                part="cutting",
                needs=("fitted:toile",),
                leaves=tuple(f"cut:{x}" for x in sorted(fused)),
                must=True,
            )
        if "shell" not in done:
            # What is cut from a pile with the shell is not pressed with the rest either.
            along = [
                x for x in KIT if self.pile and x in self.layers and cut_from(self.order, x, self.layers) == "shell"
            ]
            done |= {"shell", *along}
            also = (say("card.cut_shell.also", layers=_listed(along)),) if along else ()
            steam = say("card.cut_shell.pile" if self.pile else "card.cut_shell.steam")
            yield step(
                "cut_shell",
                (steam, say("card.cut_shell.cut"), *also),
                part="cutting",
                needs=("fitted:toile",),
                leaves=tuple(f"cut:{x}" for x in ("shell", *along)),
            )
        if self.lined and "lining" not in done:
            done.add("lining")
            yield step(
                "steam",
                (say("card.steam.says"), *turned),
                part="cutting",
                needs=("fitted:toile",),
                leaves=("cut:lining",),
            )
        every = ("strength", "flat_lining", "lace", "foam", "web", "elastic", "net", *KIT)
        rest = [x for x in every if x in self.layers and x not in done]
        if rest:
            says = [say("card.cut_rest.cut", layers=_listed(rest))]
            source = cut_from(self.order, "facing", self.layers)
            if "facing" in rest and source != "facing":
                says.append(say("card.cut_rest.facing", layer=say(f"cloth_layer.{source}")))
            says += [say("card.cut_rest.lace", room=said(self.order.build.lace.allowance))] if "lace" in rest else []
            says += [say("card.cut_rest.foam")] if "foam" in rest else []
            yield step(
                "cut_rest",
                tuple(says),
                part="cutting",
                needs=("fitted:toile",),
                leaves=tuple(f"cut:{x}" for x in rest),
            )

    def _mark(self) -> MakingStep:
        says = [say("card.mark.notches")]
        panels = self.pattern.panels
        names = [v for v in ("waist", "underbust") if any(v in p.levels for p in panels)]
        names += ["bust_point"] if any("bust_point" in p.points for p in panels) else []
        if names:
            says.append(
                say(
                    "card.mark.levels",
                    names=", ".join(
                        say("card.place.bust_point") if n == "bust_point" else level_words(n) for n in names
                    ),
                )
            )
        if any(p.lines or p.spots for p in self.pattern.pieces):
            says.append(say("card.mark.channels"))
        says.append(say("card.mark.stay", room=said(self.order.build.allowance_for(TOP))))
        return step("mark", tuple(says), part="cutting", needs=("cut:shell",), leaves=("marked",), must=True)


def _listed(layers: Sequence[str]) -> str:
    return ", ".join(say(f"cloth_layer.{x}") for x in layers)
