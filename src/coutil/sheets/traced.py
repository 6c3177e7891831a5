"""What was traced, drawn again at 1:1: a photograph becomes a drawing that `coutil.trace.read_drawing` reads back."""

from __future__ import annotations

import math
from collections.abc import Iterator

from coutil.pattern.nicks import NICK
from coutil.plane import Path, Pt
from coutil.sheets.drawing import Drawing, Line, LineStyle
from coutil.sheets.svg import svg
from coutil.trace import Shape, Traced

# A notch farther from every side than this, in mm, is none of the outline's.
BESIDE = 5.0
# Doubtful stretches shorter than this, in mm, are not drawn.
SHORTEST = 1.0


def traced_svg(traced: Traced, title: str) -> str:
    """Every shape with its outline, notches, levels and grain, 1:1 in mm; doubtful stretches are drawn over.

    Raises ValueError if there is none.
    """
    return svg([_shape(s) for s in traced.shapes], title, about="Traced outlines at full size.")


def _shape(s: Shape) -> Drawing:
    styles: dict[str | None, LineStyle] = {"cut": "cut", "net": "panel", None: "outline"}
    lines = [Line(Path.of(s.sides, closed=True), styles[s.line])]
    if s.net:
        lines.append(Line(Path.of(s.net, closed=True), "net"))
    lines += [Line(Path.of([s.sides[k].part(a, b)]), "doubtful") for k, a, b in s.doubtful if b - a > SHORTEST]
    lines += [Line(Path.through(ends), "notch") for ends in _nicks(s)]
    lines += [Line(Path.through(ends), "level") for ends in s.levels.values()]
    if s.grain is not None:
        lines.append(Line(Path.through(s.grain), "grain"))
    return Drawing(s.name, lines=tuple(lines))


def _nicks(s: Shape) -> Iterator[tuple[Pt, Pt]]:
    """From each notch straight into the shape; outlines run anticlockwise, so inwards is to the left."""
    for at in s.notches:
        side = min(s.sides, key=lambda c: c.nearest(at)[1])
        along, _ = side.nearest(at)
        tx, ty = side.tangent(along)
        foot = side.point(along)
        if math.dist(foot, at) < BESIDE:
            yield foot, (foot[0] - ty * NICK, foot[1] + tx * NICK)
