"""What the foam of the cups takes up of the front's girth, as findings."""

from __future__ import annotations

from coutil.dome import foam_total
from coutil.pattern import Cup, Finding, Topic
from coutil.words import Length

# What was added for the foam was worked out from the cup before it was added and the cup grows a little by it; off by
# less than this, in mm, it cannot be felt. Set by judgement, no source.
ADDED_TOLERANCE = 2.0


def foam_findings(thickness: float | None, cups: tuple[Cup, ...], *, added: float = 0.0) -> list[Finding]:
    """A note on the girth that the foam takes up; `added` is what the draft already added to the front for it, in mm.

    Nothing without a thickness; a warning where what was added is off by more than ADDED_TOLERANCE.
    """
    if not thickness or not cups:
        return []
    takes = foam_total(thickness, cups)
    args = {"foam": Length(thickness), "takes": Length(takes, "both")}
    if added <= 0.0:
        return [Finding("foam.not_added", "note", Topic("foam"), args)]
    args["added"] = Length(added, "both")
    if abs(added - takes) > ADDED_TOLERANCE:
        return [Finding("foam.off", "warn", Topic("foam"), {**args, "off": Length(abs(added - takes))})]
    return [Finding("foam.added", "note", Topic("foam"), args)]
