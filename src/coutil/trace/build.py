"""From what was told of the shapes to a Pattern: panels in their own coordinates, seams, levels, the bust point."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from coutil.layers.notches import notched
from coutil.order.own import OwnPattern
from coutil.pattern import LEVELS, Edge, EdgeRef, Finding, Panel, PanelRef, Pattern, Seam, SeamRef
from coutil.pattern.model import Side
from coutil.pattern.seams import NOTCH_FROM_BUST_POINT, SEWN_END
from coutil.plane import Curve, Pt, closed_points, crossings, pinned, upright_line
from coutil.seaming import CUP_ROLE
from coutil.trace.findings import read_findings, seam_findings, unknown
from coutil.trace.inward import net_sides
from coutil.trace.model import Traced, TraceError
from coutil.trace.sides import run
from coutil.trace.tell import Telling, ToldPanel, ToldSeam, tell
from coutil.trace.work import Work

# A bust point or a level's end that was measured with a ruler may lie this far beside its edge, in mm.
BESIDE_EDGE = 6.0
# A level's line whose end lies this near to the top or to the hem, in mm, ends there: a pencil line.
ENDS_ON = 0.5
# A level this near to the end of an edge crosses it, in mm: rounding.
AT_END = 0.02
# A notch stands at most this far from the net line, in mm: the widest allowance that an order may ask for.
NOTCH_REACH = 50.0
# A notch this near to a level or to the bust point is the notch of that, in mm; and nicks of one notch lie this near
# to each other (common practice is 1/8 to 1/4 in on the cut line, no source; where that runs hollow, as at the waist,
# 1/4 in of it stands for up to 9 mm of the net line on narrow panels, found by trial).
SAME_MARK = 2.0
SAME_NOTCH = 10.0


@dataclass(frozen=True, slots=True)
class _Placed:
    """A panel's net sides in its own coordinates, and the map that took them there from the upright shape."""

    told: ToldPanel
    edges: tuple[Edge, ...]
    mirrored: bool
    dx: float
    dy: float

    def moved(self, p: Pt) -> Pt:
        return (-p[0] if self.mirrored else p[0]) + self.dx, p[1] + self.dy


def pattern_of(traced: Traced, own: OwnPattern, name: str) -> Pattern:
    """The pattern that a traced file is, by what was said of it; what was proposed is told as findings.

    Raises TraceError where something that is needed was not said (net or cut line, allowance) or does not fit.
    """
    telling = tell(traced, own)
    sides = [net_sides(p.work, p.edge(p.fold).sides if p.fold else (), own) for p in telling.panels]
    placed = _put(telling.panels, sides)
    panels = [_panel(p) for p in placed]
    panels, seams, found = _sewn(panels, telling)
    findings = [*read_findings(traced, telling), *found, *unknown(panels, seams)]
    return Pattern(name, tuple(panels), tuple(seams), findings=tuple(findings))


# --- own coordinates -----------------------------------------------------------------------------------------------


def _put(panels: Sequence[ToldPanel], sides: Sequence[Mapping[int, Curve]]) -> list[_Placed]:
    """Every panel in its own coordinates: x from the centre front or the centre back outwards, y from the waist."""
    floor = min(y for found in sides for c in found.values() for _, y in (c.start, c.end))
    made = {i: _turned(p, found, floor) for i, (p, found) in enumerate(zip(panels, sides, strict=True))}
    out: dict[int, _Placed] = {}
    for half in ("both", "left", "right"):
        for back in (False, True):
            row = [i for i, p in enumerate(panels) if p.side == half and (p.part == "back") == back]
            at = 0.0
            # Fronts are put down from the centre front on, backs from the centre back.
            for i in reversed(row) if back else row:
                m = made[i]
                pts = closed_points((e.curve for e in m.edges), tolerance=0.05)
                x0, x1 = min(p[0] for p in pts), max(p[0] for p in pts)
                centre = next((e for e in m.edges if e.kind == "centre"), None)
                if at == 0.0 and centre is not None:
                    dx = -centre.upward().start[0]
                else:
                    dx = at - x0 if half != "right" else -at - x1
                at = max(at, abs(x0 + dx), abs(x1 + dx))
                out[i] = replace(
                    m, edges=tuple(replace(e, curve=e.curve.moved(dx, 0.0)) for e in m.edges), dx=m.dx + dx
                )
    return [out[i] for i in range(len(panels))]


def _turned(p: ToldPanel, sides: Mapping[int, Curve], floor: float) -> _Placed:
    # Towards the centre front lies at smaller x on a left front, at larger x on a left back: see coutil.pattern.model.
    wants_left = (p.part == "front") == (p.side != "right")
    mirrored = p.inner_left != wants_left
    waist = p.work.levels.get("waist")
    dy = -(waist[0][1] + waist[1][1]) / 2.0 if waist else -floor
    edges = []
    for told in p.edges:
        curve = run(sides, [k for k in told.sides if k in sides])
        if curve is None:
            raise TraceError(
                "edge_vanishes", PanelRef(p.work.shape.name), panel=p.work.shape.name, edge=told.name.replace("_", " ")
            )
        if mirrored:
            curve = curve.mirrored().reversed()
        curve = curve.moved(0.0, dy)
        upright = told.role not in ("top", "hem")
        rising = curve.end[1] > curve.start[1] if upright else True
        marks = {"hem": 0.0, "top": curve.length} if upright else {}
        edges.append(Edge(told.name, told.role, curve, rising, marks))
    if mirrored:
        edges.reverse()
    return _Placed(p, _joined(edges), mirrored, 0.0, dy)


def _joined(edges: Sequence[Edge]) -> tuple[Edge, ...]:
    """Edges that end exactly where the next begins: moving and mirroring round."""
    out = []
    for k, e in enumerate(edges):
        after = edges[(k + 1) % len(edges)].curve.start
        out.append(replace(e, curve=pinned(e.curve, e.curve.start, after)))
    return tuple(out)


# --- marks ---------------------------------------------------------------------------------------------------------


def _panel(m: _Placed) -> Panel:
    """The panel with its levels, its bust point, its notches and its grain."""
    p, w = m.told, m.told.work
    where = {e.name: e.where for e in p.edges}
    edges = {e.name: e for e in m.edges}
    marks = {name: dict(e.marks) for name, e in edges.items()}
    inner = next((edges[n] for n in edges if where[n] == "inner"), None)
    outer = next((edges[n] for n in edges if where[n] == "outer"), None)
    levels: dict[str, tuple[Pt, Pt]] = {}
    for name in LEVELS:
        ends = w.levels.get(name)
        if ends is None or inner is None or outer is None:
            continue
        a, b = m.moved(ends[0]), m.moved(ends[1])
        (x0, y0), (x1, y1) = _middle(inner), _middle(outer)
        if (b[0] - a[0]) * (x1 - x0) + (b[1] - a[1]) * (y1 - y0) < 0.0:
            a, b = b, a
        found = []
        for edge, end in ((inner, a), (outer, b)):
            s = _crossed(edge.curve, a, b, end)
            if s is not None:
                marks[edge.name][name] = edge.along(s)
                found.append(edge.curve.point(s))
            elif name not in w.said.levels and (edge.curve.nearest(end)[1] < ENDS_ON or not _cut_off(m, end)):
                # A level may lie in the air above a low top; the file says where it ends.
                found.append(end)
        if len(found) == 2:
            levels[name] = (found[0], found[1])
    points = {k: m.moved(v) for k, v in w.points.items()}
    princess = next((e for e in m.edges if e.role == CUP_ROLE), None)
    if "bust_point" in points and princess is not None:
        s, off = princess.curve.nearest(points["bust_point"])
        if off <= BESIDE_EDGE:
            marks[princess.name]["bust_point"] = princess.along(s)
            points["bust_point"] = princess.curve.point(s)
    _notch(m, w, marks)
    outline = closed_points((e.curve for e in m.edges), tolerance=0.02)
    made = tuple(replace(e, marks=_sorted(marks[e.name])) for e in m.edges)
    return Panel(p.name, p.side, p.part, p.fold, made, levels, points, _grain(m, w, outline))


def _cut_off(m: _Placed, end: Pt) -> bool:
    """Whether a line that crosses no upright edge was drawn only to the top or the hem: its true end is not known."""
    return any(e.curve.nearest(end)[1] < ENDS_ON for e in m.edges if e.role in ("top", "hem"))


def _sorted(marks: Mapping[str, float]) -> dict[str, float]:
    return dict(sorted(marks.items(), key=lambda m: m[1]))


def _middle(e: Edge) -> Pt:
    return e.curve.point(e.curve.length / 2.0)


def _crossed(curve: Curve, a: Pt, b: Pt, end: Pt) -> float | None:
    """Where the straight line through a and b crosses the curve, the crossing nearest to `end`; None if it does not."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    size = math.hypot(dx, dy)
    found = crossings(curve, lambda p: ((p[0] - a[0]) * dy - (p[1] - a[1]) * dx) / size)
    if not found:
        # A level at the very end of the edge crosses it but for rounding.
        s, off = curve.nearest(end)
        return s if off < AT_END else None
    return min(found, key=lambda s: math.dist(curve.point(s), end))


def _notch(m: _Placed, w: Work, marks: dict[str, dict[str, float]]) -> None:
    """Add the file's notches to the marks of the upright edges, numbered from the hem up."""
    places: dict[str, list[float]] = {}
    for n in w.notches:
        at = m.moved(n)
        near = [e.curve.nearest(at) for e in m.edges]
        s, off = min(near, key=lambda f: f[1])
        e = m.edges[near.index((s, off))]
        along = e.along(s)
        if off > NOTCH_REACH or e.role in ("top", "hem") or not 1.0 < along < e.curve.length - 1.0:
            continue
        places.setdefault(e.name, []).append(along)
    for name, found in places.items():
        nicks: list[list[float]] = []
        for s in sorted(found):
            if nicks and s - nicks[-1][-1] < SAME_NOTCH:
                nicks[-1].append(s)
            else:
                nicks.append([s])
        # What stands at a level that is notched anyway, or at the bust point, is known by that name; at any other
        # level it stands right on it.
        role = next(e.role for e in m.edges if e.name == name)
        kept = []
        for s in (sum(n) / len(n) for n in nicks):
            here = {mark: t for mark, t in marks[name].items() if abs(s - t) <= SAME_MARK}
            if not here.keys() & {*notched(role, cup=role == CUP_ROLE), "hem", "top", "bust_point"}:
                kept.append(next(iter(here.values()), s))
        marks[name].update({f"notch {k}": s for k, s in enumerate(kept, start=1)})


def _grain(m: _Placed, w: Work, outline: Sequence[Pt]) -> tuple[Pt, Pt]:
    """The file's grain line, as much of it as lies inside the panel; an upright one where it has none."""
    if w.grain is None:
        return upright_line(outline)
    import shapely  # type: ignore[import-untyped]

    a, b = m.moved(w.grain[0]), m.moved(w.grain[1])
    # 1 mm clear of the outline, so that it can be seen.
    within = shapely.buffer(shapely.polygons(outline), -1.0)
    inside = shapely.intersection(within, shapely.linestrings([a, b]))
    lines = [g for g in shapely.get_parts(inside) if shapely.get_type_id(g) == 1 and shapely.length(g) > 1.0]
    if not lines:
        return upright_line(outline)
    longest = max(lines, key=shapely.length)
    (x0, y0), (x1, y1) = shapely.get_coordinates(longest)[[0, -1]].tolist()
    return ((x0, y0), (x1, y1)) if y0 <= y1 else ((x1, y1), (x0, y0))


# --- seams ---------------------------------------------------------------------------------------------------------


def _sewn(panels: list[Panel], telling: Telling) -> tuple[list[Panel], list[Seam], list[Finding]]:
    """The seams, with the marks that both edges bear; peaks and bust points carried over to where they are missing."""
    seams: list[Seam] = []
    found: list[Finding] = []
    for told in telling.seams:
        # Between the sides of an uneven body a seam joins the left panel to the right one.
        other: Side = "right" if told.a == told.b and told.side == "left" else told.side
        i, j = _index(panels, told.a, told.side), _index(panels, told.b, other)
        if i is None or j is None:
            (panel, edge), side = (told.a, told.side) if i is None else (told.b, other)
            args = {"panel": PanelRef(panel), "edge": EdgeRef(panel, edge, side), "on": side}
            found.append(Finding("traced_seam.not_walked", "warn", SeamRef(told.name), args))
            continue
        a, b = panels[i].edge(told.a[1]), panels[j].edge(told.b[1])
        if told.a == told.b:
            stations, unlike = _stations(told, a, b)
            refs = EdgeRef(*told.a, told.side), EdgeRef(*told.b, other)
            seams.append(Seam(told.name, told.side, *refs, stations))
            found += unlike
            continue
        if told.peak:
            a = _marked(a, SEWN_END, a.curve.length)
            b = _peaked(b, b.curve.length - told.peak)
        if "bust_point" in a.marks and "bust_point" not in b.marks:
            b = _carried(a, b)
        elif "bust_point" in b.marks and "bust_point" not in a.marks:
            a = _carried(b, a)
        elif told.a[1] == CUP_ROLE and (proposed := _bust_points(a, b)) is not None:
            a, b = proposed
            found.append(Finding("traced_seam.bust_point", "note", SeamRef(told.name)))
        a, b = _inch_known(a, b)
        panels[i], panels[j] = _with(panels[i], a), _with(panels[j], b)
        stations, unlike = _stations(told, a, b)
        found += unlike
        refs = EdgeRef(*told.a, told.side), EdgeRef(*told.b, other)
        seams.append(Seam(told.name, told.side, *refs, stations, told.ease, cup=told.a[1] == CUP_ROLE))
        found += seam_findings(told)
    return panels, seams, found


def _stations(told: ToldSeam, a: Edge, b: Edge) -> tuple[tuple[str, ...], list[Finding]]:
    """The marks at which a seam is walked; its notches only if both edges bear as many, else that is told."""
    counts = [sum(1 for m in e.marks if m.startswith("notch ")) for e in (a, b)]
    if counts[0] == counts[1]:
        return _shared(a, b), []
    apart = told.a == told.b
    args = {
        "a": PanelRef(told.a[0], "left" if apart else "both"),
        "b": PanelRef(told.b[0], "right" if apart else "both"),
        "bears": _number(counts[0]),
        "a_count": counts[0],
        "other": "some" if counts[1] else "none",
        "b_count": counts[1],
    }
    found = Finding("traced_seam.notches", "warn", SeamRef(told.name), args)
    return tuple(m for m in _shared(a, b) if not m.startswith("notch ")), [found]


def _bust_points(a: Edge, b: Edge) -> tuple[Edge, Edge] | None:
    """The edges with the bust point where both bear a notch at the bust level; None where they do not."""
    out = []
    for e in (a, b):
        at = e.marks.get("bust")
        here = [m for m, s in e.marks.items() if m.startswith("notch ") and s == at]
        if at is None or not here:
            return None
        out.append(_marked(_without(e, here), "bust_point", at))
    return out[0], out[1]


def _inch_known(a: Edge, b: Edge) -> tuple[Edge, Edge]:
    """The edges without notches of the file's own an inch from the bust point: those are cut anyway, on both edges."""
    if a.role != CUP_ROLE or not all("bust_point" in e.marks for e in (a, b)):
        return a, b
    for way in (-NOTCH_FROM_BUST_POINT, NOTCH_FROM_BUST_POINT):
        places = [e.marks["bust_point"] + way for e in (a, b)]
        if not all(0.0 < s < e.marks.get(SEWN_END, e.curve.length) for s, e in zip(places, (a, b), strict=True)):
            continue
        here = [
            [m for m, t in e.marks.items() if m.startswith("notch ") and abs(t - s) <= SAME_MARK]
            for s, e in zip(places, (a, b), strict=True)
        ]
        a, b = _without(a, here[0]), _without(b, here[1])
    return a, b


def _without(e: Edge, gone: Sequence[str]) -> Edge:
    """The edge without some of the file's notches, the others numbered anew from the hem up."""
    kept = [(m, s) for m, s in e.marks.items() if m not in gone]
    own = [m for m, _ in kept if m.startswith("notch ")]
    name = {m: f"notch {k}" for k, m in enumerate(own, start=1)}
    return replace(e, marks={name.get(m, m): s for m, s in kept})


def _number(count: int) -> str:
    """Which form of a text a count asks for."""
    return "none" if count == 0 else "one" if count == 1 else "several"


def _index(panels: Sequence[Panel], ref: tuple[str, str], side: str) -> int | None:
    """The number of the panel that serves a side, as `Pattern.panel` finds it; None if it has no such edge."""
    name, edge = ref
    k = next((k for k, p in enumerate(panels) if p.name == name and (p.side in (side, "both") or side == "both")), None)
    return k if k is not None and any(e.name == edge for e in panels[k].edges) else None


def _shared(a: Edge, b: Edge) -> tuple[str, ...]:
    """Marks that both edges bear, from the hem up, the bust point apart; the top only where both end together."""
    shared = [m for m in a.marks if m in b.marks and m != "bust_point"]
    if SEWN_END in shared:
        shared.remove("top")
    return tuple(sorted(shared, key=lambda m: a.marks[m]))


def _marked(e: Edge, name: str, s: float) -> Edge:
    return replace(e, marks=_sorted({**e.marks, name: s}))


def _peaked(e: Edge, s: float) -> Edge:
    """The edge with the foot of its peak marked; a notch that stands there is the notch of that."""
    marks = {m: t for m, t in e.marks.items() if not (m.startswith("notch ") and abs(t - s) < SAME_NOTCH / 2.0)}
    return _marked(replace(e, marks=marks), SEWN_END, s)


def _carried(a: Edge, b: Edge) -> Edge:
    """Edge b with the bust point at the same distance above the nearest mark below that both bear."""
    at = a.marks["bust_point"]
    below = max((m for m in a.marks if m in b.marks and a.marks[m] <= at), key=lambda m: a.marks[m])
    s = b.marks[below] + at - a.marks[below]
    return _marked(b, "bust_point", s) if 0.0 < s < b.curve.length else b


def _with(panel: Panel, edge: Edge) -> Panel:
    points = dict(panel.points)
    if "bust_point" in edge.marks and "bust_point" not in points:
        points["bust_point"] = edge.at("bust_point")
    return replace(panel, edges=tuple(edge if e.name == edge.name else e for e in panel.edges), points=points)
