"""Pads inside their panels with their clearances, and notches that pair up; each spoilt one is found."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

import checked
import four_panels
from by_hand import DIP, DROP, INSET, PRINCESS, piece, with_pads, with_pieces
from coutil.check import notch_findings, pad_findings
from coutil.order import Build, PadBuild
from coutil.pattern import Finding, Pattern
from coutil.pattern.seams import NOTCH_ABOVE, NOTCH_BELOW
from coutil.plane import Curve, cubic, line
from spoken import spoken, subject


def found(pattern: Pattern, *, drop: float = DROP, inset: float = INSET, dip: float = DIP) -> list[Finding]:
    return pad_findings(pattern, top_drop=drop, side_inset=inset, side_dip=dip)


def changed(pattern: Pattern, panel: str, edge: str, curve: Callable[[Curve], Curve]) -> Pattern:
    pads = tuple(
        replace(p, edges=tuple(replace(e, curve=curve(e.curve)) if e.name == edge else e for e in p.edges))
        if p.panel == panel
        else p
        for p in pattern.pads
    )
    return replace(pattern, pads=pads)


@pytest.mark.parametrize("peak", [0.0, 18.0])
def test_good_pads_pass(peak: float) -> None:
    pattern = with_pads(four_panels.build(peak=peak))
    assert found(pattern) == []
    # Drawn by hand to an inch from the side, and not by where the breast ends.
    assert checked.findings(pattern, build=Build(pad=PadBuild(beyond=50.0))) == []
    assert found(with_pads(four_panels.uneven(four_panels.build(peak=peak)))) == []


@pytest.mark.parametrize(
    ("how", "words"),
    [
        ({"inset": INSET - 1.0}, "comes within 2.44 cm of the side seam, where"),
        ({"dip": DIP - 1.0}, "of the top edge, where 0.64 cm is wanted"),
    ],
)
def test_a_pad_too_near_an_edge_is_found(how: dict[str, float], words: str) -> None:
    (finding,) = found(with_pads(four_panels.build(peak=18.0), **how))
    assert (finding.level, subject(finding)) == ("stop", "side front pad")
    assert words in spoken(finding)


@pytest.mark.parametrize(
    ("how", "panel", "words"),
    [
        ({"front_dip": 12.0}, "centre front", "of the top edge, where 1.00 cm is wanted"),
        ({"apart": 60.0}, "centre front", "of the centre front seam, where 3.00 cm is wanted"),
        ({"beyond": 5.0}, "side front", "beyond the root of the breast, where 0.50 cm is the most"),
    ],
)
def test_a_pad_too_near_the_neckline_or_its_neighbour_or_too_far_out_is_found(
    how: dict[str, float], panel: str, words: str
) -> None:
    pattern = with_pads(four_panels.build(peak=18.0))
    (finding,) = pad_findings(pattern, top_drop=DROP, side_inset=INSET, side_dip=DIP, **how)
    assert (finding.level, subject(finding)) == ("stop", f"{panel} pad")
    assert words in spoken(finding)


def test_a_pad_that_starts_elsewhere_is_found_on_both_panels() -> None:
    pattern = with_pads(four_panels.build(peak=18.0), drop=11.0)
    assert [(subject(f), "starts 1.10 cm below" in spoken(f)) for f in found(pattern)] == [
        ("centre front pad", True),
        ("side front pad", True),
    ]
    assert found(pattern, drop=11.2) == []


def test_halves_that_take_different_stretches_of_the_seam_are_found() -> None:
    good, late = (with_pads(four_panels.build(), drop=d) for d in (DROP, DROP + 1.0))
    mixed = replace(good, pads=(good.pads[0], late.pads[1]))
    said = [spoken(f) for f in found(mixed)]
    assert any(s.startswith("Above the bust point the two halves of the pad differ by 1.0 mm") for s in said)
    assert not any(s.startswith("Below the bust point") for s in said)


def test_a_pad_that_ends_beside_the_underbust_is_found() -> None:
    pattern = with_pads(four_panels.build())
    short = changed(pattern, "centre front", "pad_princess", lambda c: c.part(2.0, c.length))
    said = [spoken(f) for f in found(short)]
    assert any("ends 2.0 mm above the underbust" in s for s in said)
    assert any(s.startswith("Below the bust point the two halves of the pad differ by 2.0 mm") for s in said)


def test_a_pad_beside_its_seam_is_found() -> None:
    pattern = with_pads(four_panels.build())
    moved = changed(pattern, "centre front", "pad_princess", lambda c: c.moved(-0.2, 0.0))
    assert any("princess edge lies 0.2 mm beside the panel's" in spoken(f) for f in found(moved))
    nudged = changed(pattern, "centre front", "pad_princess", lambda c: c.moved(-0.02, 0.0))
    assert found(nudged) == []


def test_a_pad_without_a_sewn_edge_is_found() -> None:
    pattern = with_pads(four_panels.build())
    loose = replace(pattern.pads[0], edges=tuple(replace(e, role="pad_rim") for e in pattern.pads[0].edges))
    assert any(
        "no edge on the princess seam" in spoken(f) for f in found(replace(pattern, pads=(loose, pattern.pads[1])))
    )


def test_a_pad_over_the_net_line_is_found() -> None:
    pattern = with_pads(four_panels.build())
    pad = pattern.pads[0]
    y = pad.edges[0].curve.end[1]
    over = changed(pattern, "centre front", "pad_top", lambda c: line(c.start, (-1.0, y)))
    over = changed(over, "centre front", "pad_lower", lambda c: line((-1.0, y), c.end))
    (finding,) = found(over)
    assert spoken(finding).startswith("The pad reaches 1.0 mm over the net line")


def test_a_panel_that_dips_into_its_pad_is_found() -> None:
    # The pad's rims are straight lines across a hollow of the top edge: no corner of the pad lies outside.
    pattern = with_pads(four_panels.build())
    front = pattern.panel("centre front", "both")
    top = front.edge("top").curve
    hollow = cubic(top.start, (70.0, 150.0), (20.0, 150.0), top.end)
    dipped = four_panels.with_edge(pattern, "centre front", "top", curve=hollow)
    assert any("over the net line of its panel" in spoken(f) for f in found(dipped) if subject(f) == "centre front pad")


@pytest.mark.parametrize("peak", [0.0, 18.0])
def test_good_notches_pair_up(peak: float) -> None:
    pattern = four_panels.build(peak=peak)
    assert notch_findings(with_pieces(pattern)) == []
    assert notch_findings(with_pieces(four_panels.uneven(pattern))) == []


@pytest.mark.parametrize("name", [NOTCH_ABOVE, "bust_point", "underbust"])
def test_a_notch_that_slid_along_the_seam_is_found(name: str) -> None:
    pattern = four_panels.build(peak=18.0)
    front = pattern.panel("centre front", "both")
    slid = {f"{PRINCESS} {name}": 0.5}
    (finding,) = notch_findings(with_pieces(pattern, {"centre front, shell": piece(front, "shell", moved=slid)}))
    assert (finding.level, subject(finding)) == ("stop", "front princess seam")
    assert "on the centre front it lies 0.5 mm higher than on the side front" in spoken(finding)
    little = {f"{PRINCESS} {name}": 0.2}
    assert notch_findings(with_pieces(pattern, {"centre front, shell": piece(front, "shell", moved=little)})) == []


def test_the_same_slip_in_every_layer_is_said_once() -> None:
    pattern = four_panels.build()
    panel = pattern.panel("side back", "both")
    spoilt = {f"side back, {layer}": piece(panel, layer, moved={"side waist": -1.0}) for layer in ("shell", "lining")}
    (finding,) = notch_findings(with_pieces(pattern, spoilt))
    assert subject(finding) == "side seam"
    assert "on the side front it lies 1.0 mm higher than on the side back" in spoken(finding)


@pytest.mark.parametrize(("panel", "other"), [("centre front", "side front"), ("side front", "centre front")])
def test_a_notch_without_a_partner_is_found(panel: str, other: str) -> None:
    pattern = four_panels.build(peak=18.0)
    spoilt = piece(pattern.panel(panel, "both"), "lining", without=NOTCH_BELOW)
    (finding,) = notch_findings(with_pieces(pattern, {f"{panel}, lining": spoilt}))
    assert f"notch of the {other} has no partner on the {panel}" in spoken(finding)


def test_the_end_of_the_centre_front_needs_no_partner() -> None:
    pattern = with_pieces(four_panels.build(peak=18.0))
    names = [n.name for p in pattern.pieces if p.panel == "side front" for n in p.notches if n.edge == PRINCESS]
    # Common practice, no source: five on the side front, four on the centre front.
    assert len(names) == 2 * 5
    assert "centre_front_end" in names
    assert notch_findings(pattern) == []


def test_a_notch_off_its_line_is_found() -> None:
    pattern = four_panels.build()
    good = piece(pattern.panel("side back", "both"), "shell")

    def moved(by: float) -> list[Finding]:
        notches = tuple(replace(n, at=(n.at[0] + by, n.at[1])) if n.edge == "side" else n for n in good.notches)
        return notch_findings(with_pieces(pattern, {"side back, shell": replace(good, notches=notches)}))

    assert moved(0.02) == []
    (finding,) = moved(0.5)
    assert subject(finding) == "side back"
    assert spoken(finding).startswith("The waist notch lies 0.5 mm off its net line")


def test_on_an_uneven_pattern_each_side_has_its_own_notches() -> None:
    pattern = four_panels.uneven(four_panels.build())
    spoilt = piece(pattern.panel("side back", "right"), "shell", moved={"side waist": 2.0})
    pieces = tuple(
        spoilt if (p.name, p.side) == ("side back, shell", "right") else p for p in with_pieces(pattern).pieces
    )
    (finding,) = notch_findings(replace(pattern, pieces=pieces))
    assert subject(finding) == "right side seam"


def test_a_layer_that_only_one_panel_has_needs_no_partners() -> None:
    pattern = four_panels.build()
    foam = piece(pattern.panel("side front", "both"), "foam")
    assert notch_findings(replace(pattern, pieces=(foam,))) == []


def test_the_whole_check_looks_at_notches() -> None:
    pattern = four_panels.build()
    spoilt = piece(pattern.panel("side back", "both"), "shell", moved={"side waist": 2.0})
    assert [subject(f) for f in checked.findings(with_pieces(pattern, {"side back, shell": spoilt}))] == ["side seam"]
