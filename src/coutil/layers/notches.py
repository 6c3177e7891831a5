"""Notches: where two edges meet, marked on the net line of both (common practice, no source). Lengths in mm."""

from __future__ import annotations

from coutil.layers.allowances import TURNED
from coutil.layers.words import panel_words, said
from coutil.pattern import Edge, Finding, Notch, Pad, Panel, Pattern
from coutil.pattern.seams import NOTCH_ABOVE, NOTCH_BELOW, NOTCH_FROM_BUST_POINT, SEWN_END
from coutil.seaming import edge_kind
from coutil.seaming.roles import CENTRE_FRONT, SIDE

# A peak lower than this is a slip of the pencil and gets no notch: the least that the walk would tell.
SMALLEST_PEAK = 0.3
# A pad's corner is its own mark: no notch of a pad lies nearer to one than this.
CLEAR_OF_CORNER = 3.0
# On the seams without a bust point: the levels that are notched. At the waist two nicks tell the back's seams.
PLAIN = ("waist", "underbust")
# On the cup seam: what stands there beside the bust point and an inch from it.
CUP = ("underbust", "bust_point")

# How marks are called that stand for a notch of a pattern that was brought in.
BROUGHT = "notch "

# A panel's notches with where they lie on their edge, by arc length from its lower end.
Placed = tuple[tuple[Notch, float], ...]


def panel_notches(pattern: Pattern) -> tuple[dict[tuple[str, str], Placed], tuple[Finding, ...]]:
    """The notches of each panel by name and side, and a note for every one that is left out because it does not fit.

    On the edges of a cup seam: underbust, bust point, 1 in above and below it on both, and where the inner one ends on
    the outer one that runs on above it. On the other seams waist and underbust. A notch is left out on
    both edges of its seam, never on one. Notches that a pattern brought along are kept as they are.
    """
    cups = {(ref.panel, ref.edge, ref.side) for s in pattern.cup_seams for ref in (s.a, s.b)}
    inner = {(s.a.panel, s.a.side) for s in pattern.cup_seams}
    reach = _inch_notches(pattern)
    placed: dict[tuple[str, str], Placed] = {}
    findings: list[Finding] = []
    for panel in pattern.panels:
        found: list[tuple[Notch, float]] = []
        for edge in panel.edges:
            if (panel.name, edge.name, panel.side) in cups:
                found += _princess(edge, reach.get(panel.side, {}))
            elif notched(edge.role) and edge.name != panel.fold:
                found += [
                    (_notch(level, edge, edge.marks[level], _nicks(panel, edge, level)), edge.marks[level])
                    for level in PLAIN
                    if level in edge.marks and 0.0 < edge.marks[level] < edge.curve.length
                ]
            if edge.role not in TURNED and edge.name != panel.fold:
                found += [(_notch(name, edge, s), s) for name, s in edge.marks.items() if name.startswith(BROUGHT)]
        placed[panel.name, panel.side] = tuple(found)
        if (panel.name, panel.side) in inner:
            findings += _left_out(panel, reach.get(panel.side, {}))
    return placed, tuple(findings)


def notched(role: str, *, cup: bool = False) -> frozenset[str]:
    """The marks of an edge by its role that get a notch wherever they stand, but for those of the file's own.

    `cup`: it lies on a seam over the bust point. An opening at the centre back, the top and the hem have none.
    """
    if cup:
        return frozenset(CUP)
    return frozenset(PLAIN if edge_kind(role) == "seam" or role == CENTRE_FRONT else ())


def _nicks(panel: Panel, edge: Edge, level: str) -> int:
    return 2 if level == "waist" and panel.part == "back" and edge.kind == "seam" and edge.role != SIDE else 1


def pad_notches(pad: Pad, placed: Placed, panel: Panel) -> tuple[Notch, ...]:
    """Those of the panel's notches that lie on the pad's sewn edge, clear of its corners (their own mark)."""
    sewn = pad.sewn
    edge = panel.edge(sewn.name)
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


def _princess(edge: Edge, fits: dict[str, bool]) -> list[tuple[Notch, float]]:
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


def _left_out(panel: Panel, fits: dict[str, bool]) -> list[Finding]:
    return [
        Finding(
            "note",
            panel_words(panel),
            f"The notch {name} does not fit on the princess edge, which ends within {said(NOTCH_FROM_BUST_POINT)} of "
            "the bust point; it is left out on both edges. "
            f"{'Raise cup_height' if name == NOTCH_ABOVE else 'Lower the hem'} if you want it.",
        )
        for name, fit in fits.items()
        if not fit
    ]


def _notch(name: str, edge: Edge, s: float, count: int = 1) -> Notch:
    along = edge.along(s)
    tx, ty = edge.curve.tangent(along)
    # The outline is anticlockwise: outside is to the right of travel.
    return Notch(name, edge.name, edge.curve.point(along), (ty, -tx), count)
