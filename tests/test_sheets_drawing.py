"""The display list: bounds, moving, mirroring."""

from __future__ import annotations

import pytest

from coutil.plane import Path, cubic
from coutil.sheets.drawing import PENS, Drawing, Line, Shape, Text


def test_moving_and_mirroring_are_undone_by_their_opposites() -> None:
    d = Drawing(
        "a",
        (Line(Path.of([cubic((0, 0), (5, 9), (7, 1), (10, 4))]), "cut"),),
        (Shape(Path.through([(0, 0), (1, 0), (0, 1), (0, 0)])),),
        (Text("word", (3.0, 4.0), 3.0, 8.0, "start", 90.0),),
        (Drawing("part", (Line(Path.through([(2, 2), (5, 5)]), "net"),)),),
    )
    assert d.mirrored().mirrored() == d
    assert d.moved(16.0, -8.0).moved(-16.0, 8.0).bounds() == pytest.approx(d.bounds())
    x0, y0, x1, y1 = d.bounds()
    assert d.mirrored().bounds() == pytest.approx((-x1, y0, -x0, y1))
    assert d.moved(1.0, 2.0).bounds() == pytest.approx((x0 + 1, y0 + 2, x1 + 1, y1 + 2))


def test_a_mirrored_text_covers_the_mirrored_ground() -> None:
    for anchor in ("start", "middle", "end"):
        d = Drawing("a", texts=(Text("word", (3.0, 4.0), 3.0, 8.0, anchor),))  # type: ignore[arg-type]
        x0, y0, x1, y1 = d.bounds()
        assert d.mirrored().bounds() == pytest.approx((-x1, y0, -x0, y1))


def test_a_line_is_as_wide_as_its_pen() -> None:
    d = Drawing("a", (Line(Path.through([(0, 0), (10, 0)]), "cut"),))
    assert d.bounds()[3] - d.bounds()[1] == pytest.approx(PENS["cut"].width)


def test_an_empty_drawing_has_no_bounds() -> None:
    with pytest.raises(ValueError, match="nothing is drawn"):
        Drawing("empty").bounds()


def test_lines_side_by_side_differ_in_width_or_dash() -> None:
    # Told apart without colour: no two kinds look alike.
    looks = [(p.width, p.dash) for p in PENS.values()]
    alike = {k for k in looks if looks.count(k) > 1}
    # Levels and leaders are both hairlines: a leader ends in a dot, a level bears its name. Panels have no notches.
    assert alike == {(PENS["level"].width, ()), (PENS["panel"].width, ())}
    assert len({PENS[s].dash for s in ("cut", "net", "placement", "fold")}) == 4
