"""Telling the panels, taking the pattern into an order, and what it then can and cannot do."""

from __future__ import annotations

import math
import random
import re
from dataclasses import replace
from pathlib import Path

import pytest

from bodies import plausible
from coutil.check import check
from coutil.draft import draft
from coutil.layers import layer_up
from coutil.order import Build, OwnPanel, OwnPattern, OwnSeam, Style, parse_order, parse_own
from coutil.pattern import Pattern, girths
from coutil.pattern.json import dumps
from coutil.sheets import panels_svg
from coutil.trace import (
    Traced,
    TraceError,
    own_text,
    pattern_from_order,
    pattern_of,
    proposed,
    read_drawing,
    report,
    tell,
    trace_drawing,
    true_seam,
)
from spoken import spoken, subject

BODY = """
[body]
bust = 96
underbust = 78
waist = 70.5
bust_span = 19.5
bust_to_underbust = 8
bust_to_waist = 18.5
"""


def drafted(k: int = 0) -> Pattern:
    made = [(b, s) for b, s in plausible(5) if b.symmetric]
    return draft(*made[k], "mine").pattern


def traced(k: int = 0) -> Traced:
    return trace_drawing(panels_svg(drafted(k), "x").encode(), "x.svg")


def anonymous(t: Traced) -> Traced:
    shapes = tuple(replace(s, name=f"outline {n}", points={}, levels={}) for n, s in enumerate(t.shapes, start=1))
    return replace(t, shapes=shapes)


NET = OwnPattern("x.svg", line="net")


def test_roles_are_proposed_however_the_panels_lie() -> None:
    """Shuffled, turned over, without a name: what is sure is right, what is wrong is unsure. Counted over 60 files."""
    rng = random.Random(7)
    right = sure_and_right = sure = 0
    for k in range(60):
        t = anonymous(traced(k % 12))
        names = {
            s.name: n for s, n in zip(t.shapes, ("centre front", "side front", "side back", "centre back"), strict=True)
        }
        shapes = list(t.shapes)
        if k % 2:
            rng.shuffle(shapes)
        told = tell(replace(t, shapes=tuple(shapes)), NET)
        good = all(names[p.work.shape.name] == p.name for p in told.panels)
        right += good
        if min(p.sure for p in told.panels) >= 0.5:
            sure += 1
            sure_and_right += good
    assert right >= 54
    assert sure >= 10
    assert sure_and_right == sure


def test_what_is_said_goes_before_what_is_proposed() -> None:
    t = traced()
    own = replace(
        NET,
        panels=(
            OwnPanel("1", "front", roles=("hem", "side", "top", "centre_front"), fold="centre_front"),
            OwnPanel("side back", "back", roles=("hem", "centre_back", "top", "side")),
        ),
    )
    told = tell(t, own)
    assert [(p.name, p.sure, p.sure_edges) for p in told.panels] == [("front", 1.0, 1.0), ("back", 1.0, 1.0)]
    assert [(s.a, s.b) for s in told.seams] == [(("front", "side"), ("back", "side"))]
    seams = (OwnSeam("side", ("front", "side"), ("back", "centre_back"), ease=2.0),)
    told = tell(t, replace(own, seams=seams))
    assert [(s.name, s.a, s.b, s.ease, s.sure) for s in told.seams] == [
        ("side", ("front", "side"), ("back", "centre_back"), 2.0, 1.0)
    ]


@pytest.mark.parametrize(
    ("panel", "says"),
    [
        (OwnPanel("nine"), "no outline 'nine' in x.svg; there are 1 'centre front'"),
        (OwnPanel("1", roles=("hem", "top")), "2 roles for 4 sides; its sides from the lower left on, anticlockwise"),
        (OwnPanel("1", corners=((10.0, 150.0),)), "off the outline"),
        (OwnPanel("2", fold="centre_front", roles=("hem", "side", "top", "front_princess")), "no edge 'centre_front'"),
    ],
)
def test_what_is_said_and_does_not_fit_is_refused(panel: OwnPanel, says: str) -> None:
    with pytest.raises(TraceError, match=re.escape(says)):
        tell(traced(), replace(NET, panels=(panel,)))


def test_further_refusals() -> None:
    t = traced()
    unsaid = replace(t, shapes=tuple(replace(s, line=None) for s in t.shapes))
    with pytest.raises(TraceError, match=r'say line = "net"'):
        pattern_of(unsaid, OwnPattern("x.svg"), "x")
    # The project's own drawing of panels says by itself that they are net.
    assert dumps(pattern_of(t, OwnPattern("x.svg"), "x")) == dumps(pattern_of(unsaid, NET, "x"))
    with pytest.raises(TraceError, match="cut lines need the allowance"):
        pattern_of(t, OwnPattern("x.svg", line="cut"), "x")
    with pytest.raises(TraceError, match="two panels are called 'a'"):
        tell(t, replace(NET, panels=(OwnPanel("1", "a"), OwnPanel("2", "a"))))
    seam = OwnSeam("side", ("centre front", "side"), ("side back", "side"))
    with pytest.raises(TraceError, match="the centre front has no edge 'side'; it has"):
        tell(t, replace(NET, seams=(seam,)))
    with pytest.raises(TraceError, match="names the panel 'sleeve'; there are centre front, side front"):
        tell(t, replace(NET, seams=(replace(seam, a=("sleeve", "side")),)))


def test_a_corner_may_be_added_where_the_line_runs_on() -> None:
    t = traced()
    side_front = t.shapes[1]
    low = (
        min(c.start[0] for c in side_front.sides),
        min(p[1] for c in side_front.sides for p in c.points(tolerance=0.1)),
    )
    low = (min(p[0] for c in side_front.sides for p in c.points(tolerance=0.1)), low[1])
    top = max(side_front.sides, key=lambda c: c.start[1] + c.end[1])
    x, y = top.point(top.length / 2.0)
    panel = OwnPanel("2", "side front", corners=((x - low[0], y - low[1]),))
    told = tell(t, replace(NET, panels=(panel,)))
    assert len(told.panels[0].work.sides) == len(side_front.sides) + 1
    # Both halves of the top are still one edge with that role.
    assert sum(1 for e in told.panels[0].edges if e.role == "top") == 1


def test_landmarks_are_said_or_read() -> None:
    t = anonymous(traced())
    bare = pattern_of(t, NET, "x")
    assert all(not p.levels and not p.points for p in bare.panels)
    says = [spoken(f) for f in bare.findings if f.level == "note"]
    assert any(
        "The bust point is not known on the centre front and the side front, so no pad is made" in s for s in says
    )
    assert any("The waist is not known on any panel" in s for s in says)
    # Said with a ruler: heights above the lowest point of each panel, the bust point to the right and up.
    p = drafted()
    panels = []
    for number, panel in enumerate(p.panels, start=1):
        pts = panel.outline(tolerance=0.02)
        low = min(y for _, y in pts)
        levels = {k: panel.levels[k][0][1] - low for k in ("underbust", "waist")}
        bust = None
        if "bust_point" in panel.points:
            bust = (panel.points["bust_point"][0] - min(x for x, _ in pts), panel.points["bust_point"][1] - low + 0.4)
        panels.append(OwnPanel(str(number), panel.name, levels=levels, bust_point=bust))
    said = pattern_of(t, replace(NET, panels=tuple(panels)), "x")
    for panel in p.panels:
        read = said.panel(panel.name, "both")
        for level in ("underbust", "waist"):
            assert abs(read.levels[level][0][0] - read.levels[level][1][0]) == pytest.approx(
                abs(panel.levels[level][0][0] - panel.levels[level][1][0]), abs=0.02
            )
    for name in ("centre front", "side front"):
        assert said.panel(name, "both").edge("front_princess").marks["bust_point"] == pytest.approx(
            p.panel(name, "both").edge("front_princess").marks["bust_point"], abs=0.5
        )


# --- into an order -------------------------------------------------------------------------------------------------


def order_of(folder: Path, more: str = 'line = "net"\n') -> Pattern:
    order = parse_order(BODY + f'[pattern]\nfile = "mine.svg"\n{more}')
    return pattern_from_order(order, folder)


def test_an_order_with_a_pattern(tmp_path: Path) -> None:
    data = panels_svg(drafted(), "x").encode()
    (tmp_path / "mine.svg").write_bytes(data)
    read = order_of(tmp_path)
    made = layer_up(read, Build())
    assert {p.layer for p in made.pieces} == {"shell", "interfacing", "foam", "web"}
    assert len(made.pads) == 2
    order = parse_order(BODY)
    checked = check(made, order.body, Style(lacing_gap=50.0), order.build, own=True)
    assert len(checked.cups) == 1
    # The body serves as a measure: the drafted pattern is for another one.
    girth = girths(read, gap=50.0)
    assert set(girth) >= {"underbust", "waist"}
    says = {subject(f): f for f in checked.findings if subject(f).endswith(" girth")}
    for level in ("underbust", "waist"):
        wanted = f"{girth[level] / 10.0:.1f} cm all round"
        assert wanted in spoken(says[f"{level} girth"])
    assert dumps(checked)
    # The file is as it was.
    assert (tmp_path / "mine.svg").read_bytes() == data


def test_a_file_beside_the_drawing(tmp_path: Path) -> None:
    (tmp_path / "mine.svg").write_bytes(panels_svg(drafted(), "x").encode())
    own = OwnPattern("mine.svg", line="net")
    t = read_drawing(tmp_path / "mine.svg")
    full = proposed(t, own)
    text = own_text(full)
    assert parse_own(text) == full
    (tmp_path / "mine.toml").write_text(text, encoding="utf-8")
    order = parse_order(BODY + '[pattern]\nfile = "mine.toml"\n')
    p = pattern_from_order(order, tmp_path)
    # Everything is said now, so nothing is guessed.
    assert not any("% sure" in spoken(f) for f in p.findings)
    assert [(q.name, [e.name for e in q.edges]) for q in p.panels] == [
        (q.name, [e.name for e in q.edges]) for q in order_of(tmp_path).panels
    ]
    seen = report(t, own)
    for panel in p.panels:
        assert panel.name in seen
    assert "seam side: side front (side) with side back (side): equal" in seen
    (tmp_path / "mine.toml").write_text('[pattern]\nfile = "no.svg"\n', encoding="utf-8")
    with pytest.raises(TraceError, match=r"no\.svg: cannot be read: No such file"):
        pattern_from_order(order, tmp_path)
    with pytest.raises(ValueError, match="names no pattern"):
        pattern_from_order(parse_order(BODY), tmp_path)


def box(x: float, w: float, h: float, extra: str = "") -> str:
    return f'<path d="M{x} {300 - h}h{w}v{h}h{-w}z"/>{extra}'


SIX = (
    '<svg width="900mm" height="400mm" viewBox="0 0 900 400">'
    + "".join(box(20 + 110 * k, 90 - 5 * k, 200 - 3 * abs(k - 2)) for k in range(6))
    + "</svg>"
).encode()


def test_six_panels_walk_and_layer_up() -> None:
    """A pattern that is not of four panels: named as they lie, sewn in a row, cut out; only the pad is not offered."""
    p = pattern_of(trace_drawing(SIX, "six.svg"), OwnPattern("six.svg", line="net"), "six")
    assert len(p.panels) == 6
    assert len([s for s in p.seams if not s.on_itself]) == 5
    made = layer_up(p, Build())
    assert len(made.pieces) == 12
    assert made.pads == ()
    order = parse_order(BODY)
    checked = check(made, order.body, Style(closing="zip"), order.build, own=True)
    # Neighbours differ by 3 mm: a sewer eases that in, so it is a warning and no stop.
    walked = [f for f in checked.findings if subject(f).endswith("seam") and "longer than" in spoken(f)]
    assert walked
    assert {f.level for f in walked} == {"warn"}
    assert any(subject(f) == "pads" and "no pad is made" in spoken(f) for f in checked.findings)
    # Its drawing shows all six, and is read back as the same six.
    again = pattern_of(
        trace_drawing(panels_svg(p, "six").encode(), "again.svg"), OwnPattern("again.svg", line="net"), "six"
    )
    assert [(q.name, sorted(e.curve.length for e in q.edges)) for q in again.panels] == [
        (q.name, pytest.approx(sorted(e.curve.length for e in q.edges), abs=0.01)) for q in p.panels
    ]
    # And trueing takes it away.
    name = next(s.name for s in p.seams if not s.on_itself)
    assert max(abs(i.difference) for i in true_seam(p, name).after) < 1e-3


def test_a_difference_that_cannot_be_eased_in_is_a_stop() -> None:
    far = SIX.replace(b"M460 106h70v194h-70z", b"M460 130h70v170h-70z")
    assert far != SIX
    p = pattern_of(trace_drawing(far, "six.svg"), OwnPattern("six.svg", line="net"), "six")
    order = parse_order(BODY)
    checked = check(layer_up(p, Build()), order.body, Style(closing="zip"), order.build, own=True)
    assert any(f.level == "stop" and "longer than" in spoken(f) for f in checked.findings)


def test_a_kink_inside_an_edge_gets_its_allowance() -> None:
    """Two sides told as one edge: the cut line turns there in a mitre, the walk and the lay go on."""
    bent = b'<svg width="300mm" height="300mm" viewBox="0 0 300 300"><path d="M20 20L60 60L100 20V200H20Z"/></svg>'
    own = OwnPattern(
        "x", line="net", panels=(OwnPanel("1", "front", roles=("hem", "side", "top", "top", "centre_front")),)
    )
    p = pattern_of(trace_drawing(bent, "x"), own, "x")
    assert [e.name for e in p.panels[0].edges] == ["hem", "side", "top", "centre_front"]
    made = layer_up(p, Build())
    assert len(made.pieces) == 2


def test_a_panel_on_its_side_is_turned_by_its_grain() -> None:
    data = (
        b'<svg width="300mm" height="300mm" viewBox="0 0 300 300"><path d="M20 20h200v80h-200z"/>'
        b'<path class="grain" d="M60 60h100"/></svg>'
    )
    p = pattern_of(trace_drawing(data, "x"), OwnPattern("x", line="net"), "x")
    (panel,) = p.panels
    ys = [e.curve.start[1] for e in panel.edges]
    assert max(ys) - min(ys) == pytest.approx(200.0)
    assert any("does not stand upright in the file and was turned by its grain line" in spoken(f) for f in p.findings)


def test_a_break_is_told_from_half_a_degree_on() -> None:
    """A curve's join that turns by hundredths of a degree is the rounding of a file; it was told as a break of 0.0."""
    order = parse_order(BODY)

    def breaks(angle: float) -> list[str]:
        x = 100 + 30 * math.tan(math.radians(angle))
        bent = f'<path d="M20 220H100C100 190 100 150 100 120C{x} 90 104 50 104 20H20Z"/>'
        svg = f'<svg width="300mm" height="300mm" viewBox="0 0 300 300">{bent}</svg>'
        p = pattern_of(trace_drawing(svg.encode(), "x"), NET, "x")
        checked = check(layer_up(p, Build()), order.body, Style(closing="zip"), order.build, own=True)
        return [spoken(f) for f in checked.findings if "has a break" in spoken(f)]

    assert breaks(0.0) == breaks(0.3) == []
    assert any("a break of 0.8 degrees" in says for says in breaks(0.8))
