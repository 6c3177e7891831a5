"""What a plan for the cloth is made of. Lengths in mm; a lay's x runs along the cloth, y across its width.

y counts from one selvedge (or from the fold of folded cloth) over the usable width, x from the end where cutting
starts. All is drawn as the cutter sees it, right side up (interfacing: glue side up). At rotation 0 the top of a piece
points along +x.
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

    `pieces` are (piece name, copy) that are cut from its first copy; its copy k gives their copy k. With
    `mirrored_pair` the even copies are turned over. `layer` is the material that this block is cut from.
    The outline lies as on the cloth (x along the grain, top of the pieces towards +x, right side up). `cut_from` are
    its pieces where they come to lie in it after fusing, when it has shrunk about the origin by at most `shrinkage`
    (parts along x and along y, 0 to 1).
    """

    name: str
    layer: str
    pieces: tuple[tuple[str, int], ...]
    outline: tuple[Pt, ...]
    quantity: int = 1
    mirrored_pair: bool = False
    on_fold: bool = False
    cut_from: tuple[Placement, ...] = ()
    # Stretches along x in which a bust point lies, before shrinkage or after: no join of a pieced block comes near.
    bust: tuple[tuple[float, float], ...] = ()
    shrinkage: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Placement:
    """One copy of a piece (or block) on the cloth, as it lies there: `polygon` encloses its true outline.

    On folded cloth the cut goes through both layers: a placement then stands for its copy and for the mirrored one
    after it, and a piece on the fold shows as the half that is seen.

    `at` says where it lies: the piece as on the cloth (see `coutil.lay.shapes.on_cloth`), turned over about y = 0 if
    `mirrored`, turned by `rotation_deg` about the origin, then moved by `at`.
    """

    piece: str
    copy: int
    mirrored: bool
    rotation_deg: float
    polygon: tuple[Pt, ...]
    at: Pt = (0.0, 0.0)
    # Which part of how many, for interfacing that is pieced; None for a whole one.
    part: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class Lay:
    """What is cut from one stretch of cloth, one sheet or one remnant. `used` is covered area over width times length.

    `width_mm` is the usable width (half of it on folded cloth), `length_mm` what the pieces need of the length.
    `stock_mm` is the length of the sheet or remnant that they lie on, None for cloth cut off the roll. `steamed`: the
    cloth is steamed before it is cut, and the lay shows it as it is then. `gap_mm` was kept between pieces.
    """

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
    stock_mm: float | None = None
    steamed: bool = False
    gap_mm: float = 0.0
    one_way: bool = False


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
