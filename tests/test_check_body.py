"""Findings from the body and from ease that would squeeze it; how the whole check puts findings together."""

from __future__ import annotations

from dataclasses import replace

import pytest

import checked
import four_panels
from coutil.body import resolve_body
from coutil.check import check
from coutil.check.body import TIGHT, TOO_TIGHT, body_findings, reduction_findings
from coutil.order import Build, Ease
from coutil.pattern import Finding, MarkRef, PadRef
from coutil.units import brief
from coutil.words import in_words
from spoken import spoken, subject

TAPE = {
    "bust": 940.0,
    "underbust": 780.0,
    "waist": 720.0,
    "bust_span": 190.0,
    "bust_to_underbust": 80.0,
    "bust_to_waist": 175.0,
}


def test_what_was_assumed_is_noted_with_its_rule() -> None:
    found = body_findings(resolve_body(TAPE))
    (note,) = [f for f in found if subject(f) == "body: front_bust_arc"]
    assert note.level == "note"
    assert "half the underbust plus 4/5 of the difference between bust and underbust" in spoken(note)
    measured = body_findings(resolve_body({**TAPE, "front_bust_arc": 515.0}))
    assert not [f for f in measured if subject(f) == "body: front_bust_arc"]


def test_slips_of_the_tape_are_warned_of_and_what_cannot_be_stops() -> None:
    rare = body_findings(resolve_body({**TAPE, "underbust": 910.0}))
    assert [subject(f) for f in rare if f.level == "warn"] == ["body: underbust, bust"]
    impossible = body_findings(resolve_body({**TAPE, "underbust": 960.0}))
    assert "body: underbust, bust" in [subject(f) for f in impossible if f.level == "stop"]


@pytest.mark.parametrize("level", ["bust", "underbust", "waist", "high_hip"])
def test_a_reduction_is_warned_of_and_then_stopped(level: str) -> None:
    def said(part: float) -> list[Finding]:
        return reduction_findings({level: 1000.0}, {level: -1000.0 * part})

    assert said(0.0) == said(-0.05) == said(TIGHT[level]) == []
    (warn,) = said(TIGHT[level] + 0.001)
    assert warn.level == "warn"
    (warn,) = said(TOO_TIGHT[level])
    assert warn.level == "warn"
    (stop,) = said(TOO_TIGHT[level] + 0.001)
    assert stop.level == "stop"
    for finding in (warn, stop):
        assert spoken(finding).startswith(f"At {in_words(MarkRef(level))} the garment is ")
        assert "stop at pain, numbness or short breath" in spoken(finding)
        assert "clinician" in spoken(finding)


def test_the_whole_check_stops_a_waist_that_is_laced_too_tight() -> None:
    pattern = four_panels.build()
    waist = four_panels.girth("waist")
    style = checked.styled(ease=Ease(0.0, 0.0, -0.2 * waist / 0.8, 0.0))
    (finding,) = checked.findings(pattern, style=style, waist=waist / 0.8)
    assert (finding.level, subject(finding)) == ("stop", "waist ease")


def test_findings_come_gravest_first_and_keep_what_was_said_before() -> None:
    before = Finding("no_pad.crossed", "warn", PadRef())
    pattern = replace(four_panels.build(), findings=(before,))
    ease = Ease(0.0, 0.0, -0.1 * four_panels.girth("waist") / 0.9, 0.0)
    body = checked.body(pattern, waist=four_panels.girth("waist") / 0.9, bust=four_panels.girth("bust") + 3.0)
    done = check(pattern, body, checked.styled(ease=ease), Build())
    levels = [f.level for f in done.findings]
    assert levels == sorted(levels, key=["stop", "warn", "note"].index)
    assert done.stopped
    assert set(levels) == {"stop", "warn", "note"}
    assert done.findings[levels.index("warn")] is before
    assert pattern.findings == (before,)
    assert len(done.cups) == 1
    assert done.panels is pattern.panels


def test_an_uneven_pattern_gets_a_cup_for_each_side() -> None:
    pattern = four_panels.uneven(four_panels.build())
    done = check(pattern, checked.body(pattern), checked.STYLE, Build())
    assert [c.side for c in done.cups] == ["left", "right"]
    assert [subject(f) for f in done.findings if "Sewn up" in spoken(f)] == ["left cup", "right cup"]


def test_a_pattern_without_a_front_panel_is_an_error() -> None:
    pattern = four_panels.build()
    body = checked.body(pattern)
    with pytest.raises(KeyError, match="no side front panel"):
        check(replace(pattern, panels=(pattern.panels[0], *pattern.panels[2:])), body, checked.STYLE, Build())


@pytest.mark.parametrize(("mm", "said"), [(0.5, "0.5 mm"), (9.94, "9.9 mm"), (12.0, "1.2 cm"), (-3.0, "-3.0 mm")])
def test_short_lengths_are_said_in_mm(mm: float, said: str) -> None:
    assert brief(mm) == said
