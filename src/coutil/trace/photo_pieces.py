"""Where on the table paper lies: a first, coarse outline of each piece, good to a few millimetres.

The table is looked at from straight above, in lightness (logarithm) and two colour ratios, which shade leaves alone.
What lies just outside the sheets of the board is table, and what table looks like is learned there. From these strips
the table is followed inwards, step by step, as long as it looks the same but for the light, which may change from step
to step only as a soft shadow does: so a shadow is taken neither for paper nor for table, and a chequered cloth is
table all over. What the table does not reach is paper.

Where paper and table meet, the two are then told apart once more by what each looks like near by, in the light that
there is, and the line between them moves until it rests (S. Lankton, A. Tannenbaum, "Localizing region-based active
contours", IEEE Transactions on Image Processing 17, 2008, on whole pixels and with one normal distribution a side).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import cv2
import numpy as np
from numpy.typing import NDArray

from coutil.trace.model import TraceError
from coutil.trace.photo_camera import Placed, View

F64 = NDArray[np.float64]
F32 = NDArray[np.float32]
U8 = NDArray[np.uint8]

# Table mm to the pixel of the coarse picture: coarse for speed, fine enough that pieces a finger apart stay apart.
COARSE: Final = 2.0
# How far beyond the sheets the table is looked at, in mm. A pattern may reach past them by a hand's breadth or so.
BEYOND: Final = 150.0
# Pixels of the coarse picture at most: 4 by 4 m of table, more than a telephone sees sharply enough.
MOST_LOOKED_AT: Final = 4_000_000
# Rim round a sheet that is neither table nor paper, in mm: its shadow, and what its placing is off by.
SHEET_RIM: Final = 3.5
# Width of the strip round each sheet that is taken for table, in mm.
STRIP: Final = 30.0
# What of a sheet shows how white looks in the light there: a strip inside its rim, from and to in mm; how far round a
# place it is averaged (spread), and how far from the sheet's rim it is held against what lies there, in mm.
WHITE: Final = (2.5, 8.0)
WHITE_MEAN: Final = 8.0
WHITE_REACH: Final = 14.0
# A patch of table that could not be reached for shade: no lighter than the table round it by this much, and of its
# colour within that much (natural logarithms); how far round it the table is looked at, in mm.
SHADE: Final = 0.1
SHADE_COLOUR: Final = 0.06
SHADE_AROUND: Final = 40.0
# Smallest piece in mm²: 20 cm², about a matchbox; weights, pins, pens and crumbs are smaller.
SMALLEST: Final = 2000.0
# More pieces in one photograph, or a longer outline in all, in mm, are a mistake: twenty panels have some 30 m.
MOST_PIECES: Final = 40
MOST_OUTLINE: Final = 60_000.0
# How far round a place the light is averaged, in mm, in one lesson after the other: wide enough to look past the grain
# of wood and the squares of a cloth, and narrow enough to follow the rim of a shadow on a plain one (found by trial).
LIGHTS: Final = (15.0, 7.0, 15.0)
# Added to linear light, 0 to 1, before its logarithm: what 8 bits and JPEG leave uncertain in the dark.
DARK: Final = 0.001
# Share of the pixels of known table that may look too odd for table; the rarer of them are pores, knots and crumbs.
ODD: Final = 0.01
# Bins of lightness, red to green, blue to green; their ranges are natural logarithms: a grain of wood or a weave
# spreads over several bins, a shadow's rim over one or two.
BINS: Final = (48, 32, 32)
RANGES: Final = ((-1.8, 1.8), (-0.8, 1.2), (-1.6, 1.2))
# How often what is left near the table is judged anew.
JUDGEMENTS: Final = 3
# The last step: how far round a place paper and table are looked at (spread), and how far from it they may change
# places at once, in mm; rounds at most, and the pixels that may still change when it rests.
NEAR_LOOK: Final = 18.0
MOVE: Final = 14.0
MOST_MOVES: Final = 10
RESTING: Final = 20
# Least spread of lightness and the two colour ratios (natural logarithms): noise and JPEG.
LEAST_SPREAD: Final = (0.03, 0.02, 0.02)
# The most that one pixel counts in one of the three, as a logarithm of likelihood: a pore or a pencil line is very odd.
MOST_SAY: Final = 4.0
# How far round a pixel what is said is averaged, in mm (spread).
AGREE: Final = 2.5
# Share of the places near by that must be paper, and table, for a judgement between the two.
BOTH: Final = 0.03
# Share of the pixels of a bin that is as good as none.
RARE: Final = 1e-8
# Steps at most with which the table is followed, two pixels each: through a labyrinth twice across the whole picture.
MOST_STEPS: Final = 400


@dataclass(frozen=True, slots=True)
class Coarse:
    """The table from above: pixel (column, row) lies at `origin` + COARSE * (column, row), y up."""

    origin: tuple[float, float]
    paper: U8
    seen: U8
    sheets: U8

    def outlines(self) -> list[F64]:
        """Closed polylines in table mm, anticlockwise, the largest first."""
        found, _ = cv2.findContours(self.paper, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
        out = []
        for c in sorted(found, key=lambda c: -cv2.contourArea(c)):
            pts = c.reshape(-1, 2).astype(float) * COARSE + self.origin
            area = 0.5 * float((pts[:, 0] * np.roll(pts[:, 1], -1) - np.roll(pts[:, 0], -1) * pts[:, 1]).sum())
            out.append(pts if area > 0 else pts[::-1])
        return out


def find_pieces(picture: U8, view: View, placed: Sequence[Placed]) -> Coarse:
    """The coarse mask of all pieces. Raises TraceError where none is found or one leaves the picture.

    Things at the picture's rim that do not reach in between the sheets are left out: the table's end, a foot.
    """
    around = np.vstack([p.to_table(np.array(p.seen.sheet.outline())) for p in placed])
    x0, y0 = around.min(axis=0) - BEYOND
    wide, high = (int(v) for v in np.ceil((around.max(axis=0) + BEYOND - (x0, y0)) / COARSE))
    if wide * high > MOST_LOOKED_AT:
        raise TraceError("board_scattered", apart=math.hypot(*np.ptp(around, axis=0)) / 1000)
    colour, seen = _from_above(picture, view, (float(x0), float(y0)), wide, high)
    corners = [(p.to_table(np.array(p.seen.sheet.outline())) - (x0, y0)) / COARSE for p in placed]
    sheets, hull = np.zeros((high, wide), np.uint8), np.zeros((high, wide), np.uint8)
    for c in corners:
        _fill(sheets, c)
    _fill(hull, np.asarray(cv2.convexHull(np.vstack(corners).astype(np.float32)), float).reshape(-1, 2))
    rim = _grown(sheets, SHEET_RIM)
    strip = cv2.bitwise_and(_grown(sheets, STRIP), cv2.bitwise_not(cv2.bitwise_or(hull, rim)))
    usable = (seen > 0) & (rim == 0)
    table = (strip > 0) & usable
    if int(table.sum()) * COARSE**2 < SMALLEST:
        raise TraceError("no_table")
    features = _features(colour)
    table |= _beside(features, sheets, table, usable)
    followed = _follow(features, table, usable)
    paper = _unshaded(features, _cleaned(_settled(features, usable & ~followed, usable)), usable)
    rim_of_view = cv2.dilate(cv2.bitwise_not(seen), _disc(8.0))
    rim_of_view[[0, -1], :] = 255
    rim_of_view[:, [0, -1]] = 255
    count, parts = cv2.connectedComponents(paper)
    for k in range(1, count):
        part = parts == k
        if (part & (rim_of_view > 0)).any():
            if int((part & (hull > 0)).sum()) * COARSE**2 > SMALLEST:
                raise TraceError("leaves_the_picture")
            paper[part] = 0
    if not paper.any():
        raise TraceError("no_paper")
    coarse = Coarse((float(x0), float(y0)), paper, seen, sheets)
    outlines = coarse.outlines()
    length = sum(float(np.linalg.norm(np.diff(o, axis=0), axis=1).sum()) for o in outlines)
    if len(outlines) > MOST_PIECES or length > MOST_OUTLINE:
        raise TraceError("too_many_pieces", count=len(outlines), length=length / 1000)
    return coarse


def _fill(mask: U8, corners: NDArray[np.floating[Any]]) -> None:
    cv2.fillConvexPoly(mask, np.round(corners * 16).astype(np.int32), 255, cv2.LINE_8, 4)


def _from_above(picture: U8, view: View, origin: tuple[float, float], wide: int, high: int) -> tuple[U8, U8]:
    ys, xs = np.mgrid[0:high, 0:wide]
    table = np.column_stack([xs.ravel() * COARSE + origin[0], ys.ravel() * COARSE + origin[1]])
    at = view.to_image(table)
    # Shrunk beforehand, so that every pixel of the picture counts.
    scale = 0.25
    small = cv2.resize(picture, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    x, y = (((at[:, k] + 0.5) * scale - 0.5).astype(np.float32).reshape(high, wide) for k in (0, 1))
    colour = cv2.remap(small, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    inside = ((at > 4.0) & (at < np.array([picture.shape[1], picture.shape[0]]) - 5.0)).all(axis=1)
    return np.asarray(colour, np.uint8), (inside.reshape(high, wide) * 255).astype(np.uint8)


def _features(colour: U8) -> F32:
    """Logarithm of lightness, and of red to green and blue to green: shade changes only the first."""
    c = (np.maximum(colour.astype(np.float32), 2.0) / 255.0) ** 2.2 + DARK
    log = np.log(c)
    return np.stack([log.mean(axis=-1), log[..., 2] - log[..., 1], log[..., 0] - log[..., 1]], axis=-1).astype(
        np.float32
    )


def _beside(features: F32, sheets: U8, table: NDArray[np.bool_], usable: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """What lies right beside the sheets and looks like table if held against the sheets' own white, shade or no."""
    inner, core = (cv2.erode(sheets, _disc(2 * by)) for by in WHITE)
    white = _mean(features[..., 0], ((inner > 0) & (core == 0)).astype(np.float32), WHITE_MEAN / COARSE)
    # Nothing is much lighter than white.
    dark = _bin(features[..., 0] - white - np.float32(RANGES[0][0]), 0)
    bins = (dark * BINS[1] + _bin(features[..., 1], 1)) * BINS[2] + _bin(features[..., 2], 2)
    near = (_grown(sheets, WHITE_REACH) > 0) & usable
    known = bins[near & table]
    if not len(known):
        return np.zeros_like(table)
    density = _smoothed(_counts(known)).ravel()
    fits = near & (density > float(np.quantile(density[known], ODD)))[bins]
    share = cv2.GaussianBlur(fits.astype(np.float32), (0, 0), 1.0)
    of = cv2.GaussianBlur(near.astype(np.float32), (0, 0), 1.0)
    return np.asarray(near & (share > 0.8 * of), np.bool_)


def _follow(features: F32, table: NDArray[np.bool_], usable: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Grow `table` over all that looks like it under light that changes softly."""
    lightness = features[..., 0]
    colour_bins = _bin(features[..., 1], 1) * BINS[2] + _bin(features[..., 2], 2)

    def look(at: NDArray[np.bool_], known: NDArray[np.bool_], reach: float = LIGHTS[-1]) -> NDArray[np.intp]:
        """The bins of the places `at`, their lightness held against that of the table `known` near by."""
        light = _mean(lightness, known.astype(np.float32), reach / COARSE)
        return _bin(lightness[at] - light[at], 0) * (BINS[1] * BINS[2]) + colour_bins[at]

    step = np.ones((5, 5), np.uint8)
    reached = table.copy()
    for reach in LIGHTS:
        seen = look(reached, reached, reach)
        density = _smoothed(_counts(seen)).ravel()
        usual = density > float(np.quantile(density[seen], ODD))
        for _ in range(MOST_STEPS):
            front = (cv2.dilate(reached.astype(np.uint8), step) > 0) & usable & ~reached
            fits = reached.astype(np.float32)
            fits[front] = usual[look(front, reached, reach)]
            near = (front | reached).astype(np.float32)
            # Odd pixels amid usual ones are table all the same, usual ones amid odd ones are not.
            share = cv2.GaussianBlur(fits, (0, 0), 1.0)
            new = front & (share / np.maximum(cv2.GaussianBlur(near, (0, 0), 1.0), 1e-3) > 0.6)
            if int(new.sum()) < 3:
                break
            reached |= new
    # Close to the table the rest is told by which of the two it looks more like; what is odd for both stays as it is.
    for _ in range(JUDGEMENTS):
        inner = cv2.erode((usable & ~reached).astype(np.uint8), _disc(16.0)) > 0
        close = cv2.dilate(reached.astype(np.uint8), _disc(60.0)) > 0
        if not (inner & close).any():
            break
        here = look(np.ones_like(reached), reached).reshape(reached.shape)
        table_like, paper_like = (
            _smoothed(_counts(here[where])).ravel() / max(1, int(where.sum())) for where in (reached, inner & close)
        )
        ratio = (np.log(table_like[here] + RARE) - np.log(paper_like[here] + RARE)).astype(np.float32)
        like = (cv2.GaussianBlur(ratio, (0, 0), 1.0) > 1.0) & close & usable
        _, parts = cv2.connectedComponents((like | reached).astype(np.uint8), connectivity=4)
        grown = np.isin(parts, np.unique(parts[reached])) & (like | reached)
        if int((grown & ~reached).sum()) < 3:
            break
        reached = grown
    return reached


def _settled(features: F32, paper: NDArray[np.bool_], usable: NDArray[np.bool_]) -> U8:
    """The line between paper and table, moved to where both look most like themselves near by; paper is 255."""
    paper = cv2.morphologyEx(paper.astype(np.uint8), cv2.MORPH_OPEN, _disc(10.0)) > 0
    reach = _disc(2 * MOVE)
    for _ in range(MOST_MOVES):
        table = usable & ~paper
        of_paper, of_table = _looks(features, paper), _looks(features, table)
        say: NDArray[Any] = np.zeros(paper.shape, np.float32)
        for k, least in enumerate(LEAST_SPREAD):
            odd = []
            for mean, variance in ((side[1 + k], side[4 + k]) for side in (of_table, of_paper)):
                v = variance + np.float32(least**2)
                odd.append(0.5 * ((features[..., k] - mean) ** 2 / v + np.log(v)))
            say += np.clip(odd[0] - odd[1], -MOST_SAY, MOST_SAY)
        say = cv2.GaussianBlur(say, (0, 0), AGREE / COARSE)
        near = (cv2.dilate(paper.astype(np.uint8), reach) > 0) & (cv2.dilate(table.astype(np.uint8), reach) > 0)
        near &= (of_paper[0] > BOTH) & (of_table[0] > BOTH)
        moved: NDArray[Any] = np.where(near, say > 0.0, paper).astype(np.uint8)
        moved = cv2.morphologyEx(moved, cv2.MORPH_OPEN, _disc(8.0))
        now = (cv2.morphologyEx(moved, cv2.MORPH_CLOSE, _disc(6.0)) > 0) & usable
        changed = int((now != paper).sum())
        paper = now
        if changed < RESTING:
            break
    return (paper * 255).astype(np.uint8)


def _looks(features: F32, where: NDArray[np.bool_]) -> list[F32]:
    """Near each place: the share of `where`, then mean and variance of each feature on it, the means first."""
    high, wide = where.shape
    weight = where.astype(np.float32)
    layers = (
        [weight] + [features[..., k] * weight for k in range(3)] + [features[..., k] ** 2 * weight for k in range(3)]
    )
    # Smooth as it is, half the size will do.
    small = [
        cv2.GaussianBlur(
            cv2.resize(a, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA), (0, 0), NEAR_LOOK / COARSE / 2
        )
        for a in layers
    ]
    share = np.maximum(small[0], 1e-6)
    means = [a / share for a in small[1:4]]
    variances = [np.maximum(a / share - m * m, 0.0) for a, m in zip(small[4:], means, strict=True)]
    every = (small[0], *means, *variances)
    return [np.asarray(cv2.resize(a, (wide, high), interpolation=cv2.INTER_LINEAR), np.float32) for a in every]


def _counts(bins: NDArray[np.intp]) -> F32:
    return np.bincount(bins, minlength=BINS[0] * BINS[1] * BINS[2]).astype(np.float32).reshape(BINS)


def _bin(values: F32, axis: int) -> NDArray[np.intp]:
    low, high = RANGES[axis]
    n = BINS[axis]
    return np.asarray(np.clip((values - low) * (n / (high - low)), 0, n - 1), np.intp)


def _mean(values: F32, weight: F32, sigma: float) -> F32:
    """Mean of `values` where `weight` is 1, near each pixel: at half the size, as it is smooth."""
    high, wide = values.shape
    both = cv2.resize(np.dstack([values * weight, weight]), None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    both = cv2.GaussianBlur(both, (0, 0), sigma / 2)
    mean = both[..., 0] / np.maximum(both[..., 1], 1e-6)
    return np.asarray(cv2.resize(mean, (wide, high), interpolation=cv2.INTER_LINEAR), np.float32)


def _smoothed(counts: F32) -> F32:
    """Counts blurred by 1.5 bins each way."""
    k = cv2.getGaussianKernel(9, 1.5).ravel()
    half = len(k) // 2
    for axis in range(3):
        n = counts.shape[axis]
        padded = np.pad(counts, [(half, half) if a == axis else (0, 0) for a in range(3)])
        counts = np.sum([w * np.take(padded, np.arange(i, i + n), axis) for i, w in enumerate(k)], axis=0)
    return counts.astype(np.float32)


def _unshaded(features: F32, paper: U8, usable: NDArray[np.bool_]) -> U8:
    """Pieces left out that are table in shade, as long as there are others."""
    count, parts = cv2.connectedComponents(paper)
    pieces: list[int] = []
    shades: list[int] = []
    for k in range(1, count):
        part = (parts == k) & usable
        round_it = (_grown(part.astype(np.uint8), SHADE_AROUND) > 0) & usable & (paper == 0)
        if not part.any() or not round_it.any():
            continue
        light, *colour = np.median(features[part], axis=0) - np.median(features[round_it], axis=0)
        shade = light < SHADE and max(abs(c) for c in colour) < SHADE_COLOUR
        (shades if shade else pieces).append(k)
    return np.where(np.isin(parts, shades), 0, paper).astype(np.uint8) if pieces else paper


def _cleaned(paper: U8) -> U8:
    """Threads and crumbs taken off, lines bridged, holes filled, small pieces left out."""
    opened = cv2.morphologyEx(paper, cv2.MORPH_OPEN, _disc(10.0))
    paper = np.asarray(cv2.morphologyEx(opened, cv2.MORPH_CLOSE, _disc(6.0)), np.uint8)
    found, _ = cv2.findContours(paper, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    out = np.zeros_like(paper)
    for c in found:
        if cv2.contourArea(c) * COARSE**2 >= SMALLEST:
            cv2.drawContours(out, [c], -1, 255, cv2.FILLED)
    return out


def _grown(mask: U8, by: float) -> U8:
    return np.asarray(cv2.dilate(mask, _disc(2 * by)), np.uint8)


def _disc(across: float) -> U8:
    n = max(1, round(across / COARSE)) | 1
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (n, n)), np.uint8)
