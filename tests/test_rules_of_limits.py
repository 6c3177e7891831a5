"""Rules at their limits: how narrow a panel may be, where a slope ends, what gives way; each from its definition."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace
from itertools import pairwise
from types import SimpleNamespace

import pytest
from shapely import LineString, Polygon

from bodice import BODY, UNEVEN
from coutil.docket import make_docket
from coutil.docket.making import making_up
from coutil.docket.thread import THICKNESS
from coutil.draft import DraftError
from coutil.draft.frame import frames
from coutil.draft.lines import _hem_along, front_top, lines, side_height
from coutil.draft.neckline import CupEnd, Neckline, neckline
from coutil.draft.panels import Draftsman
from coutil.draft.rise import _slopes
from coutil.draft.sharing import NARROWEST, _refuse_narrow, _widened, share_out
from coutil.draft.style import settle
from coutil.layers.allowances import _corner
from coutil.layers.boning import bone_lines
from coutil.layers.inside import beside_edge
from coutil.make import Work, work_out
from coutil.order import Order, parse_order
from coutil.pattern import Edge
from coutil.plane import cubic, line
from coutil.seaming import READY
from coutil.words import say


def order(text: str = "", body: str = BODY) -> Order:
    return parse_order(body + text)


def work(text: str = "", body: str = BODY) -> Work:
    return work_out(order(text, body))


# --- shares and widths


def test_a_panel_of_the_least_width_is_drafted_and_a_narrower_one_refused() -> None:
    """22 mm hold two 1/2 in allowances side by side but for 3.4 mm: common practice, no source."""
    o = order()
    style, seaming = settle(o.style, o.body), o.style.seaming
    assert pytest.approx(22.0) == NARROWEST
    wide = tuple({"waist": NARROWEST, "bust": 90.0} for _ in seaming.panels)
    _refuse_narrow(seaming, wide, "both", style)
    narrow = ({"waist": NARROWEST - 0.01, "bust": 90.0}, *wide[1:])
    with pytest.raises(DraftError, match="centre front"):
        _refuse_narrow(seaming, narrow, "both", style)


def test_the_widest_back_panel_gives_what_a_narrow_one_lacks_while_it_can_spare_it() -> None:
    levels = ("waist", "bust")

    def widened(*waists: float) -> list[float]:
        near = tuple({"waist": 0.0, "bust": 0.0} for _ in waists)
        wide = tuple({"waist": w, "bust": 90.0} for w in waists)
        out, widths = _widened(levels, near, wide, 1)
        # What a panel gains its near edge stands out by, and the other way about.
        for inset, now, was in zip(out, widths, waists, strict=True):
            assert inset is not None
            assert now["waist"] - was == pytest.approx(-inset["waist"])
            assert (now["bust"], inset["bust"]) == (90.0, 0.0)
        return [w["waist"] for w in widths]

    # The first panel belongs to the front: it neither gets nor gives.
    assert widened(99.0, 20.0, 50.0, 60.0) == pytest.approx([99.0, 22.0, 50.0, 58.0])
    assert widened(20.0, 30.0, 50.0) == pytest.approx([20.0, 30.0, 50.0])
    # What gives stays one and a half times as wide as the narrowest.
    spare = 33.0 + 2.0
    assert widened(99.0, 20.0, spare + 0.1) == pytest.approx([99.0, 22.0, spare - 1.9])
    assert widened(99.0, 20.0, spare - 0.1) == pytest.approx([99.0, 20.0, spare - 0.1])


# --- slopes and lines


POINTS = ((4.0, -190.0), (1.0, -95.0), (-2.0, 0.0), (6.0, 110.0), (14.0, 190.0))
NAMES = ("hip", "high_hip", "waist", "underbust", "bust")


def test_a_hem_at_the_high_hip_leaves_the_hip_out_of_account() -> None:
    """With the hip faded out the slope at the high hip is that of an edge that ends there."""
    alone = _slopes(NAMES[1:], POINTS[1:], 1.0)
    assert _slopes(NAMES, POINTS, 0.0)[1:] == pytest.approx(alone)
    whole = _slopes(NAMES, POINTS, 1.0)
    assert whole[1] != pytest.approx(alone[0])
    half = _slopes(NAMES, POINTS, 0.5)
    assert half[1] == pytest.approx((whole[1] + alone[0]) / 2.0)


def test_the_lowest_slope_is_a_quarter_beyond_its_chord() -> None:
    chords = [(b[0] - a[0]) / (b[1] - a[1]) for a, b in pairwise(POINTS)]
    out = _slopes(NAMES, POINTS, 1.0)
    assert out[0] == pytest.approx(chords[0] + (chords[0] - out[1]) / 4.0)
    # It turns back at the waist, and stands upright at the bust.
    assert (out[2], out[4]) == (0.0, 0.0)
    assert out[1] == pytest.approx((chords[0] + chords[1]) / 2.0)


def test_the_hem_lies_in_proportion_between_the_levels() -> None:
    o = order('[style]\nhem = "20 cm"\n')
    body, style = o.body, settle(o.style, o.body)
    lengths = {("high_hip", "waist"): 103.0, ("hip", "high_hip"): 111.0}

    def along(hem: float) -> float:
        return _hem_along(replace(style, hem=hem), body, lengths)

    high, full = body.high_hip_depth, body.hip_depth
    assert along(-30.0) == 30.0
    assert along(high / 2.0) == pytest.approx(-103.0 / 2.0)
    assert along(high) == pytest.approx(-103.0)
    assert along((high + full) / 2.0) == pytest.approx(-103.0 - 111.0 / 2.0)
    assert along(full) == pytest.approx(-214.0)
    assert along(full + 25.0) == pytest.approx(-239.0)
    # Without a hip it runs on by its own measure.
    only = {("high_hip", "waist"): 103.0}
    assert _hem_along(replace(style, hem=high + 25.0), body, only) == pytest.approx(-128.0)


def test_the_top_comes_level_to_the_side() -> None:
    """Between a cup that ends level at the side's height and the side, the top is level at every seam."""
    o = order('[style]\nseaming = "corset-6"\nneckline = "pointed"\n')
    style, seaming = settle(o.style, o.body), o.style.seaming
    (frame,) = frames(seaming, o.body, style, 0.0)
    ln = lines(seaming, frame, style, o.body)
    height = side_height(seaming, frame, ln)
    assert seaming.cup is not None
    x = sum(frame.half.width[k][seaming.highest] for k in range(seaming.cup + 1))
    end = CupEnd((x, height), math.pi / 2.0)
    # A corner at the cup: beyond it the top leaves along its chord, which is level here.
    tops = front_top(seaming, frame, ln, Neckline(height, 0.0, 0.0, 0.0, cornered=True), end)
    between = [k for k in range(seaming.in_front) if k != seaming.cup]
    assert between
    for k in between:
        assert tops[k].tilt == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    ("name", "cornered"),
    [("straight", 0), ("plunge", 0), ("sweetheart", 0), ("scoop", 0), ("v", 1), ("pointed", 1)],
)
def test_a_v_and_a_point_have_a_corner_over_the_bust(name: str, cornered: int) -> None:
    o = order(f'[style]\nneckline = "{name}"\n')
    made = neckline(settle(o.style, o.body), 60.0, CupEnd((90.0, 150.0), math.pi / 2.0))
    assert made.cornered == bool(cornered)
    # A neckline that does not rise towards the cup has none to make.
    assert not neckline(settle(o.style, o.body), 160.0, CupEnd((90.0, 150.0), math.pi / 2.0)).cornered


@pytest.mark.parametrize("seaming", ["princess-4", "corset-6", "corset-7", "princess-5"])
def test_the_seam_over_the_bust_point_has_the_tapes_lengths(seaming: str) -> None:
    """To 1e-5 mm, on an even body and on an uneven one, also where panels lie between it and the centre front."""
    for body in (BODY, UNEVEN):
        o = order(f'[style]\nseaming = "{seaming}"\n', body)
        w = work_out(o)
        for seam in w.pattern.cup_seams:
            side = o.body.right if seam.side == "right" else o.body.left
            marks = w.pattern.edge_of(seam.a).marks
            assert marks["bust_point"] - marks["underbust"] == pytest.approx(side.bust_to_underbust, abs=1e-5)
            assert marks["bust_point"] - marks["waist"] == pytest.approx(side.bust_to_waist, abs=1e-5)


def test_shares_leave_each_half_its_girth() -> None:
    o = order()
    style = settle(o.style, o.body)
    half = share_out(o.style.seaming, o.body, o.body.left, style, 0.0, "")
    for level in half.levels:
        whole = 2.0 * sum(w[level] for w in half.width) + style.open_front + style.open_back
        assert whole == pytest.approx(getattr(o.body, level) + style.ease_at(level))


# --- layers


def edge(role: str) -> Edge:
    return Edge(role, role, line((0.0, 0.0), (100.0, 0.0)))


def test_where_seams_meet_the_top_they_are_pressed_open() -> None:
    for turned in ("top", "hem"):
        assert _corner(edge("side"), edge(turned)) == "flush"
        assert _corner(edge(turned), edge("side")) == "flush_next"
    assert _corner(edge("side"), edge("front_princess")) == "mitre"
    assert _corner(edge("top"), edge("hem")) == "mitre"


def test_a_line_beside_an_edge_ends_on_its_neighbours_or_is_none() -> None:
    w = work()
    panel = w.pattern.panel("side front", "both")
    for one in panel.edges:
        if one.kind != "seam":
            continue
        found = beside_edge(panel, one, 9.0)
        assert found is not None
        made, low, high = found
        k = next(n for n, e in enumerate(panel.edges) if e.name == one.name)
        before, after = panel.edges[k - 1], panel.edges[(k + 1) % len(panel.edges)]
        assert math.dist(made.start, before.curve.point(low)) < 0.05
        assert math.dist(made.end, after.curve.point(high)) < 0.05
        for part in range(1, 10):
            assert one.curve.nearest(made.point(made.length * part / 10.0))[1] == pytest.approx(9.0, abs=0.05)
        # Farther in than a neighbour is long: it would end beyond it.
        for part in (1.05, 1.3, 2.0):
            assert beside_edge(panel, one, part * min(before.curve.length, after.curve.length)) is None


def test_a_bone_at_the_centre_front_only_where_it_does_not_open() -> None:
    def middle(text: str) -> int:
        o = order('[build.bones]\nextra = "always"\n' + text)
        return sum(b.at == "centre_front" and b.place == "lines" for b in bone_lines(o, work_out(o).pattern))

    shut = middle("")
    opened = middle('[[style.opening]]\nat = "centre_front"\nwith = "busk"\n')
    assert (shut, opened) == (1, 0)


@pytest.mark.parametrize("name", list(READY))
def test_the_panels_of_a_seaming_are_named_from_the_front_and_mirrored_behind(name: str) -> None:
    seaming = READY[name]
    front = [p.name for p in seaming.panels if p.part == "front" and not p.under_arm]
    back = [p.name for p in seaming.panels if p.part == "back"]
    assert len({p.name for p in seaming.panels}) == len(seaming.panels)
    assert front[0] == "centre front"
    assert back[-1] == "centre back"
    assert all("front" in x for x in front)
    assert all("back" in x for x in back)
    if len(front) > 1:
        assert front[-1] == "side front"
    if len(back) > 1:
        assert back[0] == "side back"
    if len(front) == len(back):
        assert [x.replace("back", "front") for x in reversed(back)] == front


# --- docket


def test_what_is_cut_from_the_shell_is_as_thick_as_the_shell() -> None:
    assert {THICKNESS[x] for x in ("modesty_panel", "guard", "underlap")} == {THICKNESS["shell"]}


@pytest.mark.parametrize("on", [["shell"], ["lining"], ["shell", "lining"]])
def test_a_lining_with_pads_is_sewn_as_one(on: list[str]) -> None:
    text = f"[build.lining]\n[build.pad]\non = {on}\n".replace("'", '"')
    o = order(text)
    w = work_out(o)
    said = [line for s in making_up(o, w.pattern, make_docket(o, w.pattern, None)) for line in s.says]
    assert (say("card.lining.sew_padded") in " ".join(said)) == ("lining" in on)
    assert (say("card.lining.press_padded") in " ".join(said)) == ("lining" in on)


def test_bones_that_are_sold_in_lengths_are_counted_length_by_length() -> None:
    sold = [22, 24, 26, 28, 30, 32, 34, 36, 38, 40]
    o = order(f'[[bone]]\nname = "steel"\nkind = "flat_steel"\nwidth = "7 mm"\nlengths = {sold}\n')
    docket = make_docket(o, work_out(o).pattern, None)
    wanted: Counter[str] = Counter()
    for b in docket.bones:
        assert b.length in [10.0 * n for n in sold]
        wanted[f"steel, {b.length / 10.0:.1f} cm"] += b.quantity
    assert len(wanted) > 1
    found = {m.what.partition(" (")[0]: m.quantity for m in docket.materials if m.what.startswith("steel")}
    assert found == dict(wanted)


@pytest.mark.parametrize("sag", [0.0, 60.0, 200.0])
def test_a_grain_line_lies_inside_under_a_top_that_bows_in(sag: float) -> None:
    corners = [(0.0, -100.0), (80.0, -100.0), (80.0, 150.0), (0.0, 150.0)]
    hem, far, near = (line(corners[k], corners[(k + 1) % 4]) for k in (0, 1, 3))
    top = cubic((80.0, 150.0), (55.0, 150.0 - sag), (25.0, 150.0 - sag), (0.0, 150.0))
    edges = tuple(Edge(r, r, c) for r, c in (("hem", hem), ("side", far), ("top", top), ("front_princess", near)))
    drawn, levels = SimpleNamespace(panel="side front", part="front"), {"waist": ((0.0, 0.0), (80.0, 0.0))}
    levels["underbust"] = ((0.0, 60.0), (80.0, 60.0))
    panel = Draftsman._panel(SimpleNamespace(side="both"), drawn, edges, levels, (), None)
    inside = Polygon(panel.outline(tolerance=0.02)).buffer(-2.0)
    assert inside.contains(LineString(panel.grain))
    assert math.dist(*panel.grain) > 50.0
