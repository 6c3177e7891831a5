"""Small rules whose slips the broader tests pass over: each worked out anew, by hand or from a closed form."""

from __future__ import annotations

import itertools
import math
import re
from dataclasses import replace

import pytest
from shapely import LineString, Point, Polygon

from bodice import BODY, UNEVEN
from coutil.docket import make_docket
from coutil.docket.bones import SHORTEST_BONE, unboned
from coutil.docket.making import _channels, making_up
from coutil.docket.model import Bone
from coutil.draft.draft import _cut_edges
from coutil.draft.frame import frames
from coutil.draft.join import STEEPEST, handle
from coutil.draft.lines import _hermite, _point, _step
from coutil.draft.style import _faded, settle
from coutil.layers.boning import bone_lines
from coutil.layers.notches import notched
from coutil.layers.openings import beside
from coutil.make import Work, work_out
from coutil.order import parse_order
from coutil.pattern import Panel
from coutil.plane import crossings, cubic
from coutil.seaming import READY
from coutil.sheets.figures import (
    PANEL_GAP,
    Naming,
    _off_line,
    arrowhead,
    centroid,
    panel_drawings,
    piece_drawings,
    spans_inside,
)
from coutil.words import say


def work(text: str = "", body: str = BODY) -> Work:
    return work_out(parse_order(body + text))


# --- the draft


@pytest.mark.parametrize("turn", [0.05, 0.4, 0.9, 1.3])
def test_a_handle_is_that_of_the_arc(turn: float) -> None:
    # An arc that makes `turn` with its chord spans twice that; its handle is 4/3 tan(a quarter of the span) radii, its
    # chord 2 sin(turn) radii.
    arc = 4.0 / 3.0 * math.tan(turn / 2.0) / (2.0 * math.sin(turn))
    assert handle(turn) == handle(-turn) == pytest.approx(arc)
    assert handle(0.0) == pytest.approx(1.0 / 3.0)
    assert handle(1.5) == handle(STEEPEST)


@pytest.mark.parametrize("back", ["straight", "scoop", "v"])
def test_the_backs_slope_is_that_of_its_fall(back: str) -> None:
    slopes(lambda v: _step(back, v))
    assert _step(back, 0.0) == (0.0, 0.0)
    assert _step(back, 1.0)[0] == pytest.approx(1.0)
    # Only a V meets the centre back at a slant.
    assert (_step(back, 1.0)[1] == pytest.approx(0.0)) == (back != "v")


@pytest.mark.parametrize("line", ["pointed", "curved"])
def test_the_hems_slope_is_that_of_its_fall(line: str) -> None:
    slopes(lambda t: _point(line, t))
    assert _point(line, 0.0) == (0.0, 0.0)
    assert _point(line, 1.0)[0] == pytest.approx(1.0)


def test_hermites_cubic_is_the_cubic_itself() -> None:
    """Any cubic is found again from two of its points and its slopes there."""

    def height(x: float) -> tuple[float, float]:
        return 7.0 - 0.4 * x + 0.03 * x * x - 2e-4 * x**3, -0.4 + 0.06 * x - 6e-4 * x * x

    a, b = ((x, *height(x)) for x in (12.0, 95.0))
    for x in (12.0, 30.0, 61.0, 95.0):
        assert _hermite(x, a, b) == pytest.approx(height(x))


def test_where_a_rising_line_reaches_a_height() -> None:
    rising = cubic((0.0, -40.0), (20.0, -35.0), (60.0, 10.0), (70.0, 50.0))
    for height in (-39.0, -10.0, 0.0, 33.0):
        (along,) = crossings(rising, lambda q, height=height: q[1] - height)
        assert rising.point(along)[1] == pytest.approx(height, abs=1e-6)


def test_a_plunge_below_the_underbust_is_bridged_and_no_other() -> None:
    def nets(plunge: float) -> list[Panel]:
        w = work(f'[style]\nneckline = "plunge"\nplunge = {plunge}\n')
        return [p for p in w.pattern.panels if p.material == "net"]

    assert nets(2.0) == []
    (net,) = nets(-3.0)
    outline = Polygon(net.outline(tolerance=0.02))
    assert outline.buffer(-0.5).contains(LineString(net.grain))


def test_the_halves_of_an_uneven_body_meet_at_the_centre_front() -> None:
    """Each level lies half way between what either side alone would have, so that the two can be sewn."""
    tape = BODY + "[body.left]\nbust_to_underbust = 8.5\nbust_to_waist = 20\n"
    left, right = (
        next(e for p in work(body=tape).pattern.panels if p.side == side for e in p.edges if e.role == "centre_front")
        for side in ("left", "right")
    )
    assert left.curve.length == pytest.approx(right.curve.length, abs=1e-6)
    assert left.marks == pytest.approx(right.marks, abs=1e-6)
    longer = re.sub(r"bust_to_underbust = \S+", "bust_to_underbust = 8.5", BODY)
    longer = re.sub(r"bust_to_waist = \S+", "bust_to_waist = 20", longer)
    alone = []
    for told in (BODY, longer):
        edge = next(e for p in work(body=told).pattern.panels for e in p.edges if e.role == "centre_front")
        alone.append(edge.marks["underbust"] - edge.marks["waist"])
    assert alone[1] - alone[0] > 5.0
    assert left.marks["underbust"] - left.marks["waist"] == pytest.approx(sum(alone) / 2.0, abs=0.05)


def slopes(fall) -> None:
    """What is told as the slope is the difference quotient."""
    for k in range(1, 20):
        v, d = k / 20.0 + 0.001, 1e-6
        assert fall(v)[1] == pytest.approx((fall(v + d)[0] - fall(v - d)[0]) / (2.0 * d), abs=1e-5)


def test_what_fades_in_does_so_over_its_span() -> None:
    assert [_faded(over, 40.0) for over in (-10.0, 0.0, 20.0, 40.0, 90.0)] == [0.0, 0.0, 0.5, 1.0, 1.0]
    assert 0.0 < _faded(4.0, 40.0) < 0.1


def test_without_a_cup_seam_the_neckline_bends_over_the_bust_point() -> None:
    """As it lies when worn: where the front stands open, half of the gap is not cloth."""
    ready = READY["princess-4"]
    # The same seam, a plain one.
    plain = replace(ready.seams[0], at=0.5, cup=False)
    seaming = replace(ready, name="plain", seams=(plain, *ready.seams[1:]))
    for gap in (0.0, 60.0):
        opening = f'[[style.opening]]\nat = "centre_front"\nwith = "lacing"\ngap = "{gap} mm"\n' if gap else ""
        order = parse_order(BODY + opening)
        style = settle(replace(order.style, seaming=seaming), order.body)
        frame = frames(seaming, order.body, style, 0.0)[0]
        end = _cut_edges(seaming, frame, style, order.body, order.body.left).end
        assert end is not None
        assert end.at[0] == pytest.approx(order.body.left.bust_point - gap / 2.0)


# --- notches, bones, openings


def test_which_levels_are_notched() -> None:
    assert notched("front_princess", cup=True) == {"underbust", "bust_point"}
    assert notched("side", cup=False) == {"waist", "underbust"}
    assert notched("hem", cup=False) == set()


def test_a_row_of_hooks_by_hand() -> None:
    """A row of 12 mm, its middle 6 mm from the edge; behind it a channel 2 mm wider than the bone, and 5 mm more."""
    w = work('[[style.opening]]\nat = "centre_back"\nwith = "hooks"\n')
    by = beside(w.order, w.order.style.opens[0])
    bone = w.order.shelf.bone("openings").width
    assert by.row == 6.0
    assert by.rim == 12.0
    assert by.channels == ((12.0, 12.0 + bone + 2.0),)
    assert by.facing == 12.0 + bone + 2.0 + 5.0


@pytest.mark.parametrize(("closing", "first"), [("zip", 12.0), ("busk", 15.0)])
def test_beside_a_zip_or_a_busk_by_hand(closing: str, first: float) -> None:
    """Clear of the tape or the busk a channel 2 mm wider than the bone; the facing 5 mm more than that."""
    place = "centre_front" if closing == "busk" else "centre_back"
    w = work(f'[[style.opening]]\nat = "{place}"\nwith = "{closing}"\n')
    by = beside(w.order, w.order.style.opens[0])
    wide = w.order.shelf.bone("openings").width + 2.0
    assert (by.row, by.channels, by.facing) == (None, ((first, first + wide),), first + wide + 5.0)


def test_beside_an_elastic_there_is_a_channel_from_the_seam_on_and_no_facing() -> None:
    w = work('[[style.opening]]\nat = "centre_back"\nwith = "elastic"\n')
    by = beside(w.order, w.order.style.opens[0])
    assert (by.row, by.facing) == (None, 0.0)
    assert by.channels == ((0.0, w.order.shelf.bone("openings").width + 2.0),)


def test_bones_of_a_seam_are_of_its_side() -> None:
    """On an uneven body every seam is boned on either side, but that at the centre front, which is one."""
    w = work('[notions]\nbones = ["centre_front", "front_princess", "side", "back_princess"]\n', UNEVEN)
    found = [(b.seam, b.side, b.quantity) for b in bone_lines(w.order, w.pattern) if b.place == "seams"]
    assert ("centre front", "both", 1) in found
    others = [(seam, side, n) for seam, side, n in found if not seam.startswith("centre front")]
    assert others
    assert {n for _, _, n in others} == {1}
    assert {side for _, side, _ in others} == {"left", "right"}
    even = [(b.side, b.quantity) for b in bone_lines(work().order, work().pattern) if b.place == "seams"]
    assert set(even) == {("both", 2)}


def test_only_channels_too_short_for_a_bone_are_told() -> None:
    w = work()
    assert all(b.length > SHORTEST_BONE for b in make_docket(w.order, w.pattern, None).bones)
    assert unboned(w.order, w.pattern) == ()
    # A belt's seams are 9 cm long at the most; both clearances leave none of them a bone.
    short = work('[style]\nseaming = "belt-3"\n[notions]\nbone_clearance = "5 cm"\nbone_clearance_top = "5 cm"\n')
    told = [f for f in unboned(short.order, short.pattern) if f.code == "bone.short"]
    assert len(told) >= 2


def test_the_waist_stay_of_sides_that_differ_is_as_long_as_the_waist() -> None:
    """The four sides of the waist, drawn at a tilt, add up to it; 1.5 cm less."""
    w = work("[style.ease]\nwaist = 0\n[build.kit]\n", UNEVEN)
    waist = sum(math.dist(*p.levels["waist"]) for p in w.pattern.panels)
    open_gap = w.order.style.gap
    stay = make_docket(w.order, w.pattern, None).kit.stay
    assert stay == pytest.approx(waist + open_gap - 15.0)


# --- the card


def test_only_a_shell_is_basted_before_it_is_sewn() -> None:
    w = work('[build]\nlayers = ["shell", "strength"]\n[build.lining]\n')
    steps = making_up(w.order, w.pattern, make_docket(w.order, w.pattern, None))
    for layer in ("shell", "strength"):
        (first,) = (s for s in steps if s.leaves == (f"cup:{layer}",))
        assert ("basted:shell" in first.needs) == (layer == "shell")


@pytest.mark.parametrize(("seaming", "other"), [("princess-4", True), ("underbust-4", False)])
def test_a_title_says_other_seams_only_where_some_were_sewn_before(seaming: str, other: bool) -> None:
    w = work(f'[style]\nseaming = "{seaming}"\n')
    (joined,) = (
        s for s in making_up(w.order, w.pattern, make_docket(w.order, w.pattern, None)) if s.leaves == ("joined:shell",)
    )
    assert ("other" in joined.title) == other


def test_pads_are_fused_with_web_and_tacked_without_and_bones_are_covered_where_there_are_any() -> None:
    def told(text: str) -> str:
        w = work(text)
        return " ".join(x for s in making_up(w.order, w.pattern, make_docket(w.order, w.pattern, None)) for x in s.says)

    lay, tacked, covered = say("card.pads.lay"), say("card.pads.lay_tacked"), say("card.finished.channels")
    fused, sewn = (told(f'[build]\nlayers = ["shell", "foam"{web}]\n') for web in (', "web"', ""))
    assert (lay in fused, tacked in fused) == (True, False)
    assert (lay in sewn, tacked in sewn) == (False, True)
    unlined = '[build]\nlayers = ["shell"]\n'
    assert covered in told(unlined)
    assert covered not in told(unlined + '[style]\nclosing = "zip"\n[notions]\nbones = ["centre_front"]\n')


def test_channels_say_their_side_only_where_the_sides_differ() -> None:
    made = Bone("a seam", "a seam", "both", 2, 210.0, 10.0, 200.0, "")
    assert not _channels(made).startswith(("left", "right", "both"))
    assert _channels(replace(made, side="left")).startswith("left: ")


def test_the_lesson_of_the_pads_by_their_measures() -> None:
    """The pads stand 3 cm apart: each stops 1.5 cm beside the centre. Notches over the bust are told once."""
    w = work('[build.pad]\napart = "3 cm"\nfront_dip = "1 cm"\n')
    figures = [{f.name: f.value for f in s.figures} for s in w.lesson]
    asides = [f["aside"] for f in figures if "aside" in f]
    assert asides
    assert set(asides) == {15.0}
    assert {f["front_dip"] for f in figures if "front_dip" in f} == {10.0}
    assert sum("inch" in f for f in figures) == 1


# --- pieces and drawings


@pytest.mark.parametrize("turn", [0.0, 0.3, 1.2, 2.9])
def test_what_of_a_line_lies_inside_is_what_shapely_says(turn: float) -> None:
    ring = [(-30.0, -20.0), (40.0, -25.0), (35.0, 5.0), (10.0, -5.0), (12.0, 30.0), (-28.0, 25.0)]
    for x, y in ((-5.0, 3.0), (20.0, -12.0)):
        dx, dy = math.cos(turn), math.sin(turn)
        far = LineString([(x - 200 * dx, y - 200 * dy), (x + 200 * dx, y + 200 * dy)])
        inside = far.intersection(Polygon(ring))
        parts = sorted(g.length for g in getattr(inside, "geoms", [inside]))
        found = spans_inside((x, y), (x + 3 * dx, y + 3 * dy), ring)
        assert sorted(math.dist(a, b) for a, b in found) == pytest.approx(parts)


def test_the_middle_of_a_shape_and_the_distance_from_a_line() -> None:
    ring = [(-30.0, -20.0), (40.0, -25.0), (35.0, 5.0), (10.0, -5.0), (12.0, 30.0), (-28.0, 25.0)]
    for turned in (ring, ring[::-1]):
        assert centroid(turned) == pytest.approx(Polygon(ring).centroid.coords[0])
    for p in ((3.0, 4.0), (-20.0, 55.0), (90.0, 1.0)):
        whole = LineString([(-305.0, -400.0), (595.0, 800.0)])
        assert _off_line(p, ((-5.0, 0.0), (25.0, 40.0))) == pytest.approx(Point(p).distance(whole))


@pytest.mark.parametrize("body", [BODY, UNEVEN])
def test_panels_lie_side_by_side(body: str) -> None:
    boxes = [d.bounds() for d in panel_drawings(work(body=body).pattern)]
    assert len(boxes) == (4 if body == BODY else 8)
    for (ax0, ay0, ax1, ay1), (bx0, by0, bx1, by1) in itertools.combinations(boxes, 2):
        assert ax1 < bx0 or bx1 < ax0 or ay1 < by0 or by1 < ay0
    if body == UNEVEN:
        # The right half in a row of its own below the left one.
        assert min(b[1] for b in boxes[:4]) - max(b[3] for b in boxes[4:]) == pytest.approx(PANEL_GAP)


def test_marked_lines_have_their_own_kinds_and_places_are_named_once() -> None:
    w = work('[style]\nclosing = "lacing"\n[build.kit]\n')
    found = {d.name: d for d in piece_drawings(w.pattern, Naming("", "", ""))}
    for name, drawing in found.items():
        pieces = [p for p in w.pattern.pieces if p.name in name.split(" / ")]
        kinds = {n.what for p in pieces for n in p.lines}
        styles = {n.style for d in drawing.every() for n in d.lines}
        assert ("channel" in styles) == bool(kinds - {"fold"}), name
        words = [t.says for d in drawing.every() for t in d.texts]
        assert words.count("eyelet") <= 1, name
    assert any("eyelet" in [t.says for p in d.every() for t in p.texts] for d in found.values())


@pytest.mark.parametrize(("closing", "layer"), [("zip", "guard"), ("hooks", "underlap")])
def test_the_grain_of_a_strip_lies_in_it_and_runs_along(closing: str, layer: str) -> None:
    w = work(f'[style]\nclosing = "{closing}"\n[build.kit]\n')
    piece = next(p for p in w.pattern.pieces if p.layer == layer)
    net = Polygon(piece.net_outline(tolerance=0.02))
    (x0, y0), (x1, y1) = piece.grain
    assert x0 == pytest.approx(x1)
    assert net.buffer(-1.0).contains(LineString(piece.grain))
    assert 0.4 * (net.bounds[3] - net.bounds[1]) < y1 - y0


@pytest.mark.parametrize("turn", [0.0, 0.7, 2.0, 3.5, 5.1])
def test_an_arrowhead_points_from_tail_to_tip(turn: float) -> None:
    ux, uy = math.cos(turn), math.sin(turn)
    tip, a, b = arrowhead((3.0 + 20.0 * ux, 4.0 + 20.0 * uy), (3.0, 4.0))
    assert tip == pytest.approx((3.0 + 20.0 * ux, 4.0 + 20.0 * uy))
    assert math.dist(tip, a) == pytest.approx(math.dist(tip, b))
    # The base lies behind the tip and square to the line, half of it on either side.
    behind = [(tip[0] - x) * ux + (tip[1] - y) * uy for x, y in (a, b)]
    aside = [(tip[0] - x) * uy - (tip[1] - y) * ux for x, y in (a, b)]
    assert behind[0] == pytest.approx(behind[1])
    assert 0.0 < behind[0] < 20.0
    assert aside[0] == pytest.approx(-aside[1])
    assert abs(aside[0]) < behind[0]
