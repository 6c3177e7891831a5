"""How far a traced photograph is from the truth of its rendered scene."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

import scenes
from coutil.trace.model import Shape
from coutil.trace.photo import TracedPhoto

F64 = NDArray[np.float64]

# A red stretch in the check picture draws the eye to what lies this near, in mm.
UNMARKED = 15.0
# A corner this far from every true one, in mm, is false.
FALSE_CORNER = 5.0


@dataclass(frozen=True)
class Verdict:
    """Errors in mm of points a mm apart, both from the traced outline to the true one and back; seams in per cent."""

    pieces_found: int
    pieces_true: int
    errors: F64
    seams: tuple[float, ...]
    corners_right: bool
    nicks_true: int
    nicks_found: int
    nicks_false: int
    nick_error: float
    nick_size_error: float
    # The worst error farther than UNMARKED from every doubtful stretch, and the false corners that lie so.
    unmarked: float
    corners_unmarked: int

    @property
    def share_95(self) -> float:
        return float(np.quantile(self.errors, 0.95))

    @property
    def worst(self) -> float:
        return float(self.errors.max())

    @property
    def worst_seam(self) -> float:
        return max((abs(s) for s in self.seams), default=float("inf"))


def compare(s: scenes.Scene, got: TracedPhoto) -> Verdict:
    """Traced shapes, laid on the true ones as one rigid body (turned and moved, never scaled), against them."""
    traced = [np.array(_outline(shape.sides)) for shape in got.traced.shapes]
    true = [_dense(np.array(t.outline())) for t in s.shapes]
    place = _lay_on(s, np.vstack(traced), true)
    lines = [shapely.LinearRing(place(t)) for t in traced]
    true_lines = [shapely.LinearRing(t) for t in true]
    errors, seams, right, used = [], [], True, set()
    red = shapely.MultiPoint([p for shape in got.traced.shapes for p in place(_doubtful(shape))])
    unmarked, corners_unmarked = 0.0, 0
    for shape, line in zip(s.shapes, true_lines, strict=True):
        k = min(range(len(lines)), key=lambda i: lines[i].hausdorff_distance(line))
        used.add(k)
        for a, b in ((lines[k], line), (line, lines[k])):
            pts = shapely.line_interpolate_point(a, np.arange(0.0, a.length, 1.0))
            off = np.asarray(shapely.distance(pts, b))
            far = np.ones(len(pts), bool) if red.is_empty else shapely.distance(pts, red) > UNMARKED
            errors.append(off)
            unmarked = max(unmarked, float(off[far].max(initial=0.0)))
        sides = got.traced.shapes[k].sides
        starts = place(np.array([c.start for c in sides]))
        for at in starts:
            false = min(math.dist(at, e.start) for e in shape.edges) > FALSE_CORNER
            corners_unmarked += false and (red.is_empty or shapely.distance(shapely.Point(at), red) > UNMARKED)
        pairs = [min(range(len(sides)), key=lambda i: math.dist(starts[i], e.start)) for e in shape.edges]
        if len(sides) == len(shape.edges) and len(set(pairs)) == len(sides):
            seams += [100.0 * (sides[i].length / e.length - 1.0) for i, e in zip(pairs, shape.edges, strict=True)]
        else:
            right = False
            whole, truth = sum(c.length for c in sides), sum(e.length for e in shape.edges)
            seams.append(100.0 * (whole / truth - 1.0))
    nicks = [n.at for t in s.shapes for n in t.nicks]
    found = [tuple(place(np.array([n.at]))[0]) for n in got.nicks]
    far = [min((math.dist(a, b) for b in found), default=99.0) for a in nicks]
    false = sum(all(math.dist(a, b) > 3.0 for b in nicks) for a in found)
    near = [d for d in far if d <= 3.0]
    sizes = []
    for n in (n for t in s.shapes for n in t.nicks):
        for at, g in zip(found, got.nicks, strict=True):
            if math.dist(n.at, at) <= 3.0:
                sizes += [abs(n.depth - g.depth), abs(n.width - g.width)]
    return Verdict(
        len(lines),
        len(true_lines),
        np.concatenate(errors),
        tuple(seams),
        right,
        len(nicks),
        len(near),
        false,
        max(near, default=0.0),
        max(sizes, default=0.0),
        unmarked,
        corners_unmarked,
    )


def _doubtful(shape: Shape) -> F64:
    """Points a mm apart on the stretches of an outline that are told to be doubtful."""
    out = [shape.sides[k].point(float(s)) for k, start, end in shape.doubtful for s in np.arange(start, end + 1.0)]
    return np.array(out, float).reshape(-1, 2)


def _outline(sides: tuple) -> list:  # type: ignore[type-arg]
    out = []
    for c in sides:
        out += c.points(tolerance=0.01)[:-1]
    return out


def _dense(ring: F64) -> F64:
    line = shapely.LinearRing(ring)
    return np.array([p.coords[0] for p in shapely.line_interpolate_point(line, np.arange(0.0, line.length, 1.0))])


def _lay_on(s: scenes.Scene, pts: F64, true: list[F64]):  # type: ignore[no-untyped-def]
    """The rigid move that lays the traced points on the true lines best; the picture's right hand is where x points."""
    everything = np.vstack(true)
    middle = s.camera.project(everything.mean(axis=0)[None, :])[0]
    ends = s.camera.to_table(middle + np.array([[-50.0, 0.0], [50.0, 0.0]]))
    turn = math.atan2(*(ends[1] - ends[0])[::-1])
    lines = shapely.MultiLineString([np.vstack([t, t[:1]]) for t in true])
    c, d = math.cos(turn), math.sin(turn)
    rot = np.array([[c, -d], [d, c]])
    # Boxes laid on each other for a start.
    move = (everything @ rot).min(axis=0)
    shift = rot @ move
    for _ in range(12):
        moved = pts @ rot.T + shift
        near = shapely.shortest_line(shapely.points(moved), lines)
        goal = shapely.get_coordinates(near).reshape(-1, 2, 2)[:, 1]
        a, b = moved - moved.mean(axis=0), goal - goal.mean(axis=0)
        t = math.atan2((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum(), (a * b).sum())
        r = np.array([[math.cos(t), -math.sin(t)], [math.sin(t), math.cos(t)]])
        rot, shift = r @ rot, r @ (shift - moved.mean(axis=0)) + goal.mean(axis=0)
    return lambda p: p @ rot.T + shift
