"""What an order, or a file beside it, says about a pattern that exists already. Frozen data; lengths in mm.

coutil.trace reads the drawing and puts both together; whatever is left out here it proposes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

# A place on an outline as a ruler finds it: to the right of its leftmost and above its lowest point, in mm, as it lies
# in the file.
Place = tuple[float, float]


@dataclass(frozen=True, slots=True)
class OwnPanel:
    """One panel of the pattern: which outline of the file it is, and what is known of it.

    `outline` is the outline's name in the file, or its number from 1. `roles` are those of its sides, in the order in
    which `coutil trace` numbers them; neighbours of one role are one edge. `allowances` likewise, for a cut line.
    `corners` are further places where a smooth outline is to be split. `levels` are heights.
    """

    outline: str
    name: str = ""
    side: Literal["both", "left", "right"] = "both"
    fold: str | None = None
    roles: tuple[str, ...] = ()
    allowances: tuple[float, ...] = ()
    corners: tuple[Place, ...] = ()
    bust_point: Place | None = None
    levels: Mapping[str, float] = field(default_factory=dict, hash=False)
    grain: tuple[Place, ...] = ()


@dataclass(frozen=True, slots=True)
class OwnSeam:
    """Two edges that are sewn together, each as (panel, edge). `peak`: how far b runs on, unsewn, above a's end."""

    name: str
    a: tuple[str, str]
    b: tuple[str, str]
    ease: float = 0.0
    peak: float = 0.0


@dataclass(frozen=True, slots=True)
class OwnPattern:
    """A pattern file and how it is to be read.

    `scale` is what one unit of the file measures; `line` what its outlines are, `allowance` what stands between a cut
    line and the net line; `corner` the least turn of a corner, in degrees. None: not stated. `drawing` is the file
    itself, packed (coutil.order.packed), where the order carries it; `file` is then only what it was called.
    """

    file: str
    scale: float | None = None
    line: Literal["net", "cut"] | None = None
    allowance: float | None = None
    corner: float = 30.0
    panels: tuple[OwnPanel, ...] = ()
    seams: tuple[OwnSeam, ...] = ()
    drawing: str = ""

    @property
    def names_description(self) -> bool:
        """Whether the file is no drawing but a .toml file that tells one's panels."""
        return self.file.lower().endswith(".toml")
