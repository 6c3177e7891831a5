"""What is drawn and what it is held against: the files of an order, read from outside, and its pattern.json.

All that is measured here is measured with shapely and plain arithmetic on the files, in mm, y up. Of the code only the
whole job is called.
"""

from __future__ import annotations

import json
import math
import re
import shutil
import subprocess
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from shapely import LineString, Point, Polygon, get_coordinates
from shapely.affinity import scale

from coutil.make import Document, Work, documents, lay_out, work_out
from coutil.order import parse_order

Pt = tuple[float, float]
DEMO = (Path(__file__).parent.parent / "examples" / "sea-green.toml").read_text(encoding="utf-8")
# Sides that differ, an end that runs on, an allowance of its own on every edge, and every thickness stated.
UNEVEN = """name = "uneven"
unit = "mm"
[body]
bust = 1040
underbust = 820
waist = 745
bust_span = 205
bust_to_underbust = 92
bust_to_waist = 200
[body.left]
bust_to_underbust = 98
bust_to_waist = 206
front_bust = 291
[style]
neckline = "plunge"
plunge = 40
peak = 12
closing = "hooks"
[build.allowances]
centre_front = 11
front_princess = 12
side = 18
back_princess = 14
centre_back = 25
top = 9
hem = 20
[build.pad]
thickness = 8
on = ["shell", "lining"]
[build.lining]
fused = true
[[cloth]]
name = "duchess satin"
for = ["shell"]
thickness = 0.5
[[cloth]]
name = "woven interfacing"
for = ["interfacing"]
thickness = 0.3
[[cloth]]
name = "web"
for = ["web"]
thickness = 0.1
[[cloth]]
name = "batiste"
for = ["lining"]
thickness = 0.2
[[cloth]]
name = "thin interfacing"
for = ["lining_interfacing"]
thickness = 0.25
"""
ORDERS = {"demo": DEMO, "uneven": UNEVEN, "unfused": UNEVEN.replace("fused = true", "fused = false")}
# Those whose drawings are measured.
DRAWN = ("demo", "uneven")
# A seam allowance where the order says nothing: 1/2 in (common practice, no source; docs/order-file.md).
USUAL_ALLOWANCE = 12.7
SVG = "{http://www.w3.org/2000/svg}"
POINT_MM = 25.4 / 72.0
# Two nicks at the waist tell the back princess seams; all other notches are one (as the lesson says).
DOUBLE = ("back_princess", "waist")
Matrix = tuple[float, float, float, float, float, float]


@cache
def _work(name: str) -> Work:
    return lay_out(work_out(parse_order(ORDERS[name])), seconds=1.0)


@cache
def _coming(name: str) -> tuple[Iterator[Document], dict[str, bytes]]:
    return documents(_work(name), papers=("a0",)), {}


def file(name: str, called: str) -> bytes:
    """One file of one of ORDERS, printed on A0; files come in their order, and no more are made than are asked for."""
    coming, made = _coming(name)
    while called not in made:
        d = next(coming)
        made[d.name] = d.data
    return made[called]


def files(name: str) -> dict[str, bytes]:
    """All files of one of ORDERS, by name."""
    file(name, "findings.txt")
    return _coming(name)[1]


@cache
def pattern_of(name: str) -> dict[str, Any]:
    read: dict[str, Any] = json.loads(file(name, "pattern.json"))
    return read


def docket_of(name: str) -> dict[str, Any]:
    read: dict[str, Any] = json.loads(file(name, "docket.json"))
    return read


def allowances(name: str, role: str) -> float:
    """What an order's text says of the allowance of a role, in mm."""
    build = tomllib.loads(ORDERS[name]).get("build", {})
    said = build.get("allowances", {}).get(role, build.get("allowance", USUAL_ALLOWANCE))
    if isinstance(said, str):
        figure, unit = said.rsplit(" ", 1)
        assert unit == "in"
        return 25.4 * sum(float(a) / float(b or 1) for a, _, b in (part.partition("/") for part in figure.split()))
    return float(said)


def points(line: Sequence[Sequence[float]]) -> list[Pt]:
    return [(x, y) for x, y in line]


def face_up(panel: str) -> float:
    """The sign of x with which a panel shows the right side of its cloth: backs are held as seen from the inside."""
    return -1.0 if panel.endswith("back") else 1.0


def ticks_of(notch: dict[str, Any]) -> int:
    return 2 if (notch["edge"], notch["name"]) == DOUBLE else 1


def panel_of(pattern: dict[str, Any], piece: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = next(
        p for p in pattern["panels"] if p["name"] == piece["panel"] and p["side"] == piece["side"]
    )
    return found


def pieces_by_shape(pattern: dict[str, Any]) -> list[dict[str, Any]]:
    """One piece of every shape with its marks, in the order of the pattern."""
    out: dict[str, dict[str, Any]] = {}
    for p in pattern["pieces"]:
        out.setdefault(json.dumps([p["panel"], p["side"], p["cut"], p["placement"]]), p)
    return list(out.values())


@dataclass(frozen=True)
class Move:
    """From a panel's own coordinates to where it is drawn: x turned over or not, then moved; y up stays up."""

    flip: float
    dx: float
    dy: float

    def __call__(self, p: Sequence[float]) -> Pt:
        return (self.flip * p[0] + self.dx, p[1] + self.dy)

    def along(self, v: Sequence[float]) -> Pt:
        return (self.flip * v[0], v[1])


def move_onto(own: Sequence[Sequence[float]], drawn: Sequence[Pt], flip: float) -> Move:
    """The move that lays the box of the own outline on that of the drawn one."""
    xs, ys = [flip * p[0] for p in own], [p[1] for p in own]
    return Move(flip, min(x for x, _ in drawn) - min(xs), min(y for _, y in drawn) - min(ys))


def strays(line: Sequence[Sequence[float]], drawn: Sequence[Pt], move: Move, *, closed: bool = True) -> float:
    """How far two outlines lie apart anywhere, in mm, after the move."""
    own = [move(p) for p in line]
    a, b = LineString([*own, own[0]] if closed else own), LineString(drawn)
    apart = max(abs(u - v) for u, v in zip(a.bounds, b.bounds, strict=True))
    # Boxes that lie apart are answer enough, and quicker.
    return apart if apart > 1.0 else float(a.hausdorff_distance(b))


# --- paths


def flattened(d: str, matrix: Matrix = (1, 0, 0, 1, 0, 0), *, steps: int = 24) -> list[list[Pt]]:
    """The runs of a path's data (M, L, H, V, C and Z, absolute) as polylines after the matrix."""
    runs: list[list[Pt]] = []
    for verb, numbers in re.findall(r"([MLHVCZz])([^A-Za-z]*)", d):
        n = [float(v) for v in re.findall(r"-?[0-9.]+(?:e-?[0-9]+)?", numbers)]
        if verb == "M":
            runs.append([(n[0], n[1])])
            verb, n = "L", n[2:]
        run = runs[-1]
        if verb == "L":
            run += zip(n[::2], n[1::2], strict=True)
        elif verb == "H":
            run += [(x, run[-1][1]) for x in n]
        elif verb == "V":
            run += [(run[-1][0], y) for y in n]
        elif verb == "C":
            for k in range(0, len(n), 6):
                run += _cubic([run[-1], *zip(n[k : k + 6 : 2], n[k + 1 : k + 6 : 2], strict=True)], steps)
        elif run[-1] != run[0]:
            run.append(run[0])
    a, b, c, e, x0, y0 = matrix
    return [[(a * x + c * y + x0, b * x + e * y + y0) for x, y in run] for run in runs]


def _cubic(c: Sequence[Pt], steps: int) -> Iterator[Pt]:
    for k in range(1, steps + 1):
        t = k / steps
        w = ((1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t * t, t**3)
        yield (
            sum(v * p[0] for v, p in zip(w, c, strict=True)),
            sum(v * p[1] for v, p in zip(w, c, strict=True)),
        )


@dataclass(frozen=True)
class Stroke:
    """A line on a sheet: its points in mm, y up, the pen's width in mm, and whether it is dashed."""

    line: list[Pt]
    width: float
    dashed: bool


def svg_strokes(text: str | bytes, *, unit: float = 1.0) -> list[Stroke]:
    """Every stroked path of an SVG as this project or poppler writes it; `unit` is that of the view box, in mm."""
    out = []
    for path in ElementTree.fromstring(text).iter(f"{SVG}path"):
        said = dict(s.split(":", 1) for s in path.get("style", "").replace(" ", "").split(";") if ":" in s)
        pen = path.get("stroke-width") or said.get("stroke-width")
        if pen is None or not path.get("d") or said.get("stroke") == "none" or path.get("stroke") == "none":
            continue
        numbers = re.findall(r"-?[0-9.]+(?:e-?[0-9]+)?", path.get("transform", "1 0 0 1 0 0"))
        a, b, c, e, x, y = map(float, numbers)
        size = math.sqrt(abs(a * e - b * c))
        dashes = path.get("stroke-dasharray") or said.get("stroke-dasharray")
        for run in flattened(path.get("d", ""), (a, b, c, e, x, y)):
            line = [(px * unit, -py * unit) for px, py in run]
            if len(line) > 1:
                out.append(Stroke(line, float(pen) * size * unit, bool(dashes) and dashes != "none"))
    return out


def pdf_strokes(pdf: bytes, folder: Path, *, page: int = 1) -> list[Stroke]:
    """Every stroked path of a PDF's page, as poppler draws it."""
    tool = shutil.which("pdftocairo")
    if tool is None:
        pytest.fail("pdftocairo is missing, so what is printed cannot be measured: install poppler-utils")
    (folder / "in.pdf").write_bytes(pdf)
    command = [tool, "-svg", "-f", str(page), "-l", str(page), "in.pdf", "page.svg"]
    subprocess.run(command, cwd=folder, check=True)
    return svg_strokes((folder / "page.svg").read_bytes(), unit=POINT_MM)


def pdf_pages(pdf: bytes, folder: Path) -> int:
    """How many pages poppler counts."""
    (folder / "in.pdf").write_bytes(pdf)
    said = subprocess.run(["pdfinfo", "in.pdf"], cwd=folder, check=True, capture_output=True, text=True).stdout
    return int(said.split("Pages:")[1].split()[0])


# --- a piece and its notches

# A nick runs this deep from the cut line inwards, and two nicks of one notch stand this far apart, in mm; in an
# allowance narrower than that it ends on the net line, which neither order here has (CHANGELOG.md, "Nicks are of one
# size everywhere"; the sizes are common practice, no source).
NICK_DEEP = 3.0
NICK_TO_NICK = 6.0
# How far a drawn nick may lie off in mm: the square to an edge is taken from its polyline, which makes up to 0.03 mm
# across the allowance, 0.09 where it is bent most at the bust point of a full cup, and files round to 0.01 mm.
NICK_OFF = 0.11
# The direction of an edge at a notch is told from the corners of its polyline, which lie on the true edge to 1e-4 mm:
# on either side from the first two that are this far away or more, in mm, along the edge.
APART = 1.0


def nicks_of(piece: dict[str, Any], name: str, notch: dict[str, Any]) -> list[tuple[Pt, Pt]]:
    """Where the nicks of a notch belong, in the panel's coordinates: begin on the cut line and end inside."""
    x, y = notch["at"]
    ox, oy = outward_at(piece, name, notch)
    rim = LineString([*piece["cut"], piece["cut"][0]])
    count = ticks_of(notch)
    out = []
    for k in range(count):
        aside = (k - (count - 1) / 2.0) * NICK_TO_NICK
        p = (x - oy * aside, y + ox * aside)
        # A little behind as well, where the edge curves away under a nick beside the mark.
        ray = LineString([(p[0] - 0.5 * ox, p[1] - 0.5 * oy), (p[0] + 60.0 * ox, p[1] + 60.0 * oy)])
        room = min(ray.project(Point(q)) for q in get_coordinates(rim.intersection(ray)).tolist()) - 0.5
        assert room > NICK_DEEP, f"{piece['name']}: a nick is not {NICK_DEEP} mm deep in {room:.2f} mm"
        start = (p[0] + room * ox, p[1] + room * oy)
        out.append((start, (start[0] - NICK_DEEP * ox, start[1] - NICK_DEEP * oy)))
    return out


def outward_at(piece: dict[str, Any], name: str, notch: dict[str, Any]) -> Pt:
    """The unit vector square to the notch's edge, out of the piece; the edge is its panel's."""
    panel = panel_of(pattern_of(name), piece)
    edge = points(next(e["points"] for e in panel["edges"] if e["name"] == notch["edge"]))
    at, whole = (notch["at"][0], notch["at"][1]), LineString(edge)
    s = whole.project(Point(at))
    along = [(whole.project(Point(p)) - s, p) for p in edge]
    before = [p for d, p in reversed(along) if d < -APART][:2]
    behind = [p for d, p in along if d > APART][:2]
    if not (before and behind):
        pytest.fail(f"{piece['name']}: {notch} lies at the end of its edge")
    (ux, uy), (vx, vy) = _leaving(at, before), _leaving(at, behind)
    tx, ty = vx - ux, vy - uy
    ox, oy = ty / math.hypot(tx, ty), -tx / math.hypot(tx, ty)
    inside = Polygon(panel["outline"]).contains(Point(at[0] + ox, at[1] + oy))
    return (-ox, -oy) if inside else (ox, oy)


def _leaving(at: Pt, others: Sequence[Pt]) -> Pt:
    """The unit vector in which the circle through a point and two others leaves the point; the line through one.

    The angle between a chord and the tangent is that over the chord (Euclid, Elements III.32).
    """
    turn = [math.atan2(y - at[1], x - at[0]) for x, y in others]
    if len(others) == 2:
        (ax, ay), (bx, by) = others
        turn.append(-math.atan2(by - ay, bx - ax))
    return (math.cos(sum(turn)), math.sin(sum(turn)))


def notch_faults(
    piece: dict[str, Any], name: str, cut: Sequence[Pt], move: Move, ticks: Sequence[tuple[Pt, Pt]]
) -> list[str]:
    """What is wrong with the nicks of a piece: each belongs to one notch of the pattern, and each notch has its own.

    Nicks begin on the cut line. `cut` is the drawn cut line, closed or open at a fold.
    """
    faults: list[str] = []
    left = list(ticks)
    for notch in piece["notches"]:
        own: list[tuple[Pt, Pt]] = []
        for a, b in nicks_of(piece, name, notch)[: len(left)]:
            start, tip = move(a), move(b)
            off = [math.dist(t[0], start) + math.dist(t[1], tip) for t in left]
            own.append(left.pop(off.index(min(off))))
        faults += nick_faults(piece, name, notch, cut, move, own)
    if left:
        faults.append(f"{piece['name']}: {len(left)} nicks that belong to no notch")
    return faults


def nick_faults(
    piece: dict[str, Any],
    name: str,
    notch: dict[str, Any],
    cut: Sequence[Pt],
    move: Move,
    ticks: Sequence[tuple[Pt, Pt]],
) -> list[str]:
    """What is wrong with the nicks drawn for one notch, in the order of nicks_of."""
    faults: list[str] = []
    called = f"{piece['name']}, {notch['name']} on {notch['edge']}"
    wanted = [(move(a), move(b)) for a, b in nicks_of(piece, name, notch)]
    if len(ticks) != len(wanted):
        return [f"{called}: {len(ticks)} nicks of {len(wanted)}"]
    rim = LineString(cut)
    for (a, b), (start, tip) in zip(ticks, wanted, strict=True):
        if rim.distance(Point(a)) > 0.1:
            faults.append(f"{called}: a nick begins {rim.distance(Point(a)):.2f} mm off the cut line")
        if math.dist(a, start) > NICK_OFF:
            faults.append(f"{called}: a nick begins {math.dist(a, start):.2f} mm off its place")
        if math.dist(b, tip) > NICK_OFF:
            faults.append(f"{called}: a nick ends {math.dist(b, tip):.2f} mm off its place")
        if abs(math.dist(a, b) - NICK_DEEP) > 0.03:
            faults.append(f"{called}: a nick of {math.dist(a, b):.2f} mm")
    if len(ticks) == 2:
        # Across the ray: on a curved cut line one begins farther out than the other.
        ox, oy = move.along(outward_at(piece, name, notch))
        (ax, ay), (bx, by) = (t[0] for t in ticks)
        apart = abs((bx - ax) * oy - (by - ay) * ox)
        if abs(apart - NICK_TO_NICK) > 0.05:
            faults.append(f"{called}: two nicks {apart:.2f} mm apart")
    return faults


def room_of(piece: dict[str, Any], name: str, edge: str) -> float:
    """The allowance that a notch lies in; of pads what the seam catches: 1/8 in in both orders."""
    return 3.175 if piece["layer"] in ("foam", "web") else allowances(name, edge)


def opened(line: Sequence[Sequence[float]]) -> list[Pt]:
    """An outline with its fold on x = 0 as the whole piece that it stands for."""
    half = Polygon(points(line)).buffer(1e-4, join_style="mitre")
    whole = half.union(scale(half, -1.0, 1.0, origin=(0.0, 0.0)))
    assert isinstance(whole, Polygon)
    return [(x, y) for x, y in whole.exterior.coords]
