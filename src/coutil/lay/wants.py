"""What has to be laid: pieces as they are, and fusing blocks in place of the pieces that are fused before cutting."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shapely import Polygon  # type: ignore[import-untyped]

from coutil.lay.blocks import Fused, blocks_for
from coutil.lay.cloths import STEAMED, Material
from coutil.lay.model import Block
from coutil.lay.shapes import ShapeError, half, mirrored, outline, ring
from coutil.pattern import Finding, Pattern, Piece, PieceRef
from coutil.plane import Pt

# The layer that each layer is fused with before it is cut.
FUSED_WITH = {"shell": "interfacing", "lining": "lining_interfacing"}


@dataclass(frozen=True, slots=True)
class Want:
    """A piece or a block to be laid on one layer's cloth; `outline` as on the cloth, at rotation 0, whole."""

    name: str
    layer: str
    outline: Polygon
    quantity: int
    mirrored_pair: bool
    on_fold: bool
    # Stretches along x in which a bust point lies.
    bust: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Copies:
    """Copies of a want that are laid by one outline: `pinned` ones must lie with y = 0 on the fold."""

    want: str
    layer: str
    outline: Polygon
    copies: tuple[int, ...]
    mirrored: bool = False
    pinned: bool = False
    bust: tuple[tuple[float, float], ...] = ()

    @property
    def points(self) -> tuple[Pt, ...]:
        return tuple(ring(self.outline))


@dataclass(frozen=True, slots=True)
class Wanted:
    """All that one cloth is asked for in one go. `steamed`: the cloth is steamed before it is cut."""

    material: Material
    wants: tuple[Want, ...]
    steamed: bool

    @property
    def layers(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(w.layer for w in self.wants))


def gather(
    pattern: Pattern, mats: Mapping[str, Material], *, margin: float, share: bool = True
) -> tuple[tuple[Wanted, ...], tuple[Block, ...], tuple[Finding, ...]]:
    """What each cloth is asked for, the blocks among it, and what could not be laid at all.

    Layers of one cloth are laid together if they are treated alike. Pieces whose layer has no material are left out
    (its `stop` is said by `materials`).
    """
    findings: list[Finding] = []
    sound: list[Piece] = []
    outlines: dict[str, Polygon] = {}
    for p in pattern.pieces:
        if p.layer not in mats:
            continue
        if p.name in outlines:
            findings.append(Finding("piece.twice", "stop", PieceRef(p.name)))
            continue
        if p.quantity < 1 or (p.mirrored_pair and p.quantity % 2):
            findings.append(Finding("piece.quantity", "stop", PieceRef(p.name), {"quantity": p.quantity}))
            continue
        try:
            outlines[p.name] = outline(p)
        except ShapeError as e:
            findings.append(Finding("piece.shape", "stop", PieceRef(p.name), {"why": str(e)}))
            continue
        sound.append(p)

    bust = {p.name: _bust_places(pattern, p) for p in sound}
    blocks: list[Block] = []
    wants: list[Want] = []
    fused: set[str] = set()
    for cloth_layer, glue_layer in FUSED_WITH.items():
        groups = _fused_groups(sound, cloth_layer, glue_layer)
        if groups and cloth_layer in mats and glue_layer in mats:
            made = blocks_for(groups, outlines, bust, mats[cloth_layer], mats[glue_layer], margin=margin, share=share)
            blocks += made
            fused.update(name for b in made for name, _ in b.pieces)
    wants += [Want(b.name, b.layer, Polygon(b.outline), b.quantity, b.mirrored_pair, b.on_fold, b.bust) for b in blocks]
    wants += [
        Want(
            p.name,
            p.layer,
            outlines[p.name],
            p.quantity,
            p.mirrored_pair,
            p.on_fold,
            tuple((x, x) for x in bust[p.name]),
        )
        for p in sound
        if p.name not in fused
    ]

    blocked = {b.name for b in blocks}
    order: dict[tuple[str, bool], list[Want]] = {}
    for layer in mats:
        for w in wants:
            if w.layer == layer:
                steamed = layer in STEAMED and w.name not in blocked
                order.setdefault((mats[layer].name, steamed), []).append(w)
    out = []
    for (_, steamed), ws in order.items():
        m = mats[ws[0].layer]
        out.append(Wanted(m.steamed() if steamed else m, tuple(ws), steamed))
    return tuple(out), tuple(blocks), tuple(findings)


def copies_single(wants: Sequence[Want]) -> list[Copies]:
    """Each copy by an outline of its own: pairs half turned over (even copies), pieces on the fold opened out."""
    out: list[Copies] = []
    for w in wants:
        every = tuple(range(1, w.quantity + 1))
        if w.mirrored_pair:
            out.append(Copies(w.name, w.layer, w.outline, every[::2], bust=w.bust))
            out.append(Copies(w.name, w.layer, mirrored(w.outline), every[1::2], mirrored=True, bust=w.bust))
        else:
            out.append(Copies(w.name, w.layer, w.outline, every, bust=w.bust))
    return out


def can_fold(w: Want) -> bool:
    """Whether a want can be cut through both layers of folded cloth."""
    return w.mirrored_pair or w.on_fold


def copies_folded(wants: Sequence[Want]) -> list[Copies]:
    """One outline for each pair, and half an outline, pinned to the fold, for each piece on it."""
    out: list[Copies] = []
    for w in wants:
        every = tuple(range(1, w.quantity + 1))
        if w.on_fold:
            out.append(Copies(w.name, w.layer, half(w.outline), every, pinned=True))
        else:
            out.append(Copies(w.name, w.layer, w.outline, every[::2]))
    return out


def _bust_places(pattern: Pattern, piece: Piece) -> tuple[float, ...]:
    """Where the bust point lies along the piece's grain; empty if its panel bears none."""
    try:
        points = pattern.panel(piece.panel, piece.side).points
    except KeyError:
        return ()
    return (points["bust_point"][1],) if "bust_point" in points else ()


def _fused_groups(pieces: Sequence[Piece], cloth_layer: str, glue_layer: str) -> list[Fused]:
    """Pieces of the cloth with those of the interfacing of the same panel, side and number."""
    out = []
    for p in pieces:
        if p.layer != cloth_layer:
            continue
        partners = [
            q
            for q in pieces
            if q.layer == glue_layer
            and (q.panel, q.side, q.quantity, q.mirrored_pair, q.on_fold)
            == (p.panel, p.side, p.quantity, p.mirrored_pair, p.on_fold)
        ]
        if len(partners) == 1:
            out.append(Fused(p, partners[0]))
    return out
