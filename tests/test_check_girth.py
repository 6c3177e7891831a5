"""Girths, marks and the bust point against the tape."""

from __future__ import annotations

from dataclasses import replace

import pytest

import checked
import four_panels
from coutil.check import bust_point_findings, check, girth_findings, mark_findings
from coutil.order import Build, Ease
from coutil.pattern import Finding, Pattern, girths
from spoken import spoken, subject

GIRTH = {level: four_panels.girth(level) for level in four_panels.HEIGHTS}


def widened(pattern: Pattern, panel: str, level: str, by: float) -> Pattern:
    """The pattern with a level's far end moved out by `by` mm, as a slip of the draft would leave it."""
    p = pattern.panel(panel, "both")
    near, far = p.levels[level]
    return four_panels.with_panel(pattern, panel, levels={**p.levels, level: (near, (far[0] + by, far[1]))})


@pytest.mark.parametrize("uneven", [False, True])
def test_a_good_pattern_has_the_girths_it_was_made_for(uneven: bool) -> None:
    pattern = four_panels.build(peak=18.0)
    pattern = four_panels.uneven(pattern) if uneven else pattern
    assert girths(pattern) == pytest.approx(GIRTH, abs=1e-9)
    assert list(girths(pattern)) == ["high_hip", "waist", "underbust", "bust"]
    assert girth_findings(pattern, body=GIRTH, ease={}) == []
    assert mark_findings(pattern) == []


def test_half_a_millimetre_all_round_passes_and_more_does_not() -> None:
    pattern = four_panels.build()
    # Each panel counts twice.
    assert girth_findings(widened(pattern, "side front", "waist", 0.24), body=GIRTH, ease={}) == []
    (finding,) = girth_findings(widened(pattern, "side front", "waist", 0.26), body=GIRTH, ease={})
    assert (finding.level, subject(finding)) == ("stop", "waist girth")
    assert "0.5 mm more than" in spoken(finding)
    (finding,) = girth_findings(widened(pattern, "side front", "bust", -2.0), body=GIRTH, ease={})
    assert "4.0 mm less than" in spoken(finding)
    assert "Let the seams out there" in spoken(finding)


def test_on_an_uneven_pattern_both_halves_count_once() -> None:
    pattern = four_panels.uneven(widened(four_panels.build(), "side front", "waist", 0.6))
    right = [
        replace(p, levels=four_panels.mirrored(four_panels.build().panel(p.name, "both")).levels)
        for p in pattern.panels[4:]
    ]
    one_side = replace(pattern, panels=(*pattern.panels[:4], *right))
    (finding,) = girth_findings(one_side, body=GIRTH, ease={})
    assert "0.6 mm more than" in spoken(finding)


def test_the_gap_and_the_ease_count() -> None:
    pattern = four_panels.build()
    assert girth_findings(pattern, body={"waist": GIRTH["waist"] + 50.0}, ease={}, gap=50.0) == []
    assert girth_findings(pattern, body={"waist": GIRTH["waist"] + 30.0}, ease={"waist": -30.0}) == []
    (finding,) = girth_findings(pattern, body={"waist": GIRTH["waist"]}, ease={}, gap=50.0)
    assert "the panels and the gap of 5.0 cm make 75.0 cm all round, 5.0 cm more than the 70.0 cm" in spoken(finding)


def test_the_whole_check_takes_girths_ease_and_gap_from_body_and_style() -> None:
    pattern = four_panels.build()
    assert checked.findings(pattern) == []
    # A body 5 cm larger at every level fits the same panels with a gap of 5 cm, or with that much less ease.
    larger = {level: mm + 50.0 for level, mm in GIRTH.items()}
    laced = checked.styled(closing="lacing", lacing_gap=50.0)
    assert checked.findings(pattern, style=laced, **larger) == []
    squeezed = checked.styled(ease=Ease(-20.0, -20.0, -20.0, -20.0))
    assert checked.findings(pattern, style=squeezed, **{level: mm + 20.0 for level, mm in GIRTH.items()}) == []
    assert {subject(f) for f in checked.findings(pattern, **larger)} >= {
        f"{k} girth" for k in ("bust", "waist", "high hip")
    }


def test_what_was_added_for_the_foam_counts_at_the_bust_only() -> None:
    pattern = four_panels.build()
    body = checked.body(pattern, bust=GIRTH["bust"] - 12.0)
    done = check(pattern, body, checked.STYLE, Build(), foam=12.0)
    assert [f for f in done.findings if f.level == "stop"] == []
    assert any(subject(f) == "bust girth" for f in check(pattern, body, checked.STYLE, Build()).findings)


def test_a_level_that_a_panel_lacks_is_told_but_for_the_high_hip() -> None:
    pattern = four_panels.build()

    def without(level: str) -> list[Finding]:
        levels = {k: v for k, v in pattern.panel("side back", "both").levels.items() if k != level}
        return girth_findings(four_panels.with_panel(pattern, "side back", levels=levels), body=GIRTH, ease={})

    (finding,) = without("waist")
    assert spoken(finding) == "The waist is not drawn on the side back."
    assert without("high_hip") == []


def test_a_missing_panel_leaves_no_girth() -> None:
    pattern = four_panels.build()
    pattern = replace(pattern, panels=pattern.panels[:3])
    assert girths(pattern) == {}
    assert len(girth_findings(pattern, body=GIRTH, ease={})) == 3


def test_a_mark_beside_the_end_of_its_level_is_found() -> None:
    pattern = four_panels.build()
    edge = pattern.panel("side back", "both").edge("side")
    moved = {**edge.marks, "underbust": edge.marks["underbust"] + 0.5}
    (finding,) = mark_findings(four_panels.with_edge(pattern, "side back", "side", marks=moved))
    assert subject(finding) == "side back"
    assert "On the side edge the mark for the underbust lies 0.5 mm from the end of its line" in spoken(finding)


def bust(pattern: Pattern, **changes: float) -> list[Finding]:
    marks = pattern.panels[0].edge("front_princess").marks
    tape = {
        "from_centre": 95.0,
        "to_underbust": marks["bust_point"] - marks["underbust"],
        "to_waist": marks["bust_point"] - marks["waist"],
    }
    return bust_point_findings(pattern, pattern.panels[0].side, **{**tape, **changes})


def test_a_bust_point_where_the_tape_says_passes() -> None:
    pattern = four_panels.build()
    assert bust(pattern) == []
    uneven = four_panels.uneven(pattern)
    assert bust(uneven) == []
    assert bust(replace(uneven, panels=uneven.panels[4:])) == []


@pytest.mark.parametrize(
    ("key", "words", "count"),
    [
        ("from_centre", "from the centre front", 1),
        ("to_underbust", "the underbust, along", 2),
        ("to_waist", "the waist, along", 2),
    ],
)
def test_a_bust_point_off_the_tape_is_found(key: str, words: str, count: int) -> None:
    pattern = four_panels.build()
    right = {"from_centre": 95.0}
    marks = pattern.panels[0].edge("front_princess").marks
    right |= {"to_underbust": marks["bust"] - marks["underbust"], "to_waist": marks["bust"] - marks["waist"]}
    found = bust(pattern, **{key: right[key] + 0.5})
    # The centre front's edge and the side front's are both measured.
    assert len(found) == count
    for finding in found:
        assert finding.level == "stop"
        assert words in spoken(finding)
        assert "0.5 mm too near" in spoken(finding)
    assert bust(pattern, **{key: right[key] + 0.2}) == []


def test_a_bust_point_beside_its_edge_or_missing_is_found() -> None:
    pattern = four_panels.build()
    x, y = pattern.panel("side front", "both").points["bust_point"]
    (finding,) = bust(four_panels.with_panel(pattern, "side front", points={"bust_point": (x + 1.0, y)}))
    assert "1.0 mm beside its mark" in spoken(finding)
    (finding,) = bust(four_panels.with_panel(pattern, "side front", points={}))
    assert "not marked" in spoken(finding)


def test_the_whole_check_measures_each_side_by_its_own_tape() -> None:
    pattern = four_panels.uneven(four_panels.build())
    body = checked.body(pattern)
    other = replace(body, right=replace(body.right, bust_point=body.right.bust_point + 4.0))
    stops = [f for f in check(pattern, other, checked.STYLE, Build()).findings if f.level == "stop"]
    assert [subject(f) for f in stops] == ["right centre front"]
    assert "4.0 mm too near" in spoken(stops[0])
