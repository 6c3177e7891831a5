"""One step of the making-up card, and what it needs and leaves.

A state is a word: "cut:shell" (the pieces of a layer are cut), "joined:lining", "channels", "opening:centre_back". What
a step needs must have been left by steps before it; a test goes through every build so.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from coutil.words import say

# Which drawing of the sheet helps with a step.
Sketch = Literal["pad", "princess", "bones", "closing"]
# The parts of the work, in their order.
PARTS: Final = ("toile", "cutting", "shell", "strength", "closing", "lining", "finishing")
Part = Literal["toile", "cutting", "shell", "strength", "closing", "lining", "finishing"]


@dataclass(frozen=True, slots=True)
class MakingStep:
    """One step of the card: a title, what to do sentence by sentence, and which sketch goes with it.

    `uses` names the stitch and seam by their standards, empty where nothing is sewn. `part` is the part of the work,
    `must` what must be true before going on, empty where the step itself says it. `needs` and `leaves` are states.
    """

    title: str
    says: tuple[str, ...]
    uses: str = ""
    sketch: Sketch | None = None
    part: Part = "shell"
    must: str = ""
    needs: tuple[str, ...] = ()
    leaves: tuple[str, ...] = ()


def step(
    name: str,
    says: tuple[str, ...],
    uses: str = "",
    sketch: Sketch | None = None,
    *,
    part: Part,
    needs: tuple[str, ...] = (),
    leaves: tuple[str, ...] = (),
    must: bool = False,
) -> MakingStep:
    """A step whose title, and what must be true after it, stand beside its sentences in the catalogue."""
    told = say(f"card.{name}.must") if must else ""
    return MakingStep(say(f"card.{name}.title"), says, uses, sketch, part, told, needs, leaves)


def stitch(number: str) -> str:
    """An ISO 4915 stitch."""
    return say("card.standard.stitch", stitch=number)
