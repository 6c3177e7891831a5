"""The rim of a piece in the picture at full resolution: where paper ends and table begins, to a fraction of a pixel.

Along an outline that is nearly right the picture is read on short cross sections, in linear light. Each sample is
turned into a number that is +1/2 on paper and -1/2 on table, by the colours that paper and table have nearby (R. A.
Fisher's linear discriminant: the grain of wood and the squares of a cloth are lighter and darker far more than they are
of another colour, and so count for less). A cross section then is a step, and where it steps is told by its area, as
moments tell it (A. Tabatabai, O. Mitchell, "Edge location to subpixel values in digital imagery", IEEE Transactions on
Pattern Analysis 6, 1984): blur and noise do not move it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from coutil.trace.photo_camera import View

F64 = NDArray[np.float64]
U8 = NDArray[np.uint8]
Mask = NDArray[np.bool_]

# Rows that cv2.remap is given at once; it takes fewer than 32768.
ROWS: Final = 16384
# First pass: spacing of the cross sections along the outline, their half length and step, in mm. The coarse outline is
# off by 4 mm at most, at corners by 6.
FIRST_SPACING: Final = 0.75
FIRST_REACH: Final = 9.0
FIRST_STEP: Final = 0.25
# Second pass, along an outline that is right within half a mm: half a pixel of a 12-megapixel picture.
SPACING: Final = 0.4
REACH: Final = 3.0
STEP: Final = 0.1
# What is paper and what is table for certain, in mm from the outline, in the first and the second pass.
SURE_FIRST: Final = (4.0, 9.0)
SURE: Final = (1.2, 3.0)
# Along the outline, colours are averaged over this many mm (spread): more than a grain of wood, less than a shadow.
COLOUR_ALONG: Final = 8.0
# The levels on both sides are then told once more over this many mm (spread), if the step between them is at least this
# part of what it is farther along.
LEVEL_ALONG: Final = 2.0
LEAST_STEP: Final = 0.3
# Half width in mm over which the step's area is taken: the blur of a sharp picture, twice over.
STEP_WINDOW: Final = 1.2
# Half width in mm over which the step's own width is measured: enough to tell a blurred picture from a sharp one.
WIDTH_WINDOW: Final = 2.2
# Price of a sideways step of the first pass's path; found by trial: lower, and it follows the grain; higher, and it
# cuts corners.
BEND_PRICE: Final = 0.6
# Part by which the covariances of the colours are taken for nothing, and what is added to each colour's own variance
# (linear light, squared): noise that JPEG may have smoothed away.
SHRINK: Final = 0.1
NOISE: Final = 1e-4
# What looks like table counts this much of what looks like paper: there is ink on paper, and no paper on the table.
INK: Final = 0.5
# How far outside the rim paper is looked for, over how many mm, and what counts as paper there, from -1/2 to +1/2.
BEYOND: Final = 0.8
BEYOND_WIDE: Final = 0.5
BEYOND_PAPER: Final = 0.2
# What may be paper there, between the strokes of letters: this, or so many standard deviations from what table is.
BEYOND_PARTS: Final = -0.1
BEYOND_CLEAR: Final = 3.0
# How far inside the rim ink is looked for, from and to in mm, over how many mm, and what counts as ink there.
WITHIN: Final = (0.9, 2.8)
WITHIN_WIDE: Final = 0.4
WITHIN_INK: Final = 0.1
# Ink this close together along the rim, in mm, is one word; what is shorter than that is a line that runs to the rim.
LETTERS: Final = 4.0
WORD: Final = 5.0
# A contrast between paper and table of fewer of its own standard deviations than this is weak.
WEAK: Final = 2.0


@dataclass(frozen=True, slots=True)
class Rim:
    """Cross sections of a closed outline: `off` is how far outside `base` the rim lies, in mm.

    `good`: it is sure. `words`: words or a thick line on the paper run along it; only the second pass tells.
    """

    base: F64
    normal: F64
    off: F64
    good: Mask
    words: Mask

    @property
    def points(self) -> F64:
        return np.asarray(self.base + self.off[:, None] * self.normal)


def first_pass(picture: U8, view: View, coarse: F64) -> Rim:
    """The rim near a coarse closed polyline, anticlockwise; nicks are bridged."""
    base = _even(coarse, FIRST_SPACING)
    base = _even(np.column_stack([ring_mean(base[:, k], 3.0 / FIRST_SPACING) for k in (0, 1)]), FIRST_SPACING)
    normal = _normals(base)
    offsets = np.arange(-FIRST_REACH, FIRST_REACH + FIRST_STEP / 2, FIRST_STEP)
    seen = sections(picture, view, base, normal, offsets)
    v, contrast = step_of(seen, offsets, SURE_FIRST, FIRST_SPACING)
    v = np.column_stack([ring_mean(v[:, j], 0.7 / FIRST_SPACING) for j in range(v.shape[1])])
    off = _closer(v, offsets, offsets[_path(v)])
    # A nick is a narrow dip.
    wide = round(8.0 / FIRST_SPACING)
    row = np.pad(off, wide, mode="wrap").astype(np.float32).reshape(1, -1)
    bridged = cv2.morphologyEx(row, cv2.MORPH_CLOSE, np.ones((1, wide), np.uint8))[0, wide:-wide].astype(float)
    off = np.where(bridged - off > 0.7, bridged, off)
    return Rim(base, normal, off, contrast > WEAK, np.zeros(len(base), bool))


def second_pass(picture: U8, view: View, base: F64, normal: F64, steady: Mask) -> tuple[Rim, F64]:
    """The rim near an outline that is nearly right, given by points SPACING apart; and how wide each step is, in mm."""
    offsets = np.arange(-REACH, REACH + STEP / 2, STEP)
    seen = sections(picture, view, base, normal, offsets)
    v, contrast = step_of(seen, offsets, SURE, SPACING, steady)
    smooth = _levelled(np.column_stack([ring_mean(v[:, j], 1.0) for j in range(v.shape[1])]), offsets, steady)
    # The best single step, as a start.
    gain = np.cumsum(np.where(smooth > 0.0, 1.0, INK) * np.clip(smooth, -0.6, 0.6), axis=1)
    off = offsets[np.argmax(gain - 0.02 * np.abs(offsets), axis=1)] + STEP / 2
    for _ in range(3):
        off = _area(smooth, offsets, off)
    # How wide the step is: a rim of paper is as wide as the picture's blur, the rim of a shadow much wider.
    near = np.abs(offsets[None, :] - off[:, None]) <= WIDTH_WINDOW
    width = 2.0 * np.where(near, 0.5 - np.minimum(np.abs(smooth), 0.5), 0.0).sum(axis=1) * STEP
    beyond = _paper_beyond(smooth, offsets, off)
    good = (contrast > WEAK) & (np.abs(off) < REACH - STEP_WINDOW) & (beyond < BEYOND_PAPER)
    # Noise is no paper: the weaker the contrast, the more must be seen.
    parts = beyond > np.maximum(BEYOND_PARTS, BEYOND_CLEAR / np.maximum(contrast, 1e-9) - 0.5)
    words = _words(parts | (_paper_within(smooth, offsets, off) < WITHIN_INK))
    return Rim(base, normal, off, good, words), width


def runs_of(flags: Mask) -> list[tuple[int, int]]:
    """Start and end (not included) of the runs of True in a ring; an end past the last sample goes on at the first."""
    n = len(flags)
    if flags.all():
        return [(0, n)]
    if not flags.any():
        return []
    first = int(np.argmin(flags))
    turned = np.roll(flags, -first).astype(np.int8)
    edges = np.diff(np.concatenate([[0], turned, [0]]))
    return [
        (int(a) + first, int(b) + first)
        for a, b in zip(np.nonzero(edges == 1)[0], np.nonzero(edges == -1)[0], strict=True)
    ]


def sections(picture: U8, view: View, base: F64, normal: F64, offsets: F64) -> NDArray[np.float32]:
    """Linear light on cross sections: (points, offsets, channels)."""
    table = base[:, None, :] + offsets[None, :, None] * normal[:, None, :]
    at = view.to_image(table.reshape(-1, 2)).astype(np.float32)
    x, y = (np.ascontiguousarray(at[:, k]).reshape(len(base), len(offsets)) for k in (0, 1))
    parts = [
        cv2.remap(picture, x[k : k + ROWS], y[k : k + ROWS], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        for k in range(0, len(base), ROWS)
    ]
    return np.asarray(_linear()[np.concatenate(parts)], np.float32)


@cache
def _linear() -> NDArray[np.float32]:
    """From sRGB's 8 bits to linear light, 0 to 1 (IEC 61966-2-1)."""
    x = np.arange(256) / 255.0
    out = np.where(x <= 0.04045, x / 12.92, ((x + 0.055) / 1.055) ** 2.4).astype(np.float32)
    # All threads share it.
    out.setflags(write=False)
    return out


def step_of(
    seen: NDArray[np.float32], offsets: F64, sure: tuple[float, float], spacing: float, steady: Mask | None = None
) -> tuple[F64, F64]:
    """Each sample as paper (+1/2) or table (-1/2), and the contrast of each section in standard deviations.

    Colours are learned from `steady` sections only: those at corners see table on both sides.
    """
    inside = (offsets <= -sure[0]) & (offsets >= -sure[1])
    outside = (offsets >= sure[0]) & (offsets <= sure[1])
    sigma = COLOUR_ALONG / spacing
    weight = np.ones(len(seen)) if steady is None else np.where(steady, 1.0, 1e-4)
    share = ring_mean(weight, sigma)
    # Medians across the section first, so that a pencil line does not count.
    paper, table = np.median(seen[:, inside], axis=1), np.median(seen[:, outside], axis=1)
    spread = np.column_stack([_covariance(seen[:, zone]) for zone in (inside, outside)])
    spread = spread[:, :6] + spread[:, 6:]
    p, t, s = (
        np.column_stack([ring_mean(a[:, c] * weight, sigma) / share for c in range(a.shape[1])])
        for a in (paper, table, spread)
    )
    difference = p - t
    within = s[:, [[0, 1, 2], [1, 3, 4], [2, 4, 5]]] / 2.0
    within *= np.where(np.eye(3) > 0.0, 1.0, 1.0 - SHRINK)
    within += NOISE * np.eye(3)
    towards = np.linalg.solve(within, difference[:, :, None])[:, :, 0]
    scale = np.maximum((difference * towards).sum(axis=1), 1e-9)
    v = np.einsum("ijc,ic->ij", seen - ((p + t) / 2.0)[:, None, :].astype(np.float32), towards / scale[:, None])
    return np.clip(v, -1.0, 1.0), np.sqrt(scale)


def _covariance(seen: NDArray[np.float32]) -> F64:
    """Covariance of the channels on each section, as columns (11, 12, 13, 22, 23, 33)."""
    away = seen - seen.mean(axis=1, keepdims=True)
    return np.column_stack([(away[..., i] * away[..., j]).mean(axis=1) for i in range(3) for j in range(i, 3)])


def _levelled(v: F64, offsets: F64, steady: Mask) -> F64:
    """The same with the levels that paper and table have right here, so that a light square of cloth is all table."""
    inside, outside = (offsets <= -SURE[0]) & (offsets >= -SURE[1]), (offsets >= SURE[0]) & (offsets <= SURE[1])
    weight = np.where(steady, 1.0, 1e-3)
    share = ring_mean(weight, LEVEL_ALONG / SPACING)
    paper, table = (
        ring_mean(np.median(v[:, zone], axis=1) * weight, LEVEL_ALONG / SPACING) / share for zone in (inside, outside)
    )
    step = paper - table
    # Where hardly a step is left, the wider levels stand.
    paper, table = np.where(step > LEAST_STEP, paper, 0.5), np.where(step > LEAST_STEP, table, -0.5)
    return np.asarray((v - ((paper + table) / 2)[:, None]) / (paper - table)[:, None])


def _paper_beyond(v: F64, offsets: F64, off: F64) -> F64:
    """How much like paper the most of what lies outside the rim is: where it is, words were taken for its end."""
    outside = np.where(offsets[None, :] > (off + BEYOND)[:, None], v, -0.5)
    return np.asarray(_run_means(outside, BEYOND_WIDE).max(axis=1))


def _paper_within(v: F64, offsets: F64, off: F64) -> F64:
    """How much like paper the least of what lies close inside the rim is: ink is not."""
    away = off[:, None] - offsets[None, :]
    inside = np.where((away >= WITHIN[0]) & (away <= WITHIN[1]), v, 0.5)
    return np.asarray(_run_means(inside, WITHIN_WIDE).min(axis=1))


def _run_means(v: F64, wide: float) -> F64:
    """Means of each section over every run of it that is `wide` mm long."""
    n = round(wide / STEP)
    run = np.cumsum(np.pad(v, ((0, 0), (1, 0))), axis=1)
    return np.asarray((run[:, n:] - run[:, :-n]) / n)


def _words(marks: Mask) -> Mask:
    """Stretches of the ring with marks so close together that they are words."""
    out = marks.copy()
    for start, end in runs_of(~marks):
        if (end - start) * SPACING < LETTERS:
            out[np.arange(start, end) % len(out)] = True
    for start, end in runs_of(out):
        if (end - start) * SPACING < WORD:
            out[np.arange(start, end) % len(out)] = False
    return out


def _closer(v: F64, offsets: F64, off: F64) -> F64:
    """From the path's steps to fractions of them."""
    for _ in range(2):
        w = np.clip((STEP_WINDOW - np.abs(offsets[None, :] - off[:, None])) / FIRST_STEP + 0.5, 0.0, 1.0)
        off = off + np.clip((np.clip(v, -0.5, 0.5) * w).sum(axis=1) * FIRST_STEP, -0.5, 0.5)
    return off


def _area(v: F64, offsets: F64, off: F64) -> F64:
    """The step's place from its area over a window about `off`, with the levels on both sides as they are there."""
    away = offsets[None, :] - off[:, None]
    w = np.clip((STEP_WINDOW - np.abs(away)) / STEP + 0.5, 0.0, 1.0)
    moved = off + (np.clip(v, -0.5, 0.5) * w).sum(axis=1) * STEP
    return np.asarray(np.clip(moved, -REACH + STEP_WINDOW, REACH - STEP_WINDOW))


def _path(v: F64) -> NDArray[np.intp]:
    """The closed path round the outline along which the steps fit best, by dynamic programming."""
    n, m = v.shape
    cost = -np.cumsum(np.where(v > 0.0, 1.0, INK) * v, axis=1)
    extra = min(n, 150)
    order = np.concatenate([np.arange(n), np.arange(extra)])
    best = cost[0].copy()
    came = np.zeros((len(order), m), np.int8)
    moves = (0, -1, 1, -2, 2)
    for k, row in enumerate(order[1:], 1):
        tries = np.full((len(moves), m), np.inf)
        tries[0] = best
        for i, d in enumerate(moves[1:], 1):
            price = BEND_PRICE * d * d
            if d > 0:
                tries[i, d:] = best[:-d] + price
            else:
                tries[i, :d] = best[-d:] + price
        pick = np.argmin(tries, axis=0)
        came[k] = pick
        best = tries[pick, np.arange(m)] + cost[row]
    path = np.empty(len(order), np.intp)
    path[-1] = int(np.argmin(best))
    for k in range(len(order) - 1, 0, -1):
        path[k - 1] = path[k] - moves[came[k, path[k]]]
    # The second time round the start is free of the cut.
    out = path[:n].copy()
    half = extra // 2
    out[:half] = path[n : n + half]
    return out


def _even(pts: F64, spacing: float) -> F64:
    """A closed polyline again, with points `spacing` apart (nearly)."""
    ring = np.vstack([pts, pts[:1]])
    s = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(ring, axis=0), axis=1))])
    at = np.linspace(0.0, s[-1], max(8, round(s[-1] / spacing)), endpoint=False)
    return np.column_stack([np.interp(at, s, ring[:, k]) for k in (0, 1)])


def _normals(pts: F64) -> F64:
    """Unit normals to the outside of an anticlockwise closed polyline."""
    d = np.roll(pts, -2, axis=0) - np.roll(pts, 2, axis=0)
    n = np.column_stack([d[:, 1], -d[:, 0]])
    return np.asarray(n / np.maximum(np.linalg.norm(n, axis=1), 1e-12)[:, None])


def ring_mean(values: NDArray[np.floating], sigma: float) -> F64:
    """Gaussian mean along a ring."""
    half = min(int(3 * sigma) + 1, len(values) - 1)
    row = np.pad(np.asarray(values, np.float32), half, mode="wrap").reshape(1, -1)
    out = cv2.GaussianBlur(row, (2 * half + 1, 1), sigmaX=sigma, sigmaY=0.1)
    return np.asarray(out[0, half:-half], float)
