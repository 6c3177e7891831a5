"""What a pattern is made of. Frozen data, lengths in mm, y up, outlines anticlockwise.

x grows to the wearer's left. Front panels count it from the centre front, back panels from the centre back, so a left
panel lies at x >= 0 and a right panel at x <= 0. A back panel is therefore held here as seen from the wearer's inside;
`Panel.face_up` says by which sign of x it must be drawn so that the right side of the cloth looks at the cutter.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from coutil.pattern.refs import About as About
from coutil.pattern.refs import EdgeRef as EdgeRef
from coutil.pattern.refs import Side as Side
from coutil.plane import Curve, Pt, closed_points
from coutil.seaming import EdgeKind, Opening, Part, edge_kind

# A seam's name with underscores, or one of the fixed roles of coutil.seaming.roles.
Role = str
# The last four are what the back kit is cut as; see coutil.layers.kit.
Layer = Literal[
    "shell",
    "interfacing",
    "foam",
    "web",
    "lining",
    "lining_interfacing",
    "lace",
    "flat_lining",
    "strength",
    "facing",
    "modesty_panel",
    "guard",
    "underlap",
    "toile",
    "elastic",
    "net",
]
# Layers whose right side looks at the body.
INWARDS: tuple[Layer, ...] = ("lining", "lining_interfacing", "facing")
Material = Literal["cloth", "elastic", "net"]
FindingLevel = Literal["stop", "warn", "note"]


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

    @property
    def kind(self) -> EdgeKind:
        """What the edge is by its role: a seam, a centre, the top, the hem, or a pad's free rim."""
        return edge_kind(self.role)

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
    `points` bears "bust_point" on the panels beside the bust point. `part` says from which side the panel is drawn.
    `material` is what it is cut from: the layers of cloth, or elastic or net alone.
    """

    name: str
    side: Side
    part: Part
    fold: str | None
    edges: tuple[Edge, ...]
    levels: Mapping[str, tuple[Pt, Pt]]
    points: Mapping[str, Pt]
    grain: tuple[Pt, Pt]
    material: Material = "cloth"

    @property
    def face_up(self) -> float:
        """+1 or -1: the factor for x with which it is drawn so that the right side of the cloth faces the viewer."""
        return 1.0 if self.part == "front" else -1.0

    def edge(self, name: str) -> Edge:
        for e in self.edges:
            if e.name == name:
                return e
        raise KeyError(f"{self.name} has no edge {name}")

    def outline(self, *, tolerance: float) -> list[Pt]:
        """Anticlockwise polyline within `tolerance` mm, first point not repeated."""
        return closed_points((e.curve for e in self.edges), tolerance=tolerance)


@dataclass(frozen=True, slots=True)
class Seam:
    """Two edges that are sewn to each other, with the marks that both bear, from the hem up.

    `ease_mm` is by how much edge a is longer than b on purpose (0 unless the style asks for it). `cup`: it passes over
    the bust point and makes the cup; then a is the edge nearer to the centre front.
    """

    name: str
    side: Side
    a: EdgeRef
    b: EdgeRef
    stations: tuple[str, ...]
    ease_mm: float = 0.0
    cup: bool = False

    @property
    def joins_halves(self) -> bool:
        """Whether it joins the left half to the right one."""
        return self.a.side != self.b.side and "both" not in (self.a.side, self.b.side)

    @property
    def on_itself(self) -> bool:
        """Whether it joins a panel's edge to the same edge of its own mirror image, or of the other side's panel."""
        return (self.a.panel, self.a.edge) == (self.b.panel, self.b.edge)


@dataclass(frozen=True, slots=True)
class Pad:
    """The shape of the cup layer on one front panel; its edges run anticlockwise in the panel's coordinates.

    One edge is sewn, on the cup seam, and bears its name and role; the others, with role pad_rim, lie free.
    """

    panel: str
    side: Side
    edges: tuple[Edge, ...]

    @property
    def sewn(self) -> Edge:
        """The edge on the cup seam."""
        return next(e for e in self.edges if e.kind == "seam")

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
class DrawnLine:
    """A line to be marked on a piece that is neither net nor cut line: a channel's stitching, a fold, a bone's middle.

    `what` is its kind, and names its text in the catalogue (`piece_line.KIND`).
    """

    what: str
    run: tuple[Curve, ...]


@dataclass(frozen=True, slots=True)
class Spot:
    """A place to be marked on a piece: the middle of an eyelet, hook or button, with the width of its hole in mm.

    `what` is its kind (`piece_spot.KIND` in the catalogue); a hole of 0 is none.
    """

    what: str
    at: Pt
    hole: float = 0.0


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
    # Of its panel: from which side it is drawn.
    part: Part = "front"
    lines: tuple[DrawnLine, ...] = ()
    spots: tuple[Spot, ...] = ()

    @property
    def face_up(self) -> float:
        """As for its panel."""
        return 1.0 if self.part == "front" else -1.0

    def net_outline(self, *, tolerance: float) -> list[Pt]:
        return closed_points((e.curve for e in self.net), tolerance=tolerance)

    def cut_outline(self, *, tolerance: float) -> list[Pt]:
        return closed_points(self.cut, tolerance=tolerance)


@dataclass(frozen=True, slots=True)
class Cup:
    """What the flat cup will be once sewn: see coutil.dome.gauge for the mathematics."""

    side: Side
    depth_mm: float
    volume_cc: float
    base_radius_mm: float
    curvature_rad: float
    # The profile of the round cup with the same curvature: (distance from the axis, height above the base), apex first.
    profile: tuple[Pt, ...] = ()


@dataclass(frozen=True, slots=True)
class Finding:
    """What there is to say of a pattern. `stop`: do not cut; `warn`: look before you cut; `note`: good to know.

    `code` names its text in the catalogue (`found.CODE`), `args` fill it: see coutil.words.telling for what they may
    be, and `coutil.pattern.says` for what comes of it.
    """

    code: str
    level: FindingLevel
    about: About
    args: Mapping[str, Any] = field(default_factory=dict)

    def __hash__(self) -> int:
        return hash((self.code, self.level, self.about, frozenset(self.args.items())))


@dataclass(frozen=True, slots=True)
class Pattern:
    """One order's whole pattern. Rooms further down add to it with dataclasses.replace; nothing is changed in place.

    `not_taken` names the readings of the body that are a standard size's and must still be taken: while there are any,
    nothing may be cut by the pattern, and every sheet says so on its face. `body` names a standard size that was asked
    for as such, "" for a client's own body. `openings` are where a drafted pattern opens.
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
    openings: tuple[Opening, ...] = ()

    def panel(self, name: str, side: Side) -> Panel:
        """The panel `name` that serves `side` ("both" serves any side); raises KeyError if there is none."""
        for p in self.panels:
            if p.name == name and (side in (p.side, "both") or p.side == "both"):
                return p
        raise KeyError(f"no {name} panel on the {side} side")

    def panel_of(self, ref: EdgeRef) -> Panel:
        """The panel that a reference means; raises KeyError if there is none."""
        return self.panel(ref.panel, ref.side)

    def edge_of(self, ref: EdgeRef) -> Edge:
        """The edge that a reference means; raises KeyError if there is none."""
        return self.panel_of(ref).edge(ref.edge)

    def edges_of(self, seam: Seam) -> tuple[Edge, Edge]:
        """The two edges of a seam, a and b; raises KeyError if one is missing."""
        return self.edge_of(seam.a), self.edge_of(seam.b)

    def panels_of(self, seam: Seam) -> tuple[Panel, Panel]:
        """The two panels that a seam joins, in the order of its edges; raises KeyError if one is missing."""
        return self.panel_of(seam.a), self.panel_of(seam.b)

    @property
    def cup_seams(self) -> tuple[Seam, ...]:
        """The seams that make the cups."""
        return tuple(s for s in self.seams if s.cup)

    def cup_seam(self, side: Side) -> Seam:
        """The seam that makes the cup of a side; raises KeyError if there is none."""
        for s in self.cup_seams:
            if side in (s.side, "both") or s.side == "both":
                return s
        raise KeyError(f"no seam over the bust point on the {side} side")

    def cup_edge(self, panel: Panel) -> Edge | None:
        """The panel's edge on a seam that makes a cup; None where it has none."""
        for s in self.cup_seams:
            for ref in (s.a, s.b):
                if ref.panel == panel.name and (ref.side == panel.side or "both" in (ref.side, panel.side)):
                    return panel.edge(ref.edge)
        return None

    @property
    def stopped(self) -> bool:
        return any(f.level == "stop" for f in self.findings)


def gravest_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Stops, then warnings, then notes; within a level as they came."""
    return tuple(sorted(findings, key=lambda f: _GRAVITY[f.level]))


_GRAVITY: Mapping[FindingLevel, int] = {"stop": 0, "warn": 1, "note": 2}
