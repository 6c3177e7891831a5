"""Who makes it, and what lies on the maker's shelf beside cloth. Frozen data; lengths in mm, money in decimal."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class Maker:
    """Who makes the garment, as it stands on the quote; empty where not said."""

    name: str = ""
    address: str = ""
    tax_number: str = ""


@dataclass(frozen=True, slots=True)
class BoneKind:
    """A kind of bone that is kept: its width, where it serves, and the lengths that are sold (none: from a coil).

    `price` is that of 1 m, or of one where lengths are sold.
    """

    name: str
    kind: str
    width: float
    places: tuple[str, ...] = ("openings", "seams", "lines")
    lengths: tuple[float, ...] = ()
    price: Decimal | None = None


@dataclass(frozen=True, slots=True)
class EyeletKind:
    """An eyelet: width of its hole, outer width of its rim, price of one."""

    name: str
    hole: float = 5.0
    rim: float = 10.0
    price: Decimal | None = None


@dataclass(frozen=True, slots=True)
class ReadyCup:
    """A moulded cup: width of its base, its depth, its volume in cm³ if known, the price of a pair.

    `used`: it is set in, and the pads are cut away where it lies.
    """

    name: str
    base: float
    depth: float
    size: str = ""
    volume: Decimal | None = None
    price: Decimal | None = None
    used: bool = False


@dataclass(frozen=True, slots=True)
class Wire:
    """An underwire: its length along the curve, the width between its ends if known, the price of a pair."""

    name: str
    length: float
    diameter: float | None = None
    price: Decimal | None = None


# Flat steel of 7 to 10 mm at openings, spiral steel or synthetic of 5 to 7 mm on curves (common practice, no source).
USUAL_BONES: tuple[BoneKind, ...] = (
    BoneKind("flat steel", "flat_steel", 7.0, ("openings",)),
    BoneKind("spiral steel", "spiral_steel", 6.0, ("seams", "lines")),
)
# An eyelet of 5 mm with a rim of 10 mm (common practice, no source).
USUAL_EYELET = EyeletKind("eyelet")


@dataclass(frozen=True, slots=True)
class Shelf:
    """Bones, eyelets, ready cups and wires that the maker keeps; empty where nothing is said."""

    bones: tuple[BoneKind, ...] = ()
    eyelets: tuple[EyeletKind, ...] = ()
    cups: tuple[ReadyCup, ...] = ()
    wires: tuple[Wire, ...] = ()

    def bone(self, place: str) -> BoneKind:
        """The kind that serves a place ("openings", "seams" or "lines"): the first of the shelf, else the usual."""
        return next(b for b in (*self.bones, *USUAL_BONES) if place in b.places)

    @property
    def prices(self) -> tuple[tuple[Decimal | None, ...], ...]:
        """The prices of bones, eyelets, cups and wires, list by list."""
        return (
            tuple(b.price for b in self.bones),
            tuple(e.price for e in self.eyelets),
            tuple(c.price for c in self.cups),
            tuple(w.price for w in self.wires),
        )

    @property
    def eyelet(self) -> EyeletKind:
        """The eyelet that is set."""
        return self.eyelets[0] if self.eyelets else USUAL_EYELET
