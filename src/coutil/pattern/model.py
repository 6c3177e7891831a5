"""What a pattern is made of. Frozen data, lengths in mm, y up, outlines anticlockwise.

x grows to the wearer's left. Front panels count it from the centre front, back panels from the centre back, so a left
panel lies at x >= 0 and a right panel at x <= 0. A back panel is therefore held here as seen from the wearer's inside;
`face_up` says by which sign of x a panel must be drawn so that the right side of the cloth looks at the cutter.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Literal

from coutil.plane import Curve, Pt, closed_points

Side = Literal["both", "left", "right"]
Role = Literal["centre_front", "front_princess", "side", "back_princess", "centre_back", "top", "hem", "pad_rim"]
Layer = Literal["shell", "interfacing", "foam", "web", "lining", "lining_interfacing"]
FindingLevel = Literal["stop", "warn", "note"]

# The levels of the body, from the hem up; a pattern carries those that its hem reaches.
LEVELS = ("high_hip", "waist", "underbust", "bust")
# The panels of one half, from the centre front to the centre back.
PANELS = ("centre front", "side front", "side back", "centre back")


@dataclass(frozen=True, slots=True)
class Edge:
    """One side of a panel, in the direction of the anticlockwise outline.

    `marks` are named places on the edge (levels, the bust point, notches to be), each by its arc length in mm from the
    edge's lower end (for a top or a hem: from its start). `rising` says whether the outline's direction climbs from
    the hem to the top along this edge.
    """

    name: str
    role: Role
    curve: Curve
    rising: bool = True
    marks: Mapping[str, float] = field(default_factory=dict)

    def upward(self) -> Curve:
        """The curve from its lower end to its upper end."""
        return self.curve if self.rising else self.curve.reversed()

    def along(self, s: float) -> float:
        """Turn an arc length from the lower end into one from the curve's start, or back again."""
        return s if self.rising else self.curve.length - s

    def at(self, mark: str) -> Pt:
        """The point of a named mark; raises KeyError if the edge does not bear it."""
        return self.curve.point(self.along(self.marks[mark]))


@dataclass(frozen=True, slots=True)
class Panel:
    """A finished flat shape without allowances. Its edges run anticlockwise, end to end.

    `levels` are pairs of points, the end nearer the centre front along the body first (on the back: the side's end).
    A level may lie in the air above a low top; the girth is measured between its ends all the same.
    `points` bears "bust_point" on the front panels.
    """

    name: str
    side: Side
    fold: str | None
    edges: tuple[Edge, ...]
    levels: Mapping[str, tuple[Pt, Pt]]
    points: Mapping[str, Pt]
    grain: tuple[Pt, Pt]

    def edge(self, name: str) -> Edge:
        for e in self.edges:
            if e.name == name:
                return e
        raise KeyError(f"{self.name} has no edge {name}")

    def outline(self, *, tolerance: float) -> list[Pt]:
        """Anticlockwise polyline within `tolerance` mm, first point not repeated."""
        return closed_points((e.curve for e in self.edges), tolerance=tolerance)


@dataclass(frozen=True, slots=True)
class EdgeRef:
    panel: str
    edge: str


@dataclass(frozen=True, slots=True)
class Seam:
    """Two edges that are sewn to each other, with the marks that both bear, from the hem up.

    `ease_mm` is by how much edge a is longer than b on purpose (0 unless the style asks for it).
    """

    name: str
    side: Side
    a: EdgeRef
    b: EdgeRef
    stations: tuple[str, ...]
    ease_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Pad:
    """The shape of the cup layer on one front panel; its edges run anticlockwise in the panel's coordinates.

    The edge with role front_princess is sewn; those with role pad_rim lie free.
    """

    panel: str
    side: Side
    edges: tuple[Edge, ...]

    def outline(self, *, tolerance: float) -> list[Pt]:
        return closed_points((e.curve for e in self.edges), tolerance=tolerance)


@dataclass(frozen=True, slots=True)
class Notch:
    """A mark on the net line where two edges meet; `count` nicks side by side (two tell back from front)."""

    name: str
    edge: str
    at: Pt
    # Unit vector from the net line out to the cut line.
    outward: Pt
    count: int = 1


@dataclass(frozen=True, slots=True)
class Piece:
    """A panel or pad as it is cut from one layer, in the coordinates of its panel.

    `net` and `cut` are closed runs of curves, anticlockwise. With `mirrored_pair` half of `quantity` is cut turned
    over; with `on_fold` the edge named by the panel's fold lies on the fold of the cloth and has no allowance.
    `placement` are lines drawn on the piece: where another layer lies.
    """

    name: str
    panel: str
    layer: Layer
    side: Side
    quantity: int
    mirrored_pair: bool
    on_fold: bool
    net: tuple[Edge, ...]
    cut: tuple[Curve, ...]
    notches: tuple[Notch, ...]
    placement: tuple[tuple[Curve, ...], ...]
    grain: tuple[Pt, Pt]

    def net_outline(self, *, tolerance: float) -> list[Pt]:
        return closed_points((e.curve for e in self.net), tolerance=tolerance)

    def cut_outline(self, *, tolerance: float) -> list[Pt]:
        return closed_points(self.cut, tolerance=tolerance)


@dataclass(frozen=True, slots=True)
class Cup:
    """What the flat cup will be once sewn: see coutil.check.gauge for the mathematics."""

    side: Side
    depth_mm: float
    volume_cc: float
    base_radius_mm: float
    curvature_rad: float
    # The profile of the round cup with the same curvature: (distance from the axis, height above the base), apex first.
    profile: tuple[Pt, ...] = ()


@dataclass(frozen=True, slots=True)
class Finding:
    """What a check has to say. `stop`: do not cut; `warn`: look before you cut; `note`: good to know."""

    level: FindingLevel
    about: str
    says: str


@dataclass(frozen=True, slots=True)
class Pattern:
    """One order's whole pattern. Rooms further down add to it with dataclasses.replace; nothing is changed in place.

    `not_taken` names the readings of the body that are a standard size's and must still be taken: while there are any,
    nothing may be cut by the pattern, and every sheet says so on its face. `body` names a standard size that was asked
    for as such, "" for a client's own body.
    """

    name: str
    panels: tuple[Panel, ...]
    seams: tuple[Seam, ...]
    pads: tuple[Pad, ...] = ()
    pieces: tuple[Piece, ...] = ()
    cups: tuple[Cup, ...] = ()
    findings: tuple[Finding, ...] = ()
    not_taken: tuple[str, ...] = ()
    body: str = ""

    def panel(self, name: str, side: Side) -> Panel:
        """The panel `name` that serves `side` ("both" serves any side); raises KeyError if there is none."""
        for p in self.panels:
            if p.name == name and (side in (p.side, "both") or p.side == "both"):
                return p
        raise KeyError(f"no {name} panel on the {side} side")

    def edges_of(self, seam: Seam) -> tuple[Edge, Edge]:
        a = self.panel(seam.a.panel, seam.side).edge(seam.a.edge)
        # The centre front and centre back seams of an uneven body join the left panel to the right one.
        other: Side = "right" if seam.a == seam.b and seam.side == "left" else seam.side
        return a, self.panel(seam.b.panel, other).edge(seam.b.edge)

    @property
    def stopped(self) -> bool:
        return any(f.level == "stop" for f in self.findings)


def gravest_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Stops, then warnings, then notes; within a level as they came."""
    return tuple(sorted(findings, key=lambda f: _GRAVITY[f.level]))


_GRAVITY: Mapping[FindingLevel, int] = {"stop": 0, "warn": 1, "note": 2}


def face_up(panel: str) -> float:
    """+1 or -1: the factor for x with which a panel is drawn so that the right side of the cloth faces the viewer."""
    return -1.0 if panel.endswith("back") else 1.0
