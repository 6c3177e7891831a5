"""Pieces: every panel and pad as it is cut from each layer."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from coutil.layers.allowances import allowance, lace_cut, pad_cut, panel_cut
from coutil.layers.notches import pad_notches, panel_notches
from coutil.layers.pads import pads
from coutil.layers.smaller import smaller
from coutil.order import LAID, Build
from coutil.pattern import Finding, Notch, Pad, PadRef, Panel, Pattern, Piece, about_words, panel_ref, seam_called
from coutil.pattern.model import Layer
from coutil.plane import Curve, Pt, upright_line
from coutil.words import Length

# How a layer is called in the name of a piece.
SPOKEN: dict[Layer, str] = {
    "shell": "shell",
    "interfacing": "interfacing",
    "foam": "foam",
    "web": "web",
    "lining": "lining",
    "lining_interfacing": "lining interfacing",
    "lace": "lace",
    "flat_lining": "flat lining",
    "strength": "strength layer",
    "facing": "facing",
    "modesty_panel": "modesty panel",
    "guard": "guard",
    "underlap": "underlap",
    "elastic": "elastic",
    "net": "net",
    "toile": "toile",
}


def layer_up(pattern: Pattern, build: Build) -> Pattern:
    """The pattern with its pads, its pieces in every layer of the build, and what there is to say about them.

    Pieces come panel by panel, from the outside in. Layers of a panel share one cut line, but for lace, which has
    allowances of its own, and a lining that is smaller; interfaced cloth is fused as a block and then cut, so both are
    cut alike. Raises LayerError, naming the piece, where a cut line cannot be drawn. A pad that cannot be made leaves a
    stop and no foam; the rest is still cut.
    """
    padded = bool(build.pad.on) and "foam" in build.layers
    made, said_of_pads = pads(pattern, build.pad) if padded else ((), ())
    pattern = replace(pattern, pads=made)
    notches, said_of_notches = panel_notches(pattern)
    inner = pattern
    lining = build.lining
    if lining is not None and lining.smaller and build.pad.thickness and made and "lining" not in build.pad.on:
        inner = smaller(pattern, build.pad.thickness)
    inner_notches = notches if inner is pattern else panel_notches(inner)[0]
    pieces: list[Piece] = []
    for panel, within in zip(pattern.panels, inner.panels, strict=True):
        pad = next((p for p in made if p.panel == panel.name and p.side == panel.side), None)
        placed = notches[panel.name, panel.side]
        edge = pattern.cup_edge(panel)
        padding = None if pad is None or edge is None else (pad, pad_cut(pad, build), pad_notches(pad, placed, edge))
        kept = tuple(n for n, _ in placed)
        inside = (within, tuple(n for n, _ in inner_notches[panel.name, panel.side]))
        pieces += _pieces(panel, padding, kept, inside, build)
    findings = (*pattern.findings, *said_of_pads, *said_of_notches, *_catch(pattern, build))
    return replace(pattern, pieces=tuple(pieces), findings=findings)


def _pieces(
    panel: Panel,
    padding: tuple[Pad, tuple[Curve, ...], tuple[Notch, ...]] | None,
    notches: tuple[Notch, ...],
    inside: tuple[Panel, tuple[Notch, ...]],
    build: Build,
) -> Iterator[Piece]:
    """The pieces of one panel; `inside` is the panel as its lining is drawn, with its notches."""
    cut = panel_cut(panel, build)

    def cloth(layer: Layer, of: Panel, line: tuple[Curve, ...], marks: tuple[Notch, ...]) -> Piece:
        placement = (padding[1],) if padding is not None and layer in build.pad.on else ()
        return panel_piece(of, layer, line, marks, placement)

    def foam(layer: Layer) -> Iterator[Piece]:
        if padding is None:
            return
        pad, pad_line, pad_marks = padding
        # One for each breast, also where the panel itself lies on the fold; and one for each layer that carries pads.
        pair = pad.side == "both"
        yield Piece(
            name=f"{about_words(panel_ref(panel))}, {SPOKEN[layer]}",
            panel=panel.name,
            layer=layer,
            side=pad.side,
            quantity=(2 if pair else 1) * len(build.pad.on),
            mirrored_pair=pair,
            on_fold=False,
            net=pad.edges,
            cut=pad_line,
            notches=pad_marks,
            placement=(),
            grain=_pad_grain(pad),
            part=panel.part,
        )

    if panel.material != "cloth":
        yield panel_piece(panel, panel.material, cut, notches, ())
        return
    for name in LAID:
        if name not in build.layers:
            continue
        match name:
            case "foam" | "web":
                yield from foam(name)
            case "lace":
                yield panel_piece(panel, "lace", lace_cut(panel, build), notches, ())
            case "shell" | "flat_lining" | "interfacing" | "strength":
                yield cloth(name, panel, cut, notches)
    if build.lining is not None:
        within, marks = inside
        lined = cut if within is panel else panel_cut(within, build)
        yield cloth("lining", within, lined, marks)
        if build.lining.fused:
            yield cloth("lining_interfacing", within, lined, marks)


def panel_piece(
    panel: Panel,
    layer: Layer,
    cut: tuple[Curve, ...],
    notches: tuple[Notch, ...],
    placement: tuple[tuple[Curve, ...], ...],
) -> Piece:
    """A whole panel as it is cut from a layer."""
    on_fold = panel.fold is not None
    pair = panel.side == "both" and not on_fold
    return Piece(
        name=f"{about_words(panel_ref(panel))}, {SPOKEN[layer]}",
        panel=panel.name,
        layer=layer,
        side=panel.side,
        quantity=2 if pair else 1,
        mirrored_pair=pair,
        on_fold=on_fold,
        net=panel.edges,
        cut=cut,
        notches=notches,
        placement=placement,
        grain=panel.grain,
        part=panel.part,
    )


def _pad_grain(pad: Pad) -> tuple[Pt, Pt]:
    # 0.1 mm is fine enough for a line that stays several mm inside and in the middle of the height.
    return upright_line(pad.outline(tolerance=0.1))


def _catch(pattern: Pattern, build: Build) -> tuple[Finding, ...]:
    """A warning where the cup seam is to catch more of the pads than its allowance takes."""
    if not pattern.pads:
        return ()
    edge = pattern.edge_of(pattern.cup_seams[0].a)
    room = allowance(edge.role, build)
    if build.pad.catch <= room:
        return ()
    args = {"seam": seam_called(edge), "catch": Length(build.pad.catch, "full"), "room": Length(room, "full")}
    return (Finding("pad.catch", "warn", PadRef(), args),)
