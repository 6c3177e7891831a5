"""Rendered photographs of paper patterns with the marker board round them. Rendered, not real: no camera took them.

What is put in: a pinhole camera with Brown's lens distortion and a principal point off the middle, pose up to 35
degrees from above, 12 megapixels; procedural tables of wood and cloth; papers of several colours with pencil lines and
words on them; cut nicks; sheets of the board at any place and angle; uneven light, shadows with soft rims, a dark line
under the paper's rim, vignetting; blur, noise, the sRGB curve and JPEG. What is left out: paper and sheets that do not
lie flat, sharpening and noise reduction as telephones do them, shutters that roll, hands and scissors in the picture,
glare, shadows with sharp rims, words written over the paper's rim.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray
from shapely.affinity import rotate, translate
from shapely.geometry import LineString, Polygon, box

from coutil.plane import Curve, Pt, closed_points, cubic, line
from coutil.trace.board import CELLS, DOWN, MARKER, PAPERS, SQUARE, BoardSheet, marker_cells, white_squares

F32 = NDArray[np.float32]
F64 = NDArray[np.float64]

# A 12-megapixel picture.
WIDE, HIGH = 4000, 3000
# Pixels per mm of the papers' and sheets' own pictures, finer than any photograph sees them.
FINE = 5.0
# Pixels per mm and pixels of a tile of the tables' textures.
GRAIN, TILE = 2.0, 1024
# Every how many pixels the lens is worked out exactly; between, linearly. Off by 0.002 pixels at most (found by trial).
STEP = 8

# Albedos, linear, red, green, blue; invented.
TABLES = {
    "oak": (0.40, 0.25, 0.13),
    "walnut": (0.15, 0.085, 0.05),
    "pine": (0.52, 0.37, 0.21),
    "linen": (0.36, 0.32, 0.25),
    "navy": (0.03, 0.045, 0.12),
    "grey": (0.22, 0.22, 0.23),
    "check": (0.10, 0.22, 0.14),
}
PAPER_COLOURS = {
    "white": (0.84, 0.84, 0.82),
    "cream": (0.80, 0.74, 0.60),
    "blue": (0.55, 0.68, 0.80),
    "kraft": (0.45, 0.31, 0.19),
}
# Brown paper lies on dark or cold tables only: on oak nobody would see it either.
PAIRS = [(t, p) for t in TABLES for p in PAPER_COLOURS if p != "kraft" or t in ("walnut", "navy")]


@dataclass(frozen=True)
class Camera:
    matrix: F64
    lens: F64
    rotation: F64
    shift: F64
    wide: int
    high: int

    def project(self, points: F64) -> F64:
        """Table mm (x right, y up, z 0) to pixels, by OpenCV's own model."""
        p = np.column_stack([points, np.zeros(len(points))])
        seen, _ = cv2.projectPoints(p, self.rotation, self.shift, self.matrix, self.lens)
        return np.asarray(seen, float).reshape(-1, 2)

    def to_table(self, pixels: F64) -> F64:
        stop = (cv2.TERM_CRITERIA_COUNT | cv2.TERM_CRITERIA_EPS, 40, 1e-10)
        rays = cv2.undistortPoints(pixels.reshape(-1, 1, 2), self.matrix, self.lens, criteria=stop)
        rot, _ = cv2.Rodrigues(self.rotation)
        plane = np.column_stack([rot[:, 0], rot[:, 1], self.shift.ravel()])
        out = np.column_stack([rays.reshape(-1, 2), np.ones(len(pixels))]) @ np.linalg.inv(plane).T
        return out[:, :2] / out[:, 2:]


@dataclass(frozen=True)
class Nick:
    at: Pt
    depth: float
    width: float


@dataclass(frozen=True)
class Shape:
    """The truth about one piece: edges between corners, anticlockwise; nicks are cut into it besides."""

    edges: tuple[Curve, ...]
    nicks: tuple[Nick, ...] = ()

    def outline(self) -> list[Pt]:
        return closed_points(self.edges, tolerance=0.01)

    def cut(self) -> Polygon:
        """The paper with its nicks cut out."""
        poly = Polygon(self.outline())
        for n in self.nicks:
            poly = poly.difference(_nick_shape(self.edges, n))
        return poly


@dataclass(frozen=True)
class Look:
    """What the picture is like, apart from geometry."""

    table: str = "oak"
    paper: str = "white"
    exposure: float = 0.95
    slope: tuple[float, float] = (0.0, 0.0)
    tint: tuple[float, float, float] = (1.0, 1.0, 1.0)
    # Centre, radii, angle, darkness left, softness in mm.
    shadows: tuple[tuple[float, float, float, float, float, float, float], ...] = ()
    rim: tuple[float, float, float] = (0.0, 0.0, 0.0)
    vignette: float = 0.2
    blur: float = 0.8
    noise: float = 3.0
    quality: int = 90
    pencil: bool = True


@dataclass(frozen=True)
class Scene:
    seed: int
    tilt: float
    camera: Camera
    shapes: tuple[Shape, ...]
    sheets: tuple[tuple[BoardSheet, Pt, float], ...]
    look: Look
    print_scale: tuple[float, float] = (1.0, 1.0)
    marks: dict[str, float] = field(default_factory=dict)

    def jpeg(self) -> bytes:
        ok, data = cv2.imencode(".jpg", self.picture(), [cv2.IMWRITE_JPEG_QUALITY, self.look.quality])
        assert ok
        return bytes(data)

    def picture(self) -> NDArray[np.uint8]:
        return render(self)


# ---------------------------------------------------------------- patterns


def big_panel(rng: np.random.Generator) -> tuple[Curve, ...]:
    """A panel of 600 by 450 mm about the origin, five corners, hollow and round curves, a little at random."""
    j = lambda s=6.0: float(rng.uniform(-s, s))  # noqa: E731
    a, b = (-300.0, -225.0), (300.0, -205.0 + j())
    c, d, e = (255.0 + j(), 170.0 + j()), (20.0 + j(), 225.0), (-290.0 + j(4), 150.0 + j())
    return (
        cubic(a, (-100.0, -195.0 + j()), (120.0, -225.0), b),
        cubic(b, (265.0 + j(), -80.0), (225.0 + j(), 40.0), c),
        cubic(c, (190.0, 165.0 + j()), (90.0 + j(), 130.0 + j()), d),
        cubic(d, (-60.0, 190.0 + j()), (-180.0, 160.0 + j()), e),
        line(e, a),
    )


def tall_panel(rng: np.random.Generator, width: float, height: float, x: float, y: float) -> tuple[Curve, ...]:
    """A bodice panel with its lower left corner at (x, y): straight centre, shaped seam, hollow top, curved hem."""
    j = lambda s: float(rng.uniform(-s, s)) * width / 200  # noqa: E731
    a, b = (x, y), (x + 0.92 * width + j(6), y + 0.05 * height)
    waist, c = (x + 0.78 * width + j(6), y + 0.45 * height), (x + width, y + 0.86 * height + j(10))
    d = (x + j(3), y + height)
    run = 0.16 * height
    seam = cubic(b, (b[0] - 0.04 * width, b[1] + run), (waist[0], waist[1] - run), waist).then(
        cubic(waist, (waist[0], waist[1] + run), (c[0] - 0.10 * width, c[1] - run), c)
    )
    hem = cubic(a, (x + 0.3 * width, y - 0.03 * height), (x + 0.7 * width, y + 0.01 * height), b)
    top = cubic(c, (x + 0.75 * width, y + 0.82 * height), (x + 0.35 * width, y + 0.86 * height), d)
    return hem, seam, top, line(d, a)


def shapes_for(rng: np.random.Generator, pieces: int) -> tuple[tuple[Curve, ...], ...]:
    if pieces == 1:
        return (big_panel(rng),)
    if pieces == 2:
        return (
            tall_panel(rng, 270.0, 440.0, -300.0, -222.0),
            tall_panel(rng, 260.0, 400.0, 30.0, -200.0),
        )
    return (
        tall_panel(rng, 170.0, 430.0, -300.0, -215.0),
        tall_panel(rng, 160.0, 380.0, -95.0, -190.0),
        tall_panel(rng, 165.0, 420.0, 120.0, -215.0),
    )


def nicks_for(rng: np.random.Generator, edges: tuple[Curve, ...], many: int) -> tuple[Nick, ...]:
    out: list[Nick] = []
    for _ in range(many):
        c = edges[int(rng.integers(len(edges)))]
        at = c.point(float(rng.uniform(0.2, 0.8)) * c.length)
        if all(math.dist(at, n.at) > 40.0 for n in out):
            out.append(Nick(at, float(rng.uniform(3.0, 6.0)), float(rng.uniform(2.0, 4.0))))
    return tuple(out)


def _nick_shape(edges: tuple[Curve, ...], n: Nick) -> Polygon:
    """A V, its mouth reaching a little over the edge."""
    c = min(edges, key=lambda e: e.nearest(n.at)[1])
    tx, ty = c.tangent(c.nearest(n.at)[0])
    nx, ny = -ty, tx
    (x, y), w = n.at, n.width / 2
    over, wide = 0.5, w * (1.0 + 0.5 / n.depth)
    return Polygon(
        [
            (x + wide * tx - over * nx, y + wide * ty - over * ny),
            (x + n.depth * nx, y + n.depth * ny),
            (x - wide * tx - over * nx, y - wide * ty - over * ny),
        ]
    )


# ---------------------------------------------------------------- the set-up


def lay_sheets(rng: np.random.Generator, around: Polygon, many: int) -> tuple[tuple[BoardSheet, Pt, float], ...]:
    """Sheets laid by hand round the pattern: each with its place (of its lower left corner) and its turn in radians."""
    paper = "a4" if rng.random() < 0.7 else "letter"
    w, h = PAPERS[paper]
    x0, y0, x1, y1 = around.bounds
    sides = [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)]
    taken = [around.buffer(18.0)]
    out = []
    number = 0
    while len(out) < many:
        k = len(out) % 4
        dx, dy = sides[k]
        turn = (
            float(rng.choice([0.0, math.pi])) + math.radians(float(rng.uniform(-12, 12))) + (math.pi / 2 if dy else 0.0)
        )
        along = float(rng.uniform(-0.3, 0.3)) if many <= 4 else float(rng.uniform(-0.5, 0.5))
        for away in map(float, np.arange(0.0, 400.0, 4.0)):
            cx = dx * (max(x1, -x0) + w / 2 + away) + (along * (x1 - x0) if dy else 0.0)
            cy = dy * (max(y1, -y0) + w / 2 + away) + (along * (y1 - y0) if dx else 0.0)
            poly = translate(rotate(box(-w / 2, -h / 2, w / 2, h / 2), turn, (0, 0), use_radians=True), cx, cy)
            if not any(poly.intersects(t) for t in taken):
                break
        taken.append(poly.buffer(8.0))
        number += 1
        c, s = math.cos(turn), math.sin(turn)
        out.append((BoardSheet(paper, number), (cx + c * -w / 2 - s * -h / 2, cy + s * -w / 2 + c * -h / 2), turn))
    return tuple(out)


def on_table(points: F64, place: Pt, turn: float) -> F64:
    c, s = math.cos(turn), math.sin(turn)
    return points @ np.array([[c, s], [-s, c]]) + np.array(place)


def camera_for(rng: np.random.Generator, tilt: float, must_see: F64, lens: F64, *, upright: bool = False) -> Camera:
    """A camera that sees all of `must_see` with a little room, looking down at `tilt` degrees from the vertical."""
    wide, high = (HIGH, WIDE) if upright else (WIDE, HIGH)
    f = float(rng.uniform(0.72, 0.85)) * WIDE
    matrix = np.array(
        [
            [f, 0.0, wide / 2 + float(rng.uniform(-0.008, 0.008)) * WIDE],
            [0.0, f, high / 2 + float(rng.uniform(-0.008, 0.008)) * WIDE],
            [0.0, 0.0, 1.0],
        ]
    )
    towards, roll = float(rng.uniform(0, 2 * math.pi)), math.radians(float(rng.uniform(-12, 12)))
    t = math.radians(tilt)
    # Where the camera stands, seen from what it looks at.
    stand = np.array([math.sin(t) * math.cos(towards), math.sin(t) * math.sin(towards), math.cos(t)])
    down = -stand
    right = np.array([1.0, 0.0, 0.0]) - down[0] * down
    right /= np.linalg.norm(right)
    below = np.cross(down, right)
    c, s = math.cos(roll), math.sin(roll)
    rot = np.array([c * right + s * below, -s * right + c * below, down])
    rvec, _ = cv2.Rodrigues(rot)
    middle = (must_see.min(axis=0) + must_see.max(axis=0)) / 2
    for far in map(float, np.arange(700.0, 3000.0, 15.0)):
        target = np.array([*middle, 0.0])
        for _ in range(4):
            cam = Camera(matrix, lens, rvec, (-rot @ (target + far * stand)).reshape(3, 1), wide, high)
            seen = cam.project(must_see)
            off = (seen.min(axis=0) + seen.max(axis=0)) / 2 - np.array([wide / 2, high / 2])
            target[:2] += (rot[:2, :2].T @ off) * far / f
        if (seen > 50).all() and (seen < [wide - 50, high - 50]).all():
            return cam
    raise AssertionError("no place for the camera")


def scene(
    seed: int,
    *,
    tilt: float | None = None,
    pieces: int | None = None,
    nicks: int | None = None,
    sheets: int | None = None,
    look: Look | None = None,
    turned: bool = True,
) -> Scene:
    """The scene of a seed. What is not given is drawn at random from the seed."""
    rng = np.random.default_rng(seed)
    tilt = float(rng.uniform(0.0, 35.0)) if tilt is None else tilt
    pieces = int(rng.choice([1, 1, 2, 3])) if pieces is None else pieces
    outlines = shapes_for(rng, pieces)
    if turned:
        turn = float(rng.uniform(-0.3, 0.3))
        outlines = tuple(tuple(_turned(c, turn) for c in edges) for edges in outlines)
    per = int(rng.integers(0, 5)) if nicks is None else nicks
    shapes = tuple(Shape(edges, nicks_for(rng, edges, per)) for edges in outlines)
    hull = Polygon()
    for s in shapes:
        hull = hull.union(Polygon(s.outline()))
    placed = lay_sheets(rng, hull.convex_hull, int(rng.choice([4, 4, 5, 6])) if sheets is None else sheets)
    must = [np.array(hull.convex_hull.exterior.coords)]
    must += [on_table(np.array(b.outline()), at, t) for b, at, t in placed]
    k1 = float(rng.uniform(-0.12, 0.07))
    lens = np.array(
        [k1, -0.3 * k1 + float(rng.uniform(-0.02, 0.02)), *rng.uniform(-4e-4, 4e-4, 2), rng.uniform(-0.01, 0.01)]
    )
    cam = camera_for(rng, tilt, np.vstack(must), lens)
    return Scene(seed, tilt, cam, shapes, placed, look or random_look(rng))


def random_look(rng: np.random.Generator) -> Look:
    table, paper = PAIRS[int(rng.integers(len(PAIRS)))]
    shadows = tuple(
        (
            *(float(v) for v in rng.uniform(-450, 450, 2)),
            *(float(v) for v in rng.uniform(150, 600, 2)),
            float(rng.uniform(0, math.pi)),
            float(rng.uniform(0.45, 0.8)),
            float(rng.uniform(8.0, 40.0)),
        )
        for _ in range(int(rng.integers(0, 3)))
    )
    rim = (*(float(v) for v in rng.uniform(-0.6, 0.6, 2)), 0.5) if rng.random() < 0.35 else (0.0, 0.0, 0.0)
    return Look(
        table,
        paper,
        exposure=float(rng.uniform(0.75, 1.0)),
        slope=(float(rng.uniform(-0.3, 0.3)), float(rng.uniform(-0.3, 0.3))),
        tint=(1.0, float(rng.uniform(0.93, 1.0)), float(rng.uniform(0.72, 1.0))),
        shadows=shadows,
        rim=rim,
        vignette=float(rng.uniform(0.1, 0.35)),
        blur=float(rng.uniform(0.6, 1.6)),
        noise=float(rng.uniform(1.5, 5.0)),
        quality=int(rng.integers(75, 96)),
    )


def _turned(c: Curve, turn: float) -> Curve:
    ca, sa = math.cos(turn), math.sin(turn)
    r = lambda p: (ca * p.x - sa * p.y, sa * p.x + ca * p.y)  # noqa: E731
    out = None
    for s in c.segments:
        one = cubic(r(s.p0), r(s.p1), r(s.p2), r(s.p3))
        out = one if out is None else out.then(one)
    assert out is not None
    return out


# ---------------------------------------------------------------- the picture


def render(s: Scene) -> NDArray[np.uint8]:
    cam = s.camera
    u, v = _last_map(cam)
    picture = cv2.remap(
        _texture(s.look.table),
        (u * np.float32(GRAIN)) % TILE,
        (v * np.float32(GRAIN)) % TILE,
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_WRAP,
    )
    for shape in s.shapes:
        _lay_paper(picture, s, shape, u, v)
    for sheet, at, turn in s.sheets:
        _lay_sheet(picture, s, sheet, at, turn)
    _light(picture, s, cam)
    picture = cv2.GaussianBlur(picture, (0, 0), s.look.blur)
    rng = np.random.default_rng(s.seed + 1)
    return _noisy(_encode(picture), s.look.noise, rng)


def _upsampled(cam: Camera) -> tuple[F32, F32]:
    nx, ny = cam.wide // STEP + 4, cam.high // STEP + 4
    # Pixels whose linear upsampling by cv2.resize falls on the pixels of the picture, two spare ones on each side.
    xs = (np.arange(nx) - 2) * STEP + (STEP - 1) / 2
    ys = (np.arange(ny) - 2) * STEP + (STEP - 1) / 2
    grid = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2).astype(float)
    at = cam.to_table(grid).astype(np.float32).reshape(ny, nx, 2)
    cut = slice(2 * STEP, 2 * STEP + cam.high), slice(2 * STEP, 2 * STEP + cam.wide)
    big = cv2.resize(at, (nx * STEP, ny * STEP), interpolation=cv2.INTER_LINEAR)[cut]
    return np.ascontiguousarray(big[..., 0]), np.ascontiguousarray(big[..., 1])


@cache
def _texture(name: str) -> F32:
    """A tile of table, linear blue, green, red, that repeats without a seam."""
    rng = np.random.default_rng(sum(map(ord, name)))
    red, green, blue = TABLES[name]
    base = np.array([blue, green, red], np.float32)
    yy, xx = np.mgrid[0:TILE, 0:TILE].astype(np.float32)
    if name in ("oak", "walnut", "pine"):
        plank = TILE // 4
        shade = rng.uniform(-0.12, 0.12, 4)[(yy // plank).astype(int)]
        grain = _noise(rng, 60.0, 1.2) * 0.13 + _noise(rng, 160.0, 7.0) * 0.12 + _noise(rng, 12.0, 0.6) * 0.07
        pores = np.where(_noise(rng, 14.0, 0.6) > 2.1, -0.3, 0.0)
        joint = np.where(yy % plank < 2, -0.5, 0.0)
        value = np.exp(shade + grain + pores + joint)
        colour = np.stack([value**1.25, value**1.08, value], axis=-1)
        return (base * colour).astype(np.float32)
    weave = (
        0.06 * (np.sin(2 * np.pi * xx / 4) + np.sin(2 * np.pi * yy / 4))
        + 0.07 * _noise(rng, 10.0, 0.7)
        + 0.07 * _noise(rng, 0.7, 10.0)
    )
    folds = 0.06 * _noise(rng, 60.0, 60.0)
    value = np.exp(weave + folds)[..., None]
    if name == "check":
        bands = ((xx // 32) % 2 + (yy // 32) % 2)[..., None] / 2
        return (value * (base * (1 - bands) + np.array([0.32, 0.42, 0.35]) * bands)).astype(np.float32)
    return (base * value).astype(np.float32)


def _noise(rng: np.random.Generator, across: float, down: float) -> F64:
    """Smooth periodic noise of unit spread, with these correlation lengths in pixels."""
    f = np.fft.rfft2(rng.standard_normal((TILE, TILE)))
    fy, fx = np.fft.fftfreq(TILE)[:, None], np.fft.rfftfreq(TILE)[None, :]
    f *= np.exp(-2 * np.pi**2 * ((fx * across) ** 2 + (fy * down) ** 2))
    out = np.fft.irfft2(f, (TILE, TILE))
    return out / out.std()


def mask_of(poly: Polygon, x0: float, y0: float, wide: int, high: int) -> NDArray[np.uint8]:
    """How much of each fine pixel the paper covers, 0 to 255, rows from y0 upwards: drawn at 4 times the size.

    cv2.fillPoly draws the rim as well, half a pixel too much all round; the paper is drawn that much smaller.
    """
    over = 3
    scale = FINE * over
    out = np.zeros((high * over, wide * over), np.uint8)
    inner = poly.buffer(-0.5 / scale, join_style="mitre")
    parts = [inner] if inner.geom_type == "Polygon" else list(inner.geoms)
    for p in parts:
        pts = (np.array(p.exterior.coords) - [x0, y0]) * scale - 0.5
        cv2.fillPoly(out, [np.round(pts * 16).astype(np.int32)], 255, cv2.LINE_8, 4)
    return cv2.resize(out, (wide, high), interpolation=cv2.INTER_AREA)


def _region(cam: Camera, pts: F64) -> tuple[slice, slice]:
    seen = cam.project(pts)
    x0, y0 = np.floor(seen.min(axis=0)).astype(int) - 6
    x1, y1 = np.ceil(seen.max(axis=0)).astype(int) + 6
    return slice(max(y0, 0), min(y1, cam.high)), slice(max(x0, 0), min(x1, cam.wide))


def _lay_paper(picture: F32, s: Scene, shape: Shape, u: F32, v: F32) -> None:
    poly = shape.cut()
    bx0, by0, bx1, by1 = poly.bounds
    x0, y0 = bx0 - 4.0, by0 - 4.0
    wide, high = math.ceil((bx1 - x0 + 4.0) * FINE), math.ceil((by1 - y0 + 4.0) * FINE)
    alpha = mask_of(poly, x0, y0, wide, high)
    ink = np.full((high, wide), 255, np.uint8)
    if s.look.pencil:
        _pencil(ink, shape, x0, y0)
    cut = _region(s.camera, np.array(box(x0, y0, bx1 + 4, by1 + 4).exterior.coords))
    mu, mv = (
        (u[cut] - np.float32(x0)) * np.float32(FINE) - np.float32(0.5),
        (v[cut] - np.float32(y0)) * np.float32(FINE) - np.float32(0.5),
    )
    part = picture[cut]
    dx, dy, dark = s.look.rim
    if dark:
        under = cv2.remap(
            cv2.GaussianBlur(alpha, (0, 0), 0.5 * FINE),
            mu - np.float32(dx * FINE),
            mv - np.float32(dy * FINE),
            cv2.INTER_LINEAR,
        )
        part *= (1.0 - dark / 255.0 * under.astype(np.float32))[..., None]
    a = cv2.remap(alpha, mu, mv, cv2.INTER_LINEAR).astype(np.float32)[..., None] / 255.0
    red, green, blue = PAPER_COLOURS[s.look.paper]
    tone = cv2.remap(ink, mu, mv, cv2.INTER_LINEAR, borderValue=255).astype(np.float32)[..., None] / 255.0
    part += a * (tone * np.array([blue, green, red], np.float32) - part)


def _pencil(ink: NDArray[np.uint8], shape: Shape, x0: float, y0: float) -> None:
    """A seam line 12 mm inside, a level right across to the rims, a grain line, some writing."""
    poly = Polygon(shape.outline())
    to = lambda p: np.round((np.array(p) - [x0, y0]) * FINE * 16).astype(np.int32)  # noqa: E731
    inner = poly.buffer(-12.0)
    if inner.geom_type == "Polygon" and not inner.is_empty:
        cv2.polylines(ink, [to(inner.exterior.coords)], True, 110, round(0.5 * FINE), cv2.LINE_AA, 4)
    bx0, by0, bx1, by1 = poly.bounds
    y = by0 + 0.45 * (by1 - by0)
    cv2.polylines(ink, [to([(bx0 - 5, y), (bx1 + 5, y + 8)])], False, 130, round(0.5 * FINE), cv2.LINE_AA, 4)
    x = (bx0 + bx1) / 2
    cv2.polylines(
        ink,
        [to([(x, by0 + 0.2 * (by1 - by0)), (x, by0 + 0.8 * (by1 - by0))])],
        False,
        60,
        round(0.7 * FINE),
        cv2.LINE_AA,
        4,
    )
    # Words well inside, in letters that fit there: eight take 160 pixels at size 1.
    low = by0 + 0.3 * (by1 - by0)
    across = LineString([(bx0, low), (bx1, low)]).intersection(poly.buffer(-16.0))
    left, _, right, _ = across.bounds
    size = min(2.5, (right - left) * FINE / 160)
    # Rows count from the lower edge, so that words are written into the picture turned upside down.
    spot = (int((left - x0) * FINE), ink.shape[0] - int((low - y0) * FINE))
    words = np.ascontiguousarray(ink[::-1])
    cv2.putText(words, "FRONT x2", spot, cv2.FONT_HERSHEY_SIMPLEX, size, 50, round(2.4 * size), cv2.LINE_AA)
    ink[:] = words[::-1]


@cache
def sheet_picture(sheet: BoardSheet) -> NDArray[np.uint8]:
    """The printed sheet at FINE pixels to the mm, first row at the lower edge."""
    w, h = sheet.size
    over = 2
    scale = FINE * over
    out = np.full((round(h * scale), round(w * scale)), 255, np.uint8)

    def fill(x: float, y: float, wide: float, high: float, shade: int) -> None:
        a, b = round(x * scale), round((x + wide) * scale)
        c, d = round(y * scale), round((y + high) * scale)
        out[c:d, a:b] = shade

    left, bottom, _, top = sheet.chequer
    for r in range(DOWN):
        for c in range(7):
            if (r + c) % 2 == 0:
                fill(left + c * SQUARE, top - (r + 1) * SQUARE, SQUARE, SQUARE, 0)
    cell, rim = MARKER / CELLS, (SQUARE - MARKER) / 2
    for k, (r, c) in enumerate(white_squares()):
        x, y = left + c * SQUARE + rim, top - r * SQUARE - rim
        for i, row in enumerate(marker_cells(sheet.first_marker + k)):
            for j, white in enumerate(row):
                fill(x + j * cell, y - (i + 1) * cell, cell, cell, 255 if white else 0)
    fill(left, bottom - 54.0, 50.0, 0.2, 0)
    fill(left + 56.0, bottom - 9.0, 80.0, 3.0, 120)
    fill(left + 56.0, bottom - 20.0, 110.0, 2.0, 160)
    return cv2.resize(out, (round(w * FINE), round(h * FINE)), interpolation=cv2.INTER_AREA)


def _lay_sheet(picture: F32, s: Scene, sheet: BoardSheet, at: Pt, turn: float) -> None:
    rim = 3.0
    w, h = sheet.size
    cut = _region(s.camera, on_table(np.array(box(-rim, -rim, w + rim, h + rim).exterior.coords), at, turn))
    u, v = _table_of(s.camera, cut)
    c, d = math.cos(turn), math.sin(turn)
    lu, lv = c * (u - at[0]) + d * (v - at[1]), -d * (u - at[0]) + c * (v - at[1])
    sx, sy = s.print_scale
    printed = cv2.remap(
        sheet_picture(sheet),
        lu / np.float32(sx) * np.float32(FINE) - np.float32(0.5),
        lv / np.float32(sy) * np.float32(FINE) - np.float32(0.5),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_CONSTANT,
        borderValue=255,
    )
    inside = np.clip((np.minimum(np.minimum(lu, w - lu), np.minimum(lv, h - lv)) * FINE + 0.5), 0.0, 1.0).astype(
        np.float32
    )[..., None]
    # Toner is not black and paper is not white.
    tone = (0.035 + 0.80 / 255.0 * printed.astype(np.float32))[..., None]
    part = picture[cut]
    part += inside * (tone - part)


def _table_of(cam: Camera, cut: tuple[slice, slice]) -> tuple[F32, F32]:
    u, v = _last_map(cam)
    return u[cut], v[cut]


# The map of the camera that is being rendered, so that it is made once. The camera itself is kept, not its id, which
# another one may be given when it is gone.
_maps: list[tuple[Camera, tuple[F32, F32]]] = []


def _last_map(cam: Camera) -> tuple[F32, F32]:
    if not _maps or _maps[0][0] is not cam:
        _maps[:] = [(cam, _upsampled(cam))]
    return _maps[0][1]


def _light(picture: F32, s: Scene, cam: Camera) -> None:
    """Sloping light, tint, vignetting and soft shadows, worked out on a coarse grid."""
    step = 20
    nx, ny = cam.wide // step, cam.high // step
    grid = np.stack(
        np.meshgrid((np.arange(nx) + 0.5) * step - 0.5, (np.arange(ny) + 0.5) * step - 0.5), axis=-1
    ).reshape(-1, 2)
    at = cam.to_table(grid)
    light = np.exp(at @ np.array(s.look.slope) / 500.0)
    for cx, cy, rx, ry, turn, left, soft in s.look.shadows:
        c, d = math.cos(turn), math.sin(turn)
        x, y = c * (at[:, 0] - cx) + d * (at[:, 1] - cy), -d * (at[:, 0] - cx) + c * (at[:, 1] - cy)
        # Distance to the rim of the ellipse, to first order.
        r = np.hypot(x / rx, y / ry)
        away = (r - 1.0) * r / np.maximum(np.hypot(x / rx**2, y / ry**2), 1e-9)
        light *= left + (1.0 - left) / (1.0 + np.exp(-np.clip(away / (soft / 2.0), -50, 50)))
    r2 = ((grid - [cam.wide / 2, cam.high / 2]) ** 2).sum(axis=1) / (cam.wide / 2) ** 2
    light *= s.look.exposure * (1.0 - s.look.vignette * r2 * 0.6)
    red, green, blue = s.look.tint
    field_ = (light[:, None] * np.array([blue, green, red])).astype(np.float32).reshape(ny, nx, 3)
    picture *= cv2.resize(field_, (cam.wide, cam.high), interpolation=cv2.INTER_LINEAR)


@cache
def _srgb() -> NDArray[np.uint8]:
    """From linear light, 0 to 65535, to sRGB's 8 bits (IEC 61966-2-1)."""
    x = np.arange(65536) / 65535.0
    y = np.where(x <= 0.0031308, 12.92 * x, 1.055 * np.maximum(x, 1e-9) ** (1 / 2.4) - 0.055)
    return np.round(255 * y).astype(np.uint8)


def _encode(picture: F32) -> NDArray[np.uint8]:
    return _srgb()[np.clip(picture * 65535.0, 0, 65535).astype(np.uint16)]


def _noisy(picture: NDArray[np.uint8], spread: float, rng: np.random.Generator) -> NDArray[np.uint8]:
    tile = _noise_tile()
    dy, dx = int(rng.integers(512)), int(rng.integers(512))
    tall, wide = picture.shape[:2]
    noise = tile[dy : dy + tall, dx : dx + wide]
    # Noise tile has spread 20.
    half = cv2.addWeighted(picture, 1.0, noise, spread / 20.0, -128.0 * spread / 20.0)
    return np.asarray(half, np.uint8)


@cache
def _noise_tile() -> NDArray[np.uint8]:
    rng = np.random.default_rng(7)
    small = rng.normal(0.0, 1.0, (1280, 1280, 3)).astype(np.float32)
    small = 0.7 * small + 0.3 * cv2.GaussianBlur(small, (0, 0), 0.8) * 2.5
    small = np.clip(128 + 20 * small / small.std(), 0, 255).astype(np.uint8)
    return np.tile(small, (4, 4, 1))
