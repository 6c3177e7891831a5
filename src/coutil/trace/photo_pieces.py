"""Where on the table paper lies: a first, coarse outline of each piece, good to a few millimetres.

The table is looked at from straight above, in lightness (logarithm) and two colour ratios, which shade leaves alone.
What lies just outside the sheets of the board is table, and what table looks like is learned there. From these strips
the table is followed inwards, step by step, as long as it looks the same but for the light, which may change from step
to step only as a soft shadow does: so a shadow is taken neither for paper nor for table, and a chequered cloth is
table all over. What the table does not reach is paper.
"""

from __future__ import annotations

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
# Rim round a sheet that is neither table nor paper, in mm: its shadow, and what its placing is off by.
SHEET_RIM: Final = 3.5
# Width of the strip round each sheet that is taken for table, in mm.
STRIP: Final = 30.0
# Smallest piece in mm²: 20 cm², about a matchbox; weights, pins, pens and crumbs are smaller.
SMALLEST: Final = 2000.0
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
        raise TraceError(
            "there is hardly any table to be seen outside the sheets of the board: leave a hand's breadth of bare "
            "table round all of them"
        )
    followed = _follow(_features(colour), table, usable)
    paper = np.where(usable & ~followed, 255, 0).astype(np.uint8)
    paper = _cleaned(paper)
    rim_of_view = cv2.dilate(cv2.bitwise_not(seen), _disc(8.0))
    rim_of_view[[0, -1], :] = 255
    rim_of_view[:, [0, -1]] = 255
    count, parts = cv2.connectedComponents(paper)
    for k in range(1, count):
        part = parts == k
        if (part & (rim_of_view > 0)).any():
            if int((part & (hull > 0)).sum()) * COARSE**2 > SMALLEST:
                raise TraceError(
                    "the pattern leaves the picture, or reaches far beyond the sheets of the board: step back "
                    "until all of it and all sheets can be seen, with table all round, and lay the sheets close to it"
                )
            paper[part] = 0
    if not paper.any():
        raise TraceError(
            "no paper can be told from the table: there is too little contrast, or the pattern does not lie between "
            "the sheets of the board. Lay it on a cloth of another colour, dark for white paper, in even light"
        )
    return Coarse((float(x0), float(y0)), paper, seen, sheets)


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


def _follow(features: F32, table: NDArray[np.bool_], usable: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Grow `table` over all that looks like it under light that changes softly."""
    lightness = features[..., 0]
    colour_bins = _bin(features[..., 1], 1) * BINS[2] + _bin(features[..., 2], 2)

    def look(where: NDArray[np.bool_], reach: float = LIGHTS[-1]) -> NDArray[np.intp]:
        light = _mean(lightness, where.astype(np.float32), reach / COARSE)
        return _bin(lightness - light, 0) * (BINS[1] * BINS[2]) + colour_bins

    step = np.ones((5, 5), np.uint8)
    reached = table.copy()
    for reach in LIGHTS:
        seen = look(reached, reach)[reached]
        density = _smoothed(_counts(seen)).ravel()
        usual = density > float(np.quantile(density[seen], ODD))
        for _ in range(MOST_STEPS):
            front = (cv2.dilate(reached.astype(np.uint8), step) > 0) & usable & ~reached
            fits = (front & usual[look(reached, reach)]).astype(np.float32)
            near = (front | reached).astype(np.float32)
            # Odd pixels amid usual ones are table all the same, usual ones amid odd ones are not.
            share = cv2.GaussianBlur(fits + reached.astype(np.float32), (0, 0), 1.0)
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
        here = look(reached)
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
