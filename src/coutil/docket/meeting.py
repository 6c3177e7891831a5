"""What the card says of seams: which notches meet on them, and how far each is from the hem."""

from __future__ import annotations

from coutil.pattern import Pattern, Seam, level_words
from coutil.pattern.seams import ONE_STATION, SAME_PLACE, stations
from coutil.units import full as said
from coutil.words import has, say


def meeting(pattern: Pattern, seam: Seam) -> str:
    """The notches that meet, each with its distance from the hem along the net line, and the seam's length."""
    notched = common(pattern, seam)
    a, _ = pattern.edges_of(seam)
    spoken = {}
    if {"bust_point"} <= notched & a.marks.keys() and abs(
        a.marks.get("bust", -1.0) - a.marks["bust_point"]
    ) < ONE_STATION:
        # The bust level and the bust point are one station of the seam.
        notched = notched | {"bust"}
        spoken = {"bust": _place("bust_point")}
    met = stations(pattern, seam)
    # A notch of a pattern that was brought in may stand at a level, and is told by that.
    at = [a.marks[name] for name in notched if name in a.marks]
    notched = notched | {name for name, s, _ in met if any(abs(s - t) < SAME_PLACE for t in at)}
    places = [(name, (s + t) / 2.0) for name, s, t in met]
    inner = [f"{spoken.get(name) or _place(name)} {said(s)}" for name, s in places[1:-1] if name in notched]
    end, whole = places[-1]
    return f"{', '.join(inner)}{', ' if inner else ''}{_place(end)} {said(whole)}"


def common(pattern: Pattern, seam: Seam) -> set[str]:
    """The notches that both edges of a seam bear, by name."""
    return _notches(pattern, seam.a.panel, seam.a.edge) & _notches(pattern, seam.b.panel, seam.b.edge)


def side_of(seam: Seam) -> str:
    """The side that a seam is told with, where it lies on one alone."""
    return "" if seam.side == "both" or seam.on_itself else f"{seam.side}: "


def _notches(pattern: Pattern, panel: str, edge: str) -> set[str]:
    return {
        n.name for p in pattern.pieces if p.panel == panel and p.layer == "shell" for n in p.notches if n.edge == edge
    }


def _place(mark: str) -> str:
    return say(f"card.place.{mark}") if has(f"card.place.{mark}") else level_words(mark)
