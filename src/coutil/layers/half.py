"""What a pad needs of its panel, drawn as on the left half of the body: the centre front at smaller x than the side."""

from __future__ import annotations

from dataclasses import dataclass, replace

from coutil.layers.words import LayerError, panel_words, said
from coutil.order import PadBuild
from coutil.pattern import Edge, Panel
from coutil.pattern.model import Side
from coutil.pattern.refs import PanelRef
from coutil.plane import Curve


class NoPad(Exception):  # noqa: N818  (it ends as a finding, not as an error)
    """A pad that cannot be made: what it is about, and what is said of it."""

    def __init__(self, about: str, says: str) -> None:
        super().__init__(says)
        self.about = about
        self.says = says


@dataclass(frozen=True, slots=True)
class Half:
    """A panel drawn as on the left half; its edge on the cup seam from below, with its places by arc length in mm.

    `other` is its upright edge away from the cup: the centre front, the side, or a seam.
    """

    name: str
    side: Side
    words: str
    edges: tuple[Edge, ...]
    seam: Edge
    princess: Curve
    other: Edge
    top: Curve
    low: float
    middle: float
    end: float

    @classmethod
    def of(cls, panel: Panel, edge: str, *, turned: bool) -> Half:
        """The panel whose edge of that name lies on the cup seam; `turned` over where it is a right one."""
        edges = turned_over(panel.edges) if turned else panel.edges
        princess = next(e for e in edges if e.name == edge)
        words = panel_words(panel)
        if "underbust" not in princess.marks or "bust_point" not in princess.marks:
            lost = "underbust" if "underbust" not in princess.marks else "bust point"
            raise NoPad(
                f"{words} pad",
                f"The princess edge does not reach the {lost}, so there is nowhere to put the pad. "
                f"{'Lengthen the hem' if lost == 'underbust' else 'Raise the cup'}.",
            )
        up = princess.upward()
        return cls(
            panel.name,
            panel.side,
            words,
            edges,
            princess,
            up,
            beyond(edges, princess, panel.name),
            of_role(edges, "top", panel.name).curve,
            princess.marks["underbust"],
            princess.marks["bust_point"],
            princess.marks.get("centre_front_end", up.length),
        )

    def start(self, build: PadBuild) -> float:
        """Where the pad starts: `top_drop` below the end of the centre front, by arc length from the hem."""
        s = self.end - build.top_drop
        if s <= self.middle:
            raise NoPad(
                f"{self.words} pad",
                f"The cup is too low for its pad: the princess seam ends {said(self.end - self.middle)} above the bust "
                f"point, and the pad would start {said(build.top_drop)} below that end, under the bust point. Raise "
                f"cup_height by {said(self.middle - s)} or more, or lower top_drop.",
            )
        return s

    def stop(self, says: str) -> NoPad:
        return NoPad(f"{self.words} pad", says)

    def sewn(self, start: float, *, rising: bool) -> Edge:
        """The pad's princess edge, from the underbust up to its start."""
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
