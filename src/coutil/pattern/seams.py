"""The intervals of a seam: how long each of its two edges is from one station to the next.

A seam is sewn from the hem up. Its stations are the marks that both edges bear (levels, the bust point); to them come
both ends and, where the seam passes the bust point, the two notches beside it. Lengths are in mm of arc.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from coutil.pattern.model import Edge, Pattern, Seam, Side

# The notches beside the bust point lie an inch from it, below and above, on both edges. Common practice, no source.
NOTCH_FROM_BUST_POINT = 25.4
NOTCH_BELOW = "1 in below the bust point"
NOTCH_ABOVE = "1 in above the bust point"
# The mark on the side front's princess edge where the centre front's ends; what lies above it (the peak) is not sewn.
SEWN_END = "centre_front_end"
# Edges that differ by no more than this end at the same place, in mm: a tenth of what the pattern file's figures show.
SAME_PLACE = 1e-5
# Stations nearer to each other than this on both edges, in mm, are one: a notch of a traced pattern and the same place
# as it is reckoned, which a drawing tells to some hundredths.
ONE_STATION = 0.1


@dataclass(frozen=True, slots=True)
class Interval:
    """One stretch of a seam, from a lower station to the next one up; lengths of both edges in mm."""

    seam: str
    side: Side
    start: str
    end: str
    a_mm: float
    b_mm: float

    @property
    def difference(self) -> float:
        """By how much edge a is longer than edge b, in mm; negative where b is the longer."""
        return self.a_mm - self.b_mm


def sewn_length(edge: Edge) -> float:
    """Arc length in mm from the edge's lower end to where its seam ends: its top, or the foot of its peak."""
    return edge.marks.get(SEWN_END, edge.curve.length)


def stations(pattern: Pattern, seam: Seam) -> list[tuple[str, float, float]]:
    """Each station of the seam from the hem up: its name and its arc length in mm on edge a and on edge b.

    Raises ValueError where the seam names a mark that one of its edges does not bear.
    """
    a, b = pattern.edges_of(seam)
    inner = [name for name in seam.stations if name not in ("hem", "top", SEWN_END)]
    found = [("hem", 0.0, 0.0), *((name, _mark(a, name, seam), _mark(b, name, seam)) for name in inner)]
    end_a, end_b = sewn_length(a), sewn_length(b)
    peak = max(a.curve.length - end_a, b.curve.length - end_b) > SAME_PLACE
    end = (SEWN_END if peak else "top", end_a, end_b)
    if "bust_point" in a.marks and "bust_point" in b.marks:
        at_a, at_b = a.marks["bust_point"], b.marks["bust_point"]
        for name, away in ((NOTCH_BELOW, -NOTCH_FROM_BUST_POINT), (NOTCH_ABOVE, NOTCH_FROM_BUST_POINT)):
            # A low top ends before the upper notch: then there is none.
            if 0.0 < at_a + away < end[1] and 0.0 < at_b + away < end[2]:
                found.append((name, at_a + away, at_b + away))
    found.append(end)
    found.sort(key=lambda s: s[1] + s[2])
    out = [found[0]]
    for station in found[1:]:
        if max(abs(station[1] - out[-1][1]), abs(station[2] - out[-1][2])) > ONE_STATION:
            out.append(station)
        elif station == end and len(out) > 1:
            # The seam ends where it ends, whatever lies beside that.
            out[-1] = end
    return out


def intervals(pattern: Pattern, seam: Seam) -> tuple[Interval, ...]:
    """The stretches of the seam from the hem up, end to end; raises ValueError as `stations` does."""
    places = stations(pattern, seam)
    return tuple(
        Interval(seam.name, seam.side, low, high, a1 - a0, b1 - b0)
        for (low, a0, b0), (high, a1, b1) in pairwise(places)
    )


def _mark(edge: Edge, name: str, seam: Seam) -> float:
    try:
        return edge.marks[name]
    except KeyError:
        raise ValueError(
            f"the {seam.name} seam has a station {name!r}, but its edge {edge.name} bears only {', '.join(edge.marks)}"
        ) from None
