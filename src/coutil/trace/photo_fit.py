"""From the points of a rim to smooth curves between corners.

Corners are where the outline turns at once: the directions that the rim has before and after a place, each told by a
parabola through a dozen mm of it, differ. A corner itself is where the two sides, run on, would meet, since a picture
rounds every corner a little. Between corners a cubic B-spline with as few spans as the points allow is fitted by least
squares (C. de Boor, "A Practical Guide to Splines", 2001, chapter XIV), and written as Béziers; it has no inner turns.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from kurbopy import CubicBez, Point
from numpy.typing import NDArray

from coutil.plane import Curve

F64 = NDArray[np.float64]
Mask = NDArray[np.bool_]

# Length of rim, in mm, on either side that tells a direction at a corner; sides of a pattern are longer.
ARM: Final = 12.0
# The same for the corner's own place, which is told by running on: the longer, the surer against the table's grain.
ARM_MEET: Final = 22.0
# Near the corner the picture rounds the rim, and the first pass more so: left out, in mm.
GAP_FIRST: Final = 2.5
GAP: Final = 1.5
# A sharp corner is cut off by the coarse outline; its first guess comes from rim this many mm away from it.
GAP_COARSE: Final = 5.0
# Farthest that a side is run on to meet the next, in mm.
FARTHEST_CORNER: Final = 14.0
# A turn of fewer degrees is no corner: parabolas tell directions within 2 to 5 degrees, and a turn of 20 degrees
# rounded over 3 mm is off by a tenth of a mm.
LEAST_TURN: Final = 24.0
# Degrees that are taken off a turn for every mm (root mean square) by which an arm strays from its parabola.
MISS_PRICE: Final = 60.0
# The fitted curve keeps this near, in mm, to the mean of the points over SMOOTH mm; single points are not followed.
KEEP: Final = 0.10
SMOOTH: Final = 6.0
# Shortest span of the spline in mm; shorter ones would follow the grain of the table.
SHORTEST_SPAN: Final = 14.0
# Points that a span must have at the least; a dozen are 5 mm.
POINTS_A_SPAN: Final = 12
# Weight of the spline's third differences against one point's miss: enough to hold a span that has no points, and
# nothing beside a dozen that it has.
STIFFNESS: Final = 0.01
# Points this many mm off the fit do not count (in the first pass they may still be wrong by whole mm).
OUTLIER: Final = 0.5


@dataclass(frozen=True, slots=True)
class Spline:
    """A cubic B-spline on even knots over a parameter 0 to 1: `control` has spans + 3 rows."""

    control: F64

    @property
    def spans(self) -> int:
        return len(self.control) - 3

    def at(self, u: F64) -> F64:
        return np.asarray(basis(u, self.spans) @ self.control)

    def curve(self) -> Curve:
        """As Béziers: an even knot span with control points c0..c3 has these (the B-spline's blossom)."""
        out = []
        for k in range(self.spans):
            c0, c1, c2, c3 = self.control[k : k + 4]
            b1, b2 = (2 * c1 + c2) / 3, (c1 + 2 * c2) / 3
            b0, b3 = ((c0 + 2 * c1) / 3 + b1) / 2, (b2 + (2 * c2 + c3) / 3) / 2
            out.append(CubicBez(*(Point(float(x), float(y)) for x, y in (b0, b1, b2, b3))))
        return Curve(tuple(out))


def basis(u: F64, spans: int) -> F64:
    """Values of the uniform cubic B-splines at parameters 0 to 1."""
    x = np.clip(np.asarray(u, float), 0.0, 1.0) * spans
    k = np.minimum(x.astype(int), spans - 1)
    t = x - k
    rows = np.arange(len(x))
    out = np.zeros((len(x), spans + 3))
    out[rows, k] = (1 - t) ** 3 / 6
    out[rows, k + 1] = (3 * t**3 - 6 * t**2 + 4) / 6
    out[rows, k + 2] = (-3 * t**3 + 3 * t**2 + 3 * t + 1) / 6
    out[rows, k + 3] = t**3 / 6
    return out


def find_corners(pts: F64, spacing: float, gap: float) -> list[int]:
    """Indices of the corners of a closed run of points, in order."""
    arm = np.arange(gap, gap + ARM, spacing)
    powers = np.column_stack([np.ones_like(arm), arm, arm**2])
    row = np.linalg.pinv(powers)[1]
    # What a parabola leaves of the points.
    rest = np.eye(len(arm)) - powers @ np.linalg.pinv(powers)
    n = len(pts)
    if n < 4 * len(arm):
        return []
    steps = round(gap / spacing) + np.arange(len(arm))
    ahead, behind = (pts[(np.arange(n)[:, None] + way * steps[None, :]) % n] for way in (1, -1))
    after, before = np.einsum("ikc,k->ic", ahead, row), -np.einsum("ikc,k->ic", behind, row)
    turn = np.degrees(
        np.abs(np.arctan2(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0], (before * after).sum(axis=1)))
    )
    # An arm that itself runs round a corner is no parabola, and the direction that it tells is wrong.
    for side in (ahead, behind):
        left = np.einsum("jk,ikc->ijc", rest, side)
        turn -= MISS_PRICE * np.sqrt((left**2).sum(axis=2).mean(axis=1))
    reach = round((ARM + gap) / spacing)
    out: list[int] = []
    for i in np.argsort(-turn):
        if turn[i] < LEAST_TURN:
            break
        if all(min(abs(i - j), n - abs(i - j)) >= reach for j in out):
            out.append(int(i))
    return sorted(out)


def meet(before: F64, after: F64) -> F64 | None:
    """Where two runs of points meet if each runs on along its parabola: `before` ends and `after` begins at the corner.

    None where they do not meet near by.
    """
    a, b = _parabola(before[::-1]), _parabola(after)
    t = np.zeros(2)
    for _ in range(20):
        pa, pb = a[0] + t[0] * a[1] + t[0] ** 2 * a[2], b[0] + t[1] * b[1] + t[1] ** 2 * b[2]
        j = np.column_stack([a[1] + 2 * t[0] * a[2], -(b[1] + 2 * t[1] * b[2])])
        if abs(np.linalg.det(j)) < 0.1:
            return None
        step = np.linalg.solve(j, pb - pa)
        t = t + step
        if np.abs(step).max() < 1e-9:
            break
    if np.abs(t).max() > FARTHEST_CORNER:
        return None
    return np.asarray(a[0] + t[0] * a[1] + t[0] ** 2 * a[2])


def _parabola(pts: F64) -> F64:
    """Coefficients of a parabola through points, by the distance from the first of them; points far off count less."""
    s = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(pts, axis=0), axis=1))])
    a = np.column_stack([np.ones_like(s), s, s**2])
    weight = np.ones((len(s), 1))
    for _ in range(4):
        out = np.linalg.lstsq(a * weight, pts * weight, rcond=None)[0]
        far = np.linalg.norm(pts - a @ out, axis=1)
        weight = 1.0 / np.sqrt(1.0 + (far / max(2.0 * float(np.median(far)), 0.02)) ** 2)[:, None]
    return np.asarray(out)


def fit_run(pts: F64, u: F64, good: Mask, ends: tuple[F64, F64] | None, length: float) -> Spline:
    """The smoothest spline that keeps to the points; `ends` are met exactly. `u` is each point's parameter, 0 to 1."""
    spans = 1
    most = max(1, min(int(length / SHORTEST_SPAN), int(good.sum()) // POINTS_A_SPAN))
    while True:
        spline = _fit(pts, u, good, ends, spans)
        miss = _across(spline, pts, u)
        keep = good & (np.abs(miss) < 3 * OUTLIER)
        if spans >= most or _trend(miss, keep, len(pts) / max(length, 1.0)) < KEEP:
            return spline
        spans = min(most, spans + 1 + spans // 4)


def fit_ring(pts: F64, u: F64, good: Mask, length: float) -> Spline:
    """The same for a closed run without corners; it closes smoothly."""
    spans = 4
    most = max(spans, int(length / SHORTEST_SPAN))
    while True:
        fold = np.vstack([np.eye(spans), np.eye(spans)[:3]])
        spline = _fit(pts, u, good, None, spans, fold)
        miss = _across(spline, pts, u)
        if spans >= most or _trend(miss, good, len(pts) / max(length, 1.0)) < KEEP:
            return spline
        spans = min(most, spans + 1 + spans // 4)


def _across(spline: Spline, pts: F64, u: F64) -> F64:
    """How far points lie to the left of the spline at their parameters, in mm."""
    d = spline.at(np.minimum(u + 1e-4, 1.0)) - spline.at(np.maximum(u - 1e-4, 0.0))
    d /= np.maximum(np.linalg.norm(d, axis=1), 1e-12)[:, None]
    e = pts - spline.at(u)
    return np.asarray(d[:, 0] * e[:, 1] - d[:, 1] * e[:, 0])


def _trend(miss: F64, keep: Mask, density: float) -> float:
    """The most by which the mean of the misses over SMOOTH mm is off, in mm."""
    n = min(len(miss), max(1, round(SMOOTH * density)))
    window = np.ones(n)
    count = np.convolve(keep, window, "same")
    mean = np.convolve(np.where(keep, miss, 0.0), window, "same") / np.maximum(count, 1.0)
    return float(np.where(count >= n / 2, np.abs(mean), 0.0).max(initial=0.0))


def _fit(pts: F64, u: F64, good: Mask, ends: tuple[F64, F64] | None, spans: int, fold: F64 | None = None) -> Spline:
    b = basis(u, spans)
    fold = np.eye(spans + 3) if fold is None else fold
    weight = good.astype(float)
    # A whisper of stiffness keeps spans determined where points are missing.
    bend = STIFFNESS * np.diff(np.eye(spans + 3), 3, axis=0) * np.sqrt(max(1.0, len(pts) / (spans + 3)))
    control = np.zeros((spans + 3, 2))
    for _ in range(5):
        w = weight[:, None]
        a = np.vstack([b * w, bend]) @ fold
        y = np.vstack([pts * w, np.zeros((len(bend), 2))])
        if ends is None:
            control = fold @ np.linalg.lstsq(a, y, rcond=None)[0]
        else:
            control = _held(a, y, basis(np.array([0.0, 1.0]), spans), np.array(ends))
        far = np.linalg.norm(pts - b @ control, axis=1)
        # Tukey's biweight, wide as long as the spline has too few spans to follow the points at all.
        usual = float(np.median(far[good])) if good.any() else 0.0
        limit = max(2.0 * OUTLIER, 5.0 * usual)
        weight = np.where(good, np.clip(1.0 - (far / limit) ** 2, 0.0, 1.0), 0.0)
    return Spline(control)


def _held(a: F64, y: F64, rows: F64, values: F64) -> F64:
    """Least squares of a x = y with rows x = values, by Lagrange's multipliers."""
    n, m = a.shape[1], len(rows)
    system = np.zeros((n + m, n + m))
    system[:n, :n] = a.T @ a
    system[:n, n:] = rows.T
    system[n:, :n] = rows
    right = np.vstack([a.T @ y, values])
    return np.asarray(np.linalg.lstsq(system, right, rcond=None)[0][:n])
