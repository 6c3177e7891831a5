"""Nicks cut into the rim of a paper: found, with their depth and width."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from coutil.trace.photo_camera import View
from coutil.trace.photo_edge import SPACING, SURE, WEAK, ring_mean, runs_of, sections, step_of

F64 = NDArray[np.float64]
U8 = NDArray[np.uint8]
Mask = NDArray[np.bool_]

# How far inside and outside the outline nicks are looked for, and in what steps, in mm.
NICK_REACH: Final = 10.0
NICK_OUT: Final = 1.6
NICK_STEP: Final = 0.2
# Depth and width that count, in mm. Nicks are cut 3 to 6 mm deep (common practice, no source); a pencil line is half a
# millimetre wide, and a plain snip has no width at all.
NICK_DEPTH: Final = (1.9, 8.1)
NICK_WIDTH: Final = (1.3, 7.1)
# Depths and widths that are tried, in mm; those beyond what counts are there so that a line is no nick.
V_DEPTHS: Final = np.arange(1.0, 10.1, 0.5)
V_WIDTHS: Final = np.arange(0.4, 7.9, 0.4)
# Depths between which a nick's mouth is told, in mm from the outline, and the part of the paper that must be missing
# there, its blur included: a nick 2 mm wide in a soft picture shows 0.4, a pencil line 0.1.
MOUTH: Final = (-1.6, -0.2)
LEAST_MISSING: Final = 0.15
# How far to either side the paper beside a nick is looked at, in mm: two nicks side by side are the lesser part of it.
NICK_AROUND: Final = 14.0
# Rows, of SPACING each, to either side of a nick's middle in which its V is looked for.
NICK_HALF: Final = 15
# Parts of the paper that can be missing: more and less is pencil, wood or noise.
PART: Final = (-0.4, 1.3)
# The V may leave this part of what is missing (sums of squares); found by trial.
MOST_LEFT: Final = 0.35
# A step of a given width has a blur of this part of it (spread): a Gaussian's mean absolute size is 0.8 of its spread,
# on either side.
SPREADS: Final = 1.6
# The least blur, as width of a step in mm, that is reckoned with: a pixel.
LEAST_BLUR: Final = 0.4
# Vs are drawn at this many times the size, and made smaller.
FINE: Final = 4


@dataclass(frozen=True, slots=True)
class Nick:
    """A nick found in the outline: arc length of its middle, depth and width at the outline as seen, in mm."""

    s: float
    depth: float
    width: float


def find_nicks(picture: U8, view: View, base: F64, normal: F64, steady: Mask, blur: float) -> list[Nick]:
    """Nicks in a closed outline given by points SPACING apart; `blur` is the width of the rim's step in mm.

    What is missing of the paper, held against the rim beside it, is a nick's V, blurred as the picture is: the V that
    leaves the least of it (least squares over depth, width and place) is the nick, if it leaves little.
    """
    offsets = _offsets()
    seen = sections(picture, view, base, normal, offsets)
    v, contrast = step_of(seen, offsets, SURE, SPACING, steady)
    n = len(v)
    mouth = ring_mean(v[:, (offsets >= MOUTH[0]) & (offsets <= MOUTH[1])].mean(axis=1), 1.0)
    around = min(round(NICK_AROUND / SPACING), (n - 1) // 2)
    usual = np.median(np.lib.stride_tricks.sliding_window_view(np.pad(mouth, around, mode="wrap"), 2 * around + 1), 1)
    missing = np.where(contrast > WEAK, usual - mouth, 0.0)
    out: list[Nick] = []
    for start, end in runs_of(missing > LEAST_MISSING):
        which = np.arange(start, end)
        middle = round(float((which * missing[which % n]).sum() / missing[which % n].sum()))
        level = np.median(v[np.arange(middle - around, middle + around + 1) % n], axis=0)
        here = v[np.arange(middle - NICK_HALF, middle + NICK_HALF + 1) % n]
        found = _best_v(np.clip(level[None, :] - here, *PART), blur)
        if found is not None:
            out.append(replace(found, s=(middle + found.s / SPACING) % n))
    return out


def _best_v(gone: F64, blur: float) -> Nick | None:
    """The V that explains best what is missing, `s` being how far along its middle is from the middle row, in mm."""
    best = (0.0, 0, 0)
    shapes, sizes = _vs(round(max(blur, LEAST_BLUR), 1))
    rows = shapes.shape[1]
    power = (shapes**2).sum(axis=(1, 2))
    for shift in range(len(gone) - rows + 1):
        # How much less is left with the V than without.
        gain = 2.0 * np.tensordot(shapes, gone[shift : shift + rows], axes=2) - power
        k = int(np.argmax(gain))
        best = max(best, (float(gain[k]), k, shift))
    most, k, shift = best
    if most <= 0.0:
        return None
    here, shape = gone[shift : shift + rows], shapes[k]
    near = np.asarray(cv2.dilate((shape > 0.05).astype(np.uint8), np.ones((3, 5), np.uint8)) > 0)
    left = float((((here - shape) ** 2)[near]).sum() / (here**2)[near].sum())
    depth, width = sizes[k]
    if left > MOST_LEFT or not (NICK_DEPTH[0] <= depth <= NICK_DEPTH[1] and NICK_WIDTH[0] <= width <= NICK_WIDTH[1]):
        return None
    return Nick((shift - (len(gone) - rows) / 2) * SPACING, depth, width)


@cache
def _vs(blur: float) -> tuple[F64, tuple[tuple[float, float], ...]]:
    """Vs of all depths and widths as a picture shows them: (V, along the rim, across it); and these sizes in mm."""
    half = round(NICK_WIDTH[1] / 2 / SPACING) + 2
    offsets, along = _finer(_offsets(), NICK_STEP), _finer(np.arange(-half, half + 1, dtype=float) * SPACING, SPACING)
    spread = [blur / SPREADS / step * FINE for step in (NICK_STEP, SPACING)]
    sizes = [(float(d), float(w)) for d in V_DEPTHS for w in V_WIDTHS]
    out = []
    for d, w in sizes:
        wide = np.where(offsets <= 0.0, w / 2 * (1.0 + offsets / d), 0.0)
        v = (np.abs(along)[:, None] <= wide[None, :]).astype(np.float32)
        soft = cv2.GaussianBlur(v, (0, 0), sigmaX=spread[0], sigmaY=spread[1])
        out.append(cv2.resize(soft, (len(offsets) // FINE, len(along) // FINE), interpolation=cv2.INTER_AREA))
    vs = np.array(out, float)
    # All threads share them.
    vs.setflags(write=False)
    return vs, tuple(sizes)


def _offsets() -> F64:
    return np.asarray(np.arange(-NICK_REACH, NICK_OUT + NICK_STEP / 2, NICK_STEP), float)


def _finer(middles: F64, step: float) -> F64:
    """FINE points, evenly, in each cell of width `step` about these middles."""
    return np.asarray((middles[:, None] + ((np.arange(FINE) + 0.5) / FINE - 0.5) * step).ravel())
