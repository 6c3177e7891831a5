"""Notches: where two edges meet, marked on the net line of both (common practice, no source). Lengths in mm."""

from __future__ import annotations

from coutil.layers.allowances import TURNED
from coutil.pattern import Edge, Finding, Notch, NotchRef, Pad, Panel, Pattern, edge_called, panel_ref
from coutil.pattern.seams import NOTCH_ABOVE, NOTCH_BELOW, NOTCH_FROM_BUST_POINT, SEWN_END
from coutil.seaming import CENTRE_FRONT, SIDE, Part, edge_kind
from coutil.words import Length

# A peak lower than this is a slip of the pencil and gets no notch: the least that the walk would tell.
SMALLEST_PEAK = 0.3
# A pad's corner is its own mark: no notch of a pad lies nearer to one than this.
CLEAR_OF_CORNER = 3.0
# On the seams without a bust point the waist and the underbust are notched; two nicks at the waist tell the seams of
# the back from the side seam.
WAIST, UNDERBUST = "waist", "underbust"
# On the edges of the cup seam: what stands there beside the bust point and an inch from it.
OVER_BUST = ("underbust", "bust_point")

# How marks are called that stand for a notch of a pattern that was brought in.
BROUGHT = "notch "

# A panel's notches with where they lie on their edge, by arc length from its lower end.
Placed = tuple[tuple[Notch, float], ...]


def panel_notches(pattern: Pattern) -> tuple[dict[tuple[str, str], Placed], tuple[Finding, ...]]:
    """The notches of each panel by name and side, and a note for every one that is left out because it does not fit.

    On the edges of a cup seam: underbust, bust point, 1 in above and below it on both, and where the inner panel ends
    on the outer one that runs on above it. On the other seams waist and underbust. A notch is left out on both edges
    of its seam, never on one. Notches that a pattern brought along are kept as they are.
    """
    reach = _inch_notches(pattern)
    placed: dict[tuple[str, str], Placed] = {}
    findings: list[Finding] = []
    inner = {(p.name, p.side) for s in pattern.cup_seams for p in pattern.panels_of(s)[:1]}
    for panel in pattern.panels:
        found: list[tuple[Notch, float]] = []
        cup = pattern.cup_edge(panel)
        for edge in panel.edges:
            if edge is cup:
                found += _over_bust(edge, reach.get(panel.side, {}))
            elif edge.name != panel.fold:
                found += [
                    (_notch(level, edge, edge.marks[level], count), edge.marks[level])
                    for level, count in _plain(edge.role, panel.part)
                    if level in edge.marks and 0.0 < edge.marks[level] < edge.curve.length
                ]
            if edge.role not in TURNED and edge.name != panel.fold:
                found += [(_notch(name, edge, s), s) for name, s in edge.marks.items() if name.startswith(BROUGHT)]
        placed[panel.name, panel.side] = tuple(found)
        if cup is not None and (panel.name, panel.side) in inner:
            findings += _left_out(panel, cup, reach.get(panel.side, {}))
    return placed, tuple(findings)


def notched(role: str, *, cup: bool) -> frozenset[str]:
    """The marks of an edge by its role that get a notch wherever they stand, but for those of the file's own.

    `cup`: its seam passes over the bust point.
    """
    return frozenset(OVER_BUST if cup else (level for level, _ in _plain(role, "front")))


def _plain(role: str, part: Part) -> tuple[tuple[str, int], ...]:
    """The levels that are notched on an edge that is not the cup's, and with how many nicks."""
    if role == CENTRE_FRONT or edge_kind(role) == "seam":
        return (WAIST, 2 if part == "back" and role != SIDE else 1), (UNDERBUST, 1)
    return ()


def pad_notches(pad: Pad, placed: Placed, edge: Edge) -> tuple[Notch, ...]:
    """Those of a panel's notches that lie on the pad's stretch of its edge on the cup seam, clear of the pad's corners
    (their own mark)."""
    sewn = next(e for e in pad.edges if e.role == edge.role)
    low = edge.marks["underbust"]
    high = low + sewn.curve.length
    return tuple(n for n, s in placed if n.edge == edge.name and low + CLEAR_OF_CORNER <= s <= high - CLEAR_OF_CORNER)


def _inch_notches(pattern: Pattern) -> dict[str, dict[str, bool]]:
    """For each side, whether each notch beside the bust point fits on both edges of the cup seam."""
    out: dict[str, dict[str, bool]] = {}
    for seam in pattern.cup_seams:
        for ref in (seam.a, seam.b):
            edge = pattern.edge_of(ref)
            if "bust_point" in edge.marks:
                end, middle = edge.marks.get(SEWN_END, edge.curve.length), edge.marks["bust_point"]
                fits = out.setdefault(ref.side, {NOTCH_BELOW: True, NOTCH_ABOVE: True})
                fits[NOTCH_BELOW] &= middle - NOTCH_FROM_BUST_POINT > 0.0
                fits[NOTCH_ABOVE] &= middle + NOTCH_FROM_BUST_POINT < end
    return out


def _over_bust(edge: Edge, fits: dict[str, bool]) -> list[tuple[Notch, float]]:
    places: list[tuple[str, float]] = []
    if "underbust" in edge.marks:
        places.append(("underbust", edge.marks["underbust"]))
    if "bust_point" in edge.marks:
        middle = edge.marks["bust_point"]
        if fits[NOTCH_BELOW]:
            places.append((NOTCH_BELOW, middle - NOTCH_FROM_BUST_POINT))
        places.append(("bust_point", middle))
        if fits[NOTCH_ABOVE]:
            places.append((NOTCH_ABOVE, middle + NOTCH_FROM_BUST_POINT))
    end = edge.marks.get(SEWN_END)
    if end is not None and end < edge.curve.length - SMALLEST_PEAK:
        places.append((SEWN_END, end))
    return [(_notch(name, edge, s), s) for name, s in places]


def _left_out(panel: Panel, edge: Edge, fits: dict[str, bool]) -> list[Finding]:
    args = {"edge": edge_called(edge), "reach": Length(NOTCH_FROM_BUST_POINT, "full")}
    return [
        Finding(
            "notch.no_room_above" if name == NOTCH_ABOVE else "notch.no_room_below",
            "note",
            panel_ref(panel),
            {"name": NotchRef(name), **args},
        )
        for name, fit in fits.items()
        if not fit
    ]


def _notch(name: str, edge: Edge, s: float, count: int = 1) -> Notch:
    along = edge.along(s)
    tx, ty = edge.curve.tangent(along)
    # The outline is anticlockwise: outside is to the right of travel.
    return Notch(name, edge.name, edge.curve.point(along), (ty, -tx), count)
