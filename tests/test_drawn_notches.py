"""Notches where they are drawn: on paper, in SVG and DXF, for the cutting machine and on the page.

Each file is read from outside and each nick is held against the notches of pattern.json: it begins on the cut line,
where the ray out of its notch meets it, runs 3 mm inwards along that ray, and no other is drawn; two nicks of one notch
stand 6 mm apart (CHANGELOG.md).
"""

from __future__ import annotations

import io
import math
from typing import Any
from xml.etree import ElementTree

import ezdxf
import pytest
from shapely import LineString, Point, box

import drawn
from drawn import DRAWN, ORDERS, Move, Pt, Stroke
from web_page import Window, numbers_of

# Widths of the pens by which lines are told on paper, in mm, as the sheets' own key shows them.
CUT, NET, NOTCH, GRAIN = 0.7, 0.35, 0.5, 0.3
EVERY = pytest.mark.parametrize("name", DRAWN)


def of_width(strokes: list[Stroke], width: float, *, dashed: bool) -> list[Stroke]:
    return [s for s in strokes if abs(s.width - width) < 0.02 and s.dashed == dashed]


def shapes_on(strokes: list[Stroke], name: str) -> list[tuple[dict[str, Any], list[Pt], Move]]:
    """Every shape of the pattern with its cut line on the sheet and the move there; fails where one is not drawn."""
    cuts = [s.line for s in of_width(strokes, CUT, dashed=False) if len(s.line) > 8]
    out = []
    for piece in drawn.pieces_by_shape(drawn.pattern_of(name)):
        flip = drawn.face_up(piece["panel"])
        tries = []
        for k, line in enumerate(cuts):
            move = drawn.move_onto(piece["cut"], line, flip)
            whole = line if piece["on_fold"] is False else [*line, line[0]]
            tries.append((drawn.strays(piece["cut"], whole, move), k, move))
        # Cloth with a pad's line and cloth without are cut alike: the one with the line is the one that shows it.
        tries = [t for t in tries if t[0] < 0.15] or tries
        apart, k, move = min(tries, key=lambda t: (len(line_faults(strokes, piece, t[2])), t[0]))
        assert apart < 0.15, f"{piece['name']}: no cut line on the sheet is nearer than {apart:.2f} mm"
        out.append((piece, cuts.pop(k), move))
    assert not cuts, f"{len(cuts)} cut lines belong to no piece"
    return out


def sheet_faults(strokes: list[Stroke], name: str, *, beside: int = 0) -> list[str]:
    """What is wrong on a sheet that bears `beside` nicks beside the pieces, in the key that explains the lines."""
    faults: list[str] = []
    ticks = [(s.line[0], s.line[1]) for s in of_width(strokes, NOTCH, dashed=False) if len(s.line) == 2]
    used = 0
    for piece, cut, move in shapes_on(strokes, name):
        around = box(*LineString(cut).bounds).buffer(3.0)
        own = [t for t in ticks if around.covers(LineString(t))]
        used += len(own)
        faults += drawn.notch_faults(piece, name, [*cut, cut[0]], move, own)
        faults += line_faults(strokes, piece, move)
    if used + beside != len(ticks):
        faults.append(f"{len(ticks) - used} nicks lie outside every piece, not {beside}")
    return faults


def line_faults(strokes: list[Stroke], piece: dict[str, Any], move: Move) -> list[str]:
    """Whether grain and placement lines are drawn where the pattern has them."""
    faults = []
    a, b = (move(p) for p in piece["grain"])
    grains = [s.line for s in of_width(strokes, GRAIN, dashed=False) if len(s.line) == 2]
    if not any(math.dist(p, a) + math.dist(q, b) < 0.2 for p, q in grains):
        faults.append(f"{piece['name']}: its grain is not drawn from {a} to {b}")
    for line in piece["placement"]:
        dashed = [s.line for s in of_width(strokes, NET, dashed=True)]
        if min((drawn.strays(line, s, move, closed=False) for s in dashed), default=math.inf) > 0.15:
            faults.append(f"{piece['name']}: its placement line is not drawn")
    return faults


@EVERY
def test_on_paper(name: str, tmp_path) -> None:
    pdf = drawn.file(name, "pattern-a0.pdf")
    strokes = []
    for page in range(1, drawn.pdf_pages(pdf, tmp_path) + 1):
        # Sheets apart: far enough that no piece of one is taken for one of another.
        strokes += [
            Stroke([(x + 5000.0 * page, y) for x, y in s.line], s.width, s.dashed)
            for s in drawn.pdf_strokes(pdf, tmp_path, page=page)
        ]
    assert sheet_faults(strokes, name, beside=1) == []


@EVERY
def test_in_the_pieces_for_a_drawing_program(name: str) -> None:
    assert sheet_faults(drawn.svg_strokes(drawn.file(name, "pieces.svg")), name) == []


@EVERY
def test_for_the_cutting_machine(name: str) -> None:
    pattern = drawn.pattern_of(name)
    shapes = [text for file, text in drawn.files(name).items() if file.startswith("cutting/") and "lay-" not in file]
    found: set[str] = set()
    for text in shapes:
        root = ElementTree.fromstring(text[text.index(b"<svg") :])
        title = root.findtext(f"{drawn.SVG}title")
        piece = next(p for p in pattern["pieces"] if p["name"] == title)
        found.add(title)
        parts = {g.findtext(f"{drawn.SVG}title"): g for g in root.iter(f"{drawn.SVG}g")}
        (cut,) = drawn.svg_strokes(ElementTree.tostring(parts["cut"]))
        # A lining of one side is cut from the cloth's other side, since its right side looks at the body.
        turned = piece["side"] != "both" and piece["layer"].startswith("lining")
        flip = drawn.face_up(piece["panel"]) * (-1.0 if turned else 1.0)
        own = drawn.opened(piece["cut"]) if piece["on_fold"] else piece["cut"]
        move = drawn.move_onto(own, cut.line, flip)
        assert drawn.strays(own, cut.line, move) < 0.15, title
        nicks = drawn.svg_strokes(ElementTree.tostring(parts["nick"]))
        ticks = [(s.line[0], s.line[1]) for s in nicks]
        assert len(ticks) == len(nicks) == sum(map(drawn.ticks_of, piece["notches"])) * (2 if piece["on_fold"] else 1)
        if piece["on_fold"]:
            other = [t for t in ticks if t[0][0] < move.dx]
            ticks = [t for t in ticks if t[0][0] >= move.dx]
            mirrored = Move(-flip, move.dx, move.dy)
            assert drawn.notch_faults(piece, name, cut.line, mirrored, other) == []
        assert drawn.notch_faults(piece, name, cut.line, move, ticks) == []
    wanted = {(p["panel"], p["side"], p["layer"] in ("foam", "web")) for p in pattern["pieces"]}
    assert {
        (p["panel"], p["side"], p["layer"] in ("foam", "web")) for p in pattern["pieces"] if p["name"] in found
    } == wanted


@EVERY
def test_in_dxf(name: str) -> None:
    """Layer 1 bears the cut line and layer 4 the notches, by the layer numbers of ASTM D6673."""
    pattern = drawn.pattern_of(name)
    doc = ezdxf.read(io.StringIO(drawn.file(name, "pattern.dxf").decode()))
    blocks = {}
    for block in doc.blocks:
        for text in block.query("TEXT"):
            if text.dxf.text.startswith("Piece Name: "):
                blocks[text.dxf.text.removeprefix("Piece Name: ")] = block
    assert sorted(blocks) == sorted(p["name"] for p in pattern["pieces"])
    for piece in pattern["pieces"]:
        block = blocks[piece["name"]]
        (cut,) = (
            [(v.dxf.location.x, v.dxf.location.y) for v in e.vertices]
            for e in block.query("POLYLINE")
            if e.dxf.layer == "1"
        )
        turned = piece["side"] != "both" and piece["layer"].startswith("lining")
        flip = drawn.face_up(piece["panel"]) * (-1.0 if turned else 1.0)
        move = drawn.move_onto(piece["cut"], cut, flip)
        rim = LineString([*cut, cut[0]])
        assert drawn.strays(piece["cut"], [*cut, cut[0]], move) < 0.15, piece["name"]
        marks = [(p.dxf.location.x, p.dxf.location.y) for p in block.query("POINT") if p.dxf.layer == "4"]
        for notch in piece["notches"]:
            at, near = move(notch["at"]), []
            for start, _ in drawn.nicks_of(piece, name, notch):
                there = move(start)
                mark = min(marks, key=lambda m, there=there: math.dist(m, there))
                assert math.dist(mark, there) < drawn.NICK_OFF, (piece["name"], notch)
                assert rim.distance(Point(mark)) < 0.05, (piece["name"], notch)
                marks.remove(mark)
                near.append(mark)
            count = len(near)
            assert count == drawn.ticks_of(notch)
            if count == 2:
                assert math.dist(*near) == pytest.approx(drawn.NICK_TO_NICK, abs=0.1), (piece["name"], notch)
            middle = (sum(x for x, _ in near) / count, sum(y for _, y in near) / count)
            room = drawn.room_of(piece, name, notch["edge"])
            assert math.dist(middle, at) == pytest.approx(room, abs=0.4), (piece["name"], notch)
        assert marks == [], piece["name"]


@EVERY
def test_on_the_page(name: str, window: Window) -> None:
    headers = {**window.headers, "Content-Type": "application/toml"}
    answer = window.client.post("/api/orders/import", content=ORDERS[name].encode(), headers=headers)
    window.order = answer.json()["order"]["id"]
    sheet = window.sheet()
    pattern = window.get(f"/api/orders/{window.order}/file/pattern.json").json()
    for shown in sheet["drawing"]["panels"]:
        panel = next(p for p in pattern["panels"] if p["side"] == shown["side"] and shown["name"].endswith(p["name"]))
        # Paper coordinates have y down.
        (outline,) = drawn.flattened(shown["net"])
        line = [(x, -y) for x, y in outline]
        move = drawn.move_onto(panel["outline"], line, drawn.face_up(panel["name"]))
        assert drawn.strays(panel["outline"], line, move) < 0.1
        for layer in shown["layers"]:
            piece = next(p for p in pattern["pieces"] if p["name"] == layer["piece"])
            assert len(layer["notches"]) == len(piece["notches"])
            (cut,) = drawn.flattened(layer["cut"])
            rim = [(x, -y) for x, y in cut]
            for nick, notch in zip(layer["notches"], piece["notches"], strict=True):
                ends = [(x, -y) for x, y in numbers_of(nick["d"])]
                ticks = list(zip(ends[::2], ends[1::2], strict=True))
                assert drawn.nick_faults(piece, name, notch, [*rim, rim[0]], move, ticks) == []
