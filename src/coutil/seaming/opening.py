"""Where a bodice opens and with what."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, get_args

Place = Literal["centre_back", "centre_front", "side_left", "side_right"]
Closing = Literal["lacing", "zip", "hooks", "busk", "buttons", "elastic"]

PLACES: Final[tuple[Place, ...]] = get_args(Place)
CLOSINGS: Final[tuple[Closing, ...]] = get_args(Closing)

# Those that lie in a side seam.
SIDES: Final[tuple[Place, ...]] = ("side_left", "side_right")
# With what each place may be closed. A busk needs a straight centre front; a side is closed by a zip, which bends;
# an elastic panel is let into the centre back. Common practice, no source.
CLOSED_WITH: Final[dict[Place, tuple[Closing, ...]]] = {
    "centre_back": ("lacing", "zip", "hooks", "buttons", "elastic"),
    "centre_front": ("busk", "hooks", "lacing", "zip", "buttons"),
    "side_left": ("zip",),
    "side_right": ("zip",),
}
# Those between whose edges a gap may stand open when worn, or be bridged by an elastic panel.
GAPPED: Final[tuple[Closing, ...]] = ("lacing", "elastic")
# The gap that a lacing leaves open, and the flat width of an elastic panel, where none is stated, in mm; common
# practice, no source.
LACING_GAP: Final = 50.0
ELASTIC_WIDTH: Final = 80.0
# By how much an elastic panel is drawn when worn, in percent of its flat width: half of what shirred elastic gives
# before it tires. Common practice, no source.
ELASTIC_DRAWN: Final = 30.0


@dataclass(frozen=True, slots=True)
class Opening:
    """One opening. `gap`, in mm, is what a lacing leaves open when worn, or the flat width of an elastic panel; that is
    `drawn` longer when worn, in percent. Both are 0 for any other closing."""

    at: Place
    closed_with: Closing
    gap: float = 0.0
    drawn: float = 0.0

    @property
    def side(self) -> bool:
        """Whether it lies in a side seam."""
        return self.at in SIDES

    @property
    def worn(self) -> float:
        """How much of the body's girth it covers when worn, in mm, beside what is cut from cloth."""
        return self.gap * (1.0 + self.drawn / 100.0)

    @property
    def uncovered(self) -> float:
        """How much of the girth nothing is cut for: a lacing's gap, or by how much an elastic panel is drawn, in mm."""
        return self.gap if self.closed_with == "lacing" else self.worn - self.gap
