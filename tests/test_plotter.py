"""The plot of a lay, read back by ezdxf's own reader of HPGL/2 and held against the lay."""

from __future__ import annotations

import math

import pytest
from ezdxf.addons.hpgl2.backend import Recorder
from ezdxf.addons.hpgl2.interpreter import Interpreter
from ezdxf.addons.hpgl2.plotter import Plotter
from ezdxf.addons.hpgl2.tokenizer import hpgl2_commands

from coutil.lay import Lay, Placement
from coutil.sheets.plotter import UNITS, lay_hpgl

TRIANGLE = ((20.0, 30.0), (320.0, 30.0), (20.0, 230.0))
SQUARE = ((400.0, 10.5), (500.0, 10.5), (500.0, 110.5), (400.0, 110.5))
# A plotter unit, in mm: what a plotter can set its pen to.
ROUNDING = 1.0 / UNITS


def lay(*placed: Placement, length: float = 620.0) -> Lay:
    return Lay("satin", "length", ("shell",), False, 1370.0, length, 500.0, 0.6, placed)


def strokes(data: bytes) -> list[list[tuple[float, float]]]:
    """Every stroke of the plot in mm, as the reader understands it."""
    recorder = Recorder()
    interpreter = Interpreter(Plotter(recorder))
    interpreter.run(hpgl2_commands(data))
    assert interpreter.errors == []
    out = []
    for _, _, points in recorder.player().recordings():
        vertices = [v for path in points for v in path.control_vertices()] if isinstance(points, tuple) else points
        vertices = vertices.vertices() if hasattr(vertices, "vertices") else vertices
        out.append([(v.x / UNITS, v.y / UNITS) for v in vertices])
    return out


def test_outlines_are_plotted_in_true_size_and_place() -> None:
    data = lay_hpgl(
        lay(Placement("side front, shell", 1, False, 0.0, TRIANGLE), Placement("b", 2, True, 180.0, SQUARE))
    )
    assert data.startswith(b"\x1b%0B;IN;")
    # Seven bits: any line to any plotter carries it.
    assert all(c < 128 for c in data)
    read = strokes(data)
    for polygon in (TRIANGLE, SQUARE):
        assert any(
            len(s) == len(polygon) + 1 and all(math.dist(a, b) < ROUNDING for a, b in zip(s, polygon, strict=False))
            for s in read
        )


def test_rounding_does_not_add_up_along_an_outline() -> None:
    ring = tuple((300 + 90 * math.cos(k * math.pi / 150), 200 + 90 * math.sin(k * math.pi / 150)) for k in range(300))
    (read,) = (s for s in strokes(lay_hpgl(lay(Placement("a", 1, False, 0.0, ring)))) if len(s) == 301)
    assert max(math.dist(a, b) for a, b in zip(read, (*ring, ring[0]), strict=True)) < ROUNDING


def test_names_lie_inside_their_pieces() -> None:
    read = strokes(lay_hpgl(lay(Placement("ab", 1, False, 0.0, SQUARE))))
    letters = [s for s in read if len(s) > 5]
    # "a" and "b" have a counter each, "1" has none: five outlines, with no stroke from one to the next.
    assert len(letters) == 5
    assert all(math.dist(s[0], s[-1]) < ROUNDING for s in letters)
    for s in letters:
        assert all(402.0 <= x <= 498.0 and 12.5 <= y <= 108.5 for x, y in s)


def test_a_piece_too_small_for_its_name_is_still_plotted() -> None:
    tiny = ((0.0, 0.0), (9.0, 0.0), (9.0, 6.0))
    assert any(len(s) == 4 for s in strokes(lay_hpgl(lay(Placement("a very long name", 1, True, 0.0, tiny)))))


def test_a_long_roll_is_neither_fitted_nor_scaled() -> None:
    far = tuple((x + 7_000.0, y) for x, y in SQUARE)
    read = strokes(lay_hpgl(lay(Placement("a", 1, False, 0.0, far), length=7_600.0)))
    assert any(all(math.dist(a, b) < ROUNDING for a, b in zip(s, far, strict=False)) for s in read if len(s) == 5)


def test_the_same_lay_gives_the_same_bytes() -> None:
    one = lay(Placement("a", 1, False, 0.0, SQUARE))
    assert lay_hpgl(one) == lay_hpgl(one)


def test_an_empty_lay_is_refused() -> None:
    with pytest.raises(ValueError, match="satin"):
        lay_hpgl(lay())
