"""What a finding or a refusal is about, as data: a panel, an edge, a seam, a level, values of the order, a cloth.

How each is called in words is the business of coutil.pattern.telling.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

Side = Literal["both", "left", "right"]


@dataclass(frozen=True, slots=True)
class PanelRef:
    """A panel; `side` is "both" where one serves both sides, or where both are meant."""

    kind: ClassVar[str] = "panel"

    name: str
    side: Side = "both"


@dataclass(frozen=True, slots=True)
class EdgeRef:
    """One edge of one panel; `side` is that of the panel which is meant ("both" where one serves both sides)."""

    kind: ClassVar[str] = "edge"

    panel: str
    edge: str
    side: Side


@dataclass(frozen=True, slots=True)
class SeamRef:
    """A seam by its name; `side` is "both" where one serves both sides, joins them, or where both are meant."""

    kind: ClassVar[str] = "seam"

    name: str
    side: Side = "both"


@dataclass(frozen=True, slots=True)
class PadRef:
    """The pad on a panel; without a panel, all pads of the side's cup."""

    kind: ClassVar[str] = "pad"

    panel: str | None = None
    side: Side = "both"


@dataclass(frozen=True, slots=True)
class CupRef:
    """The cup of a side."""

    kind: ClassVar[str] = "cup"

    side: Side = "both"


@dataclass(frozen=True, slots=True)
class LevelRef:
    """A level; `of` is what about it: the girth of the garment there, its ease, or the line itself."""

    kind: ClassVar[str] = "level"

    level: str
    of: Literal["girth", "ease", "level"] = "level"


@dataclass(frozen=True, slots=True)
class MarkRef:
    """A named mark on an edge: a level, the bust point, a notch."""

    kind: ClassVar[str] = "mark"

    name: str


@dataclass(frozen=True, slots=True)
class NotchRef:
    """A notch by its name."""

    kind: ClassVar[str] = "notch"

    name: str


@dataclass(frozen=True, slots=True)
class KeysRef:
    """Values of the order by their full keys: "body.bust", "body.left.front_bust", "style.peak"."""

    kind: ClassVar[str] = "keys"

    keys: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ClothRef:
    """A cloth by its name, as the order calls it or as the usual one is called."""

    kind: ClassVar[str] = "cloth"

    name: str


@dataclass(frozen=True, slots=True)
class LayerRef:
    """A layer: "lining_interfacing"."""

    kind: ClassVar[str] = "layer"

    layer: str


@dataclass(frozen=True, slots=True)
class PieceRef:
    """A piece by its name."""

    kind: ClassVar[str] = "piece"

    name: str


@dataclass(frozen=True, slots=True)
class Topic:
    """Something that is none of the others, by its word in the catalogue (`topic.NAME`): "foam", "lays"."""

    kind: ClassVar[str] = "topic"

    name: str


About = PanelRef | EdgeRef | SeamRef | PadRef | CupRef | LevelRef | KeysRef | ClothRef | PieceRef | Topic
