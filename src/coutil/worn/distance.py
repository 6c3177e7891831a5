"""How far a place is from a closed surface, signed: positive outside. Worked out once on a grid, then read smoothly.

Distances on the grid are exact (C. Ericson, Real-Time Collision Detection, section 5.1.5); inside or outside is counted
by how often a line towards the front passes through the surface. Between the grid's points a cubic B-spline runs
through them (M. Unser, Splines: a perfect fit for signal and image processing, 1999), which has a continuous gradient
as Newton's method wants it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates, spline_filter  # type: ignore[import-untyped]
from scipy.spatial import cKDTree  # type: ignore[import-untyped]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

# Distance of the grid's points in mm. By trial distances to a ball of radius 100 are then right to 0.02 mm.
SPACING = 8.0
# How far the grid goes beyond the surface, in mm; beyond the grid distances go straight on.
MARGIN = 64.0
# Samples on the surface lie about so far apart, in mm: nearest ones name the triangles that are measured exactly.
SAMPLE = 6.0
CANDIDATES = 4
# So near all of them are measured, in mm; farther off the first one's triangle is right to 0.1 mm by trial.
CLOSE = 20.0
# Within this of the surface every point of the grid is measured, farther off every second one, in mm.
NEAR = 28.0
# Points by which a grid is gone on with beyond its ends.
GOES_ON = 4
# What lies deeper than this inside counts as so deep, in mm: no cloth gets there.
DEEPEST = 32.0


@dataclass(frozen=True, slots=True, eq=False)
class Distance:
    """The grid: its first point, and the spline's coefficients. Lengths in mm."""

    origin: Floats
    spacing: float
    coefficients: Floats

    def at(self, x: Floats) -> tuple[Floats, Floats]:
        """Signed distances (n,) in mm of points (n, 3), and their gradients (n, 3)."""
        shape = np.array(self.coefficients.shape)
        u = (x - self.origin) / self.spacing
        held = np.clip(u, 1.0, shape - 2.0 - 1e-9)
        low = held.astype(np.int64)
        t = held - low
        w, d = _weights(t)
        index = np.clip(low[:, :, None] + np.arange(-1, 3), 0, (shape - 1)[:, None])
        ny, nz = int(shape[1]), int(shape[2])
        flat = (index[:, 0, :, None, None] * ny + index[:, 1, None, :, None]) * nz + index[
            :, 2, None, None, :
        ]  # (n, 4, 4, 4)
        c = self.coefficients.ravel()[flat]
        # Summed along one axis after the other.
        cz, cdz = np.einsum("nijk,nk->nij", c, w[:, 2]), np.einsum("nijk,nk->nij", c, d[:, 2])
        czy, czdy = np.einsum("nij,nj->ni", cz, w[:, 1]), np.einsum("nij,nj->ni", cz, d[:, 1])
        cdzy = np.einsum("nij,nj->ni", cdz, w[:, 1])
        value = np.einsum("ni,ni->n", czy, w[:, 0])
        gradient = np.stack(
            (
                np.einsum("ni,ni->n", czy, d[:, 0]),
                np.einsum("ni,ni->n", czdy, w[:, 0]),
                np.einsum("ni,ni->n", cdzy, w[:, 0]),
            ),
            axis=1,
        ) / self.spacing  # fmt: skip
        return value + np.einsum("ni,ni->n", gradient, (u - held) * self.spacing), gradient


def distance_grid(
    points: Floats, faces: Ints, *, half: bool = False, spacing: float = SPACING, margin: float = MARGIN
) -> Distance:
    """The signed distance from a closed surface on a grid. `half`: of a surface that is its own mirror image in x = 0
    only the left half is worked out, and nothing is promised to the right of it."""
    low, high = points.min(axis=0) - margin, points.max(axis=0) + margin
    if half:
        low[0] = -3.0 * spacing
    # An odd count, so that every second point makes a coarser grid with the same corners.
    count = 2 * np.ceil((high - low) / (2.0 * spacing)).astype(int) + 1
    axes = [low[k] + spacing * np.arange(count[k]) for k in range(3)]
    grid = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1)
    inside = _inside(points, faces, axes)
    known = _Known(points, faces)
    coarse = known.signed(grid[::2, ::2, ::2], inside[::2, ::2, ::2])
    # Far from the surface distances are smooth: there every second point tells.
    to = np.stack(np.meshgrid(*(np.arange(n) / 2.0 for n in count), indexing="ij"))
    padded = spline_filter(_gone_on(coarse), order=3, mode="mirror")
    signed = map_coordinates(padded, to + GOES_ON, order=3, mode="mirror", prefilter=False)
    near = np.abs(signed) < NEAR
    signed[near] = known.signed(grid[near], inside[near])
    inner = (slice(GOES_ON, -GOES_ON),) * 3
    return Distance(low, spacing, spline_filter(_gone_on(signed), order=3, mode="mirror")[inner])


def _gone_on(values: Floats) -> Floats:
    """A grid that goes straight on at its ends, where a spline would ring from a fold."""
    return np.pad(values, GOES_ON, mode="reflect", reflect_type="odd")


class _Known:
    """The surface with its samples, kept for more than one asking."""

    def __init__(self, points: Floats, faces: Ints) -> None:
        self.triangles = points[faces]
        samples, self.owner = _samples(points, faces)
        self.tree = cKDTree(samples, balanced_tree=False, compact_nodes=False)

    def signed(self, at: Floats, inside: NDArray[np.bool_]) -> Floats:
        """Signed distances of places (..., 3), none deeper than DEEPEST."""
        out = np.empty(inside.shape)
        out[inside] = -self.nearest(at[inside], DEEPEST)
        out[~inside] = self.nearest(at[~inside], np.inf)
        return out

    def nearest(self, to: Floats, most: float) -> Floats:
        """Unsigned distances of places (n, 3); what is farther than `most` counts as `most`."""
        rough, who = self.tree.query(to, k=1, distance_upper_bound=most + SAMPLE)
        out = np.full(len(to), most)
        there = np.flatnonzero(np.isfinite(rough))
        out[there] = _to_triangle(to[there], self.triangles[self.owner[who[there]]])
        # Beside the surface the nearest sample may lie on the triangle next to the nearest.
        close = np.flatnonzero(rough < CLOSE)
        if len(close):
            _, who = self.tree.query(to[close], k=CANDIDATES)
            for k in range(1, CANDIDATES):
                out[close] = np.minimum(out[close], _to_triangle(to[close], self.triangles[self.owner[who[:, k]]]))
        held: Floats = np.minimum(out, most)
        return held


def _samples(points: Floats, faces: Ints) -> tuple[Floats, Ints]:
    """Places on the triangles about SAMPLE mm apart, and which triangle each lies on: at least its middle."""
    t = points[faces]
    longest = np.linalg.norm(t - np.roll(t, 1, axis=1), axis=2).max(axis=1)
    n = np.maximum(np.ceil(longest / SAMPLE).astype(int), 1)
    out, who = [], []
    for k in np.unique(n):
        mine = np.flatnonzero(n == k)
        i, j = np.meshgrid(np.arange(k), np.arange(k), indexing="ij")
        keep = i + j < k
        a, b = (i[keep] + 1.0 / 3.0) / k, (j[keep] + 1.0 / 3.0) / k
        weights = np.stack((1.0 - a - b, a, b), axis=1)
        out.append(np.einsum("wc,tcx->twx", weights, t[mine]).reshape(-1, 3))
        who.append(np.repeat(mine, len(weights)))
    return np.concatenate(out), np.concatenate(who)


def _to_triangle(p: Floats, t: Floats) -> Floats:
    """Distances of points (n, 3) from triangles (n, 3, 3), pair by pair."""
    a, ab, ac = t[:, 0], t[:, 1] - t[:, 0], t[:, 2] - t[:, 0]
    ap = p - a

    def dot(u: Floats, v: Floats) -> Floats:
        out: Floats = np.einsum("nx,nx->n", u, v)
        return out

    aa, bb, cc = dot(ab, ab), dot(ab, ac), dot(ac, ac)
    d, e = dot(ab, ap), dot(ac, ap)
    det = np.maximum(aa * cc - bb * bb, 1e-30)
    v, w = (cc * d - bb * e) / det, (aa * e - bb * d) / det
    within = (v >= 0.0) & (w >= 0.0) & (v + w <= 1.0)
    plane = np.linalg.norm(ap - v[:, None] * ab - w[:, None] * ac, axis=1)
    edges = np.full(len(p), np.inf)
    for k in range(3):
        start, along = t[:, k], t[:, (k + 1) % 3] - t[:, k]
        s = np.clip(dot(p - start, along) / np.maximum(dot(along, along), 1e-30), 0.0, 1.0)
        edges = np.minimum(edges, np.linalg.norm(p - start - s[:, None] * along, axis=1))
    return np.where(within, plane, edges)


def _inside(points: Floats, faces: Ints, axes: list[Floats]) -> NDArray[np.bool_]:
    """Whether each of the grid's points lies inside: by the parity of crossings before it along z."""
    xs, ys, zs = axes
    step = float(xs[1] - xs[0])
    # Lines that pass through no vertex and along no edge: moved off by odd parts of the spacing.
    shift = np.array([0.3819660, 0.2360680]) * 1e-4 * step
    t = points[faces]
    first = [np.ceil((t[:, :, k].min(axis=1) - axes[k][0] - shift[k]) / step).astype(int) for k in (0, 1)]
    last = [np.floor((t[:, :, k].max(axis=1) - axes[k][0] - shift[k]) / step).astype(int) for k in (0, 1)]
    first = [np.maximum(f, 0) for f in first]
    last = [np.minimum(n, len(axes[k]) - 1) for k, n in enumerate(last)]
    wide, tall = (np.maximum(last[k] - first[k] + 1, 0) for k in (0, 1))
    count = wide * tall
    who = np.repeat(np.arange(len(t)), count)
    place = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count)
    i = first[0][who] + place // np.maximum(tall[who], 1)
    j = first[1][who] + place % np.maximum(tall[who], 1)
    x, y = xs[i] + shift[0], ys[j] + shift[1]
    a, b, c = (t[who, k] for k in range(3))
    det = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (c[:, 0] - a[:, 0]) * (b[:, 1] - a[:, 1])
    safe = np.where(det == 0.0, 1.0, det)
    v = ((x - a[:, 0]) * (c[:, 1] - a[:, 1]) - (c[:, 0] - a[:, 0]) * (y - a[:, 1])) / safe
    w = ((b[:, 0] - a[:, 0]) * (y - a[:, 1]) - (x - a[:, 0]) * (b[:, 1] - a[:, 1])) / safe
    hit = (det != 0.0) & (v >= 0.0) & (w >= 0.0) & (v + w <= 1.0)
    z = (a[:, 2] + v * (b[:, 2] - a[:, 2]) + w * (c[:, 2] - a[:, 2]))[hit]
    # Each crossing turns everything behind it over.
    at = np.searchsorted(zs, z)
    turns = np.zeros((len(xs), len(ys), len(zs) + 1), dtype=np.int64)
    np.add.at(turns, (i[hit], j[hit], at), 1)
    out: NDArray[np.bool_] = np.cumsum(turns, axis=2)[:, :, :-1] % 2 == 1
    return out


def _weights(t: Floats) -> tuple[Floats, Floats]:
    """Cubic B-spline weights of the four neighbours and their derivatives, for places t in 0..1, in a last axis."""
    s = 1.0 - t
    w = np.stack((s**3 / 6.0, 2.0 / 3.0 - t * t + t**3 / 2.0, 2.0 / 3.0 - s * s + s**3 / 2.0, t**3 / 6.0), axis=-1)
    d = np.stack((-s * s / 2.0, -2.0 * t + 1.5 * t * t, 2.0 * s - 1.5 * s * s, t * t / 2.0), axis=-1)
    return w, d
