"""One piece of paper: from its coarse outline to fitted sides between corners, nicks and doubtful stretches."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from coutil.plane import Curve
from coutil.trace.photo_camera import View
from coutil.trace.photo_edge import (
    FIRST_SPACING,
    SPACING,
    STEP_WINDOW,
    SURE,
    Rim,
    first_pass,
    runs_of,
    second_pass,
)
from coutil.trace.photo_fit import (
    ARM,
    ARM_MEET,
    GAP,
    GAP_COARSE,
    GAP_FIRST,
    LEAST_TURN,
    Spline,
    find_corners,
    fit_ring,
    fit_run,
    meet,
)
from coutil.trace.photo_nicks import Nick, find_nicks

F64 = NDArray[np.float64]
U8 = NDArray[np.uint8]
Mask = NDArray[np.bool_]

# Rounds of the second pass: the first still has the first pass's errors of up to half a mm to mend.
ROUNDS: Final = 2
# How far from a nick's sides its influence on the rim reaches, in mm: the width of the picture's blur.
NICK_RIM: Final = 1.2
# Points that miss the fitted curve by more than this many mm are doubtful, and so are steps this many times as wide as
# is usual in the picture: the rim of a shadow, or of paper that does not lie flat.
ODD_MISS: Final = 0.6
ODD_WIDTH: Final = 1.8
# How far beyond words, in mm, their letters may still draw the rim aside; and the tightest curve of a side, in mm: what
# turns more over the length of the words has a corner there (common practice, no source).
BESIDE_WORDS: Final = 3.0
TIGHTEST: Final = 100.0
# Rim, in mm, that must be known on either side of a corner to run on from it.
LEAST_ARM: Final = 3.0
# Sharpest corner that is reckoned with, in radians; paper cut more sharply curls.
SHARPEST: Final = 0.3
# Stretches shorter than this, in mm, are not worth a word; gaps shorter than that between them neither.
LEAST_DOUBT: Final = 5.0
# So much of the rim, in mm, is doubtful on both sides of a corner that points inwards: a letter or two.
DENT: Final = 10.0


@dataclass(frozen=True, slots=True)
class Doubt:
    """A stretch of one side that the picture does not show well: from and to by arc length in mm, and why."""

    side: int
    start: float
    end: float
    why: str


@dataclass(frozen=True, slots=True)
class FoundNick:
    """A nick, by the side that it is in and the arc length of its middle there; depth and width as seen, in mm."""

    side: int
    s: float
    depth: float
    width: float


@dataclass(frozen=True, slots=True)
class Piece:
    """Sides in table mm, anticlockwise, from corner to corner; one closed side where there is no corner."""

    sides: tuple[Spline, ...]
    nicks: tuple[FoundNick, ...]
    doubts: tuple[Doubt, ...]
    # Median width of the step between paper and table, in mm; spread of the rim's points about the curves, in mm.
    blur: float
    noise: float


@dataclass(frozen=True, slots=True)
class _Ring:
    """A closed outline as points SPACING apart (nearly), with the side and the parameter of each."""

    base: F64
    normal: F64
    side: NDArray[np.intp]
    u: F64
    starts: tuple[int, ...]


def trace_piece(picture: U8, view: View, coarse: F64) -> Piece:
    """Trace one piece from its coarse outline in table mm, anticlockwise."""
    rim = first_pass(picture, view, coarse)
    sides, corners = _fit(rim.points, rim.good, FIRST_SPACING, GAP_FIRST, rim.words)
    nicks: list[Nick] = []
    for _ in range(ROUNDS):
        ring = _ring(sides)
        steady = _steady(ring, sides) if corners else np.ones(len(ring.base), bool)
        rim, width = second_pass(picture, view, ring.base, ring.normal, steady)
        nicks = find_nicks(picture, view, ring.base, ring.normal, steady, float(np.median(width)))
        good = rim.good & ~_at_nicks(nicks, len(ring.base))
        sides, corners = _fit(_bridged(rim, good), good, SPACING, GAP, rim.words)
    miss = _miss(rim.points, sides)
    usual = float(np.median(width))
    counted = ~_at_nicks(nicks, len(ring.base)) & ~_near(corners, len(ring.base), 2 * GAP)
    faults = [
        (rim.words, "words or a thick line on the paper at its rim"),
        (~rim.good & ~rim.words, "hardly any contrast between paper and table"),
        (miss > ODD_MISS, "an uneven rim: torn or folded paper, something lying on it, or a pattern in the table"),
        (width > ODD_WIDTH * usual, "a soft rim: the rim of a shadow, or paper that does not lie flat"),
    ]
    curves = [s.curve() for s in sides]
    doubts = tuple(d for flags, why in faults for d in _doubts(ring, flags & counted, curves, why))
    doubts += tuple(_dents(sides, curves))
    places = [_place(ring.base[round(n.s) % len(ring.base)], curves) for n in nicks]
    found = tuple(FoundNick(k, s, n.depth, n.width) for (k, s), n in zip(places, nicks, strict=True))
    sure = counted & rim.good
    noise = float(np.sqrt(np.mean(miss[sure] ** 2))) if sure.any() else float("inf")
    return Piece(tuple(sides), found, doubts, usual, noise)


def _fit(pts: F64, good: Mask, spacing: float, gap: float, words: Mask) -> tuple[list[Spline], list[int]]:
    """Sides through a closed run of points, split at its corners; and where the corners are."""
    corners = _without_letters(pts, find_corners(pts, spacing, gap), words, spacing)
    if not corners:
        u = np.arange(len(pts)) / len(pts)
        return [fit_ring(pts, u, good, len(pts) * spacing)], corners
    return _fit_sides(pts, good, corners, spacing, GAP_COARSE if gap == GAP_FIRST else gap), corners


def _without_letters(pts: F64, corners: list[int], words: Mask, spacing: float) -> list[int]:
    """The corners, but for those amid words beyond which the rim runs on in much the same direction."""
    n, arm, beside = len(pts), round(ARM / spacing), round(BESIDE_WORDS / spacing)
    out = list(corners)
    for first, last in runs_of(words):
        start, end = first - beside, last + beside
        if end - start + 2 * arm > n:
            continue
        before, after = (pts[np.arange(k, k + arm + 1) % n] for k in (start - arm, end))
        a, b = before[-1] - before[0], after[-1] - after[0]
        turn = math.degrees(abs(math.atan2(a[0] * b[1] - a[1] * b[0], float(a @ b))))
        if turn < LEAST_TURN + math.degrees((end - start + arm) * spacing / TIGHTEST):
            out = [c for c in out if (c - start) % n >= end - start]
    return out


def _bridged(rim: Rim, good: Mask) -> F64:
    """The rim's points, straight across where it is not known."""
    if not good.any():
        return rim.points
    n = len(good)
    known = np.nonzero(good)[0]
    off = np.interp(np.arange(n), known, rim.off[known], period=n)
    return np.asarray(rim.base + off[:, None] * rim.normal)


def _fit_sides(pts: F64, good: Mask, corners: list[int], spacing: float, gap: float) -> list[Spline]:
    """Sides between corners, the corners being where the sides meet if run on."""
    n = len(pts)
    spans = [np.arange(a, b if b > a else b + n) % n for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]
    arm = round(ARM_MEET / spacing)
    skips = [round(_gap(pts, a, spacing, gap) / spacing) for a in corners]
    tips = []
    for k, a in enumerate(corners):
        before, after, skip = spans[k - 1], spans[k], skips[k]
        b = before[max(len(before) // 2, len(before) - skip - arm) : len(before) - skip + 1]
        f = after[skip : max(skip + 1, min(len(after) // 2, skip + arm))]
        b, f = b[good[b]], f[good[f]]
        tip = meet(pts[b], pts[f]) if min(len(b), len(f)) > LEAST_ARM / spacing else None
        tips.append(pts[a] if tip is None else tip)
    out = []
    for k, which in enumerate(spans):
        nxt = (k + 1) % len(spans)
        use = good[which].copy()
        use[: skips[k]] = False
        use[len(use) - skips[nxt] :] = False
        u, length = _parameters(pts[which], skips[k], skips[nxt], tips[k], tips[nxt])
        out.append(fit_run(pts[which], u, use, (tips[k], tips[nxt]), length))
    return out


def _gap(pts: F64, corner: int, spacing: float, gap: float) -> float:
    """How far from a corner the rim is not told rightly: the sharper the corner, the farther.

    A cross section reaches some way into the paper, and there out of it again where the corner is sharp.
    """
    n = len(pts)
    near, far = round((gap + 1.0) / spacing), round((gap + 8.0) / spacing)
    ahead = pts[(corner + far) % n] - pts[(corner + near) % n]
    behind = pts[(corner - far) % n] - pts[(corner - near) % n]
    inside = math.atan2(ahead[0] * behind[1] - ahead[1] * behind[0], float(ahead @ behind)) % (2.0 * math.pi)
    if not SHARPEST < inside < math.pi / 2:
        return gap + (STEP_WINDOW / math.tan(SHARPEST) if inside <= SHARPEST else 0.0)
    return gap + STEP_WINDOW / math.tan(inside)


def _parameters(pts: F64, skip: int, skip_end: int, a: F64, b: F64) -> tuple[F64, float]:
    """Parameters 0 to 1 of points by length, from tip to tip, and the length; the first and last ones are not sure."""
    first = min(skip, len(pts) - 1)
    last = max(len(pts) - skip_end - 1, first)
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(pts[first : last + 1], axis=0), axis=1))])
    before, after = float(np.linalg.norm(pts[first] - a)), float(np.linalg.norm(pts[last] - b))
    length = before + float(run[-1]) + after
    u = np.empty(len(pts))
    u[first : last + 1] = (before + run) / length
    u[:first] = np.linspace(0.0, u[first], first, endpoint=False)
    u[last + 1 :] = np.linspace(1.0, u[last], len(pts) - last - 1, endpoint=False)[::-1]
    return u, length


def _ring(sides: Sequence[Spline]) -> _Ring:
    """Points along the sides, each side starting at its corner."""
    bases, normals, numbers, params, starts = [], [], [], [], []
    total = 0
    for k, s in enumerate(sides):
        fine = np.linspace(0.0, 1.0, 60 * s.spans + 1)
        pts = s.at(fine)
        run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(pts, axis=0), axis=1))])
        n = max(8, round(run[-1] / SPACING))
        u = np.interp(np.arange(n) / n * run[-1], run, fine)
        d = s.at(np.minimum(u + 1e-4, 1.0)) - s.at(np.maximum(u - 1e-4, 0.0))
        d /= np.maximum(np.linalg.norm(d, axis=1), 1e-12)[:, None]
        bases.append(s.at(u))
        normals.append(np.column_stack([d[:, 1], -d[:, 0]]))
        numbers.append(np.full(n, k))
        params.append(u)
        starts.append(total)
        total += n
    return _Ring(np.vstack(bases), np.vstack(normals), np.concatenate(numbers), np.concatenate(params), tuple(starts))


def turns(sides: Sequence[Spline]) -> list[float]:
    """Turn in degrees at the start of each side, from the side before."""
    out = []
    for k, s in enumerate(sides):
        before = sides[k - 1]
        a = before.at(np.array([1.0]))[0] - before.at(np.array([1.0 - 1e-3]))[0]
        b = s.at(np.array([1e-3]))[0] - s.at(np.array([0.0]))[0]
        out.append(float(np.degrees(np.arctan2(a[0] * b[1] - a[1] * b[0], a @ b))))
    return out


def _at_nicks(nicks: Sequence[Nick], n: int) -> Mask:
    out = np.zeros(n, bool)
    for k in nicks:
        half = round((k.width / 2 + NICK_RIM) / SPACING)
        out[np.arange(round(k.s) - half, round(k.s) + half + 1) % n] = True
    return out


def _steady(ring: _Ring, sides: Sequence[Spline]) -> Mask:
    """Cross sections so far from all corners that they see paper on one side and table on the other."""
    out = np.ones(len(ring.base), bool)
    for start, turn in zip(ring.starts, turns(sides), strict=True):
        inside = math.pi - math.radians(abs(turn))
        reach = GAP + (SURE[1] / math.tan(max(inside, SHARPEST)) if inside < math.pi / 2 else 0.0)
        out &= ~_near([start], len(out), reach)
    return out


def _near(places: Sequence[int], n: int, reach: float) -> Mask:
    """Samples within `reach` mm of places on the ring."""
    out = np.zeros(n, bool)
    half = round(reach / SPACING)
    for a in places:
        out[np.arange(a - half, a + half + 1) % n] = True
    return out


def _miss(pts: F64, sides: Sequence[Spline]) -> F64:
    """How far points lie from the fitted sides."""
    ring = np.vstack([s.at(np.linspace(0.0, 1.0, 40 * s.spans + 1))[:-1] for s in sides])
    return _distance(pts, ring)


def _distance(pts: F64, ring: F64) -> F64:
    """Distance of points from a closed polyline."""
    import shapely  # type: ignore[import-untyped]

    line = shapely.LinearRing(ring)
    return np.asarray(shapely.distance(shapely.points(pts), line), float)


def _doubts(ring: _Ring, flags: Mask, sides: Sequence[Curve], why: str) -> list[Doubt]:
    """Stretches that are flagged for the most part, split at corners."""
    window = round(LEAST_DOUBT / SPACING) | 1
    padded = np.pad(flags.astype(float), window // 2, mode="wrap")
    share = np.convolve(padded, np.ones(window) / window, "valid")
    out = []
    for start, end in runs_of(share > 0.4):
        which = np.arange(start, end) % len(flags)
        found = [_place(ring.base[i], sides) for i in which[::3]]
        for k in sorted({side for side, _ in found}):
            at = [s for side, s in found if side == k]
            if max(at) - min(at) >= LEAST_DOUBT:
                out.append(Doubt(k, min(at), max(at), why))
    return out


def _dents(sides: Sequence[Spline], curves: Sequence[Curve]) -> Iterator[Doubt]:
    """The rim on both sides of every corner that points into the piece: panels have few, letters make them."""
    why = "a corner that points inwards: a dent, or words on the rim, if it is not cut so"
    for k, turn in enumerate(turns(sides)):
        if turn < -LEAST_TURN / 2.0:
            before = curves[k - 1].length
            yield Doubt((k - 1) % len(sides), max(0.0, before - DENT), before, why)
            yield Doubt(k, 0.0, min(DENT, curves[k].length), why)


def _place(at: F64, sides: Sequence[Curve]) -> tuple[int, float]:
    """The side nearest to a point, and the arc length there."""
    found = [c.nearest((float(at[0]), float(at[1]))) for c in sides]
    k = min(range(len(found)), key=lambda i: found[i][1])
    return k, found[k][0]


__all__ = ["LEAST_TURN", "Doubt", "FoundNick", "Piece", "trace_piece", "turns"]
