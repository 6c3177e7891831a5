"""The cloth that each layer is cut from: what the order says, and what is usual where it says nothing."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from typing import Any

from coutil.order import KIT, Cloth, Order
from coutil.pattern import ClothRef, Finding, LayerRef, part
from coutil.words import Key, Length, Told

# Distance between pieces where the order does not say, in mm: room for the shears (common practice, no source).
GAP = 3.0
# Shrinkage in percent of a cloth that is fused or steamed, where the order does not say: most woven cloth stays below
# (common practice, no source; a test square tells better).
SHRINK_LENGTH = 3.0
SHRINK_WIDTH = 2.0
# At this shrinkage nothing would be left to cut from, in percent.
ALL_GONE = 100.0
# Layers of woven cloth without glue on it.
WOVEN = ("shell", "lining", "flat_lining", "strength", *KIT)
# Layers whose cloth shrinks in steam; foam and web never see it before they are cut.
SHRINKING = frozenset({*WOVEN, "interfacing", "lining_interfacing"})
# Layers that are steamed and pressed before they are cut, unless they are fused (common practice, no source).
STEAMED = frozenset(WOVEN)
# What is cut from another layer's cloth where no cloth is named for it, the first that there is a cloth for.
CUT_FROM = {"modesty_panel": ("shell",), "guard": ("shell",), "underlap": ("shell",)}

# What is bought where the order names nothing for a layer. Widths are common practice, no source.
USUAL: dict[str, Cloth] = {
    "shell": Cloth("shell cloth", ("shell",), width=1400.0, selvedge=15.0),
    "interfacing": Cloth("interfacing", ("interfacing",), width=900.0, selvedge=5.0),
    "foam": Cloth("foam", ("foam",), sheet=(1000.0, 1500.0), selvedge=0.0),
    "web": Cloth("adhesive web", ("web",), width=450.0, selvedge=0.0),
    "lining": Cloth("lining cloth", ("lining",), width=1400.0, selvedge=15.0),
    "lining_interfacing": Cloth("lining interfacing", ("lining_interfacing",), width=900.0, selvedge=5.0),
    "lace": Cloth("lace", ("lace",), width=1300.0, selvedge=10.0),
    "flat_lining": Cloth("flat lining cloth", ("flat_lining",), width=1400.0, selvedge=15.0),
    "strength": Cloth("strength cloth", ("strength",), width=1500.0, selvedge=15.0),
    "elastic": Cloth("elastic", ("elastic",), width=300.0, selvedge=0.0),
    "net": Cloth("net", ("net",), width=1500.0, selvedge=10.0),
    **{x: Cloth(f"{x.replace('_', ' ')} cloth", (x,), width=1400.0, selvedge=15.0) for x in KIT},
}


@dataclass(frozen=True, slots=True)
class Material:
    """A cloth with nothing left open, in mm; shrinkage in parts (0 to 1).

    `width` is the usable one, the selvedges taken off. `remnants` are (width, length) and bear no selvedge. `sheet` is
    the length of a sheet; its width is `width`.
    """

    cloth: Cloth
    width: float
    one_way: bool
    folded: bool
    gap: float
    shrink_length: float
    shrink_width: float
    sheet: float | None
    remnants: tuple[tuple[float, float], ...]
    usual: bool = False

    @property
    def name(self) -> str:
        return self.cloth.name

    def steamed(self) -> Material:
        """What it is after steaming, when it has shrunk by all that is stated. The selvedges shrink with it."""
        across, along = 1.0 - self.shrink_width, 1.0 - self.shrink_length
        return replace(
            self,
            width=self.width * across,
            sheet=None if self.sheet is None else self.sheet * along,
            remnants=tuple((w * across, n * along) for w, n in self.remnants),
        )


def materials(order: Order, layers: Iterable[str]) -> tuple[dict[str, Material], tuple[Finding, ...]]:
    """The material of each layer, in the order of `layers`, and what there is to say about it.

    The first cloth of the order that is for a layer serves it. A layer whose cloth cannot be is left out, with a
    `stop`.
    """
    out: dict[str, Material] = {}
    findings: list[Finding] = []
    said: set[str] = set()
    wanted = tuple(layers)
    for layer in wanted:
        # What the kit is cut from goes with the cloth of another layer, and is told with it.
        source = cut_from(order, layer, wanted)
        named = [c for c in order.cloth if source in c.layers]
        cloth = named[0] if named else USUAL[source]
        trouble = _trouble(cloth, layer)
        if trouble is not None:
            if cloth.name not in said:
                findings.append(trouble)
            said.add(cloth.name)
            continue
        m = _settled(cloth, source, usual=not named)
        out[layer] = m
        if source != layer and cloth.name in said:
            continue
        if not named:
            findings.append(_assumed(source, m))
        elif cloth.name not in said:
            findings += _left_open(cloth, layer, m)
        said.add(cloth.name)
        findings += [
            Finding("cloth.second", "note", ClothRef(c.name), {"layer": LayerRef(layer), "first": ClothRef(cloth.name)})
            for c in named[1:]
        ]
    return out, tuple(findings)


def cut_from(order: Order, layer: str, layers: Collection[str]) -> str:
    """The layer whose cloth a layer is cut from: its own, unless it has none and is part of the kit.

    `layers` are those that there are. A facing comes from the layer that the kit says; as is usual from the strength
    layer, else from the shell. A pile is too thick, and lace too open, to hold channels and eyelets: of such a shell it
    comes from the lining, and without one from a cloth of its own.
    """
    if any(layer in c.layers for c in order.cloth):
        return layer
    if layer != "facing":
        return next(iter(CUT_FROM.get(layer, ())), layer)
    said = "usual" if order.build.kit is None else order.build.kit.facing_of
    if said != "usual":
        return said
    if "strength" in layers:
        return "strength"
    shell = next((c for c in order.cloth if "shell" in c.layers), None)
    if shell is None or not (shell.pile or "lace" in shell.layers):
        return "shell"
    return "lining" if "lining" in layers else "facing"


def _settled(cloth: Cloth, layer: str, *, usual: bool) -> Material:
    width, selvedge = _width(cloth, layer)
    shrinks = layer in SHRINKING
    length, across = cloth.shrink_length, cloth.shrink_width
    if shrinks and length is None and across is None:
        length, across = SHRINK_LENGTH, SHRINK_WIDTH
    return Material(
        cloth=cloth,
        width=width - 2.0 * selvedge,
        one_way=cloth.direction == "one-way",
        folded=cloth.laid == "folded" and cloth.sheet is None,
        gap=GAP if cloth.gap is None else cloth.gap,
        shrink_length=(length or 0.0) / 100.0 if shrinks else 0.0,
        shrink_width=(across or 0.0) / 100.0 if shrinks else 0.0,
        sheet=None if cloth.sheet is None else cloth.sheet[1],
        remnants=cloth.remnants,
        usual=usual,
    )


def _width(cloth: Cloth, layer: str) -> tuple[float, float]:
    """Full width and selvedge. A sheet has no selvedge unless one is stated."""
    usual = USUAL[layer]
    if cloth.sheet is not None:
        return cloth.sheet[0], cloth.selvedge or 0.0
    fallback = usual.width if usual.width is not None else usual.sheet[0] if usual.sheet else 0.0
    selvedge = cloth.selvedge if cloth.selvedge is not None else usual.selvedge
    return cloth.width if cloth.width is not None else fallback, selvedge or 0.0


def _trouble(cloth: Cloth, layer: str) -> Finding | None:
    """Why nothing can be planned on this cloth; None where nothing stands in the way."""

    def stop(code: str, /, **args: Any) -> Finding:
        return Finding(code, "stop", ClothRef(cloth.name), args)

    for name in ("width", "selvedge", "gap", "on_hand", "shrink_length", "shrink_width"):
        v = getattr(cloth, name)
        if v is not None and not (math.isfinite(v) and v >= 0.0):
            return stop("cloth.no_number", key=Key(name), value=v)
    for name in ("shrink_length", "shrink_width"):
        v = getattr(cloth, name)
        if v is not None and v >= ALL_GONE:
            return stop("cloth.all_gone", key=Key(name), value=v)
    for w, n in (*cloth.remnants, *([cloth.sheet] if cloth.sheet else [])):
        if not (math.isfinite(w) and math.isfinite(n) and w > 0.0 and n > 0.0):
            return stop("cloth.no_size", width=w, length=n)
    width, selvedge = _width(cloth, layer)
    if width <= 2.0 * selvedge:
        return stop("cloth.all_selvedge", width=Length(width, "both"), selvedge=Length(selvedge, "both"))
    return None


def _assumed(layer: str, m: Material) -> Finding:
    sheet = m.cloth.sheet
    args = {
        "layer": LayerRef(layer),
        "comes": "sheets" if sheet else "length",
        "width": Length(sheet[0], "cm") if sheet else Length(m.cloth.width or 0.0, "both"),
        "long": Length(sheet[1] if sheet else 0.0, "cm"),
        "gap": Length(m.gap, "cm"),
        "shrinks": bool(m.shrink_length or m.shrink_width),
        "shrinking": _shrinking(m),
    }
    return Finding("cloth.assumed", "note", ClothRef(m.name), args)


def _left_open(cloth: Cloth, layer: str, m: Material) -> list[Finding]:
    out = []
    about = ClothRef(cloth.name)
    if cloth.sheet is None and cloth.width is None:
        out.append(Finding("cloth.no_width", "note", about, {"width": Length(_width(cloth, layer)[0], "both")}))
    if layer in SHRINKING and cloth.shrink_length is None and cloth.shrink_width is None:
        out.append(Finding("cloth.no_shrinkage", "note", about, {"shrinking": _shrinking(m)}))
    if cloth.laid == "folded" and cloth.sheet is not None:
        out.append(Finding("cloth.sheets_single", "note", about))
    return out


def _shrinking(m: Material) -> Told:
    return part("shrinking", length=m.shrink_length * 100, width=m.shrink_width * 100)
