"""Rendered photographs of paper patterns with the marker board round them. Rendered, not real: no camera took them.

What is put in: a pinhole camera with Brown's lens distortion and a principal point off the middle, pose up to 35
degrees from above, 12 megapixels; procedural tables of wood and cloth; papers of several colours with pencil lines and
words on them; cut nicks; sheets of the board at any place and angle; uneven light, shadows with soft rims, a dark line
under the paper's rim, vignetting; blur, noise, the sRGB curve and JPEG; if asked for, shadows with sharp rims, a
picture sharpened as telephones do, sheets close to the paper, words across its rim, squared, dotted and tracing paper.
What is left out: paper and sheets that do not lie flat, noise reduction, shutters that roll, hands and scissors in the
picture, glare.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import cv2
import numpy as np
from numpy.typing import NDArray
from shapely.affinity import rotate, translate
from shapely.geometry import Polygon, box

from coutil.plane import Curve, Pt, closed_points, cubic, line
from coutil.trace.board import PAPERS, BoardSheet

F32 = NDArray[np.float32]
F64 = NDArray[np.float64]

# A 12-megapixel picture.
WIDE, HIGH = 4000, 3000

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
    # How much of what a blur of 1.5 pixels takes away is added to the finished picture, as telephones do.
    sharpen: float = 0.0
    # Words in thick pencil across each piece's rim.
    words: int = 0
    # Printed all over the paper: "squares" of 1 cm with a stronger line every 5 cm, or "dots" every 2.5 cm.
    printed: str = ""
    # Share of the table that shows through the paper, as through tracing paper.
    through: float = 0.0


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
        from scene_picture import render

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


def lay_sheets(
    rng: np.random.Generator, around: Polygon, many: int, gap: float = 18.0
) -> tuple[tuple[BoardSheet, Pt, float], ...]:
    """Sheets laid by hand round the pattern: each with its place (of its lower left corner) and its turn in radians.

    They lie `gap` mm from the pattern at the least.
    """
    paper = "a4" if rng.random() < 0.7 else "letter"
    w, h = PAPERS[paper]
    x0, y0, x1, y1 = around.bounds
    sides = [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)]
    taken = [around.buffer(gap)]
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
    gap: float = 18.0,
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
    placed = lay_sheets(rng, hull.convex_hull, int(rng.choice([4, 4, 5, 6])) if sheets is None else sheets, gap)
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


def with_sharp_shadows(seed: int) -> Scene:
    """Two shadows, each with a rim 1 to 4 mm wide: a hand or a box just above the table, in the light of a lamp."""
    s = scene(seed)
    rng = np.random.default_rng(9000 + seed)
    shadows = tuple(
        (
            *(float(v) for v in rng.uniform(-350, 350, 2)),
            *(float(v) for v in rng.uniform(150, 500, 2)),
            float(rng.uniform(0, math.pi)),
            float(rng.uniform(0.45, 0.8)),
            float(rng.uniform(1, 4)),
        )
        for _ in range(2)
    )
    return replace(s, look=replace(s.look, shadows=shadows))


def sharpened(seed: int) -> Scene:
    s = scene(seed)
    return replace(s, look=replace(s.look, sharpen=1.0))


def sheets_close_by(seed: int) -> Scene:
    return scene(seed, gap=7.0)


def with_words(seed: int) -> Scene:
    """Three words across the rim of each piece, cut through by it."""
    s = scene(seed)
    return replace(s, look=replace(s.look, words=3))


def on_squared_paper(seed: int) -> Scene:
    s = scene(seed)
    return replace(s, look=replace(s.look, printed="squares"))


def on_dotted_paper(seed: int) -> Scene:
    s = scene(seed)
    return replace(s, look=replace(s.look, printed="dots"))


def on_tracing_paper(seed: int) -> Scene:
    """White paper through which a third of the table's colour shows."""
    s = scene(seed)
    return replace(s, look=replace(s.look, paper="white", through=0.35))


def _turned(c: Curve, turn: float) -> Curve:
    ca, sa = math.cos(turn), math.sin(turn)
    r = lambda p: (ca * p.x - sa * p.y, sa * p.x + ca * p.y)  # noqa: E731
    out = None
    for s in c.segments:
        one = cubic(r(s.p0), r(s.p1), r(s.p2), r(s.p3))
        out = one if out is None else out.then(one)
    assert out is not None
    return out
