"""One panel as triangles: its edges sampled at given places, points of a hexagonal grid between, Delaunay."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely  # type: ignore[import-untyped]
from numpy.typing import NDArray
from scipy.spatial import Delaunay, QhullError  # type: ignore[import-untyped]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

# Points of the grid keep this part of the mesh width from the outline, so that no edge of it is lost and no triangle
# gets thin; by trial the least angle is then 25 degrees away from sharp corners.
CLEAR = 0.6
# A triangle of less than this part of a square of the mesh width is one of points in a line, and left out.
THIN = 1e-4
# How often points beside a lost edge are taken out before the panel is given up.
TRIES = 6


class MeshError(ValueError):
    """An outline that triangles could not fill."""


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """Flat points (n, 2) in mm, those of the outline first, and anticlockwise triangles (m, 3)."""

    points: Floats
    faces: Ints


def triangulate(outline: Floats, width: float) -> Mesh:
    """Triangles of about `width` mm that fill a closed anticlockwise outline (n, 2) and keep all its edges.

    Raises MeshError where the outline crosses itself or an edge of it cannot be kept.
    """
    area = shapely.Polygon(outline)
    if not area.is_valid or area.area <= 0.0:
        raise MeshError("the outline crosses itself")
    inner = _grid(outline, area.buffer(-CLEAR * width), width)
    for _ in range(TRIES):
        points = np.concatenate((outline, inner))
        try:
            faces = Delaunay(points).simplices.astype(np.int64)
        except QhullError as e:
            raise MeshError("the outline has no area") from e
        faces = _kept(points, faces, area, width)
        lost = _lost(faces, len(outline))
        if not len(lost):
            return Mesh(points, faces)
        a, b = outline[lost], outline[(lost + 1) % len(outline)]
        middle, radius = (a + b) / 2.0, np.linalg.norm(b - a, axis=1) / 2.0
        near = np.linalg.norm(inner[:, None] - middle[None], axis=2) <= 1.05 * radius[None]
        if not near.any():
            break
        inner = inner[~near.any(axis=1)]
    raise MeshError("an edge was lost")


def _grid(outline: Floats, within: shapely.Geometry, width: float) -> Floats:
    """Points of a hexagonal grid of this width that lie within an area."""
    (x0, y0), (x1, y1) = outline.min(axis=0), outline.max(axis=0)
    rise = width * math.sqrt(3.0) / 2.0
    # The rows lie about the middle, so that mirrored panels get mirrored grids.
    ny, nx = math.ceil((y1 - y0) / rise / 2.0), math.ceil((x1 - x0) / width / 2.0) + 1
    j, i = np.meshgrid(np.arange(-ny, ny + 1), np.arange(-nx, nx + 1), indexing="ij")
    x = (x0 + x1) / 2.0 + width * (i + 0.5 * (j % 2))
    y = (y0 + y1) / 2.0 + rise * j
    points = np.stack((x.ravel(), y.ravel()), axis=1)
    out: Floats = points[shapely.contains_xy(within, points[:, 0], points[:, 1])]
    return out


def _kept(points: Floats, faces: Ints, area: shapely.Polygon, width: float) -> Ints:
    """The triangles inside, anticlockwise."""
    a, b, c = (points[faces[:, k]] for k in range(3))
    twice = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (c[:, 0] - a[:, 0]) * (b[:, 1] - a[:, 1])
    middle = (a + b + c) / 3.0
    keep = (np.abs(twice) > THIN * width * width) & shapely.contains_xy(area, middle[:, 0], middle[:, 1])
    out: Ints = np.where(twice[keep, None] > 0.0, faces[keep], faces[keep][:, [0, 2, 1]])
    return out


def _lost(faces: Ints, edges: int) -> Ints:
    """Which edges of the outline (k to k + 1) no triangle has."""
    have = np.concatenate((faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]))
    code = np.unique(have[:, 0] * (faces.max() + 1) + have[:, 1])
    k = np.arange(edges)
    return k[~np.isin(k * (faces.max() + 1) + (k + 1) % edges, code)]
