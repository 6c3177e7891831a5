"""Checks of a finished pattern: walk, true, soundness, girths, pads, notches, cups. They give findings."""

from __future__ import annotations

from coutil.check.girth import bust_point_findings, girth_findings, mark_findings
from coutil.check.notches import notch_findings
from coutil.check.pads import pad_findings
from coutil.check.reach import reach_findings
from coutil.check.sound import sound_findings
from coutil.check.table import CHECKS, Check, check, left_out
from coutil.check.true import true_findings
from coutil.check.walk import walk, walk_findings
from coutil.check.worth import worth_findings

__all__ = [
    "CHECKS",
    "Check",
    "bust_point_findings",
    "check",
    "girth_findings",
    "left_out",
    "mark_findings",
    "notch_findings",
    "pad_findings",
    "reach_findings",
    "sound_findings",
    "true_findings",
    "walk",
    "walk_findings",
    "worth_findings",
]
