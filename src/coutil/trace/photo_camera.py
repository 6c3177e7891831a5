"""From pixels to mm on the table: one homography, the lens, and where each sheet lies, found together.

A pixel x is straightened by Brown's radial model (D. C. Brown, "Close-range camera calibration", Photogrammetric
Engineering 37, 1971) about a centre near the middle of the picture, and taken to the table by a homography. One sheet
alone would fix the homography but carry its small errors far across the table, and a bent lens with them. So all
corners of all sheets are used at once: unknown are the homography, the centre, k1 and k2, and for each sheet but the
first its place and turn on the table; known is that each sheet is rigid and of one size (a bundle adjustment in the
plane). Robust least squares keep a bad corner from pulling.

Lengths in the picture are counted in half diagonals, so that k1 and k2 are about the same for all cameras. The lens
model is OpenCV's with focal length 1 in this unit and without tangential terms; a test holds it against OpenCV.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from coutil.trace.board import ACROSS
from coutil.trace.model import TraceError
from coutil.trace.photo_markers import FEWEST_MARKERS, SeenSheet, look_again

F64 = NDArray[np.float64]

# How far the optical centre of a camera may lie from the middle of its picture: spread, in half diagonals. Cameras of
# telephones keep within 1 or 2 %; 0.015 is from memory of calibrations, no source.
CENTRE_SPREAD: Final = 0.015
# Spread of k1 and k2 in half diagonals: a plain telephone lens bends less than 0.1; wide ones more. Wide on purpose:
# four sheets settle k1 to 0.002, so that the spread matters only where the sheets say nothing.
LENS_SPREAD: Final = (0.15, 0.08)
# Error of a corner that is expected at the least, in pixels; OpenCV's refinement gives 0.05 to 0.2 on rendered ones.
CORNER_ERROR: Final = 0.1
# A sheet whose corners miss by more than this many mm (root mean square) does not lie flat, or is not on the table.
SHEET_LIMIT: Final = 0.8
# A corner that misses by this many times the sheet's median and this many mm is a stray, not counted if at least this
# share of the sheet's corners is none.
STRAY: Final = 6.0
STRAY_LEAST: Final = 0.4
MOST_KEPT: Final = 0.75
# Beyond this many standard errors a corner's miss counts less and less.
FAR: Final = 3.0
# Rounds at most; about ten are usual.
MOST_ROUNDS: Final = 60
# For derivatives, on unknowns of order 1 in double precision.
DERIVATIVE_STEP: Final = 1e-7
# Markers of a sheet that was hardly read must fit its size within this, in mm, or they are a false find.
WEAK_LIMIT: Final = 3.0


@dataclass(frozen=True, slots=True)
class View:
    """The camera as the sheets show it.

    `homography` takes table mm (of the first sheet's coordinates) to straight picture coordinates in half diagonals;
    `spread` is the covariance of (homography's eight numbers, centre, k1, k2), for `shape_error`.
    """

    homography: F64
    centre: tuple[float, float]
    k: tuple[float, float]
    half: float
    size: tuple[int, int]
    spread: F64

    def to_image(self, table: F64) -> F64:
        """Table mm to pixels; points are rows."""
        return _project(np.concatenate([self.homography.ravel()[:8], self.centre, self.k]), table, self.half)

    def to_table(self, pixels: F64) -> F64:
        """Pixels to table mm; exact to 1e-9 of the half diagonal."""
        p = (np.asarray(pixels, float) - self.centre) / self.half
        q = _straighten(p, self.k)
        h = np.column_stack([q, np.ones(len(q))]) @ np.linalg.inv(self.homography).T
        return np.asarray(h[:, :2] / h[:, 2:])

    def shape_error(self, table: F64) -> F64:
        """Standard error in mm of each of these points, counting only what changes the shape, not its place or turn."""
        base = np.concatenate([self.homography.ravel()[:8], self.centre, self.k])
        at = self.to_image(table)
        columns = []
        for i, step in enumerate(1e-5 * _weights(self.half)):
            p = base.copy()
            p[i] += step
            moved = View(
                np.append(p[:8], 1.0).reshape(3, 3), (p[8], p[9]), (p[10], p[11]), self.half, self.size, self.spread
            )
            columns.append(((moved.to_table(at) - table) / step).ravel())
        jacobian = np.column_stack(columns)
        middle = table - table.mean(axis=0)
        rigid = np.zeros((len(table) * 2, 3))
        rigid[0::2, 0] = rigid[1::2, 1] = 1.0
        rigid[0::2, 2], rigid[1::2, 2] = -middle[:, 1], middle[:, 0]
        q, _ = np.linalg.qr(rigid)
        jacobian -= q @ (q.T @ jacobian)
        variance = np.einsum("ij,jk,ik->i", jacobian, self.spread, jacobian)
        return np.asarray(np.sqrt(np.maximum(variance[0::2] + variance[1::2], 0.0)))


@dataclass(frozen=True, slots=True)
class Placed:
    """A sheet on the table: place of its lower left corner in table mm, turn in radians.

    `residual` and `worst` are the misses of its corners in mm, strays apart.
    """

    seen: SeenSheet
    at: tuple[float, float]
    turn: float
    residual: float
    worst: float

    def to_table(self, points: F64) -> F64:
        return _on_table(points, self.at[0], self.at[1], self.turn)


def solve(sheets: Sequence[SeenSheet], size: tuple[int, int]) -> tuple[View, list[Placed]]:
    """The view and the sheets on the table. Raises TraceError if they do not lie on one plane."""
    wide, high = size
    half = float(np.hypot(wide, high)) / 2
    middle = np.array([(wide - 1) / 2, (high - 1) / 2])
    first = max(range(len(sheets)), key=lambda i: _extent(sheets[i].image))
    order = [first, *(i for i in range(len(sheets)) if i != first)]
    sheets = [sheets[i] for i in order]
    start = _start(sheets, half, middle)
    owner = np.concatenate([np.full(len(s.image), i) for i, s in enumerate(sheets)])
    board = np.vstack([s.board for s in sheets])
    image = np.vstack([s.image for s in sheets])
    scale = CORNER_ERROR

    def unpack(p: F64) -> F64:
        pose = np.vstack([np.zeros(3), p[12:].reshape(-1, 3) * [100.0, 100.0, 1.0]])[owner]
        c, s = np.cos(pose[:, 2]), np.sin(pose[:, 2])
        x, y = board.T
        return np.column_stack([pose[:, 0] + c * x - s * y, pose[:, 1] + s * x + c * y])

    weights = _weights(half)

    def misses(p: F64) -> F64:
        camera = p[:12] * weights
        e = (_project(camera, unpack(p), half) - image) / scale
        prior = [
            *((camera[8:10] - middle) / half / CENTRE_SPREAD),
            camera[10] / LENS_SPREAD[0],
            camera[11] / LENS_SPREAD[1],
        ]
        return np.concatenate([e.ravel(), prior])

    p0 = np.concatenate([start[:12] / weights, (start[12:].reshape(-1, 3) / [100.0, 100.0, 1.0]).ravel()])
    found, normal = _least(misses, p0)
    camera = found[:12] * weights
    table = unpack(found)
    real = max(1.0, float(np.median(np.abs(misses(found)[: 2 * len(image)])) / 0.6745))
    spread = np.linalg.inv(normal)[:12, :12] * real**2 * np.outer(weights, weights)
    view = View(
        np.append(camera[:8], 1.0).reshape(3, 3),
        (camera[8], camera[9]),
        (camera[10], camera[11]),
        half,
        (wide, high),
        spread,
    )
    pose = np.vstack([np.zeros(3), found[12:].reshape(-1, 3) * [100.0, 100.0, 1.0]])
    miss = np.linalg.norm(view.to_table(image) - table, axis=1)
    placed = []
    for i, seen in enumerate(sheets):
        mine = miss[owner == i]
        # A corner here and there is hidden by a thread or a glare; that is no reason to doubt the sheet.
        kept = mine[mine <= max(STRAY * float(np.median(mine)), STRAY_LEAST)]
        rms = (
            float(np.sqrt(np.mean(kept**2))) if len(kept) >= MOST_KEPT * len(mine) else float(np.sqrt(np.mean(mine**2)))
        )
        placed.append(Placed(seen, (float(pose[i, 0]), float(pose[i, 1])), float(pose[i, 2]), rms, float(kept.max())))
    _check(placed)
    return view, placed


def _least(misses: Callable[[F64], F64], start: F64) -> tuple[F64, F64]:
    """Least squares of `misses`, in standard errors, with the far ones held down; also the normal matrix at the end.

    Levenberg and Marquardt's method (J. Nocedal, S. Wright, "Numerical Optimization", 2006, 10.3) with weights of the
    loss 2 (sqrt(1 + z) - 1). Written out, as the general one spends its time in decompositions of tall matrices.
    """

    def cost(e: F64) -> float:
        return float((np.sqrt(1.0 + (e / FAR) ** 2) - 1.0).sum())

    p, damping = start, 1e-3
    e = misses(p)
    now = cost(e)
    normal = np.eye(len(p))
    for _ in range(MOST_ROUNDS):
        jacobian = np.empty((len(e), len(p)))
        for i in range(len(p)):
            q = p.copy()
            q[i] += DERIVATIVE_STEP
            jacobian[:, i] = (misses(q) - e) / DERIVATIVE_STEP
        w = 1.0 / np.sqrt(1.0 + (e / FAR) ** 2)
        normal = jacobian.T @ (jacobian * w[:, None])
        down = -jacobian.T @ (e * w)
        better = False
        for _ in range(12):
            step = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), down)
            e_new = misses(p + step)
            new = cost(e_new)
            if np.isfinite(new) and new < now:
                better = now - new > 1e-7 * now
                p, e, now, damping = p + step, e_new, new, max(damping / 5.0, 1e-9)
                break
            damping *= 4.0
        if not better:
            break
    return p, normal


def look_closer(
    grey: NDArray[np.uint8],
    view: View,
    placed: Sequence[Placed],
    weak: Sequence[SeenSheet],
    stretch: tuple[float, float],
) -> list[SeenSheet]:
    """With the view roughly known, all corners of all sheets again, those too whose markers could not be read."""
    out = []
    places = [(p.seen, p.at, p.turn) for p in placed]
    for s in weak:
        table = view.to_table(s.image)
        x, y, turn = _rigid(s.board, table)
        if np.abs(_on_table(s.board, x, y, turn) - table).max() < WEAK_LIMIT:
            places.append((s, (x, y), turn))
    for s, at, turn in places:
        board = np.array([p for _, p in sorted(s.sheet.corners(stretch).items())])
        expected = view.to_image(_on_table(board, *at, turn))
        along = np.linalg.norm(expected[1:] - expected[:-1], axis=1).min()
        down = np.linalg.norm(expected[ACROSS - 1 :] - expected[: 1 - ACROSS], axis=1).min()
        seen = look_again(grey, s.sheet, board, expected, float(min(along, down)), s.markers)
        if seen is not None and (len(seen.image) >= len(board) // 2 or s.markers >= FEWEST_MARKERS):
            out.append(seen)
    return out


def _check(placed: Sequence[Placed]) -> None:
    bad = [p for p in placed if not p.residual <= SHEET_LIMIT]
    if bad:
        which = " and ".join(p.seen.sheet.name for p in bad)
        raise TraceError("markers_disagree", which=which, off=max(p.residual for p in bad))


def _start(sheets: Sequence[SeenSheet], half: float, middle: F64) -> F64:
    """A first guess: the homography of the largest sheet, then of all that follow from it, without a lens."""
    first = sheets[0]
    h, _ = cv2.findHomography(first.board, (first.image - middle) / half, 0)
    if h is None:
        raise TraceError("markers_on_a_line")
    guess = [*(h / h[2, 2]).ravel()[:8], *middle, 0.0, 0.0]
    inverse = np.linalg.inv(h)
    for s in sheets[1:]:
        q = np.column_stack([(s.image - middle) / half, np.ones(len(s.image))]) @ inverse.T
        guess += _rigid(s.board, q[:, :2] / q[:, 2:])
    return np.array(guess)


def _rigid(a: F64, b: F64) -> list[float]:
    """Place and turn that take a to b best (B. K. P. Horn, "Closed-form solution of absolute orientation", 1987)."""
    ma, mb = a.mean(axis=0), b.mean(axis=0)
    x, y = a - ma, b - mb
    turn = float(np.arctan2((x[:, 0] * y[:, 1] - x[:, 1] * y[:, 0]).sum(), (x * y).sum()))
    c, s = np.cos(turn), np.sin(turn)
    return [float(mb[0] - c * ma[0] + s * ma[1]), float(mb[1] - s * ma[0] - c * ma[1]), turn]


def _on_table(points: F64, x: float, y: float, turn: float) -> F64:
    c, s = np.cos(turn), np.sin(turn)
    return np.column_stack([x + c * points[:, 0] - s * points[:, 1], y + s * points[:, 0] + c * points[:, 1]])


def _weights(half: float) -> F64:
    """Size of the camera's unknowns, so that all are of order 1: the homography's by what they do at 100 mm."""
    return np.array([0.01, 0.01, 1.0, 0.01, 0.01, 1.0, 0.01, 0.01, half, half, 1.0, 1.0])


def _extent(image: F64) -> float:
    return float(np.prod(np.ptp(image, axis=0)))


def _project(camera: F64, table: F64, half: float) -> F64:
    """Table mm to pixels; `camera` is the homography's eight numbers, the centre in pixels, k1 and k2."""
    a = camera[:8]
    x, y = table[:, 0], table[:, 1]
    w = a[6] * x + a[7] * y + 1.0
    # Straight coordinates count from the middle of the picture that `_start` used; the centre bends about itself.
    u = (a[0] * x + a[1] * y + a[2]) / w
    v = (a[3] * x + a[4] * y + a[5]) / w
    r = u * u + v * v
    bend = half * (1.0 + r * (camera[10] + r * camera[11]))
    return np.column_stack([camera[8] + bend * u, camera[9] + bend * v])


def _straighten(p: F64, k: tuple[float, float]) -> F64:
    """Undo the lens by Newton's method on the radius, in half diagonals from the centre."""
    r = np.hypot(p[:, 0], p[:, 1])
    s = r.copy()
    for _ in range(12):
        q = s * s
        f = s * (1.0 + q * (k[0] + q * k[1])) - r
        slope = 1.0 + q * (3.0 * k[0] + 5.0 * k[1] * q)
        step = f / np.where(np.abs(slope) > 0.1, slope, 0.1)
        s = np.maximum(s - step, 0.0)
        if np.abs(step).max(initial=0.0) < 1e-12:
            break
    return p * np.where(r > 1e-12, s / np.where(r > 1e-12, r, 1.0), 1.0)[:, None]
