"""The gallery of garments in docs: every ready seaming, top, back, hem and opening, drawn flat on five standard bodies.

    python bench/gallery.py             # writes docs/gallery.md and docs/gallery/*.svg anew

A row is a body; panels lie from the centre front to the centre back, pads are dashed, levels thin. Sizes are standard
ones (`coutil.body.standard_body`), the drawings a quarter of full size.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from coutil.body import standard_body
from coutil.make import Work, work_out
from coutil.order import Order, Style
from coutil.pattern import Panel
from coutil.plane import Curve
from coutil.seaming import LEVELS, READY, Opening, Seaming

DOCS = Path(__file__).parent.parent / "docs"
# Bust in mm and cup: from a slight to a full figure.
BODIES = ((820.0, "A"), (920.0, "C"), (1040.0, "B"), (1120.0, "E"), (1340.0, "D"))
SCALE = 0.25
GAP, HEAD, ROW = 8.0, 9.0, 6.0

_P = Style()
TOPS: dict[str, tuple[str, Style]] = {
    "plunge": ("A plunge", replace(_P, neckline="plunge")),
    "low-plunge": ("A plunge below the underbust, bridged by net", replace(_P, neckline="plunge", plunge=-40.0)),
    "sweetheart": ("A sweetheart", _P),
    "straight": ("A straight top", replace(_P, neckline="straight")),
    "scoop": ("A scoop in front and behind", replace(_P, neckline="scoop", back="scoop")),
    "v": ("A V in front and behind", replace(_P, neckline="v", back="v")),
    "pointed": (
        "A point at the seam over the bust point, the back low",
        replace(_P, neckline="pointed", back_top=30.0),
    ),
    "peak": ("A peak: the outer edge runs on", replace(_P, neckline="plunge", peak=20.0)),
}
HEMS: dict[str, tuple[str, Style]] = {
    "cropped": ("Cropped above the waist", replace(_P, hem=-30.0)),
    "waist": ("At the waist", replace(_P, hem=0.0)),
    "hip": ("At the hip", replace(_P, hem=200.0)),
    "pointed-hem": ("Pointed in front and behind", replace(_P, hem_point=60.0, hem_point_back=40.0)),
    "curved-hem": ("The same in a curve", replace(_P, hem_point=60.0, hem_point_back=40.0, hem_line="curved")),
}
OPENINGS: dict[str, tuple[str, Style]] = {
    "busk": (
        "A busk in front, lacing behind, on a six-panel corset",
        replace(
            _P,
            seaming=READY["corset-6"],
            openings=(Opening("centre_front", "busk"), Opening("centre_back", "lacing", 50.0)),
        ),
    ),
    "elastic": ("An elastic panel behind, a zip in front", replace(
        _P, openings=(Opening("centre_front", "zip"), Opening("centre_back", "elastic", 80.0, 30.0)),
    )),
    "side-zip": ("A side zip, the back on the fold", replace(_P, openings=(Opening("side_left", "zip"),))),
}  # fmt: skip


def worked(style: Style) -> Iterator[tuple[str, Work]]:
    for bust, cup in BODIES:
        order = Order("gallery", standard_body(bust, cup), style=style)
        yield f"bust {bust / 10:.0f}, cup {cup}", work_out(order)


def drawn(style: Style) -> str:
    """One SVG of a garment on every body."""
    out: list[str] = []
    wide, y = 0.0, HEAD
    for said, work in worked(style):
        panels = [p for p in work.pattern.panels if p.side != "right"]
        points = [q for p in panels for q in p.outline(tolerance=0.5)]
        top, low = max(q[1] for q in points), min(q[1] for q in points)
        out.append(f'<text x="2" y="{y - 2:.1f}" font-size="5">{said}</text>')
        x = 4.0
        for p in panels:
            across = [q[0] * p.face_up for q in p.outline(tolerance=0.5)]
            out += _panel(work, p, x - min(across) * SCALE, y + top * SCALE)
            x += (max(across) - min(across)) * SCALE + GAP
        wide = max(wide, x)
        y += (top - low) * SCALE + HEAD + ROW
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:.0f} {y:.0f}" width="{wide:.0f}mm">'
    style_sheet = 'fill="none" stroke="#222" stroke-width="0.5" font-family="sans-serif"'
    body = "\n".join(out).replace("<text", '<text fill="#222" stroke="none"')
    return f'{head}\n<rect width="100%" height="100%" fill="#fff"/>\n<g {style_sheet}>\n{body}\n</g>\n</svg>\n'


def _panel(work: Work, p: Panel, x: float, y: float) -> Iterator[str]:
    for level in LEVELS:
        if level in p.levels:
            (ax, ay), (bx, by) = (_at(q, p, x, y) for q in p.levels[level])
            yield f'<path d="M{ax:.1f} {ay:.1f}L{bx:.1f} {by:.1f}" stroke="#99b" stroke-width="0.2"/>'
    for pad in work.pattern.pads:
        if (pad.panel, pad.side) == (p.name, p.side):
            rim = _path([e.curve for e in pad.edges], p, x, y)
            yield f'<path d="{rim}" stroke-dasharray="2 1" stroke-width="0.3"/>'
    yield f'<path d="{_path([e.curve for e in p.edges], p, x, y)}"><title>{p.name}</title></path>'


def _at(q: tuple[float, float], p: Panel, x: float, y: float) -> tuple[float, float]:
    return x + q[0] * p.face_up * SCALE, y - q[1] * SCALE


def _path(curves: list[Curve], p: Panel, x: float, y: float) -> str:
    out = []
    for curve in curves:
        for s in curve.segments:
            points = [_at((q.x, q.y), p, x, y) for q in (s.p0, s.p1, s.p2, s.p3)]
            if not out:
                out.append(f"M{points[0][0]:.1f} {points[0][1]:.1f}")
            out.append("C" + " ".join(f"{u:.1f} {v:.1f}" for u, v in points[1:]))
    return "".join(out) + "Z"


def shares(seaming: Seaming) -> Iterator[str]:
    """A table of where the seams stand and which part of each loss their edges take."""
    yield "| seam | stands at | near edge: underbust, waist, high hip | far edge |"
    yield "| --- | --- | --- | --- |"
    for k, s in enumerate(seaming.seams):
        part = "front" if k < seaming.in_front else "back"
        at = "the bust point" if s.cup else "the side" if s.side else f"{s.at:.2f} of the {part}"
        near, far = (", ".join(f"{v:g}" for v in (e.underbust, e.waist, e.high_hip)) for e in (s.near, s.far))
        yield f"| {s.name} | {at} | {near} | {far} |"


INTRODUCTION = """# The gallery

Made by `python bench/gallery.py`. Every garment is drawn flat on five standard bodies (EN 13402-3, table from memory),
at a quarter of full size; panels from the centre front to the centre back, pads dashed, levels thin.

## Seamings

Where a seam stands is a part of the front's width from the centre front, or of the back's from the side line, at the
highest level. Shares say which part of what the front (or back) loses down to a level an edge takes; those of all edges
of a front, and of a back, add up to 1. How they were found stands in `coutil.seaming.ready`.
"""


def page() -> str:
    """docs/gallery.md."""
    out = [INTRODUCTION]
    for name, seaming in READY.items():
        out += [f"### {name}\n\n![{name}](gallery/{name}.svg)\n", "\n".join(shares(seaming)) + "\n"]
    for title, group in (("Tops", TOPS), ("Hems", HEMS), ("Openings", OPENINGS)):
        out.append(f"## {title}\n")
        out += [f"### {says}\n\n![{says}](gallery/{name}.svg)\n" for name, (says, _) in group.items()]
    return "\n".join(out)


def main() -> None:
    styles = {name: replace(_P, seaming=s) for name, s in READY.items()}
    styles |= {name: style for group in (TOPS, HEMS, OPENINGS) for name, (_, style) in group.items()}
    folder = DOCS / "gallery"
    folder.mkdir(exist_ok=True)
    for old in folder.glob("*.svg"):
        old.unlink()
    for name, style in styles.items():
        (folder / f"{name}.svg").write_text(drawn(style), encoding="utf-8")
    (DOCS / "gallery.md").write_text(page(), encoding="utf-8")


if __name__ == "__main__":
    main()
