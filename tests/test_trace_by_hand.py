"""Drawings as programs and people write them, invented: what is told of them, and what is said where it cannot be."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence

import pytest

from coutil.order import OwnPanel, OwnPattern, parse_own
from coutil.pattern import Pattern
from coutil.trace import Telling, TraceError, own_text, pattern_of, proposed, report, tell, trace_drawing
from halves import Cubic, d, drawn, half, laid, page

NET = OwnPattern("x.svg", line="net")
FOUR = ("centre front", "side front", "side back", "centre back")


def told(data: bytes, own: OwnPattern = NET) -> Telling:
    return tell(trace_drawing(data, "x.svg"), own)


def order(t: Telling) -> list[int]:
    """The numbers of the outlines, from 1 as they lie in the file, from the centre front on."""
    return [int(p.work.shape.name.split()[-1]) for p in t.panels]


def meets(t: Telling) -> bool:
    return all(abs(s.longer) < 0.3 and s.peak == 0.0 for s in t.seams)


def made(data: bytes, own: OwnPattern = NET) -> Pattern:
    return pattern_of(trace_drawing(data, "x.svg"), own, "x")


# --- how many, in which order --------------------------------------------------------------------------------------


@pytest.mark.parametrize("hem", [90.0, 10.0], ids=["long line", "waist length"])
@pytest.mark.parametrize("n", [3, 4, 5, 6, 7])
def test_panels_of_any_number_as_they_lie(n: int, hem: float) -> None:
    outlines = half(n, n, hem=hem)
    for data, right in (
        (page(drawn(laid(outlines))), list(range(1, n + 1))),
        (page(drawn(laid(outlines[::-1], over=[True] * n))), list(range(n, 0, -1))),
    ):
        t = told(data)
        assert order(t) == right
        assert len(t.seams) == n - 1
        assert meets(t)
        assert t.panels[0].fold == "centre_front"
        assert min(p.sure for p in t.panels) > 0.5


def test_shuffled_and_turned_over_five_to_seven_are_told_or_said_to_be_in_doubt() -> None:
    rng = random.Random(3)
    right = sure = wrong_and_sure = 0
    for n in (5, 6, 7):
        for seed in range(12):
            at = list(range(n))
            rng.shuffle(at)
            over = [seed % 2 == 1 and rng.random() < 0.5 for _ in range(n)]
            outlines = half(n, seed)
            t = told(page(drawn(laid([outlines[k] for k in at], over=over))))
            good = [at[k - 1] for k in order(t)] == list(range(n))
            certain = min(p.sure for p in t.panels) >= 0.5
            right += good
            sure += certain
            wrong_and_sure += certain and not good
            # What is not sure is said, and what else it might be.
            if min(p.sure for p in t.panels) < 0.3:
                assert any("cannot be told for certain" in text for text in t.doubts)
    assert wrong_and_sure == 0
    assert right >= 33  # of 36; measured 35
    assert sure >= 12


def test_what_cannot_be_told_is_said() -> None:
    # Two halves of a straight band: nothing tells the front from the back, nor which way round either lies.
    t = told(page('<path d="M20 20h90v200h-90z"/><path d="M150 20h80v200h-80z"/>'))
    assert [p.sure for p in t.panels] == [0.0, 0.0]
    assert any("cannot be told for certain" in text for text in t.doubts)
    p = made(page('<path d="M20 20h90v200h-90z"/><path d="M150 20h80v200h-80z"/>'))
    assert any(f.level == "warn" and "cannot be told for certain" in f.says for f in p.findings)
    # Six panels: which of the seams between is the one at the side.
    six = told(page(drawn(laid(half(6, 1)))))
    assert any("which of them lies at the side cannot be told" in text for text in six.doubts)
    assert not told(page(drawn(laid(half(4, 1))))).doubts


def test_names_place_panels_among_five() -> None:
    outlines = half(5, 4)
    at = [2, 4, 0, 3, 1]
    names = ["centre front", "side front", "underarm", "side back", "centre back"]
    body = "".join(
        f'<g i:label="{names[k]}"><path d="{d(p)}"/></g>'
        for k, p in zip(at, laid([outlines[k] for k in at]), strict=True)
    )
    t = told(page(body))
    assert [p.name for p in t.panels] == names
    assert meets(t)


@pytest.mark.parametrize("n", [5, 7])
def test_what_is_proposed_reads_the_same_once_it_is_said(n: int) -> None:
    """Levels of a panel that lies between two seams of one role were lost."""
    outlines = laid(half(n, 2))
    marks = "".join(
        f'<path d="M{min(c[0] for c in p) - 2} 330H{max(c[0] for c in p) + 2}"><title>waist</title></path>'
        for p in outlines
    )
    traced = trace_drawing(page(drawn(outlines) + marks), "x.svg")
    first = pattern_of(traced, NET, "x")
    again = pattern_of(traced, parse_own(own_text(proposed(traced, NET))), "x")
    assert all("waist" in p.levels for p in again.panels)
    assert [(p.name, [(e.name, e.role, dict(e.marks)) for e in p.edges]) for p in again.panels] == [
        (p.name, [(e.name, e.role, dict(e.marks)) for e in p.edges]) for p in first.panels
    ]
    assert again.seams == first.seams
    assert all("waist" in s.stations for s in again.seams)


# --- how they lie --------------------------------------------------------------------------------------------------


def test_a_pattern_laid_sideways() -> None:
    outlines = laid(half(4, 5))
    turned = page(
        f'<g transform="translate(600 0) rotate(90)">{drawn(outlines)}</g>',
        'width="600mm" height="1200mm" viewBox="0 0 600 1200"',
    )
    t = told(turned)
    assert meets(t)
    assert any("seem to lie on their sides; the end to the right is taken for the top" in text for text in t.doubts)
    p = made(turned)
    assert sum(1 for f in p.findings if "turned by how its edges fit" in f.says) == 4
    # The tops lie to the right: the hems are the lowest now.
    for panel in p.panels:
        heights = {e.role: e.curve.point(e.curve.length / 2.0)[1] for e in panel.edges}
        assert (heights["hem"] < heights["top"]) == (panel.name != "")
    # Those who draw it with the tops to the left say so by the roles, and it stands on its feet.
    other = page(
        f'<g transform="translate(0 1200) rotate(-90)">{drawn(outlines)}</g>',
        'width="600mm" height="1200mm" viewBox="0 0 600 1200"',
    )
    traced = trace_drawing(other, "x.svg")
    first = tell(traced, NET).panels[0]
    swap = {"top": "hem", "hem": "top"}
    roles = {k: swap.get(e.role, e.role) for e in first.edges for k in e.sides}
    said = OwnPanel(first.work.shape.name, "front", roles=tuple(roles[k] for k in range(len(roles))))
    (front,) = pattern_of(traced, OwnPattern("x.svg", line="net", panels=(said,)), "x").panels
    hem, top = front.edge("hem").curve, front.edge("top").curve
    assert hem.point(hem.length / 2.0)[1] < top.point(top.length / 2.0)[1]
    assert all(e.rising == (e.curve.end[1] > e.curve.start[1]) for e in front.edges if e.role not in ("top", "hem"))


def test_a_panel_on_its_head_is_turned_by_its_levels() -> None:
    body = '<path d="M20 20h90v200h-90z"/><path id="waist" d="M25 60h80"/><path id="underbust" d="M25 150h80"/>'
    p = made(page(body))
    (panel,) = p.panels
    assert panel.levels["waist"][0][1] < panel.levels["underbust"][0][1]
    assert any("turned by its levels" in f.says for f in p.findings)


@pytest.mark.parametrize("angle", [-40.0, -12.0, -0.3, 0.0, 7.0, 25.0])
def test_a_grain_that_leans_is_put_upright(angle: float) -> None:
    """Cloth is laid by the grain, upright in every piece: so the panel is turned, with all that lies on it."""
    body = '<path d="M60 60h90v200h-90z"/><path class="grain" d="M100 220V100"/><path id="waist" d="M65 150h80"/>'
    p = made(page(f'<g transform="rotate({angle} 100 160)">{body}</g>'))
    (panel,) = p.panels
    (x0, y0), (x1, y1) = panel.grain
    assert abs(x1 - x0) < 1e-6
    assert y1 - y0 == pytest.approx(120.0, abs=0.01)
    assert {e.role: round(e.curve.length, 3) for e in panel.edges if e.role in ("top", "hem")} == {
        "top": 90.0,
        "hem": 90.0,
    }
    assert math.dist(*panel.levels["waist"]) == pytest.approx(90.0, abs=1e-3)
    assert panel.levels["waist"][0][1] == pytest.approx(panel.levels["waist"][1][1], abs=1e-6)
    says = [f.says for f in p.findings if "degrees, so that its grain line stands upright" in f.says]
    assert len(says) == (angle != 0.0)
    # The same by hand, in the file's own places, where the file has no grain line.
    bare = page(f'<g transform="rotate({angle} 100 160)"><path d="M60 60h90v200h-90z"/></g>')
    (shape,) = trace_drawing(bare, "x.svg").shapes
    low = [min(p[k] for c in shape.sides for p in (c.start, c.end)) for k in (0, 1)]
    t = math.radians(angle)
    ends = [(100 - math.sin(t) * (y - 160), 160 + math.cos(t) * (y - 160)) for y in (220.0, 100.0)]
    said = OwnPanel("1", "panel", grain=tuple((x - low[0], -y - low[1]) for x, y in ends))
    (again,) = made(bare, OwnPattern("x.svg", line="net", panels=(said,))).panels
    assert again.grain[1][0] - again.grain[0][0] == pytest.approx(0.0, abs=1e-6)
    assert sorted(e.curve.length for e in again.edges) == pytest.approx([90.0, 90.0, 200.0, 200.0])


def test_a_fold_that_leans_is_put_upright_and_a_lost_grain_is_told() -> None:
    outlines = laid(half(4, 5))
    p = made(page(f'<g transform="rotate(5 600 300)">{drawn(outlines)}</g>'))
    front = p.panel("centre front", "both").edge("centre_front").curve
    assert abs(front.end[0] - front.start[0]) < 1e-6
    (grain,) = [f for f in p.findings if f.about == "grain"]
    assert grain.level == "warn"
    assert "No grain is marked on the side front and the side back and the centre back" in grain.says
    assert "leans by 5.0 degrees at its centre" in grain.says
    # Upright it is no more than a note.
    assert [f.level for f in made(page(drawn(outlines))).findings if f.about == "grain"] == ["note"]
    # A grain that is not along the fold is a fault of the file.
    x = min(c[0] for c in outlines[0]) + 30
    marked = page(drawn(outlines) + f'<path class="grain" d="M{x} 330l8 -120"/>')
    off = [f for f in made(marked).findings if "degrees off its fold" in f.says]
    assert [f.level for f in off] == ["warn"]
    assert f"{math.degrees(math.atan(8 / 120)):.1f} degrees" in off[0].says


def test_right_and_left_both_drawn() -> None:
    outlines = half(4, 6)
    both = laid([*outlines[::-1], *outlines], over=[True] * 4 + [False] * 4)
    t = told(page(drawn(both), 'width="1600mm" height="600mm" viewBox="0 0 1600 600"'))
    assert len(t.panels) == 4
    assert len(t.passed) == 4
    assert meets(t)
    names = [f"{FOUR[k]} {side}" for side, row in (("right", (3, 2, 1, 0)), ("left", (0, 1, 2, 3))) for k in row]
    body = "".join(f'<g i:label="{n}"><path d="{d(p)}"/></g>' for n, p in zip(names, both, strict=True))
    t = told(page(body, 'width="1600mm" height="600mm" viewBox="0 0 1600 600"'))
    assert {(p.name, p.side) for p in t.panels} == {(n, s) for n in FOUR for s in ("left", "right")}
    assert meets(t)


# --- how they are drawn --------------------------------------------------------------------------------------------


def pieces(outlines: Sequence[Sequence[Cubic]], gap: float) -> str:
    """Every segment as a path of its own, shuffled, each shifted by half of `gap` in some direction."""
    rng = random.Random(1)
    out = []
    for path in outlines:
        for c in path:
            a = rng.uniform(0, 2 * math.pi)
            dx, dy = gap / 2 * math.cos(a), gap / 2 * math.sin(a)
            moved = tuple(v + (dy if k % 2 else dx) for k, v in enumerate(c))
            out.append(f'<path d="{d([moved], closed=False)}"/>')
    rng.shuffle(out)
    return "".join(out)


@pytest.mark.parametrize("gap", [0.0, 0.05, 0.1, 0.2, 0.3, 0.5])
def test_open_paths_that_nearly_meet(gap: float) -> None:
    traced = trace_drawing(page(pieces(laid(half(4, 5)), gap)), "x.svg")
    t = tell(traced, NET)
    assert order(t) == [1, 2, 3, 4]
    # The centre front is still one straight line, on the fold.
    assert t.panels[0].fold == "centre_front"
    assert all(abs(s.longer) < 0.3 + gap for s in t.seams)
    assert any("closed, the widest of 0." in note for note in traced.notes) == (gap > 0.15)


def test_wider_gaps_are_refused_by_their_place() -> None:
    outlines = laid(half(1, 5))
    c = outlines[0][-1]
    torn = [*outlines[0][:-1], (*c[:6], c[6] + 2.0, c[7])]
    where = rf"nearest loose ends lie 2\.00 mm apart, at {c[6] + 2.0:.1f}, {c[7]:.1f} mm; close"
    with pytest.raises(TraceError, match=where):
        told(page(f'<path d="{d(torn, closed=False)}"/>'))
    # Beside outlines that close it is passed over, and that is told.
    traced = trace_drawing(page(drawn(laid([half(1, 6)[0]] * 3)[2:]) + f'<path d="{d(torn, closed=False)}"/>'), "x.svg")
    assert any("A line that closes no outline was passed over" in note for note in traced.notes)


def test_a_mark_that_stands_on_a_corner_does_not_open_the_outline() -> None:
    outlines = laid(half(4, 5))
    marks = "".join(f'<path d="M{p[0][0]:.5f} {p[0][1]:.5f}l30 -60"/>' for p in outlines)
    assert order(told(page(pieces(outlines, 0.0) + marks))) == [1, 2, 3, 4]
    crowded = (
        '<path d="M0 0H100"/><path d="M0 0V100"/><path d="M100 0V100"/><path d="M0 100H100"/><path d="M0 0L100 100"/>'
    )
    with pytest.raises(TraceError, match=r"more than two lines end at 0\.0, 0\.0 mm"):
        told(page(crowded))


def test_what_is_drawn_twice_is_read_once() -> None:
    outlines = laid(half(4, 5))
    for again in (drawn(outlines), f'<g transform="translate(.1 .1)">{drawn(outlines)}</g>'):
        t = told(page(drawn(outlines) + again), OwnPattern("x.svg", line="cut", allowance=10.0))
        # Not taken for a net line inside a cut line.
        assert [p.work.line for p in t.panels] == [None] * 4
    assert order(told(page(pieces(outlines, 0.0) * 2))) == [1, 2, 3, 4]


@pytest.mark.parametrize("radius", [2.0, 4.0, 8.0])
def test_corners_drawn_round(radius: float) -> None:
    r = radius
    x0, x1, y0, y1 = 20.0, 90.0, 20.0, 220.0
    arcs = (
        f"M{x0 + r} {y0}H{x1 - r}A{r} {r} 0 0 1 {x1} {y0 + r}V{y1 - r}A{r} {r} 0 0 1 {x1 - r} {y1}H{x0 + r}"
        f"a{r} {r} 0 0 1 {-r} {-r}V{y0 + r}a{r} {r} 0 0 1 {r} {-r}z"
    )
    flat = [
        (cx + r * math.cos(a), cy + r * math.sin(a))
        for cx, cy, q in ((x1 - r, y0 + r, 3), (x1 - r, y1 - r, 0), (x0 + r, y1 - r, 1), (x0 + r, y0 + r, 2))
        for a in (math.pi / 2 * (q + k / 8) for k in range(9))
    ]
    for shape in (f'<path d="{arcs}"/>', f'<polygon points="{" ".join(f"{x:.4f},{y:.4f}" for x, y in flat)}"/>'):
        (s,) = trace_drawing(page(shape), "x.svg").shapes
        assert len(s.sides) == 4
        # Split in the middle of each corner: half of its quarter circle to either side.
        each = r * math.pi / 4
        wanted = sorted([70 - 2 * r + 2 * each] * 2 + [200 - 2 * r + 2 * each] * 2)
        assert sorted(c.length for c in s.sides) == pytest.approx(wanted, abs=0.03)


def test_a_frame_and_a_test_square_are_no_panels() -> None:
    outlines = laid(half(4, 5))
    for frame in ('<rect width="1200" height="600"/>', '<rect x="9" y="9" width="1100" height="500"/>'):
        traced = trace_drawing(page(frame + drawn(outlines)), "x.svg")
        assert len(traced.shapes) == 4
        assert "A frame round the other outlines was passed over." in traced.notes
    one = trace_drawing(page('<rect width="1200" height="600"/>' + drawn(outlines[:1])), "x.svg")
    assert [len(s.sides) for s in one.shapes] == [4]
    t = told(page(drawn(outlines) + '<rect x="900" y="500" width="50.8" height="50.8"/>'))
    assert len(t.panels) == 4
    assert t.passed == ("outline 5: a square of 50.8 mm, taken for the one to check the size by",)


def test_layers_that_are_switched_off_are_not_read() -> None:
    outlines = laid(half(4, 5))
    off = '<rect x="40" y="400" width="300" height="150"/>'
    sheet = "<style>.a{fill:none} .b, .c { visibility : visible; display: none }</style>"
    for group in ('<g class="c">', '<g style="display: none">', '<g display="none">', '<g visibility="hidden">'):
        assert len(trace_drawing(page(sheet + drawn(outlines) + group + off + "</g>"), "x.svg").shapes) == 4
    assert len(trace_drawing(page(sheet + drawn(outlines) + '<g class="a">' + off + "</g>"), "x.svg").shapes) == 5


def test_figures_of_eight_and_sizes_over_each_other_are_told() -> None:
    with pytest.raises(TraceError, match=r"crosses or touches itself at 55\.0, 105\.0 mm"):
        told(page('<path d="M10 10L100 200L100 10L10 200Z"/>'))
    sizes = '<path d="M20 20h90v200h-90z"/><path d="M16 25h99v190h-99z"/>'
    (note,) = trace_drawing(page(sizes), "x.svg").notes
    assert note.endswith("lie over each other; if they are sizes of one panel, save one size only.")


# --- what is written on them ---------------------------------------------------------------------------------------


def written(path: Sequence[Cubic], text: str) -> str:
    left, right = min(c[0] for c in path), max(c[0] for c in path)
    x = (left + right) / 2.0
    arrow = f'<path d="M{x - 4} 200L{x} 190L{x} 320"/><text x="{x + 4}" y="260">Grainline</text>'
    levels = "".join(
        f'<line x1="{left + 9}" x2="{right - 9}" y1="{y}" y2="{y}"/><text x="{left + 22}" y="{y - 2}">{name}</text>'
        for name, y in (("Waist line", 330), ("UNDERBUST", 240))
    )
    return f'<text x="{x - 20}" y="300">{text}</text>{arrow}{levels}'


def test_panels_levels_and_grain_are_told_by_words() -> None:
    outlines = laid(half(4, 5))
    texts = ["Center Front - cut 1 on fold", "SIDE FRONT (cut 2)", "side back x2, lining", "Centre  back, cut one pair"]
    data = page(drawn(outlines) + "".join(written(p, t) for p, t in zip(outlines, texts, strict=True)))
    traced = trace_drawing(data, "x.svg")
    t = tell(traced, NET)
    assert [(p.name, p.sure) for p in t.panels] == [(name, 0.95) for name in FOUR]
    for p in t.panels:
        assert set(p.work.levels) == {"waist", "underbust"}
        assert p.work.grain is not None
        assert math.dist(*p.work.grain) == pytest.approx(130.0)
    assert "marks: waist, underbust, grain" in report(traced, NET)
    # A text of a neighbour's name beside its own leaves the panel unnamed.
    two = page(drawn(outlines[:1]) + written(outlines[0], "centre front") + '<text x="60" y="280">side front</text>')
    assert [s.name for s in trace_drawing(two, "x.svg").shapes] == ["outline 1"]


def test_a_fold_is_told_by_words() -> None:
    outlines = laid(half(4, 5))
    right = max(c[0] for c in outlines[3])
    words = f'<text transform="translate({right - 4:.2f} 280) rotate(-90)">place on the fold</text>'
    (back,) = [s for s in trace_drawing(page(drawn(outlines) + words), "x.svg").shapes if s.fold is not None]
    assert back.sides[back.fold].start[0] == pytest.approx(right)


def test_a_level_that_is_drawn_only_as_far_as_the_top_has_no_known_end() -> None:
    """A pattern whose top falls below the level on one side; the line stops there, the body's level does not."""
    body = '<path d="M20 60L110 20V220H20Z"/><path id="bust" d="M65 40L110 40"/><path id="waist" d="M20 150H110"/>'
    (panel,) = made(page(body)).panels
    assert set(panel.levels) == {"waist"}
