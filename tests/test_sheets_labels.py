"""No label over a line: held on drawings of synthetic and of drafted bodies, by shapely, which labels do not use."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import islice

import pytest
from shapely import LineString, Polygon
from shapely.strtree import STRtree

import bodies
import synthetic
from coutil.draft import DraftError, draft
from coutil.layers import LayerError, layer_up
from coutil.order import Build
from coutil.pattern import Pattern
from coutil.sheets.drawing import PENS, Drawing
from coutil.sheets.figures import Naming, panel_drawings, piece_drawings
from coutil.sheets.labels import SMALLEST
from sheets_fixture import with_pieces

LONG = Naming(
    "a name for an order that is rather longer than most", "Bartholomew Featherstonehaugh-Cholmondeley, 2nd fitting"
)


def drafted(count: int) -> list[Pattern]:
    """Patterns with all their pieces from random plausible bodies, even and uneven."""
    out: list[Pattern] = []
    for body, style in bodies.plausible(7):
        try:
            out.append(layer_up(draft(body, style, "paper").pattern, Build()))
        except (DraftError, LayerError):
            continue
        if len(out) == count:
            break
    assert len(out) == count
    return out


def faults(d: Drawing) -> list[str]:
    """What is written over a line, over a filled shape or over another label in one drawing."""
    lines = [
        LineString(n.path.points(tolerance=0.02)).buffer(PENS[n.style].width / 2)
        for n in d.lines
        if n.style != "leader"
    ]
    lines += [Polygon(s.path.points(tolerance=0.02)) for s in d.shapes]
    tree = STRtree(lines)
    boxes = [Polygon(t.corners()) for t in d.texts]
    out = [
        f"{d.name}: {t.says!r} lies over a line"
        for t, b in zip(d.texts, boxes, strict=True)
        if len(tree.query(b, "intersects"))
    ]
    for k, (t, b) in enumerate(zip(d.texts, boxes, strict=True)):
        out += [
            f"{d.name}: {t.says!r} lies over {u.says!r}"
            for u, c in islice(zip(d.texts, boxes, strict=True), k)
            # Lines of one block stand apart by less than a descender and a capital; nothing else may touch.
            if b.intersection(c).area > 1e-6
        ]
    return out


def everything(p: Pattern, naming: Naming) -> list[Drawing]:
    return [*panel_drawings(p), *piece_drawings(p, naming)]


@pytest.mark.parametrize("naming", [Naming("paper", "M. T."), LONG, Naming()], ids=["short", "long", "none"])
@pytest.mark.parametrize("pattern", [with_pieces(), with_pieces(synthetic.uneven())], ids=["even", "uneven"])
def test_no_label_lies_over_a_line(pattern: Pattern, naming: Naming) -> None:
    assert [f for d in everything(pattern, naming) for f in faults(d)] == []


def test_no_label_lies_over_a_line_on_drafted_bodies() -> None:
    found = []
    for k, p in enumerate(drafted(16)):
        found += [f for d in everything(p, LONG if k % 2 else Naming("paper", "M. T.")) for f in faults(d)]
    assert found == []


def test_faults_are_seen() -> None:
    # The judge itself: a label moved onto its neighbour or onto the cut line must be told.
    d = piece_drawings(with_pieces(), Naming("paper", "M. T."))[0]
    assert faults(d) == []
    cut = next(n for n in d.lines if n.style == "cut")
    over = replace(d, texts=(replace(d.texts[0], at=cut.path.start), *d.texts[1:]))
    assert any("over a line" in f for f in faults(over))
    twice = replace(d, texts=(*d.texts, d.texts[0]))
    assert any("lies over '" in f for f in faults(twice))


def test_no_type_is_smaller_than_stated() -> None:
    # 6 point = 6/72 in = 2.117 mm, the least that the sheets use (common practice, no source).
    for p in (with_pieces(), *drafted(4)):
        for d in everything(p, LONG):
            assert min(t.size for t in d.texts) >= SMALLEST - 1e-9
    assert pytest.approx(6 / 72 * 25.4, abs=0.005) == SMALLEST


def test_every_piece_bears_its_name_and_quantity() -> None:
    for pattern in (with_pieces(), with_pieces(synthetic.uneven()), *drafted(4)):
        said = {}
        for d in piece_drawings(pattern, Naming("sea-green", "M. T.")):
            # Broken lines are read as one.
            said[d.name] = re.sub(r"\s+", " ", " ".join(t.says for t in d.texts))
        for piece in pattern.pieces:
            words = next(v for k, v in said.items() if piece.name in k.split(" / "))
            assert piece.panel in words
            layer = {"web": "adhesive web", "lining_interfacing": "lining interfacing"}.get(piece.layer, piece.layer)
            assert layer in words
            assert f"cut {piece.quantity}" in words
            assert ("on the fold" in words) == piece.on_fold
            if piece.mirrored_pair:
                assert "turned over" in words
            if piece.side != "both":
                assert f"{piece.side}: cut" in words
            assert "sea-green" in words
            assert "M. T." in words


def test_marks_are_all_drawn() -> None:
    pattern = with_pieces()
    for d in piece_drawings(pattern, Naming()):
        piece = next(p for p in pattern.pieces if p.name in d.name.split(" / "))
        assert sum(n.style == "notch" for n in d.lines) == sum(n.count for n in piece.notches)
        assert sum(n.style == "placement" for n in d.lines) == len(piece.placement)
        assert any(n.style == "net" for n in d.lines)
        assert any(n.style == "fold" for n in d.lines) == piece.on_fold
        # Two heads of the grain line, and two of the bracket on the fold.
        assert len(d.shapes) >= (4 if piece.on_fold else 2)


def test_a_piece_too_small_for_its_words_gets_them_outside_with_a_leader() -> None:
    pattern = with_pieces()
    tiny = next(p for p in pattern.pieces if p.layer == "foam")
    shrunk = replace(tiny, net=tuple(replace(e, curve=e.curve.part(0.0, 30.0)) for e in tiny.net), cut=tiny.cut)
    d = piece_drawings(replace(pattern, pieces=(shrunk,)), LONG)[0]
    assert any(n.style == "leader" for n in d.lines)
    assert any("foam" in t.says for t in d.texts)
    assert faults(d) == []
