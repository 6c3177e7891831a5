"""Drafting steps: what the draft did, in the words of the lesson.

The draft calls the verbs of `coutil.draft.board`; each makes geometry and leaves one Step here. The lesson prints the
steps; so the two cannot drift apart.
"""

from __future__ import annotations

from dataclasses import dataclass

from coutil.plane import Curve, Pt
from coutil.seaming import Part


@dataclass(frozen=True, slots=True)
class Figure:
    """A number that belongs to a step: what it is called and how much, in mm (or degrees where `unit` says so)."""

    name: str
    value: float
    unit: str = "mm"


@dataclass(frozen=True, slots=True)
class Step:
    """One drafting step.

    `says` is the instruction with figures left as {name} fields, one for each of `figures`, so that the sheet can show
    cm and inches. `points` are the named points that the step makes, `curves` what it draws, `guides` light
    construction lines; all in the coordinates of `panel`.
    """

    group: str
    panel: str
    side: str
    verb: str
    says: str
    why: str
    figures: tuple[Figure, ...] = ()
    points: tuple[tuple[str, Pt], ...] = ()
    curves: tuple[Curve, ...] = ()
    guides: tuple[Curve, ...] = ()
    # From which side its panel is drawn.
    part: Part = "front"
