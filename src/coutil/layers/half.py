"""What a pad needs of its panel, drawn as on the left half of the body: the centre front at smaller x than the side."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from coutil.layers.words import LayerError
from coutil.order import PadBuild
from coutil.pattern import Edge, Finding, PadRef, Panel, about_words, edge_called, panel_ref, seam_called
from coutil.pattern.model import Side
from coutil.pattern.refs import PanelRef
from coutil.pattern.seams import SEWN_END
from coutil.plane import Curve
from coutil.seaming import SIDE
from coutil.words import Length, Told

# What a pad keeps from a further seam of the front, in mm: it is not to be caught there (1/8 in; common practice, no
# source). From the side it keeps what the order says.
BESIDE_SEAM = 3.175


def inset_from(far: Edge, side_inset: float) -> float:
    """What the outer pad of a cup keeps from its panel's far edge, in mm: less from a seam that is not the side."""
    return min(side_inset, BESIDE_SEAM) if far.kind == "seam" and far.role != SIDE else side_inset


class NoPad(Exception):  # noqa: N818  (it ends as a finding, not as an error)
    """A pad that cannot be made, with the stop that says why."""

    def __init__(self, finding: Finding) -> None:
        super().__init__(finding.code)
        self.finding = finding


@dataclass(frozen=True, slots=True)
class Half:
    """A panel drawn as on the left half; its edge on the cup seam from below, with its places by arc length in mm.

    `other` is its upright edge away from the cup: the centre front, the side, or a seam.
    `cup` is the role of that edge, `called` and `edge_called` what its seam and the edge are called.
    """

    name: str
    side: Side
    words: str
    edges: tuple[Edge, ...]
    seam: Edge
    cup: str
    called: Told
    edge_called: Told
    princess: Curve
    other: Edge
    top: Curve
    low: float
    middle: float
    end: float

    @classmethod
    def of(cls, panel: Panel, cup: Edge, *, turned: bool) -> Half:
        """The panel by its edge `cup`, which lies on the cup seam; a right one is turned over."""
        edges = turned_over(panel.edges) if turned else panel.edges
        princess = next(e for e in edges if e.name == cup.name)
        if "underbust" not in princess.marks or "bust_point" not in princess.marks:
            code = "no_pad.no_underbust" if "underbust" not in princess.marks else "no_pad.no_bust_point"
            raise _no_pad(panel.name, panel.side, code, edge=edge_called(cup))
        up = princess.upward()
        return cls(
            panel.name,
            panel.side,
            about_words(panel_ref(panel)),
            edges,
            princess,
            cup.role,
            seam_called(cup),
            edge_called(cup),
            up,
            beyond(edges, princess, panel.name),
            of_role(edges, "top", panel.name).curve,
            princess.marks["underbust"],
            princess.marks["bust_point"],
            princess.marks.get(SEWN_END, up.length),
        )

    def start(self, build: PadBuild) -> float:
        """Where the pad starts: `top_drop` below the end of the centre front, by arc length from the hem."""
        s = self.end - build.top_drop
        if s <= self.middle:
            raise self.stop(
                "no_pad.low_cup",
                seam=self.called,
                above=Length(self.end - self.middle, "full"),
                drop=Length(build.top_drop, "full"),
                raise_by=Length(self.middle - s, "full"),
            )
        return s

    def stop(self, code: str, /, **args: Any) -> NoPad:
        return _no_pad(self.name, self.side, code, **args)

    def sewn(self, start: float, *, rising: bool) -> Edge:
        """The pad's edge on the cup seam, from the underbust up to its start."""
        curve = self.princess.part(self.low, start)
        bust = self.middle - self.low
        marks = {"underbust": 0.0, "bust": bust, "bust_point": bust, "top": curve.length}
        return Edge(self.seam.name, self.seam.role, curve if rising else curve.reversed(), rising, marks)


def turned_over(edges: tuple[Edge, ...]) -> tuple[Edge, ...]:
    """The edges of the other half: x becomes -x, the outline anticlockwise again, marks still from the lower end."""

    def turned(e: Edge) -> Edge:
        if e.kind in ("top", "hem", "rim"):
            # These count their marks from the start, which was their end.
            marks = {k: e.curve.length - s for k, s in e.marks.items()}
            return replace(e, curve=e.curve.mirrored().reversed(), marks=marks)
        return replace(e, curve=e.curve.mirrored().reversed(), rising=not e.rising)

    return tuple(turned(e) for e in reversed(edges))


def beyond(edges: tuple[Edge, ...], seam: Edge, panel: str) -> Edge:
    """The upright edge of a panel that is not `seam`."""
    for e in edges:
        if e.kind in ("seam", "centre") and e.name != seam.name:
            return e
    raise LayerError("no_edge_beside", PanelRef(panel), panel=panel, seam=seam.name.replace("_", " "))


def of_role(edges: tuple[Edge, ...], role: str, panel: str) -> Edge:
    for e in edges:
        if e.role == role:
            return e
    raise LayerError("no_edge_of_role", PanelRef(panel), panel=panel, role=role)


def rim(name: str, curve: Curve) -> Edge:
    """A free edge of a pad."""
    return Edge(name, "pad_rim", curve)


def _no_pad(panel: str, side: Side, code: str, /, **args: Any) -> NoPad:
    return NoPad(Finding(code, "stop", PadRef(panel, side), args))
