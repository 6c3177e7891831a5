"""Pieces: every panel and pad as it is cut from each layer."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from coutil.layers.allowances import allowance, pad_cut, panel_cut
from coutil.layers.notches import pad_notches, panel_notches
from coutil.layers.pads import pads
from coutil.order import Build
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
}


def layer_up(pattern: Pattern, build: Build) -> Pattern:
    """The pattern with its pads, its pieces in every layer of the build, and what there is to say about them.

    Pieces come panel by panel, from the shell inwards. Shell, interfacing and lining of a panel share one cut line;
    interfaced cloth is fused as a block and then cut, so both are cut alike. Raises LayerError, naming the piece, where
    a cut line cannot be drawn. A pad that cannot be made leaves a stop and no foam; the rest is still cut.
    """
    made, said_of_pads = pads(pattern, build.pad)
    pattern = replace(pattern, pads=made)
    notches, said_of_notches = panel_notches(pattern)
    pieces: list[Piece] = []
    for panel in pattern.panels:
        pad = next((p for p in made if p.panel == panel.name and p.side == panel.side), None)
        placed = notches[panel.name, panel.side]
        edge = pattern.cup_edge(panel)
        padding = None if pad is None or edge is None else (pad, pad_cut(pad, build), pad_notches(pad, placed, edge))
        pieces += _pieces(panel, padding, tuple(n for n, _ in placed), build)
    findings = (*pattern.findings, *said_of_pads, *said_of_notches, *_catch(pattern, build))
    return replace(pattern, pieces=tuple(pieces), findings=findings)


def _pieces(
    panel: Panel,
    padding: tuple[Pad, tuple[Curve, ...], tuple[Notch, ...]] | None,
    notches: tuple[Notch, ...],
    build: Build,
) -> Iterator[Piece]:
    cut = panel_cut(panel, build)

    def cloth(layer: Layer) -> Piece:
        on_fold = panel.fold is not None
        pair = panel.side == "both" and not on_fold
        placement = (padding[1],) if padding is not None and layer in build.pad.on else ()
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

    yield cloth("shell")
    yield cloth("interfacing")
    if padding is not None:
        pad, pad_line, pad_marks = padding
        grain = _pad_grain(pad)
        # One for each breast, also where the panel itself lies on the fold.
        pair = pad.side == "both"
        # And one for each layer that carries pads.
        quantity = (2 if pair else 1) * len(build.pad.on)
        for layer in ("foam", "web"):
            yield Piece(
                name=f"{about_words(panel_ref(panel))}, {SPOKEN[layer]}",
                panel=panel.name,
                layer=layer,
                side=pad.side,
                quantity=quantity,
                mirrored_pair=pair,
                on_fold=False,
                net=pad.edges,
                cut=pad_line,
                notches=pad_marks,
                placement=(),
                grain=grain,
                part=panel.part,
            )
    if build.lining is not None:
        yield cloth("lining")
        if build.lining.fused:
            yield cloth("lining_interfacing")


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
