"""An order to keep in a book, and a clock that a test turns."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

# An invented client; the label is odd enough to be found in the raw files of a database.
LABEL = "Quillonde-Arvensis"
ORDER = f"""\
# Second fitting with the shoes.
coutil = 1
name = "moss corset top"
unit = "cm"

[client]
label = "{LABEL}"
note = "Prefers Tuesdays."

[body]
bust = 96
underbust = 78
waist = 70.5
bust_span = 19.5
bust_to_underbust = 8
bust_to_waist = 18.5

[style]
hem = 9      # over the high hip
hem_point = "1 1/4 in"

[[cloth]]
name = "duchesse"
for = ["shell"]
width = 140
"""


def order_text(**values: object) -> str:
    """The order above with other values: order_text(waist=71, hem='"4 in"')."""
    text = ORDER
    for key, value in values.items():
        text, found = re.subn(rf"(?m)^{key} = (\"[^\"]*\"|\S+)", lambda m, k=key, v=value: f"{k} = {v}", text, count=1)
        assert found == 1, key
    return text


class Clock:
    """A clock that the test turns."""

    def __init__(self) -> None:
        self.now = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.now

    def turn(self, **by: float) -> None:
        self.now += timedelta(**by)
