"""The pattern file: a pattern as JSON, for other programs and for tests.

Lengths in mm, y up, x to the wearer's left from the centre front, or on back panels from the centre back; polylines
within 0.02 mm of the curve; outlines anticlockwise with their first point not repeated, while an edge and a placement
line hold both of their ends. Pads and pieces use the coordinates of their panel.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from coutil.pattern.model import Cup, EdgeRef, Finding, Notch, Pad, Panel, Pattern, Piece, Seam
from coutil.pattern.seams import intervals
from coutil.pattern.telling import about_words, says
from coutil.plane import Curve, Pt
from coutil.seaming import HEM, TOP, USUAL_ROLES, Opening
from coutil.words import as_data

FORMAT = "coutil-pattern"
# Version 2 where a reference bears a side of its own, or where there are layers, roles or levels that version 1 lacks
# (else 1): who reads version 1 would take the wrong panel, or miss a piece.
VERSION, VERSION_SIDED = 1, 2
FIRST_ROLES = frozenset((*USUAL_ROLES, TOP, HEM))
FIRST_LEVELS = frozenset(("high_hip", "waist", "underbust", "bust"))
FIRST_LAYERS = ("shell", "interfacing", "foam", "web", "lining", "lining_interfacing")
# What the format promises: no point of a curve lies further than this from its polyline, in mm (absolute).
TOLERANCE = 0.02
# Figures are rounded to 1e-4 mm: finer than any tolerance in the product, and short enough to read.
DECIMALS = 4
_STEPS = 10.0**DECIMALS
# Rounding moves a point by at most half a last digit each way, so the polyline is made that much closer.
_FLATNESS = TOLERANCE - 1.0 / _STEPS

Line = list[list[float]]


def as_json(pattern: Pattern) -> dict[str, Any]:
    """The pattern as dicts, lists, strings and numbers, ready for json.dumps.

    Polylines of the same curves are the same list objects: treat the result as read-only, or copy it first.
    Raises ValueError where a seam names a mark that one of its edges does not bear.
    """
    flat = _Flat()
    return {
        "format": FORMAT,
        "version": VERSION_SIDED if _wider(pattern) else VERSION,
        "unit": "mm",
        "name": pattern.name,
        "body": {"standard": pattern.body or None, "not_taken": list(pattern.not_taken)},
        "panels": [_panel(p, flat) for p in pattern.panels],
        "seams": [_seam(pattern, s) for s in pattern.seams],
        "openings": [_opening(o) for o in pattern.openings],
        "pads": [_pad(p, flat) for p in pattern.pads],
        "pieces": [_piece(p, flat) for p in pattern.pieces],
        "cup": [_cup(c) for c in pattern.cups],
        "findings": [finding_json(f) for f in pattern.findings],
    }


def _wider(pattern: Pattern) -> bool:
    """Whether it has what version 1 does not know."""
    return (
        any(s.joins_halves for s in pattern.seams)
        or any(p.layer not in FIRST_LAYERS for p in pattern.pieces)
        or any(e.role not in FIRST_ROLES for p in pattern.panels for e in p.edges)
        or any(level not in FIRST_LEVELS for p in pattern.panels for level in p.levels)
    )


def _opening(opening: Opening) -> dict[str, Any]:
    worn = {"gap_mm": round(opening.gap, 4), "drawn_percent": opening.drawn}
    return {"at": opening.at, "with": opening.closed_with, **worn}


def finding_json(f: Finding) -> dict[str, Any]:
    """A finding with its words, and with the code and the arguments that they are made of."""
    return {
        "level": f.level,
        "about": about_words(f.about),
        "says": says(f),
        "code": f.code,
        "args": as_data(f.args),
    }


def dumps(pattern: Pattern) -> str:
    """The pattern file's text: UTF-8 as it stands, one line, ending in a newline; raises ValueError for NaN.

    The text is what json.dumps makes of `as_json`; polylines that pieces share are put into words once.
    """
    known: dict[int, str] = {}
    out = []
    for key, value in as_json(pattern).items():
        shaped = key in ("panels", "pads", "pieces")
        out.append(f"{_encode(key)}:{_listed(value, known) if shaped else _encode(value)}")
    return "{" + ",".join(out) + "}\n"


_encode = json.JSONEncoder(ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode
# The keys of a panel, pad or piece whose polylines others share.
_SHARED = ("outline", "net", "cut")


def _listed(parts: list[dict[str, Any]], known: dict[int, str]) -> str:
    """JSON text of panels, pads or pieces; `known` has that of the polylines met so far, by identity."""
    return "[" + ",".join(_part(part, known) for part in parts) + "]"


def _part(part: dict[str, Any], known: dict[int, str]) -> str:
    out: list[str] = []
    plain: dict[str, Any] = {}
    for key, value in part.items():
        if key not in _SHARED:
            plain[key] = value
            continue
        if plain:
            out.append(_encode(plain)[1:-1])
            plain = {}
        text = known.get(id(value))
        if text is None:
            text = known[id(value)] = _encode(value)
        out.append(f'"{key}":{text}')
    if plain:
        out.append(_encode(plain)[1:-1])
    return "{" + ",".join(out) + "}"


class _Flat:
    """Polylines, each made once: the layers share the curves of their panels and most of their cut lines.

    Kept by identity for the length of one call, in which the pattern holds on to every curve.
    """

    def __init__(self) -> None:
        self._curves: dict[int, Line] = {}
        self._runs: dict[tuple[int, ...], Line] = {}

    def curve(self, curve: Curve) -> Line:
        """The polyline of one curve, both ends included."""
        line = self._curves.get(id(curve))
        if line is None:
            # As `_rounded`, in place: nine tenths of all figures are rounded here.
            points = curve.points(tolerance=_FLATNESS)
            line = [[round(x * _STEPS) / _STEPS, round(y * _STEPS) / _STEPS] for x, y in points]
            self._curves[id(curve)] = line
        return line

    def closed(self, curves: Iterable[Curve]) -> Line:
        """The outline of a closed run of curves, first point not repeated."""
        run = tuple(curves)
        key = tuple(map(id, run))
        line = self._runs.get(key)
        if line is None:
            line = self._runs[key] = close([self.curve(c) for c in run])
        return line

    def open(self, curves: Sequence[Curve]) -> Line:
        """The polyline of an open run of curves, both ends included."""
        lines = meet([self.curve(c) for c in curves], closed=False)
        return [point for line in lines[:-1] for point in line[:-1]] + (lines[-1] if lines else [])


def meet(lines: Sequence[Line], *, closed: bool) -> list[Line]:
    """The lines, with each end that rounding parted from the next line's start by one last digit put back on it."""
    out = list(lines)
    for k in range(len(out) if closed else len(out) - 1):
        end, start = out[k][-1], out[(k + 1) % len(out)][0]
        if end != start and max(abs(end[0] - start[0]), abs(end[1] - start[1])) < 1.5 * 10.0**-DECIMALS:
            out[k] = [*out[k][:-1], start]
    return out


def close(lines: Sequence[Line]) -> Line:
    """One outline from edges end to end, first point not repeated; edges that do not meet keep both their ends."""
    out: Line = []
    together = meet(lines, closed=True)
    for k, line in enumerate(together):
        out += line[:-1] if line[-1] == together[(k + 1) % len(together)][0] else line
    return out


def _panel(panel: Panel, flat: _Flat) -> dict[str, Any]:
    lines = meet([flat.curve(e.curve) for e in panel.edges], closed=True)
    return {
        "name": panel.name,
        "side": panel.side,
        "fold": panel.fold,
        "edges": [{"name": e.name, "role": e.role, "points": line} for e, line in zip(panel.edges, lines, strict=True)],
        "outline": flat.closed(e.curve for e in panel.edges),
        "levels": {name: [_point(a), _point(b)] for name, (a, b) in panel.levels.items()},
        "points": _points(panel.points),
        "grain": [_point(p) for p in panel.grain],
    }


def _seam(pattern: Pattern, seam: Seam) -> dict[str, Any]:
    return {
        "name": seam.name,
        "side": seam.side,
        "a": _ref(seam.a, seam),
        "b": _ref(seam.b, seam),
        "intervals": [
            {"from": i.start, "to": i.end, "a_mm": _rounded(i.a_mm), "b_mm": _rounded(i.b_mm)}
            for i in intervals(pattern, seam)
        ],
    }


def _ref(ref: EdgeRef, seam: Seam) -> dict[str, str]:
    """An edge of a panel; with its side where that is not its seam's."""
    plain = {"panel": ref.panel, "edge": ref.edge}
    return plain if ref.side == seam.side else {**plain, "side": ref.side}


def _pad(pad: Pad, flat: _Flat) -> dict[str, Any]:
    return {"panel": pad.panel, "side": pad.side, "net": flat.closed(e.curve for e in pad.edges)}


def _piece(piece: Piece, flat: _Flat) -> dict[str, Any]:
    return {
        "name": piece.name,
        "panel": piece.panel,
        "layer": piece.layer,
        "side": piece.side,
        "quantity": piece.quantity,
        "mirrored_pair": piece.mirrored_pair,
        "on_fold": piece.on_fold,
        "net": flat.closed(e.curve for e in piece.net),
        "cut": flat.closed(piece.cut),
        "notches": [_notch(n) for n in piece.notches],
        "placement": [flat.open(run) for run in piece.placement],
        "grain": [_point(p) for p in piece.grain],
        "lines": [{"what": n.what, "points": flat.open(n.run)} for n in piece.lines],
        "spots": [{"what": s.what, "at": _point(s.at), "hole_mm": round(s.hole, DECIMALS)} for s in piece.spots],
    }


def _notch(notch: Notch) -> dict[str, Any]:
    return {"name": notch.name, "edge": notch.edge, "at": _point(notch.at)}


def _cup(cup: Cup) -> dict[str, Any]:
    return {
        "side": cup.side,
        "depth_mm": _rounded(cup.depth_mm),
        "volume_cc": _rounded(cup.volume_cc),
        "base_radius_mm": _rounded(cup.base_radius_mm),
        "curvature_rad": _rounded(cup.curvature_rad),
    }


def _rounded(value: float) -> float:
    """To DECIMALS, never -0.0; through a whole number, which takes a fifth of the time of round(value, DECIMALS).

    Raises ValueError for NaN and OverflowError for infinity.
    """
    return round(value * _STEPS) / _STEPS


def _point(p: Pt) -> list[float]:
    return [_rounded(p[0]), _rounded(p[1])]


def _points(points: Mapping[str, Pt]) -> dict[str, list[float]]:
    return {name: _point(p) for name, p in points.items()}
