"""What a plan for the cloth is made of. Lengths in mm; a lay's x runs along the length of the cloth, y across its width.

y counts from one selvedge (or from the fold of folded cloth) over the usable width, x from the end where cutting starts.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from coutil.pattern import Finding
from coutil.plane import Pt


@dataclass(frozen=True, slots=True)
class Block:
    """A rough cut that is fused before its pieces are cut from it. `outline` is the size to cut, before any shrinkage.

    `pieces` are (piece name, copy) that are cut from it; `layer` is the material that this block is cut from.
    """

    name: str
    layer: str
    pieces: tuple[tuple[str, int], ...]
    outline: tuple[Pt, ...]


@dataclass(frozen=True, slots=True)
class Placement:
    """One copy of a piece (or block) on the cloth, as it lies there: `polygon` encloses its true outline."""

    piece: str
    copy: int
    mirrored: bool
    rotation_deg: float
    polygon: tuple[Pt, ...]


@dataclass(frozen=True, slots=True)
class Lay:
    """What is cut from one stretch of cloth, one sheet or one remnant. `used` is covered area over width times length."""

    cloth: str
    on: Literal["length", "sheet", "remnant"]
    layers: tuple[str, ...]
    folded: bool
    width_mm: float
    length_mm: float
    lower_bound_mm: float
    used: float
    placements: tuple[Placement, ...]
    # Rectangles worth keeping: (x, y, length along x, width along y).
    offcuts: tuple[tuple[float, float, float, float], ...] = ()
    seconds: float = 0.0


@dataclass(frozen=True, slots=True)
class LayPlan:
    """Every lay of an order, the blocks laid in place of fused pieces, and what each cloth needs from the shop.

    `to_buy` is by cloth name: length in mm, remnants and stock counted in, not yet rounded up to what is sold (for
    cloth sold in sheets: the number of sheets).
    """

    lays: tuple[Lay, ...]
    blocks: tuple[Block, ...] = ()
    to_buy: Mapping[str, float] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()
