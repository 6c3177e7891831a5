"""Where the cloth begins: each panel laid round the form in its turn, a little off it, level by level.

The panels of a half follow one another from the centre front to the centre back, as their seams say. At each height
each takes the part of the half's girth that its flat width is of all of them.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from coutil.seaming import CENTRE_FRONT
from coutil.worn.form import Form
from coutil.worn.sections import Floats
from coutil.worn.sewn import Patch, Sewn

Ints = NDArray[np.int64]

# Heights at which the taut section of the form is read, in mm apart, and places round a half of it.
APART, ROUND_HALF = 12.0, 96
# So far off the form it begins, in mm, and so much wider than the form it may stand at most.
OFF, WIDEST = 4.0, 1.6
# Rows of a panel at which its width is read.
ROWS = 60


def begin(sewn: Sewn, form: Form, gaps: tuple[float, float], waist: float) -> Floats:
    """First places (n, 3) of all vertices. `gaps` stay open at the centre front and back, in mm; `waist` is where the
    panels' y has the form's waist."""
    places = np.zeros((sewn.count, 3))
    weights = np.zeros(sewn.count)
    for side in ("left", "right"):
        row = [p for p in _in_order(sewn) if p.side == side]
        if not row:
            continue
        widths = [_Width(p) for p in row]
        for k, p in enumerate(row):
            y = p.mesh.points[:, 1]
            across = np.stack([w.wide(y) for w in widths])
            before = across[:k].sum(axis=0) + widths[k].share(p.mesh.points) * across[k]
            at = _on(form, y - waist, before, across.sum(axis=0), gaps, 1.0 if side == "left" else -1.0)
            np.add.at(places, p.number, at)
            np.add.at(weights, p.number, 1.0)
    out: Floats = places / np.maximum(weights, 1.0)[:, None]
    return out


def _in_order(sewn: Sewn) -> list[Patch]:
    """Patches from the centre front to the centre back, along the seams; what no seam reaches comes last."""
    out: list[Patch] = []
    for side in ("left", "right"):
        mine = [p for p in sewn.patches if p.side == side]
        first = [p for p in mine if any(e.role == CENTRE_FRONT for e in p.panel.edges)]
        queue = first or mine[:1]
        seen: list[Patch] = []
        while queue:
            p = queue.pop(0)
            if p in seen:
                continue
            seen.append(p)
            mine_ids = set(p.number.tolist())
            queue += [q for q in mine if q not in seen and len(mine_ids & set(q.number.tolist())) > 1]
        out += seen + [p for p in mine if p not in seen]
    return out


class _Width:
    """How wide a panel is from its side nearer to the centre front, at each height: between its upright edges, which go
    straight up and down beyond their ends."""

    def __init__(self, patch: Patch) -> None:
        # On the front x grows away from the centre front, on the back towards it; a right panel the other way round.
        sign = (1.0 if patch.panel.part == "front" else -1.0) * (1.0 if patch.side == "left" else -1.0)
        self.sign = sign
        flip = -1.0 if patch.mirrored else 1.0
        upright = [
            np.array(e.upward().points(tolerance=1.0)) for e in patch.panel.edges if e.kind in ("seam", "centre")
        ]
        runs = [np.stack((sign * flip * r[:, 0], r[:, 1]), axis=1) for r in upright]
        middle = float((sign * patch.mesh.points[:, 0]).mean())
        rows = np.linspace(float(patch.mesh.points[:, 1].min()), float(patch.mesh.points[:, 1].max()), ROWS)
        near = [r for r in runs if r[:, 0].mean() <= middle]
        far = [r for r in runs if r[:, 0].mean() > middle]
        u = sign * patch.mesh.points[:, 0]
        self.rows = rows
        self.near = min_of(near, rows) if near else np.full(ROWS, float(u.min()))
        self.far = -min_of([r * np.array([-1.0, 1.0]) for r in far], rows) if far else np.full(ROWS, float(u.max()))

    def wide(self, y: Floats) -> Floats:
        return np.maximum(np.interp(y, self.rows, self.far) - np.interp(y, self.rows, self.near), 5.0)

    def share(self, xy: Floats) -> Floats:
        near = np.interp(xy[:, 1], self.rows, self.near)
        out: Floats = np.clip((self.sign * xy[:, 0] - near) / self.wide(xy[:, 1]), -0.3, 1.3)
        return out


def min_of(runs: list[Floats], rows: Floats) -> Floats:
    """The least first coordinate of some upward runs at each height; each goes straight on beyond its ends."""
    out: Floats = np.min([_at_heights(r, rows) for r in runs], axis=0)
    return out


def _at_heights(run: Floats, rows: Floats) -> Floats:
    order = np.argsort(run[:, 1], kind="stable")
    out: Floats = np.interp(rows, run[order, 1], run[order, 0])
    return out


def _on(form: Form, y: Floats, before: Floats, whole: Floats, gaps: tuple[float, float], side: float) -> Floats:
    """Places on the taut sections at heights y, so far from the centre front as `before` is of `whole`."""
    rows, rings, lengths = sections(form, side)
    front, back = (g / 2.0 for g in gaps)
    k = np.clip(np.searchsorted(rows, y) - 1, 0, len(rows) - 2)
    t = np.clip((y - rows[k]) / (rows[k + 1] - rows[k]), 0.0, 1.0)
    girth = (1.0 - t) * lengths[k] + t * lengths[k + 1]
    # The opening's part of the girth stays free; the cloth is spread over the rest.
    s = (front + before / whole * (girth - front - back)) / girth
    place = np.clip(s, 0.0, 1.0) * (ROUND_HALF - 1)
    j = np.clip(place.astype(int), 0, ROUND_HALF - 2)
    w = (place - j)[:, None]

    def at(row: Ints) -> Floats:
        out: Floats = (1.0 - w) * rings[row, j] + w * rings[row, j + 1]
        return out

    xz = (1.0 - t)[:, None] * at(k) + t[:, None] * at(k + 1)
    # Wider where the cloth is wider than the form, so that it begins with little strain.
    stretch = np.clip((whole + front + back) / girth, 1.0, WIDEST)
    middle = np.array([0.0, 0.5 * (rings[:, 0, 1].mean() + rings[:, -1, 1].mean())])
    away = (xz - middle) * stretch[:, None]
    length = np.maximum(np.linalg.norm(away, axis=1, keepdims=True), 1.0)
    xz = middle + away * (1.0 + OFF / length)
    return np.stack((xz[:, 0], y, xz[:, 1]), axis=1)


def sections(form: Form, side: float) -> tuple[Floats, Floats, Floats]:
    """Heights, the taut half sections from the centre front to the centre back (rows, ROUND_HALF, 2), and their
    lengths, on the left (+1) or the right (-1)."""
    from scipy.spatial import ConvexHull  # type: ignore[import-untyped]

    low, high = float(form.points[:, 1].min()), float(form.points[:, 1].max())
    rows = np.linspace(low + 1.0, high - 1.0, max(int((high - low) / APART), 2))
    rings, lengths = [], []
    for y in rows:
        cut = cut_at(form.points, form.faces, float(y))
        cut = cut * np.array([side, 1.0])
        # Of this side only, closed at the middle plane.
        hull = cut[ConvexHull(cut).vertices]
        rings.append(_half_ring(hull))
        lengths.append(float(np.linalg.norm(np.diff(rings[-1], axis=0), axis=1).sum()))
    return rows, np.stack(rings) * np.array([side, 1.0]), np.array(lengths)


def _half_ring(hull: Floats) -> Floats:
    """The part with x >= 0 of a convex anticlockwise ring, from the front (greatest z at x = 0) to the back."""
    nxt = np.roll(hull, -1, axis=0)
    out = []
    for a, b in zip(hull, nxt, strict=True):
        if a[0] >= 0.0:
            out.append(a)
        if (a[0] > 0.0) != (b[0] > 0.0) and a[0] != b[0]:
            t = a[0] / (a[0] - b[0])
            out.append(a + t * (b - a))
    ring = np.array(out)
    # Anticlockwise with x to the right and z up: on the right-hand side it climbs from the back to the front.
    onto = np.abs(ring[:, 0]) < 1e-9
    back = int(np.flatnonzero(onto)[np.argmin(ring[onto, 1])])
    ring = np.roll(ring, -back, axis=0)
    front = int(np.flatnonzero(np.abs(ring[:, 0]) < 1e-9)[np.argmax(ring[np.abs(ring[:, 0]) < 1e-9, 1])])
    ring = ring[: front + 1][::-1]
    s = np.concatenate(([0.0], np.cumsum(np.linalg.norm(np.diff(ring, axis=0), axis=1))))
    to = np.linspace(0.0, s[-1], ROUND_HALF)
    return np.stack((np.interp(to, s, ring[:, 0]), np.interp(to, s, ring[:, 1])), axis=1)


def cut_at(points: Floats, faces: Ints, y: float) -> Floats:
    """Where a mesh passes through a level: points (n, 2) in x and z, unsorted."""
    h = points[:, 1] - y
    out = []
    for a, b in ((0, 1), (1, 2), (2, 0)):
        i, j = faces[:, a], faces[:, b]
        hit = (h[i] <= 0.0) != (h[j] <= 0.0)
        i, j = i[hit], j[hit]
        t = (h[i] / (h[i] - h[j]))[:, None]
        out.append((points[i] + t * (points[j] - points[i]))[:, [0, 2]])
    found: Floats = np.concatenate(out)
    return found
