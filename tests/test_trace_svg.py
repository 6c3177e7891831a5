"""SVG: path data against other libraries, units, transforms, shapes, names; and what is refused.

The path data are the examples of SVG 1.1 (W3C Recommendation, 2nd edition, 2011), chapters 8 and 9; lengths are held
against svgpathtools 1.8 and svgelements 1.9, two readers that share no code with ours.
"""

from __future__ import annotations

import math
import warnings

import pytest
from kurbopy import CubicBez

from coutil.trace import TraceError, trace_drawing
from coutil.trace.model import Budget
from coutil.trace.pathdata import parse_path
from coutil.trace.svg import read_svg

# Section, path data. Sections 8.3.2 to 8.3.9 with the files triangle01, cubic01, quad01 and arcs01.
SPEC = {
    "triangle01": "M 100 100 L 300 100 L 200 300 z",
    "cubic01": "M100,200 C100,100 250,100 250,200 S400,300 400,200",
    "cubic02 a": "M100,200 C100,100 400,100 400,200",
    "cubic02 b": "M100,500 C25,400 475,400 400,500",
    "cubic02 c": "M100,800 C175,700 325,700 400,800",
    "cubic02 d": "M600,200 C675,100 975,100 900,200",
    "cubic02 e": "M600,500 C600,350 900,650 900,500",
    "cubic02 f": "M600,800 C625,700 725,700 750,800 S875,900 900,800",
    "quad01": "M200,300 Q400,50 600,300 T1000,300",
    "arcs01 pie": "M300,200 h-150 a150,150 0 1,0 150,-150 z",
    "arcs01 slice": "M275,175 v-150 a150,150 0 0,0 -150,150 z",
    "arcs01 stair": (
        "M600,350 l 50,-25 a25,25 -30 0,1 50,-25 l 50,-25 a25,50 -30 0,1 50,-25 l 50,-25 a25,75 -30 0,1 50,-25 "
        "l 50,-25 a25,100 -30 0,1 50,-25 l 50,-25"
    ),
    "arcs02 00": "M 125,75 a100,50 0 0,0 100,50",
    "arcs02 01": "M 125,75 a100,50 0 0,1 100,50",
    "arcs02 10": "M 125,75 a100,50 0 1,0 100,50",
    "arcs02 11": "M 125,75 a100,50 0 1,1 100,50",
    "8.3.9 packed": "M600,350l50-25a25,25-30 0,1 50-25",
    "grammar": "M 100 100 L 200 200 M 200 200 L 100 100 m.5.5-.5.5",
    "many relative": "m 10 20 30 40 -5 6 h 7 8 v 9 -10 c 1 2 3 4 5 6 7 8 9 10 11 12 s 1 2 3 4 q 1 2 3 4 t 5 6 7 8",
    "radii too small": "M 0 0 A 1 1 0 0 1 30 40",
    "exponents": "M1e1,2E+1 L-3e-1.5e1",
}


def length(path: list[CubicBez]) -> float:
    return sum(c.arclen(1e-9) for c in path)


@pytest.mark.parametrize("name", SPEC)
def test_paths_of_the_specification_against_two_other_readers(name: str) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import svgelements
        import svgpathtools

        theirs = [svgpathtools.parse_path(SPEC[name]).length(error=1e-9)]
        # svgelements integrates arcs roughly (1e-4 of them); its own lines and curves are exact enough.
        theirs.append(svgelements.Path(SPEC[name]).length(error=1e-7))
    ours = sum(length(s.path) for s in parse_path(SPEC[name], Budget()))
    assert ours == pytest.approx(theirs[0], rel=2e-6, abs=1e-6)
    assert ours == pytest.approx(theirs[1], rel=1e-4)


@pytest.mark.parametrize("name", SPEC)
def test_paths_of_the_specification_end_where_another_reader_ends(name: str) -> None:
    import svgpathtools

    theirs = svgpathtools.parse_path(SPEC[name])
    ours = parse_path(SPEC[name], Budget())
    end = theirs[-1].end
    last = ours[-1].path[-1].p3
    assert (last.x, last.y) == pytest.approx((end.real, end.imag), abs=1e-9)


def test_arcs_lie_on_their_ellipse() -> None:
    # Closed form: the points of arcs02 satisfy the equation of an ellipse of 100 by 50 about one of two centres.
    for large in (0, 1):
        for sweep in (0, 1):
            (run,) = parse_path(f"M 125,75 A100,50 0 {large},{sweep} 225,125", Budget())
            centres = [(225.0, 75.0), (125.0, 125.0)]
            off = []
            for cx, cy in centres:
                pts = [_at(c, t) for c in run.path for t in (0.0, 0.2, 0.5, 0.79)]
                off.append(max(abs(math.hypot((x - cx) / 100, (y - cy) / 50) - 1.0) for x, y in pts))
            assert min(off) < 5e-7
            sweeps = {(0, 0): 1, (0, 1): 1, (1, 0): 3, (1, 1): 3}[large, sweep]
            # A quarter of an ellipse of 100 by 50 is 121.1056 long (complete elliptic integral, E(3/4) = 1.2110560).
            assert length(run.path) == pytest.approx(121.1056028 * sweeps, abs=1e-3)


def _at(c: CubicBez, t: float) -> tuple[float, float]:
    p = c.eval(t)
    return p.x, p.y


@pytest.mark.parametrize(
    "data",
    ["L 1 1", "M 0", "M 0 0 L", "M 0 0 L nan 1", "M 0 0 L 1 inf", "M 0 0 A 1 1 0 2 0 1 1", "M0 0Z 5 5",
     "M 0 0 L 1e300 0", "M 0 0 # 1 1", "M 0 0 C 1 2 3 4", "5 5"],
)  # fmt: skip
def test_broken_path_data_is_refused(data: str) -> None:
    with pytest.raises(TraceError):
        parse_path(data, Budget())


def test_an_arc_of_no_extent_draws_nothing_and_one_of_no_radius_a_line() -> None:
    # SVG 1.1, appendix F.6.2.
    assert parse_path("M 5 5 A 10 10 0 1 1 5 5", Budget()) == []
    (run,) = parse_path("M 0 0 A 0 10 0 1 1 6 8", Budget())
    assert length(run.path) == pytest.approx(10.0)


# --- size ----------------------------------------------------------------------------------------------------------

SQUARE = '<rect x="10" y="10" width="40" height="40"/>'


def svg(body: str, head: str = 'width="100mm" height="100mm" viewBox="0 0 100 100"') -> bytes:
    return f'<svg xmlns="http://www.w3.org/2000/svg" {head}>{body}</svg>'.encode()


def sides(data: bytes, **more: float) -> list[float]:
    (shape,) = trace_drawing(data, "x.svg", **more).shapes
    return [c.length for c in shape.sides]


@pytest.mark.parametrize(
    ("head", "side"),
    [
        ('width="100mm" height="100mm" viewBox="0 0 100 100"', 40.0),
        ('width="10cm" height="10cm" viewBox="0 0 100 100"', 40.0),
        ('width="10in" height="10in" viewBox="0 0 100 100"', 101.6),
        ('width="720pt" height="720pt" viewBox="0 0 100 100"', 101.6),
        ('width="60pc" height="60pc" viewBox="0 0 100 100"', 101.6),
        ('width="400Q" height="400Q" viewBox="0 0 100 100"', 40.0),
        # Meet: the smaller of both scales counts (SVG 1.1, 7.8).
        ('width="100mm" height="300mm" viewBox="0 0 100 100"', 40.0),
        ('width="200mm" viewBox="5 5 100 100"', 80.0),
        # Without a viewBox a unit is a CSS pixel of 1/96 in (CSS 2.1, 4.3.2).
        ('width="100mm" height="100mm"', 40 * 25.4 / 96),
    ],
)
def test_the_size_of_the_file_counts(head: str, side: float) -> None:
    big = SQUARE if side > 20 else SQUARE.replace('"40"', '"400"')
    wanted = side if side > 20 else side * 10
    assert sides(svg(big, head)) == pytest.approx([wanted] * 4)


@pytest.mark.parametrize(
    "head", ['viewBox="0 0 100 100"', "", 'width="100" height="100"', 'width="100px" height="90%"']
)
def test_a_file_without_a_size_is_refused_until_a_scale_is_given(head: str) -> None:
    with pytest.raises(TraceError, match=r'x\.svg: the file does not say how large .* scale = "1 mm"'):
        sides(svg(SQUARE, head))
    assert sides(svg(SQUARE, head), scale=2.54) == pytest.approx([101.6] * 4)


def test_stretched_drawings_are_stretched() -> None:
    head = 'width="100mm" height="200mm" viewBox="0 0 100 100" preserveAspectRatio="none"'
    assert sorted(sides(svg(SQUARE, head))) == pytest.approx([40, 40, 80, 80])


@pytest.mark.parametrize(
    "head",
    ['width="0mm" height="0mm" viewBox="0 0 1 1"', 'width="-5mm" viewBox="0 0 1 1"', 'width="5mm" viewBox="0 0 0 1"',
     'width="5mm" viewBox="a b"', 'width="5mm" viewBox="0 0 1e-9 1e-9"', 'width="9e9mm" viewBox="0 0 1 1"'],
)  # fmt: skip
def test_a_size_without_sense_is_refused(head: str) -> None:
    with pytest.raises(TraceError):
        sides(svg(SQUARE, head))


# --- shapes, transforms, names -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("body", "whole"),
    [
        ('<circle cx="50" cy="50" r="30"/>', 60 * math.pi),
        # E(3/4) as above, four quarters at half the size.
        ('<ellipse cx="50" cy="50" rx="40" ry="20"/>', 121.1056028 * 4 * 0.4),
        ('<rect x="10" y="10" width="60" height="40" rx="10"/>', 2 * (40 + 20) + 20 * math.pi),
        ('<rect x="10" y="10" width="60" height="40" rx="90" ry="5"/>', None),
        ('<polygon points="10,10 50,10 50 40"/>', 120.0),
        ('<polyline points="10,10 50,10 50 40 10 10"/>', 120.0),
        (
            '<line x1="10" y1="10" x2="50" y2="10"/><line x1="50" y1="10" x2="50" y2="40"/><path d="M10 10L50 40"/>',
            120.0,
        ),
        ('<path d="M10 10h40v30z"/>', 120.0),
    ],
)
def test_basic_shapes(body: str, whole: float | None) -> None:
    total = sum(sides(svg(body)))
    if whole is not None:
        assert total == pytest.approx(whole, rel=2e-6)


def test_transforms_and_groups() -> None:
    # A point that goes through all of them, by hand: matrix algebra of SVG 1.1, 7.5.
    body = (
        '<g transform="translate(20,10) rotate(90)"><g transform="scale(2)"><g transform="matrix(1 0 0 1 0 -20)">'
        '<rect width="10" height="20"/></g></g></g>'
    )
    (shape,) = trace_drawing(svg(body), "x.svg").shapes
    xs = [c.start[0] for c in shape.sides]
    ys = [c.start[1] for c in shape.sides]
    # (x, y) -> (x, y - 20) -> times 2 -> quarter turn: (-y, x) -> plus (20, 10); y down turns to y up.
    assert (min(xs), max(xs)) == pytest.approx((20.0, 60.0))
    assert (min(ys), max(ys)) == pytest.approx((-30.0, -10.0))
    skew = '<rect width="30" height="30" transform="skewX(45)"/>'
    assert sorted(sides(svg(skew))) == pytest.approx([30, 30, 30 * math.sqrt(2), 30 * math.sqrt(2)])
    about = '<rect width="30" height="30" transform="rotate(37 15 15), scale(1)"/>'
    assert sides(svg(about)) == pytest.approx([30] * 4)
    with pytest.raises(TraceError, match="transform"):
        sides(svg('<rect width="30" height="30" transform="shear(3)"/>'))


def test_copies_symbols_and_nested_drawings() -> None:
    body = '<defs><rect id="a" width="30" height="30"/></defs><use href="#a" x="5"/><use href="#a" x="50"/>'
    assert len(trace_drawing(svg(body), "x").shapes) == 2
    body = '<symbol id="a"><rect width="30" height="30"/></symbol><use xlink:href="#a" xmlns:xlink="x" y="3"/>'
    assert len(trace_drawing(svg(body), "x").shapes) == 1
    body = '<svg x="10" y="10" width="80" height="40" viewBox="0 0 10 10"><rect width="10" height="10"/></svg>'
    assert sides(svg(body)) == pytest.approx([40] * 4)
    for href in ("other.svg#a", "http://example.org/x.svg"):
        with pytest.raises(TraceError, match="another file"):
            sides(svg(f'<use href="{href}"/>{SQUARE}'))


def test_what_is_not_shown_is_not_read() -> None:
    hidden = '<g style="display: none">{0}</g><g display="none">{0}</g><defs>{0}</defs><clipPath>{0}</clipPath>'
    body = hidden.format('<rect width="90" height="90"/>') + SQUARE
    assert sides(svg(body)) == pytest.approx([40] * 4)


def test_names_come_from_titles_labels_and_ids() -> None:
    def name(body: str) -> str:
        return trace_drawing(svg(body), "x").shapes[0].name

    assert name(f'<g id="layer1"><g id="g12"><title>Side front</title>{SQUARE}</g></g>') == "Side front"
    assert name(f'<g id="bodice">{SQUARE}<rect x="60" width="30" height="30"/></g>') in ("bodice", "outline 1")
    assert name('<rect id="cb" width="30" height="30"/>') == "cb"
    assert name('<rect id="rect42" width="30" height="30"/>') == "outline 1"


def test_marks_are_read() -> None:
    body = (
        '<g id="cf"><path class="cut" d="M0 0h90v90h-90z"/><path class="net" d="M10 10h70v70h-70z"/>'
        '<path class="grain" d="M40 20v50"/><path class="notch" d="M80 40h10"/>'
        '<line id="waist" x1="10" y1="60" x2="80" y2="60"/>'
        '<path class="level" d="M10 30h70"/><text x="12" y="28">Underbust</text>'
        '<circle cx="60" cy="20" r="1"/><text x="62" y="18">bust point</text></g>'
    )
    (s,) = trace_drawing(svg(body), "x").shapes
    assert (s.name, s.line, len(s.net)) == ("cf", "cut", 4)
    assert s.grain == ((40.0, -70.0), (40.0, -20.0))
    assert s.notches == ((80.0, -40.0),) or s.notches == ((90.0, -40.0),)
    assert s.levels == {"waist": ((10.0, -60.0), (80.0, -60.0)), "underbust": ((10.0, -30.0), (80.0, -30.0))}
    assert s.points["bust_point"] == pytest.approx((60.0, -20.0))


def test_a_flattened_curve_comes_back_as_a_curve() -> None:
    n = 180
    pts = " ".join(
        f"{50 + 40 * math.cos(2 * math.pi * k / n):.5f},{50 + 40 * math.sin(2 * math.pi * k / n):.5f}" for k in range(n)
    )
    (s,) = trace_drawing(svg(f'<polygon points="{pts}"/>'), "x").shapes
    assert len(s.sides) == 2
    assert sum(len(c.segments) for c in s.sides) <= 12
    assert sum(c.length for c in s.sides) == pytest.approx(80 * math.pi, abs=0.01)
    assert s.strays < 0.02


# --- refusals ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "empty"),
        (b"<svg", "not well-formed XML"),
        (b"<html></html>", "not an SVG drawing"),
        (b"\x1f\x8b\x08", "compressed"),
        (b"\x89PNG\r\n", "a picture"),
        (b"%PDF-1.7", "a PDF"),
        (b"hello", "neither SVG nor DXF"),
        (svg(""), "nothing is drawn"),
        (svg('<path d="M0 0L50 50"/>'), "no closed outline"),
        (svg('<path d="M0 0L50 0L50 0Z"/>'), "no closed outline"),
        (svg('<rect width="3" height="3"/>'), "at least 4 cm² at this scale"),
        (svg('<path d="M0 0L90 90L90 0L0 60Z"/>'), "crosses or touches itself at 36"),
        (svg('<rect width="9e5" height="90"/>'), "the scale is wrong"),
        (svg('<rect width="90%" height="90"/>'), "depends on the screen"),
        (svg('<circle r="1e999" />'), "too large"),
        (svg('<path d="M0 0L5 5">'), "not well-formed"),
        (b'<?xml version="1.0" encoding="klingon"?><svg/>', "encoding"),
        (b'<!DOCTYPE svg [<!ENTITY a "b">]><svg/>', "plain SVG"),
        (b"<!DOCTYPE svg [<!ELEMENT svg ANY>]><svg/>", "plain SVG"),
    ],
)
def test_refusals_name_the_file_and_the_reason(data: bytes, says: str) -> None:
    with pytest.raises(TraceError) as e:
        trace_drawing(data, "mine.svg")
    assert str(e.value).startswith("mine.svg: ")
    assert says in str(e.value)


def test_a_doctype_without_entities_is_fetched_from_nowhere() -> None:
    doctype = b'<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://example.invalid/svg11.dtd">'
    assert sides(doctype + svg(SQUARE)) == pytest.approx([40] * 4)


def test_the_bytes_are_left_alone() -> None:
    data = svg(SQUARE)
    before = bytes(data)
    trace_drawing(data, "x")
    read_svg(data)
    assert data == before
