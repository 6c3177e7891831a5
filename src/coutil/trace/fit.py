"""Smooth curves through many points: a polyline from a file or a photograph becomes a few cubic Béziers.

First a smooth curve is laid through the points, a cubic spline by chord length. Then kurbopy's fit (Raph Levien,
"Simplifying Bézier paths", as told in the kurbo sources) finds few cubics for it. Straight stretches stay straight.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from itertools import accumulate, pairwise

from kurbopy import BezPath, CubicBez, Point, Vec2, fit_to_bezpath

from coutil.plane import Curve, Pt, bezier, controls, straight
from coutil.trace.model import TraceError

# Fitted curves stay this near to the points, in mm: a fifth of the 0.05 mm that the product promises for a traced edge,
# so that what the file's own flattening took off has room beside it.
TOLERANCE = 0.01
# A stretch this many times longer than its neighbour is a straight line of the drawing, not one chord of a curve that
# was flattened: flattening makes neighbouring chords alike. Found by trial on curves flattened evenly by parameter.
STRAIGHT_RATIO = 4.0
# At the end of a side less is enough: there edges are often squared off straight.
STRAIGHT_END_RATIO = 2.0
# Shorter chords are never taken for straight lines, in mm.
STRAIGHT_LEAST = 8.0
# A run of this many chords or more is a curve that was flattened; fewer are lines that were meant as lines.
MANY = 4
# Speeds of the spline by chord length beyond this, or below its inverse, tell that it swings between uneven points.
# Found by trial: flattened curves stay within 1.05.
MOST_SWING = 1.3
# A turn at a join of fitted cubics beyond this, in radians, is a fault of the fit (1 degree; sound ones have none).
BACKWARDS = math.radians(1.0)
# Chords whose directions differ by less than this, in radians, run on in one line: 1 mm on 5 m, below any drawn curve.
IN_LINE = 2e-4
# Where a fit does not hold, one that is asked to keep closer often does, since it is cut at other places.
TIGHTER = (0.5, 0.25)
# A run of more points than this is fitted by so many of them first, then by fewer.
CROWDS = (1500, 400)
# Handles of a sound cubic, as parts of its chord; a circle's are a third and more. If the fit does not hold with these,
# wider limits, in which no cubic turns back, must do.
EVEN_HANDLES = (0.15, 0.6)
ANY_HANDLES = (0.02, 0.75)
# Handles by least squares: so many stretches of the smooth curve are looked at, so many times the places are moved to
# face each other, and so often a cubic is halved at most.
LOOKS = 12
ROUNDS = 4
DEEPEST = 6
# Runs of more points than this are not fitted again where the first fit does not hold: it would take too long.
MOST_TRIED = 20_000
# Points farther apart than so many tolerances: nearer ones leave no room for a curve to swing out between them.
FAR_APART = 5.0
# Points that lie beside a smooth line by this much on average, in mm, were set by a shaking hand: the line then strays
# from them by up to five times as much. Of fewer points than these nothing can be said.
SHAKES = 0.03
FEWEST_SHAKEN = 12
# So many of a hundred neighbouring points lie on opposite sides of it then; those of a flattened curve do not.
OPPOSITE = 0.65
# Vertices nearer to each other than this are one, in mm.
SAME = 1e-6


class _Through:
    """The smooth curve through points as kurbopy's fit wants it: place and speed by a parameter from 0 to 1.

    The parameter follows the chords' length. The fit integrates area and moments over it by a Gauss rule, and a
    speed that jumps at every point would spoil them: by trial it then takes three to five times as many cubics.
    """

    def __init__(self, pieces: Sequence[CubicBez]) -> None:
        self.pieces = pieces
        # Asked for a thousand times by a fit: as plain numbers they are read quickest.
        self.points = [controls(c) for c in pieces]
        self.chords = [math.dist(c[0], c[3]) for c in self.points]
        self.ends = list(accumulate(self.chords))

    def sample_pt_deriv(self, t: float) -> tuple[Point, Vec2]:
        whole = self.ends[-1]
        at = t * whole
        k = min(bisect_right(self.ends, at), len(self.pieces) - 1)
        (x0, y0), (x1, y1), (x2, y2), (x3, y3) = self.points[k]
        chord = self.chords[k]
        u, n = 1.0 - (self.ends[k] - at) / chord, whole / chord
        v = 1.0 - u
        a, b, d, e = v * v * v, 3 * v * v * u, 3 * v * u * u, u * u * u
        p, q, r = 3 * v * v * n, 6 * v * u * n, 3 * u * u * n
        return (
            Point(a * x0 + b * x1 + d * x2 + e * x3, a * y0 + b * y1 + d * y2 + e * y3),
            Vec2(
                p * (x1 - x0) + q * (x2 - x1) + r * (x3 - x2),
                p * (y1 - y0) + q * (y2 - y1) + r * (y3 - y2),
            ),
        )

    def sample_pt_tangent(self, t: float, sign: float) -> tuple[Point, Vec2]:
        # The curve has no corners, so it is all the same from which side it is looked at.
        return self.sample_pt_deriv(t)

    def break_cusp(self, start: float, end: float) -> None:
        return None


def fit_polyline(points: Sequence[Pt], *, tolerance: float = TOLERANCE) -> tuple[Curve, float]:
    """The curve through a polyline without corners, and the most that it strays from its points, in mm.

    Runs of MANY chords or more are fitted within `tolerance` mm (absolute) of the smooth curve through their vertices;
    long straight stretches and short runs stay lines. Both ends are kept exactly. Raises TraceError for fewer than two
    different points.
    """
    pts = [points[0]]
    for p in points[1:]:
        if math.dist(p, pts[-1]) > SAME:
            pts.append(p)
    if len(pts) < 2:
        raise TraceError("no_length")
    chords = [math.dist(a, b) for a, b in pairwise(pts)]
    lines = [_is_line(pts, chords, k) for k in range(len(chords))]
    out: list[CubicBez] = []
    worst = 0.0
    k = 0
    while k < len(chords):
        if lines[k]:
            out.append(straight(pts[k], pts[k + 1]))
            k += 1
            continue
        end = k
        while end < len(chords) and not lines[end]:
            end += 1
        if end - k < MANY:
            out += [straight(pts[i], pts[i + 1]) for i in range(k, end)]
        else:
            # A straight stretch beside the run says in which direction the run begins or ends.
            into = _direction(pts[k - 1], pts[k]) if k > 0 else None
            away = _direction(pts[end], pts[end + 1]) if end < len(chords) else None
            made, strays = _fit_run(pts[k : end + 1], into, away, tolerance)
            out += made
            worst = max(worst, strays)
        k = end
    return Curve(tuple(out)), worst


def _is_line(pts: Sequence[Pt], chords: Sequence[float], k: int) -> bool:
    """Whether chord `k` is long beside its neighbours, but for one that runs on in its own direction.

    A long neighbour that turns off belongs to a curve whose points lie farther apart from here on, and so does `k`.
    """
    if chords[k] < STRAIGHT_LEAST:
        return False
    near = [i for i in (k - 1, k + 1) if 0 <= i < len(chords)]
    ratio = STRAIGHT_RATIO if len(near) == 2 else STRAIGHT_END_RATIO
    long = [i for i in near if chords[k] <= ratio * chords[i]]
    if len(long) == len(near):
        return False
    x, y = _direction(pts[k], pts[k + 1])
    others = (_direction(pts[i], pts[i + 1]) for i in long)
    return all(abs(x * v - y * u) < IN_LINE for u, v in others)


def _fit_run(pts: Sequence[Pt], into: Pt | None, away: Pt | None, tolerance: float) -> tuple[list[CubicBez], float]:
    shaken = _shaking(pts)
    if shaken > SHAKES:
        # Across the line and along it, each by as much.
        through = _smoothed(pts, into, away, 2.0 * math.sqrt(2.0) * shaken)
        found = _held(pts, through, tolerance, 2.5 * shaken)
        if found is not None:
            return found
    # So many points say the same thing over and over: some of them will do, if all of them agree.
    for crowd in CROWDS:
        if len(pts) > crowd:
            some = [*pts[: -1 : math.ceil(len(pts) / crowd)], pts[-1]]
            found = _held(pts, _spline(some, into, away), tolerance, tolerance)
            if found is not None:
                return found
    pieces = _spline(pts, into, away) or _circles(pts, into, away)
    # The smooth curve itself passes every point: it is what is left where no fit holds (points too uneven).
    found = _held(pts, pieces, tolerance, tolerance)
    if found is None and len(pts) <= MOST_TRIED:
        tried = [_held(pts, pieces, part * tolerance, tolerance) for part in TIGHTER]
        smooth = _held(pts, _smoothed(pts, into, away, tolerance), tolerance, tolerance)
        # Between points that lie far apart a smoothing spline may swing out: it counts where it keeps to the other, or
        # where there is nothing else.
        if smooth is not None and (not any(tried) or _beside(smooth[0], pieces) <= 2.0 * tolerance):
            tried.append(smooth)
        found = min((f for f in tried if f is not None), key=lambda f: len(f[0]), default=None)
    return found or (_pinned(list(pieces), pts), 0.0)


def _shaking(pts: Sequence[Pt]) -> float:
    """By how much the points lie beside a smooth line on average, in mm, if they do so to and fro; else 0.

    Each is compared with the cubic through the two before and the two behind it. What a smooth line leaves there
    changes slowly; of independent errors e neighbours leave -1.56 e^2 on average where points lie evenly.
    """
    if not FEWEST_SHAKEN <= len(pts) <= MOST_TRIED:
        return 0.0
    import numpy as np

    at = np.array(pts)
    along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(at, axis=0).T))))
    n = len(pts)
    here = along[2:-2]
    around = (0, 1, 3, 4)
    places = [along[k : n - 4 + k] for k in around]
    expected = np.zeros((n - 4, 2))
    for i, k in enumerate(around):
        weight = np.ones(n - 4)
        for j in range(4):
            if j != i:
                weight *= (here - places[j]) / (places[i] - places[j])
        expected += weight[:, None] * at[k : n - 4 + k]
    off = at[2:-2] - expected
    # Only across the line: along it points may lie as they like.
    way = at[3:-1] - at[1:-3]
    size = np.maximum(np.hypot(*way.T), SAME)
    beside = (off[:, 1] * way[:, 0] - off[:, 0] * way[:, 1]) / size
    products = beside[1:] * beside[:-1]
    if np.mean(products < 0.0) < OPPOSITE:
        return 0.0
    return float(np.sqrt(max(0.0, -np.mean(products)) / 1.56))


def _pinned(made: list[CubicBez], pts: Sequence[Pt]) -> list[CubicBez]:
    """The same cubics with both ends of the run exact."""
    first = made[0]
    made = [CubicBez(Point(*pts[0]), first.p1, first.p2, first.p3), *made[1:]]
    last = made[-1]
    return [*made[:-1], CubicBez(last.p0, last.p1, last.p2, Point(*pts[-1]))]


def _held(
    pts: Sequence[Pt], pieces: Sequence[CubicBez] | None, asked: float, tolerance: float
) -> tuple[list[CubicBez], float] | None:
    """Few cubics for a smooth curve, and how far they stray from the points; None where that is too much.

    `asked` is what kurbopy's fit is asked for, twice `tolerance` what may come out of it.
    """
    fitted = _fitted(pieces, asked) if pieces else None
    # Between points that lie far apart a fit may leave the smooth curve unseen.
    least = FAR_APART * tolerance
    wide = [c for c in pieces or () if math.hypot(c.p3.x - c.p0.x, c.p3.y - c.p0.y) > least] if fitted else []
    apart = [q for c in wide for q in _inner(c)]
    for tried in _candidates(fitted, pieces, asked) if fitted and pieces else ():
        tried = _pinned(tried, pts)
        off = _strays(pts, tried)
        if (
            off > 2.0 * tolerance
            or (apart and _strays(apart, tried) > 2.0 * tolerance)
            or any(abs(turn) > BACKWARDS for turn in Curve(tuple(tried)).turns())
        ):
            continue
        # And it may swing out beside the smooth curve where nothing of that comes near.
        if _beside(tried, pieces or ()) <= 2.0 * tolerance:
            return tried, off
    return None


def _candidates(fitted: Sequence[CubicBez], pieces: Sequence[CubicBez], tolerance: float) -> Iterator[list[CubicBez]]:
    """The fit's cubics with sound handles, the soundest first."""
    yield _evened(fitted, pieces, tolerance)
    for handles in (EVEN_HANDLES, ANY_HANDLES):
        yield [_tamed(c, *handles) for c in fitted]


def _evened(fitted: Sequence[CubicBez], pieces: Sequence[CubicBez], tolerance: float) -> list[CubicBez]:
    """The fit's cubics, and for those whose handles are no sound ones others that follow the smooth curve as closely.

    kurbopy finds handles by area and moment; of a stretch that is nearly straight these say little, and a handle may
    come out with hardly any length: the curve then bends sharply there, which nobody drew.
    """
    source = _Through(pieces)
    out: list[CubicBez] = []
    for c, (start, end) in zip(fitted, pairwise(_places(fitted, source)), strict=True):
        sound = end <= start or _tamed(c, *EVEN_HANDLES) is c
        out += [c] if sound else _least_squares(source, start, end, tolerance, DEEPEST)
    return out


def _least_squares(source: _Through, start: float, end: float, tolerance: float, deeper: int) -> list[CubicBez]:
    """Cubics along the source from one parameter to another, halved until they lie within the tolerance.

    Their handles lie in the source's own directions; their lengths come by least squares, and the places that are
    compared are moved along the cubic until they face each other (P. J. Schneider, "An algorithm for automatically
    fitting digitized curves", Graphics Gems, 1990).
    """
    import numpy as np

    seen = [source.sample_pt_deriv(start + (end - start) * k / LOOKS) for k in range(LOOKS + 1)]
    at = np.array([(p.x, p.y) for p, _ in seen])
    s, e = (np.array((v.x, v.y)) / math.hypot(v.x, v.y) for v in (seen[0][1], seen[-1][1]))
    first, last, inner = at[0], at[-1], at[1:-1]
    chord = float(np.hypot(*(last - first)))
    u = np.arange(1, LOOKS) / LOOKS
    for _ in range(ROUNDS):
        b0, b1, b2, b3 = (1 - u) ** 3, 3 * (1 - u) ** 2 * u, 3 * (1 - u) * u**2, u**3
        rows = np.vstack((np.outer(b1, s).ravel(), -np.outer(b2, e).ravel())).T
        wanted = inner - np.outer(b0 + b1, first) - np.outer(b2 + b3, last)
        (a, b), *_ = np.linalg.lstsq(rows, wanted.ravel(), rcond=None)
        off = wanted - np.outer(b1, a * s) + np.outer(b2, b * e)
        p1, p2 = first + a * s, last - b * e
        slope = 3 * (
            np.outer((1 - u) ** 2, p1 - first) + np.outer(2 * (1 - u) * u, p2 - p1) + np.outer(u**2, last - p2)
        )
        u = np.clip(u + (off * slope).sum(axis=1) / np.maximum((slope**2).sum(axis=1), 1e-12), 0.0, 1.0)
    worst = float(np.hypot(*off.T).max())
    even = EVEN_HANDLES[0] * chord <= min(a, b) and max(a, b) <= EVEN_HANDLES[1] * chord
    if deeper > 0 and not (even and worst <= tolerance):
        middle = (start + end) / 2.0
        before = _least_squares(source, start, middle, tolerance, deeper - 1)
        return before + _least_squares(source, middle, end, tolerance, deeper - 1)
    if not even:
        p1, p2 = first + chord / 3.0 * s, last - chord / 3.0 * e
    return [CubicBez(*(Point(float(x), float(y)) for x, y in (first, p1, p2, last)))]


def _places(fitted: Sequence[CubicBez], source: _Through) -> list[float]:
    """The parameters of the source at which its cubics start, and the end; their ends lie on it one after the other."""
    whole, out, k = source.ends[-1], [0.0], 0
    for c in fitted[:-1]:
        best = (math.inf, 0.0, k)
        for j in range(k, len(source.pieces)):
            near = source.pieces[j].nearest(c.p3, 1e-9)
            along = source.ends[j] - source.chords[j] * (1.0 - near.get_t())
            off = near.get_distance_sq()
            best = min(best, (off, along, j))
            if off < SAME**2:
                break
        out.append(best[1] / whole)
        k = best[2]
    return [*out, 1.0]


def _smoothed(pts: Sequence[Pt], into: Pt | None, away: Pt | None, tolerance: float) -> list[CubicBez] | None:
    """A cubic spline that passes the points by half the tolerance on average: for points that tremble.

    P. Dierckx, Curve and Surface Fitting with Splines (1993), chapter 5, as in scipy; None where it does not settle.
    """
    if len(pts) < 2 * MANY:
        return None
    import warnings

    import numpy as np
    from scipy.interpolate import splev, splprep  # type: ignore[import-untyped]

    at = np.array(pts)
    along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(at, axis=0).T))))
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            knots, u = splprep(at.T, u=along, s=len(pts) * (tolerance / 2.0) ** 2)
    except (RuntimeWarning, ValueError, TypeError, SystemError):
        return None
    places, slopes = np.array(splev(u, knots)).T, np.array(splev(u, knots, 1)).T
    # The ends are what the points say, and run on from a straight stretch beside them.
    places[0], places[-1] = at[0], at[-1]
    for k, wanted in ((0, into), (-1, away)):
        if wanted is not None:
            slopes[k] = np.hypot(*slopes[k]) * np.array(wanted)
    third = (np.diff(u) / 3.0)[:, None]
    rows = np.hstack((places[:-1], places[:-1] + third * slopes[:-1], places[1:] - third * slopes[1:], places[1:]))
    return [bezier(r[0:2], r[2:4], r[4:6], r[6:8]) for r in map(tuple, rows.tolist())]


def _spline(pts: Sequence[Pt], into: Pt | None, away: Pt | None) -> list[CubicBez] | None:
    """The cubic spline through the points by chord length, or None where it swings out between uneven points.

    C. de Boor, A Practical Guide to Splines (1978), chapter IV: with the not-a-knot condition at free ends its error
    falls with the fourth power of the chords.
    """
    import numpy as np
    from scipy.interpolate import CubicSpline

    at = np.array(pts)
    chords = np.hypot(*np.diff(at, axis=0).T)
    free = "not-a-knot"
    ends = ((1, np.array(into)) if into else free, (1, np.array(away)) if away else free)
    slopes = CubicSpline(np.concatenate(([0.0], np.cumsum(chords))), at, bc_type=ends)(
        np.concatenate(([0.0], np.cumsum(chords))), 1
    )
    # A curve through many points of its own has unit speed by chord length, nearly.
    speed = np.hypot(slopes[:, 0], slopes[:, 1])
    if not (np.all(speed > 1.0 / MOST_SWING) and np.all(speed < MOST_SWING)):
        return None
    third = (chords / 3.0)[:, None]
    rows = np.hstack((at[:-1], at[:-1] + third * slopes[:-1], at[1:] - third * slopes[1:], at[1:]))
    return [bezier(r[0:2], r[2:4], r[4:6], r[6:8]) for r in map(tuple, rows.tolist())]


def _circles(pts: Sequence[Pt], into: Pt | None = None, away: Pt | None = None) -> list[CubicBez]:
    """One cubic from each point to the next, with the tangents of the circles through three neighbours."""
    n = len(pts)
    tangents: list[Pt] = []
    for k in range(1, n - 1):
        (x0, y0), (x1, y1), (x2, y2) = pts[k - 1], pts[k], pts[k + 1]
        h0, h1 = math.hypot(x1 - x0, y1 - y0), math.hypot(x2 - x1, y2 - y1)
        tx, ty = (x1 - x0) / h0 * h1 + (x2 - x1) / h1 * h0, (y1 - y0) / h0 * h1 + (y2 - y1) / h1 * h0
        norm = math.hypot(tx, ty)
        tangents.append((tx / norm, ty / norm) if norm > 1e-12 else _direction(pts[k], pts[k + 1]))
    start = into or _mirrored(pts[0], pts[1], tangents[0] if tangents else None)
    end = away or _mirrored(pts[-2], pts[-1], tangents[-1] if tangents else None)
    tangents = [start, *tangents, end]
    out: list[CubicBez] = []
    for k in range(n - 1):
        (ax, ay), (bx, by), s, t = pts[k], pts[k + 1], tangents[k], tangents[k + 1]
        h = math.hypot(bx - ax, by - ay) / 3.0
        out.append(bezier(pts[k], (ax + h * s[0], ay + h * s[1]), (bx - h * t[0], by - h * t[1]), pts[k + 1]))
    return out


def _mirrored(a: Pt, b: Pt, tangent: Pt | None) -> Pt:
    """The direction at the other end of chord a-b of the circle that has `tangent` at one end."""
    d = _direction(a, b)
    if tangent is None:
        return d
    along = 2.0 * (tangent[0] * d[0] + tangent[1] * d[1])
    x, y = along * d[0] - tangent[0], along * d[1] - tangent[1]
    norm = math.hypot(x, y)
    return (x / norm, y / norm) if norm > 1e-12 else d


def _fitted(pieces: Sequence[CubicBez], tolerance: float) -> list[CubicBez] | None:
    try:
        path: BezPath = fit_to_bezpath(_Through(pieces), tolerance)
        made = [s.to_cubic() if not isinstance(s, CubicBez) else s for s in path.segments()]
    except BaseException as e:
        # kurbopy answers a fit that it cannot make with a PanicException, which is no Exception.
        if isinstance(e, KeyboardInterrupt | SystemExit | MemoryError):
            raise
        return None
    made = [c for c in made if c.arclen(1e-6) > SAME]
    good = bool(made) and all(math.isfinite(v) for c in made for p in (c.p0, c.p1, c.p2, c.p3) for v in (p.x, p.y))
    # Rarely a fit ends in a handle that points backwards; what it was fitted to has no such turn.
    if not good or any(abs(turn) > BACKWARDS for turn in Curve(tuple(made)).turns()):
        return None
    return made


def _inner(c: CubicBez) -> list[Pt]:
    """The points of a cubic at its quarters."""
    return [(p.x, p.y) for p in map(c.eval, (0.25, 0.5, 0.75))]


def _beside(made: Sequence[CubicBez], pieces: Sequence[CubicBez]) -> float:
    """How far cubics, at their eighths, lie from the smooth curve, in mm."""
    looked_at = [(p.x, p.y) for c in made for p in (c.eval(k / 8.0) for k in range(9))]
    return _strays(looked_at, list(pieces))


def _tamed(c: CubicBez, least: float, most: float) -> CubicBez:
    """The cubic, with handles of a third of its chord where its own, along it, are not within these parts of it.

    A stretch that is nearly straight is sometimes fitted by one that goes there, back and there again, or that bends
    sharply at one end. Directions at the ends stay.
    """
    dx, dy = c.p3.x - c.p0.x, c.p3.y - c.p0.y
    square = dx * dx + dy * dy
    if square == 0.0:
        return c
    a = ((c.p1.x - c.p0.x) * dx + (c.p1.y - c.p0.y) * dy) / square
    b = ((c.p3.x - c.p2.x) * dx + (c.p3.y - c.p2.y) * dy) / square
    if least <= a <= most and least <= b <= most:
        return c
    third = math.sqrt(square) / 3.0
    p, q = _direction((c.p0.x, c.p0.y), (c.p1.x, c.p1.y)), _direction((c.p2.x, c.p2.y), (c.p3.x, c.p3.y))
    return CubicBez(
        c.p0,
        Point(c.p0.x + third * p[0], c.p0.y + third * p[1]),
        Point(c.p3.x - third * q[0], c.p3.y - third * q[1]),
        c.p3,
    )


def _strays(pts: Sequence[Pt], made: Sequence[CubicBez]) -> float:
    """The farthest of the points from the curve, in mm, to a thousandth."""
    import shapely  # type: ignore[import-untyped]

    line = Curve(tuple(made)).points(tolerance=0.001)
    tree = shapely.STRtree(shapely.linestrings(list(pairwise(line))))
    _, off = tree.query_nearest(shapely.points(pts), return_distance=True, all_matches=False)
    return float(off.max())


def _direction(a: Pt, b: Pt) -> Pt:
    d = math.dist(a, b)
    if d == 0.0:
        return (0.0, 0.0)
    return ((b[0] - a[0]) / d, (b[1] - a[1]) / d)
