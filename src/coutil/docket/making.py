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
from coutil.pattern.seams import NOTCH_ABOVE, NOTCH_BELOW, ONE_STATION, SAME_PLACE, stations
from coutil.units import ABOUT, inches, millimetres
from coutil.units import full as said

# Which drawing of the sheet helps with a step.
Sketch = Literal["pad", "princess", "bones", "closing"]

# ISO 4916, from memory: 1.01.01 two plies superimposed and sewn once, the plain seam that is pressed open.
PLAIN: Final = "ISO 4916 seam 1.01.01"
# From one clip to the next and from its end to the stitching, in mm (common practice, no source).
CLIP_APART: Final = 10.0
CLIP_SHORT: Final = 2.0
# Width to which the allowances of top and hem are graded, in mm: a quarter inch (common practice, no source).
GRADED: Final = 6.35
# Cloth lies still this long after fusing, in minutes (common practice, no source; the maker's sheet tells better).
COOL: Final = 10

_PLACES: Final = {
    "high_hip": "high hip",
    "bust_point": "bust point",
    "centre_front_end": "end of the centre front",
    NOTCH_BELOW: NOTCH_BELOW,
    NOTCH_ABOVE: NOTCH_ABOVE,
}


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
        self.stitch = f"ISO 4915 stitch {order.notions.stitch}"

    def steps(self) -> Iterator[MakingStep]:
        pads = self.order.build.pad.on if "foam" in self.layers else ()
        yield from self._fuse()
        if pads:
            yield self._pads(pads)
        yield from self._front("shell", padded="shell" in pads)
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
        yield MakingStep(
            "Press off and fit",
            (
                "Press over the curved form with a cloth between, cups last, and let it dry on the form.",
                "At the fitting the client sits, breathes deeply and raises the arms; nothing may pinch or go numb.",
            ),
        )

    def _fuse(self) -> Iterator[MakingStep]:
        if self.docket.fuse:
            blocks = sum(n.quantity for n in self.docket.fuse if n.layer in ("shell", "lining"))
            cut = (
                f"Cut the {blocks} rough block{'s' * (blocks != 1)} of the docket from cloth, and those of interfacing."
            )
        else:
            cut = "Cut rough blocks of cloth and interfacing, 1/4 to 1 in larger all round than the pieces."
        # A pair is cut both ways in any case; what serves one side only is not.
        sided = any(p.layer == "lining" and p.side != "both" for p in self.pattern.pieces)
        face_down = (
            "The lining's right side looks at the body: lay the pattern of its pieces face down on the right side of "
            "the cloth.",
        )
        turned = face_down if sided else ()
        fused_too = "lining_interfacing" in self.layers
        fused = "shell and lining" if fused_too else "shell"
        if "interfacing" in self.layers:
            yield MakingStep(
                "Fuse first, then cut",
                (
                    "Fuse a test square and look at it before anything else.",
                    f"{cut} Most cloth shrinks in fusing, so no {fused} piece is cut to size yet.",
                    "Lay the interfacing with its glue on the wrong side. Press, do not push: lift the iron from "
                    "place to "
                    f"place, as hot and as long as the maker's sheet says. Let it lie flat for {COOL} minutes.",
                    "Lay the pattern on the fused block along the grain, cut the pieces, and cut every notch.",
                    *(turned if fused_too else ()),
                ),
            )
        if "lining" in self.layers and not fused_too:
            yield MakingStep(
                "Steam the lining, then cut",
                ("Steam and press the lining cloth flat, let it dry, then cut its pieces and notches.", *turned),
            )

    def _pads(self, on: tuple[str, ...]) -> MakingStep:
        build = self.order.build
        room, catch = build.allowance_for(self._cup_role()), build.pad.catch
        line = room - catch
        where = " and of the ".join(on)
        return MakingStep(
            "Set the pads",
            (
                "Fuse the adhesive web to that side of each foam piece which will lie on the cloth, let it cool, take "
                "off its paper.",
                f"On the wrong side of the {where} front pieces draw the placement line: along the princess edge it "
                "lies "
                f"{said(line)} inside the cut edge ({said(room)} allowance less {said(catch)}).",
                "Lay each foam piece with its web down, its princess edge on that line, notch to notch: bust point on "
                "bust "
                "point, and 1 in above and below it where the pad reaches so far.",
                f"Fuse from the middle outwards. The princess seam will catch {said(catch)} of the foam, no more.",
            ),
            sketch="pad",
        )

    def _cup_role(self) -> str:
        """The role of the edges on the cup seam, which there must be one of."""
        return self.pattern.edge_of(self.pattern.cup_seams[0].a).role

    def _front(self, layer: str, *, padded: bool) -> Iterator[MakingStep]:
        seams = self.pattern.cup_seams
        if not seams:
            return
        room = self.order.build.allowance_for(self._cup_role())
        first, _ = self.pattern.edges_of(seams[0])
        known = "bust_point" in first.marks
        inner, outer = seams[0].a.panel, seams[0].b.panel
        meets = [f"{self._side(s)}{self._meeting(s)}" for s in seams]
        peak = any(name == "centre_front_end" for s in seams for name, *_ in stations(self.pattern, s))
        end = ("Stop at the end of the centre front; the side front runs on above it.",) if peak else ()
        if any(self._common(s) for s in seams):
            pin = f"{' from the bust point outwards' if known else ''}. These notches meet, from the hem"
            between = "notches"
        else:
            pin, between = ", both ends first; no notches are known that meet. From the hem", "pins"
        says = (
            f"Pin {inner} to {outer}{pin}: {'; '.join(meets)}.",
            f"Ease the two curves to each other between the {between} and sew {said(room)} from the edge, the {outer} "
            "on top over the bust.",
            *end,
        )
        yield MakingStep(f"Sew the front princess seams of the {layer}", says, f"{self.stitch}, {PLAIN}", "princess")
        deep = [(c.side, said(c.depth_mm).removeprefix(ABOUT)) for c in self.pattern.cups if c.depth_mm > 0.0]
        depth = ""
        if padded and len({d for _, d in deep}) == 1:
            depth = f" The cup should come out about {deep[0][1]} deep."
        elif padded and deep:
            depth = f" The cups should come out about so deep: {', '.join(f'{side} {d}' for side, d in deep)}."
        yield MakingStep(
            f"Clip and press the {layer} over a curved form",
            (
                "Press the seam flat as it was sewn.",
                f"Clip both allowances every {said(CLIP_APART)} "
                f"{'from 1 in below to 1 in above the bust point' if known else 'where it curves most'}, to within "
                f"{said(CLIP_SHORT)} of the stitching; farther apart where the curve is weak."
                + (" Leave the foam's edge unclipped." if padded else ""),
                "Open the allowances over a tailor's ham or another curved form and press with steam; they must lie "
                "flat "
                "without pulling.",
                *(
                    [f"Mould the cup on the form: steam, shape with the hands, hold until it is cold.{depth}"]
                    if padded
                    else []
                ),
            ),
        )

    def _others(self, layer: str) -> Iterator[MakingStep]:
        seams = [s for s in self.pattern.seams if not s.cup]
        rows = []
        for s in seams:
            room = self.order.build.allowance_for(self.pattern.edges_of(s)[0].role)
            name = f"{self._side(s)}{s.name} seam".capitalize()
            rows.append(f"{name}, {said(room)} from the edge. From the hem: {self._meeting(s)}.")
        if not rows:
            return
        other = "other " * (len(seams) < len(self.pattern.seams))
        yield MakingStep(
            f"Sew the {other}seams of the {layer}",
            (
                *rows,
                "Clip at the waist where the allowance pulls, press each seam flat, then open over the curved form.",
            ),
            f"{self.stitch}, {PLAIN}",
        )

    def _casings(self) -> Iterator[MakingStep]:
        if not self.docket.bones:
            return
        edge = [b for b in self.docket.bones if b.where == "centre back edge"]
        seams = [b for b in self.docket.bones if b not in edge]
        says = []
        if seams:
            says.append(
                "Centre the casing over each opened seam on the wrong side and sew it down along both edges: "
                + "; ".join(f"{self._where(b.where, b.side)} {said(b.channel)} ({b.says})" for b in seams)
                + "."
            )
        if edge:
            says.append(
                "At the centre back: "
                + "; ".join(f"{_channels(b)} of {said(b.channel)} ({b.says})" for b in edge)
                + "."
            )
        says.append(f"Casing in all: {said(self.docket.casing)}. Leave the lower ends open.")
        yield MakingStep("Sew the casings", tuple(says), "ISO 4915 stitch 301", "bones")

    def _lining(self, *, padded: bool) -> Iterator[MakingStep]:
        pads = "with its pads" if padded else "without pads"
        fused = " Its pieces were fused before they were cut." if "lining_interfacing" in self.layers else ""
        yield MakingStep(
            "Repeat for the lining",
            (
                f"Sew the lining as the shell, {pads}: the same seams, notches and allowances.{fused}",
                "Clip and press its seams open over the curved form; mould it with steam to the shell's shape."
                if padded
                else "Clip and press its seams open over the curved form, so that it lies in the cup without folds.",
            ),
            f"{self.stitch}, {PLAIN}",
        )

    def _top(self) -> MakingStep:
        room = self.order.build.allowance_for("top")
        if "lining" not in self.layers:
            return MakingStep(
                "Turn in the top",
                (
                    f"Turn in the {said(room)} allowance of the top edge, clip where it pulls, and sew it down.",
                    "Press from the wrong side.",
                ),
                "ISO 4915 stitch 301",
            )
        back = self.order.build.allowance_for("centre_back")
        ends = (
            ()
            if self.docket.fastening.kind in ("zip", "none")
            else (f"Sew on down both centre back edges, {said(back)} from the edge.",)
        )
        return MakingStep(
            "Join shell and lining at the top",
            (
                f"Right sides together, seam on seam, sew the top edge {said(room)} from the edge.",
                *ends,
                f"Grade the allowances to about {said(GRADED)}, clip the hollows, notch the rounds, cut across the "
                "corners.",
                "Turn, roll the seam a thread's width to the lining, press, and understitch the lining where you can "
                "reach.",
            ),
            f"ISO 4915 stitch 301, {PLAIN}",
        )

    def _bones(self) -> Iterator[MakingStep]:
        if not self.docket.bones:
            return
        cut = "; ".join(f"{b.quantity} of {said(b.length)} ({self._where(b.where, b.side)})" for b in self.docket.bones)
        clear = self.docket.bones[0].clearance
        yield MakingStep(
            "Cut, tip and insert the bones",
            (
                f"Cut the bones so that with their tips on they measure: {cut}.",
                f"Cap or tip both ends of every bone. Push it in from below; {said(clear)} stays free at either end.",
                "Close the lower ends of the casings by hand.",
            ),
            "ISO 4915 class 200, by hand",
        )

    def _hem(self) -> MakingStep:
        room = self.order.build.allowance_for("hem")
        how = (
            f"Turn in {said(room)} on shell and lining, fold on fold, the lining a little short, and fell it by hand."
            if "lining" in self.layers
            else f"Turn in the {said(room)} allowance, clip where it pulls, and hem by hand."
        )
        return MakingStep("Close the hem", (how, "Press the edge."), "ISO 4915 class 200, by hand")

    def _zip(self) -> MakingStep:
        room = self.order.build.allowance_for("centre_back")
        f = self.docket.fastening
        return MakingStep(
            "Set the zip",
            (
                f"The finished centre back edge is {said(min(f.edges))}; the open-ended zip is {said(f.zip)}.",
                f"Fold in {said(room)}, lay the folds against the teeth, tops level, and sew each tape with two rows.",
                *(
                    ["The lining's fold is felled to the tape by hand, clear of the slider."]
                    if "lining" in self.layers
                    else []
                ),
            ),
            "ISO 4915 stitch 301",
            "closing",
        )

    def _eyelets(self) -> MakingStep:
        f, n = self.docket.fastening, self.order.notions
        return MakingStep(
            "Set the eyelets and lace",
            (
                f"On each centre back edge mark {f.count} eyelets, {said(n.eyelet_inset)} from the edge, between the "
                "two "
                f"bones: the first {said(n.closing_inset)} below the top, then every {_step(f.spacing)}.",
                "Measure both sides against each other, pierce without cutting the threads where you can, set the "
                "eyelets.",
                f"Cord: {said(f.cord)}. Laced shut the edges stand {said(self.order.style.gap)} apart.",
            ),
            sketch="closing",
        )

    def _hooks(self) -> MakingStep:
        f, n = self.docket.fastening, self.order.notions
        return MakingStep(
            "Sew on hooks and eyes",
            (
                f"{f.count} hooks and eyes: the first {said(n.closing_inset)} below the top, then every "
                f"{_step(f.spacing)}.",
                "Sew hooks to one edge and eyes to the other so that the edges just meet; the row must not gape.",
            ),
            "ISO 4915 class 200, by hand",
            "closing",
        )

    def _meeting(self, seam: Seam) -> str:
        """The notches that meet, each with its distance from the hem along the net line, and the seam's length."""
        spoken = _PLACES
        notched = self._common(seam)
        a, _ = self.pattern.edges_of(seam)
        if {"bust_point"} <= notched & a.marks.keys() and abs(
            a.marks.get("bust", -1.0) - a.marks["bust_point"]
        ) < ONE_STATION:
            # The bust level and the bust point are one station of the seam.
            notched = notched | {"bust"}
            spoken = {**_PLACES, "bust": "bust point"}
        met = stations(self.pattern, seam)
        # A notch of a pattern that was brought in may stand at a level, and is told by that.
        at = [a.marks[name] for name in notched if name in a.marks]
        notched = notched | {name for name, s, _ in met if any(abs(s - t) < SAME_PLACE for t in at)}
        places = [(name, (s + t) / 2.0) for name, s, t in met]
        inner = [f"{spoken.get(name, name)} {said(s)}" for name, s in places[1:-1] if name in notched]
        end, whole = places[-1]
        return f"{', '.join(inner)}{', ' if inner else ''}{_PLACES.get(end, end)} {said(whole)}"

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


def _step(mm: float) -> str:
    """A distance that is stepped off many times, to the mm's tenth: what rounding takes off would add up."""
    return f"{millimetres(mm)} ({inches(mm)})"


def _channels(bone: Bone) -> str:
    side = "" if bone.side == "both" else f"{bone.side}: "
    return f"{side}{bone.quantity} channel{'s' * (bone.quantity > 1)}"
