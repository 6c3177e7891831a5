"""Small pieces and patterns for the tests of lays: rectangles and rounded shapes of our own invention."""

from __future__ import annotations

from coutil.body import Body, resolve_body
from coutil.order import Build, Cloth, Order
from coutil.pattern import Pattern, Piece
from coutil.plane import Curve, Pt, arc_through, line


def rectangle(
    name: str,
    width: float,
    length: float,
    *,
    layer: str = "lining",
    panel: str = "side front",
    quantity: int = 2,
    pair: bool = True,
    fold: bool = False,
    side: str = "both",
) -> Piece:
    """A piece `width` mm across the grain and `length` along it; on the fold it stands with its left side at x = 0."""
    x = 0.0 if fold else 30.0
    corners: list[Pt] = [(x, 0.0), (x + width, 0.0), (x + width, length), (x, length)]
    cut = tuple(line(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True))
    return piece(name, cut, layer=layer, panel=panel, quantity=quantity, pair=pair, fold=fold, side=side)


def disc(name: str, radius: float, **more: object) -> Piece:
    return piece(name, (arc_through((0.0, 0.0), radius, 0.0, 6.283185307179586),), **more)  # type: ignore[arg-type]


def piece(
    name: str,
    cut: tuple[Curve, ...],
    *,
    layer: str = "lining",
    panel: str = "side front",
    quantity: int = 2,
    pair: bool = True,
    fold: bool = False,
    side: str = "both",
) -> Piece:
    return Piece(
        name=name,
        panel=panel,
        layer=layer,  # type: ignore[arg-type]
        side=side,  # type: ignore[arg-type]
        quantity=quantity,
        mirrored_pair=pair,
        on_fold=fold,
        net=(),
        cut=cut,
        notches=(),
        placement=(),
        grain=((50.0, 10.0), (50.0, 60.0)),
        part="back" if panel.endswith("back") else "front",
    )


def body() -> Body:
    return resolve_body(
        {
            "bust": 960.0,
            "underbust": 780.0,
            "waist": 705.0,
            "bust_span": 195.0,
            "bust_to_underbust": 80.0,
            "bust_to_waist": 185.0,
        }
    )


def order(*cloth: Cloth) -> Order:
    return Order("test", body(), build=Build(), cloth=cloth)


def pattern(*pieces: Piece) -> Pattern:
    return Pattern("test", panels=(), seams=(), pieces=pieces)
