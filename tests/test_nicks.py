"""Nicks measured from outside on paper (SVG, PDF), page, DXF and cutting files: one depth, one spacing, one place."""

from __future__ import annotations

import io
import math
import random
import re
import zlib
from dataclasses import replace
from itertools import combinations, pairwise
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pytest

from bodice import LINED_PADDED, made
from coutil.make import Work
from coutil.pattern.nicks import NICK, NICKS_APART, nicks
from coutil.plane import cubic, rays_to
from coutil.sheets import pattern_pdf, pieces_svg
from coutil.sheets.cutting import cutting_svgs
from coutil.sheets.dxf import pattern_dxf
from coutil.sheets.pdf import POINTS
from coutil.web.drawing import drawing

Ends = list[tuple[tuple[float, float], tuple[float, float]]]
SVG = "{http://www.w3.org/2000/svg}"
NUMBER = r"(-?[\d.]+)"
STROKE = re.compile(rf"M{NUMBER} {NUMBER}L{NUMBER} {NUMBER}")
PDF_STROKE = re.compile(rf"^{NUMBER} {NUMBER} m {NUMBER} {NUMBER} l S$", re.MULTILINE)
# What each medium's own rounding may do to a length, in mm: the page has two decimals at both ends.
ROUNDED = 0.02


def alone(name: str):
    """The pattern with nothing but one piece."""
    order, pattern = made(LINED_PADDED)
    return order, replace(pattern, pieces=tuple(p for p in pattern.pieces if p.name == name))


def strokes(found: re.Pattern[str], text: str) -> Ends:
    return [((float(a), float(b)), (float(c), float(d))) for a, b, c, d in found.findall(text)]


def on_paper(pattern) -> Ends:
    root = ElementTree.fromstring(pieces_svg(pattern, "x"))
    return [e for p in root.iter(f"{SVG}path") if p.get("class") == "notch" for e in strokes(STROKE, p.get("d"))]


def in_print(pattern) -> Ends:
    """From the content of a roll, where one matrix scales mm to points; notches alone have this pen, the key first."""
    data = pattern_pdf(pattern, "roll", roll_width=1500.0).data
    pages = []
    for m in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", data, re.DOTALL):
        try:
            pages.append(zlib.decompressobj().decompress(m).decode("latin1"))
        except zlib.error:
            continue
    drawn = [p for p in pages if f"{POINTS:.8f} 0 0 {POINTS:.8f}" in p][-1]
    return [e for part in drawn.split("0.5 w [] 0 d\n")[2:] for e in strokes(PDF_STROKE, part.partition("\n")[0])]


def on_the_page(order, pattern) -> Ends:
    seen = drawing(Work(order, None, pattern), "cm")
    return [e for p in seen["panels"] for n in p["layers"] for m in n["notches"] for e in strokes(STROKE, m["d"])]


def cut_by_machine(pattern) -> Ends:
    ((_, text),) = cutting_svgs(pattern.pieces)
    groups = {g.findtext(f"{SVG}title"): g for g in ElementTree.fromstring(text).iter(f"{SVG}g")}
    return [e for p in groups["nick"].iter(f"{SVG}path") for e in strokes(STROKE, p.get("d"))]


def in_dxf(pattern) -> list[tuple[float, float]]:
    doc = ezdxf.read(io.StringIO(pattern_dxf(pattern).decode()))
    return [(e.dxf.location.x, e.dxf.location.y) for b in doc.blocks for e in b.query("POINT") if e.dxf.layer == "4"]


def apart(points) -> list[float]:
    """All distances between points, which no turning, mirroring or moving changes."""
    return sorted(math.dist(a, b) for a, b in combinations(points, 2))


# The back has double notches, the foam has no allowance; neither lies on the fold, which a machine cuts opened out.
@pytest.mark.parametrize("name", ["side back, shell", "centre back, lining", "side front, shell", "side front, foam"])
def test_one_size_and_one_place_in_every_medium(name: str) -> None:
    order, pattern = alone(name)
    (piece,) = pattern.pieces
    count = sum(n.count for n in piece.notches)
    assert count >= 2
    media = {
        "paper": on_paper(pattern),
        "print": in_print(pattern),
        "page": on_the_page(order, pattern),
        "machine": cut_by_machine(pattern),
    }
    expected = apart(in_dxf(pattern))
    for medium, ends in media.items():
        assert [math.dist(*e) for e in ends] == pytest.approx([NICK] * count, abs=ROUNDED), medium
        assert apart(a for a, _ in ends) == pytest.approx(expected, abs=2 * ROUNDED), medium
    if name.startswith(("side back", "centre back")):
        assert [d for d in expected if d < 10.0] == pytest.approx(
            [NICKS_APART] * (count - len(piece.notches)), abs=0.05
        )


def test_nicks_go_from_the_cut_line_inwards_and_stay_off_the_net_line() -> None:
    _, pattern = made(LINED_PADDED)
    for piece in pattern.pieces:
        for notch, cut in zip(piece.notches, nicks(piece), strict=True):
            for (ax, ay), (bx, by) in cut:
                ox, oy = notch.outward
                assert ((ax - bx) * ox + (ay - by) * oy) == pytest.approx(NICK)
                near = min(c.nearest((ax, ay))[1] for c in piece.cut)
                assert near < 0.02, (piece.name, notch.name)
                if piece.layer not in ("foam", "web"):
                    assert min(e.curve.nearest((bx, by))[1] for e in piece.net) > 1.0


@pytest.mark.parametrize("allowance", ["1/8 in", "2 mm"])
def test_a_narrow_allowance_is_nicked_no_deeper_than_its_net_line(allowance: str) -> None:
    width = {"1/8 in": 3.175, "2 mm": 2.0}[allowance]
    _, pattern = made(f'[build]\nallowance = "{allowance}"\n')
    deep = [math.dist(*e) for p in pattern.pieces if p.layer == "shell" for n in nicks(p) for e in n]
    assert max(deep) <= NICK + 1e-9
    assert min(deep) == pytest.approx(min(width, NICK), abs=0.05)


@pytest.mark.parametrize("tolerance", [1.0, 0.1, 0.01, 0.001])
def test_a_ray_meets_a_circle_where_it_is(tolerance: float) -> None:
    from coutil.plane import arc_through

    circle = [arc_through((3.0, 4.0), 50.0, 0.3, 2.0 * math.pi)]
    for k in range(37):
        way = (math.cos(k / 5.0), math.sin(k / 5.0))
        on = (3.0 + 50.4 * way[0], 4.0 + 50.4 * way[1])
        far, beside, beyond = rays_to(
            [((3.0, 4.0), way), ((90.0, 4.0), (1.0, 0.0)), (on, way)], circle, tolerance=tolerance
        )
        # The circle itself is drawn to 5e-6 of its radius; a chord lies inside it by the tolerance at the most.
        assert 50.0 - tolerance - 3e-4 <= far <= 50.0 + 3e-4
        assert (beside, beyond) == (None, None)
        assert rays_to([(on, way)], circle, tolerance=tolerance, behind=0.5 + tolerance) == [0.0]


def test_rays_meet_the_first_of_several_bent_lines() -> None:
    """Held against every chord of their polylines, by Cramer's rule."""
    rng = random.Random(5)
    for _ in range(30):
        corners = [(rng.uniform(-90.0, 90.0), rng.uniform(-90.0, 90.0)) for _ in range(19)]
        curves = [cubic(*corners[k : k + 4]) for k in range(0, 18, 3)]
        rays = []
        for _ in range(8):
            turn = rng.uniform(0.0, 2.0 * math.pi)
            rays.append(((rng.uniform(-99.0, 99.0), rng.uniform(-99.0, 99.0)), (math.cos(turn), math.sin(turn))))
        for behind in (0.0, 5.0):
            met = rays_to(rays, curves, tolerance=0.05, behind=behind)
            for ((x, y), (dx, dy)), far in zip(rays, met, strict=True):
                found = []
                for chain in (c.points(tolerance=0.05) for c in curves):
                    for (ax, ay), (bx, by) in pairwise(chain):
                        matrix = np.array([[dx, ax - bx], [dy, ay - by]])
                        if abs(np.linalg.det(matrix)) > 1e-12:
                            along, where = np.linalg.solve(matrix, [ax - x, ay - y])
                            if 0.0 <= where <= 1.0 and along >= -behind:
                                found.append(max(along, 0.0))
                assert far == (pytest.approx(min(found), abs=1e-6) if found else None)
