"""A pattern as one mesh, its seams welded: flat triangles, each in the grain of its panel, that share vertices.

Both edges of a seam are sampled at the same fractions of each of its intervals and welded place by place. Where both
sides are alike and the form too, the left half tells all: its centres lie on the middle plane.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from coutil.pattern import Edge, Panel, PanelRef, Pattern, Seam
from coutil.pattern.seams import stations
from coutil.worn.patch import Mesh, MeshError, triangulate
from coutil.worn.refusal import WornError

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Half = Literal["left", "right"]

# Stations of a seam nearer to each other than this part of the mesh width are not kept apart: tiny triangles tell
# nothing and are stiff.
APART = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class Patch:
    """A panel as it is sewn in on one side: its flat mesh in its panel's coordinates (mirrored for a right side that is
    cut from the same panel), and the number in the whole of each of its vertices."""

    panel: Panel
    side: Half
    mirrored: bool
    mesh: Mesh
    number: Ints
    first_face: int
    # By edge name, from its lower end up (a top or hem from its start): places in mm of arc, and local vertices.
    edges: Mapping[str, tuple[Floats, Ints]]

    @property
    def faces(self) -> slice:
        return slice(self.first_face, self.first_face + len(self.mesh.faces))


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """A line of vertices from the hem up (a top or hem from its start): a seam, or an edge that is not sewn.

    `at` are places along it in mm of arc, on the first of its panels.
    """

    name: str
    role: str
    side: Half
    vertices: Ints
    at: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Sewn:
    """The whole mesh: `rest` (m, 3, 2) are the triangles' flat corners along and across the grain, in mm.

    `held` names vertices whose x is kept, and where; `laced` pairs of vertices that are kept apart by so much in x.
    """

    half: bool
    width: float
    count: int
    faces: Ints
    rest: Floats
    patches: tuple[Patch, ...]
    seams: tuple[Line, ...]
    edges: tuple[Line, ...]
    held: Mapping[int, float] = field(default_factory=dict)
    laced: tuple[tuple[int, int, float], ...] = ()

    def outward(self) -> Ints:
        """The triangles, anticlockwise as seen from outside."""
        out = self.faces.copy()
        for p in self.patches:
            if (p.panel.face_up < 0.0) != p.mirrored:
                out[p.faces] = out[p.faces][:, [0, 2, 1]]
        return out


def sew(pattern: Pattern, width: float, gaps: Mapping[str, float], *, half: bool) -> Sewn:
    """The mesh of a pattern with triangles of about `width` mm. `gaps` are by the role of a centre what stays open
    there when worn, in mm; a centre without one is closed. Raises WornError naming the panel that could not be meshed.
    """
    return _Sewing(pattern, width, gaps, half).done()


class _Sewing:
    def __init__(self, pattern: Pattern, width: float, gaps: Mapping[str, float], half: bool) -> None:
        self.pattern, self.width, self.gaps, self.half = pattern, width, gaps, half
        sides: tuple[Half, ...] = ("left",) if half else ("left", "right")
        self.panels: list[tuple[Panel, Half]] = [(p, s) for s in sides for p in pattern.panels if p.side in ("both", s)]
        self.sides = sides
        # Places along an edge, by panel, its side and edge.
        self.places: dict[tuple[str, str, str], Floats] = {}

    def done(self) -> Sewn:
        joins = self._joins()
        patches: list[Patch] = []
        first = start = 0
        for panel, side in self.panels:
            patch = self._patch(panel, side, first, start)
            patches.append(patch)
            first += len(patch.mesh.faces)
            start += len(patch.mesh.points)
        parent = np.arange(sum(len(p.mesh.points) for p in patches))
        by = {(p.panel.name, p.side): p for p in patches}
        pairs = [(self._ids(by, a), self._ids(by, b)) for _, a, b in joins]
        pairs += self._closed(by)
        number = _welded(len(parent), pairs)
        for k, p in enumerate(patches):
            patches[k] = _numbered(p, number[p.number])
        by = {(p.panel.name, p.side): p for p in patches}
        faces = np.concatenate([p.number[p.mesh.faces] for p in patches])
        rest = np.concatenate([_grained(p) for p in patches])
        seams = tuple(
            Line(s.name, self.pattern.edge_of(s.a).role, by[a[:2]].side, self._ids(by, a), self.places[a])
            for s, a, _ in joins
        )
        sewn_edges = {key for _, a, b in joins for key in (a, b)}
        edges = tuple(
            Line(e.name, e.role, p.side, p.number[p.edges[e.name][1]], p.edges[e.name][0])
            for p in patches
            for e in p.panel.edges
            if (p.panel.name, p.side, e.name) not in sewn_edges
        )
        held, laced = self._openings(by)
        return Sewn(
            self.half, self.width, int(number.max()) + 1, faces, rest, tuple(patches), seams, edges, held, laced
        )

    def _joins(self) -> list[tuple[Seam, tuple[str, Half, str], tuple[str, Half, str]]]:
        """Each seam once for every side that it is sewn on, with its two edges; and the places on them."""
        out = []
        for seam in self.pattern.seams:
            places = _thinned([(a, b) for _, a, b in stations(self.pattern, seam)], APART * self.width)
            fractions = _between(places, self.width)
            for side in self.sides:
                if seam.joins_halves:
                    if side == "right":
                        continue
                    a: tuple[str, Half, str] = (seam.a.panel, _one(seam.a.side), seam.a.edge)
                    b: tuple[str, Half, str] = (seam.b.panel, _one(seam.b.side), seam.b.edge)
                elif seam.side in ("both", side):
                    a, b = (seam.a.panel, side, seam.a.edge), (seam.b.panel, side, seam.b.edge)
                else:
                    continue
                self.places[a], self.places[b] = fractions[:, 0], fractions[:, 1]
                out.append((seam, a, b))
        return out

    def _patch(self, panel: Panel, side: Half, first: int, start: int) -> Patch:
        mirrored = panel.side == "both" and side == "right"
        points: list[Floats] = []
        edges: dict[str, tuple[Floats, Ints]] = {}
        count = 0
        for e in panel.edges:
            at, sewn = self._sampled(panel, side, e)
            order = at if e.rising else at[::-1]
            run = np.array([e.curve.point(e.along(float(s))) for s in order])
            # Local numbers along the outline; the last is the next edge's first.
            ids = np.arange(count, count + len(run))
            count += len(run) - 1
            points.append(run[:-1])
            kept = ids if e.rising else ids[::-1]
            edges[e.name] = (at[:sewn], kept[:sewn])
        outline = np.concatenate(points)
        edges = {k: (at, ids % count) for k, (at, ids) in edges.items()}
        try:
            mesh = triangulate(outline, self.width)
        except MeshError as e:
            raise WornError("no_mesh", PanelRef(panel.name, panel.side), panel=panel.name) from e
        if mirrored:
            mesh = Mesh(mesh.points * np.array([-1.0, 1.0]), mesh.faces)
        number = np.arange(start, start + len(mesh.points))
        return Patch(panel, side, mirrored, mesh, number, first, edges)

    def _sampled(self, panel: Panel, side: Half, edge: Edge) -> tuple[Floats, int]:
        """Places on an edge from its lower end, and how many of them are sewn (all on an edge without a seam)."""
        whole = edge.curve.length
        at = self.places.get((panel.name, side, edge.name))
        if at is None:
            n = max(1, math.ceil(whole / self.width - 1e-9))
            return np.linspace(0.0, whole, n + 1), n + 1
        sewn = len(at)
        left = whole - float(at[-1])
        if left > APART * self.width:
            n = math.ceil(left / self.width - 1e-9)
            return np.concatenate((at, np.linspace(float(at[-1]), whole, n + 1)[1:])), sewn
        # What is left is too short to stand alone: the last place goes on to the end.
        return np.concatenate((at[:-1], [whole])), sewn

    def _ids(self, by: Mapping[tuple[str, Half], Patch], key: tuple[str, Half, str]) -> Ints:
        patch = by[key[0], key[1]]
        out: Ints = patch.number[patch.edges[key[2]][1]]
        return out

    def _middles(self) -> list[tuple[str, str, float]]:
        """Panels with a centre that no seam joins: name, edge, and what stays open there."""
        out: list[tuple[str, str, float]] = []
        for p, side in self.panels:
            for e in p.edges:
                if e.kind == "centre" and side == "left" and (p.name, "left", e.name) not in self.places:
                    folded = p.fold in (e.name, e.role)
                    out.append((p.name, e.name, 0.0 if folded else self.gaps.get(e.role, 0.0)))
        return out

    def _closed(self, by: Mapping[tuple[str, Half], Patch]) -> list[tuple[Ints, Ints]]:
        """On two halves: the centres that are closed, welded to each other."""
        if self.half:
            return []
        return [
            (self._ids(by, (panel, "left", edge)), self._ids(by, (panel, "right", edge)))
            for panel, edge, gap in self._middles()
            if not gap and (panel, "right") in by
            and len(by[panel, "left"].edges[edge][1]) == len(by[panel, "right"].edges[edge][1])
        ]  # fmt: skip

    def _openings(
        self, by: Mapping[tuple[str, Half], Patch]
    ) -> tuple[dict[int, float], tuple[tuple[int, int, float], ...]]:
        held: dict[int, float] = {}
        laced: list[tuple[int, int, float]] = []
        for panel, edge, gap in self._middles():
            left = self._ids(by, (panel, "left", edge))
            if self.half:
                held |= dict.fromkeys(left.tolist(), gap / 2.0)
            elif (panel, "right") in by:
                right = self._ids(by, (panel, "right", edge))
                n = max(len(left), len(right))
                k = np.linspace(0.0, 1.0, n)
                a = left[np.round(k * (len(left) - 1)).astype(int)]
                b = right[np.round(k * (len(right) - 1)).astype(int)]
                laced += [(i, j, gap) for i, j in zip(a.tolist(), b.tolist(), strict=True) if i != j]
        return held, tuple(laced)


def _one(side: str) -> Half:
    return "right" if side == "right" else "left"


def _thinned(places: Sequence[tuple[float, float]], least: float) -> list[tuple[float, float]]:
    """Stations without those that lie closer than `least` to one before them or to the end."""
    end = places[-1]
    out = [places[0]]
    for p in places[1:-1]:
        if min(p[0] - out[-1][0], p[1] - out[-1][1]) >= least and min(end[0] - p[0], end[1] - p[1]) >= least:
            out.append(p)
    return [*out, end]


def _between(places: Sequence[tuple[float, float]], width: float) -> Floats:
    """Places on both edges at equal fractions of every interval, about `width` mm apart."""
    out = [np.array([places[0]])]
    for low, high in pairwise(places):
        n = max(1, math.ceil(max(high[0] - low[0], high[1] - low[1]) / width - 1e-9))
        k = np.arange(1, n + 1)[:, None] / n
        out.append(np.array([low]) + k * (np.array([high]) - np.array([low])))
    return np.concatenate(out)


def _welded(count: int, pairs: Sequence[tuple[Ints, Ints]]) -> Ints:
    """A number for each vertex, the same for all that are welded to each other, from 0 without gaps."""
    from scipy.sparse import coo_array  # type: ignore[import-untyped]
    from scipy.sparse.csgraph import connected_components  # type: ignore[import-untyped]

    a = np.concatenate([p for p, _ in pairs]) if pairs else np.empty(0, dtype=np.int64)
    b = np.concatenate([q for _, q in pairs]) if pairs else np.empty(0, dtype=np.int64)
    links = coo_array((np.ones(len(a)), (a, b)), shape=(count, count))
    found: Ints = connected_components(links, directed=False)[1].astype(np.int64)
    return found


def _numbered(p: Patch, number: Ints) -> Patch:
    return Patch(p.panel, p.side, p.mirrored, p.mesh, number, p.first_face, p.edges)


def _grained(p: Patch) -> Floats:
    """Corners (m, 3, 2) of a patch's triangles, turned so that the first coordinate goes along the grain."""
    (x0, y0), (x1, y1) = p.panel.grain
    along = np.array([x1 - x0, y1 - y0])
    along /= np.linalg.norm(along)
    if p.mirrored:
        along[0] = -along[0]
    across = np.array([along[1], -along[0]])
    out: Floats = p.mesh.points[p.mesh.faces] @ np.stack((along, across), axis=1)
    return out
