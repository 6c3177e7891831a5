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
from shapely import LineString, Point, Polygon
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


def notch_faults(
    piece: dict[str, Any], name: str, cut: Sequence[Pt], move: Move, ticks: Sequence[tuple[Pt, Pt]], *, outwards: bool
) -> list[str]:
    """What is wrong with the nicks of a piece: each belongs to one notch of the pattern, and each notch has its own.

    `ticks` start where they are fixed: with `outwards` on the net line and end on the cut line; else they start on the
    cut line and run inwards, no farther than the net line. `cut` is the drawn cut line, closed or open at a fold.
    """
    faults: list[str] = []
    rim = LineString(cut)
    inside = Polygon(cut)
    net = Polygon([move(p) for p in piece["net"]])
    left = list(ticks)
    for notch in piece["notches"]:
        at, called = move(notch["at"]), f"{piece['name']}, {notch['name']} on {notch['edge']}"
        room = room_of(piece, name, notch["edge"])
        count = ticks_of(notch)
        near = sorted(left, key=lambda t: LineString(t).distance(Point(at)) + math.dist(_foot(t, at), at))[:count]
        for t in near:
            left.remove(t)
        if len(near) < count:
            faults.append(f"{called}: {len(near)} nicks of {count}")
            continue
        feet = [_foot(t, at) for t in near]
        middle = (sum(x for x, _ in feet) / count, sum(y for _, y in feet) / count)
        if math.dist(middle, at) > 0.25:
            faults.append(f"{called}: its nicks lie {math.dist(middle, at):.2f} mm off")
        if count == 2 and not 3.0 <= math.dist(*feet) <= 6.5:
            faults.append(f"{called}: two nicks {math.dist(*feet):.2f} mm apart")
        for a, b in near:
            on_net, on_cut = (a, b) if outwards else (b, a)
            if rim.distance(Point(on_cut)) > 0.1:
                faults.append(f"{called}: a nick ends {rim.distance(Point(on_cut)):.2f} mm off the cut line")
            if not inside.buffer(0.1).covers(LineString([a, b])):
                faults.append(f"{called}: a nick leaves the piece")
            if outwards and net.exterior.distance(Point(on_net)) > 0.15:
                faults.append(f"{called}: a nick starts {net.exterior.distance(Point(on_net)):.2f} mm off the net line")
            if math.dist(a, b) > room + 0.6:
                faults.append(f"{called}: a nick of {math.dist(a, b):.1f} mm in an allowance of {room:.1f} mm")
            if math.dist(a, b) < 1.5:
                faults.append(f"{called}: a nick of {math.dist(a, b):.1f} mm cannot be seen")
    if left:
        faults.append(f"{piece['name']}: {len(left)} nicks that belong to no notch")
    return faults


def room_of(piece: dict[str, Any], name: str, edge: str) -> float:
    """The allowance that a notch lies in; of pads what the seam catches: 1/8 in in both orders."""
    return 3.175 if piece["layer"] in ("foam", "web") else allowances(name, edge)


def _foot(tick: tuple[Pt, Pt], p: Pt) -> Pt:
    """The foot of the perpendicular from a point on the whole straight line of a tick."""
    (ax, ay), (bx, by) = tick
    dx, dy = bx - ax, by - ay
    t = ((p[0] - ax) * dx + (p[1] - ay) * dy) / (dx * dx + dy * dy)
    return (ax + t * dx, ay + t * dy)


def opened(line: Sequence[Sequence[float]]) -> list[Pt]:
    """An outline with its fold on x = 0 as the whole piece that it stands for."""
    half = Polygon(points(line)).buffer(1e-4, join_style="mitre")
    whole = half.union(scale(half, -1.0, 1.0, origin=(0.0, 0.0)))
    assert isinstance(whole, Polygon)
    return [(x, y) for x, y in whole.exterior.coords]
