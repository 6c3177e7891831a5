"""A finding in words, for tests that read what a person reads."""

from __future__ import annotations

from coutil.pattern import Finding, about_words, says


def spoken(finding: Finding) -> str:
    """What it says."""
    return says(finding)


def subject(finding: Finding) -> str:
    """What it is about."""
    return about_words(finding.about)
