"""What each measurement of the tape is: its name, how it is taken, who defines it, what is plausible.

Two ranges belong to each. Outside `possible` a value is refused: no adult body measures that, it is a slip of the tape
or of the unit. Outside `usual` it is only remarked on. Both were set by judgement, wide on purpose (no source); the
test of the project draws bodies with a bust of 72 to 150 cm and a difference to the underbust of 6 to 32 cm, and
all of those must pass.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from coutil.body.breast import USUAL_DIFFERENCE

# The standards that define body measurements. No clause numbers: they differ between editions.
_BOTH: Final = "ISO 8559-1, EN 13402-1"
_ISO: Final = "ISO 8559-1"


@dataclass(frozen=True, slots=True)
class Measurement:
    """One measurement. Ranges in mm, both ends allowed.

    `how` is written for someone who takes it for the first time. `standard` names the standard that defines it, if
    one does; `rule` says in words how it is filled when it was not taken, None for those that must be.
    """

    key: str
    name: str
    how: str
    possible: tuple[float, float]
    usual: tuple[float, float]
    standard: str | None = None
    rule: str | None = None
    # What goes before `rule` where something else was measured that tells more.
    better_rule: str | None = None
    # Whether a garment is drawn by what the rule fills; only then do findings tell that it was not taken.
    drawn_by_rule: bool = True

    @property
    def required(self) -> bool:
        return self.rule is None


# Rules of thumb without a source unless the text says otherwise; `coutil.body.resolve` computes exactly these.
MEASUREMENTS: Final[tuple[Measurement, ...]] = (
    Measurement(
        "bust",
        "bust girth",
        "Around the body over the bust points, the tape level all round and lying on, not pulling in. In a bra that "
        "fits or as the garment will be worn, arms hanging, breathing quietly.",
        (550.0, 1900.0),
        (720.0, 1500.0),
        _BOTH,
    ),
    Measurement(
        "underbust",
        "underbust girth",
        "Around the ribs directly under the bust, the tape level all round and snug. Breathe out gently and read.",
        (380.0, 1700.0),
        (580.0, 1350.0),
        _BOTH,
    ),
    Measurement(
        "waist",
        "waist girth",
        "Tie a cord around the middle and bend to each side: it settles at the waist. Measure along the cord, "
        "tape level, not pulled in. Leave the cord on for the lengths.",
        (280.0, 1900.0),
        (520.0, 1450.0),
        _BOTH,
    ),
    Measurement(
        "bust_span",
        "bust span",
        "Straight across from one bust point to the other, the tape taut and not dipping between the breasts.",
        (80.0, 400.0),
        (150.0, 300.0),
        f"{_ISO} (as the distance of the bust points; name from memory)",
    ),
    Measurement(
        "bust_to_underbust",
        "bust point to underbust",
        "From the bust point straight down, following the breast, to the underbust line in the crease.",
        (25.0, 260.0),
        (50.0, 130.0),
    ),
    Measurement(
        "bust_to_waist",
        "bust point to waist",
        "From the bust point straight down, following the breast to the crease and then the ribs, to the cord at "
        "the waist.",
        (80.0, 420.0),
        (130.0, 260.0),
    ),
    Measurement(
        "underbust_to_waist",
        "underbust to waist",
        "From the underbust line straight down the ribs at the side front, below the bust point, to the cord at the "
        "waist.",
        (20.0, 300.0),
        (60.0, 150.0),
        None,
        "bust point to waist less bust point to underbust",
        drawn_by_rule=False,
    ),
    Measurement(
        "upper_bust",
        "upper bust girth",
        "Around the body high under the arms and above the fullness of the bust, the tape level at the back.",
        (450.0, 1800.0),
        (680.0, 1400.0),
        f"{_ISO} (as upper chest girth; name from memory)",
        "bust less 4/9 of the difference between bust and underbust",
    ),
    Measurement(
        "high_hip",
        "high hip girth",
        "Around the body at the top of the hip bones, halfway between waist and hip, the tape level.",
        (420.0, 2000.0),
        (640.0, 1600.0),
        f"{_ISO} (as top hip girth; name from memory)",
        "waist plus 2/3 of the difference between hip and waist",
    ),
    Measurement(
        "high_hip_depth",
        "high hip depth",
        "At the side, from the cord at the waist down to the line where the high hip was measured.",
        (40.0, 180.0),
        (70.0, 130.0),
        None,
        "half of the hip depth, so 10 cm if that was not taken either",
    ),
    Measurement(
        "hip",
        "hip girth",
        "Around the fullest part of the seat, feet together, the tape level.",
        (480.0, 2100.0),
        (700.0, 1700.0),
        _BOTH,
        "the hip that EN 13402-3 pairs with this waist (between two sizes in proportion; table from memory)",
        "waist plus 3/2 of the difference between the measured high hip and the waist, and no less than the high hip",
    ),
    Measurement(
        "hip_depth",
        "hip depth",
        "At the side, from the cord at the waist down to the line where the hip was measured, following the body.",
        (80.0, 350.0),
        (160.0, 260.0),
        f"{_ISO} (as side waist to hip; name from memory)",
        "twice the high hip depth, or 20 cm if that was not taken either",
    ),
    Measurement(
        "side_length",
        "side length",
        "At the side, from a ruler held level in the armpit (arm down) to the cord at the waist.",
        (80.0, 380.0),
        (150.0, 270.0),
        None,
        "bust point to waist plus 2.5 cm",
    ),
    Measurement(
        "centre_back_length",
        "centre back length",
        "From the bone that stands out at the bottom of the neck (head bent forward) down the spine to the cord at the "
        "waist.",
        (280.0, 560.0),
        (350.0, 470.0),
        f"{_ISO} (as back waist length; name from memory)",
        "a quarter of the height less 1 cm",
    ),
    Measurement(
        "front_bust_arc",
        "front bust arc",
        "Across the front over both bust points, from one side seam line to the other. The side seam line falls "
        "straight down from the middle of the armpit.",
        (220.0, 1300.0),
        (330.0, 880.0),
        None,
        "half the underbust plus 4/5 of the difference between bust and underbust",
        "the front bust of both sides, as measured, added",
    ),
    Measurement(
        "front_upper_arc",
        "front upper arc",
        "Across the front above the breasts, at the height of the armpits, from one side seam line to the other, the "
        "tape lying on.",
        (180.0, 1200.0),
        (300.0, 800.0),
        None,
        "half the underbust (rule of thumb, found by trial on computed forms)",
    ),
    Measurement(
        "front_waist_arc",
        "front waist arc",
        "Across the front along the cord at the waist, from one side seam line to the other.",
        (150.0, 1300.0),
        (250.0, 750.0),
        None,
        "half the waist",
        "the front waist of both sides, as measured, added",
    ),
    Measurement(
        "bust_depth",
        "bust depth",
        "From the point where the side of the neck meets the shoulder, straight down to the bust point.",
        (150.0, 520.0),
        (220.0, 400.0),
        f"{_ISO} (as side neck point to bust point; name from memory)",
        "a fifth of the bust plus 8.5 cm",
    ),
    Measurement(
        "height",
        "height",
        "Standing straight without shoes against a wall, from the floor to a book held level on top of the head.",
        (1000.0, 2400.0),
        (1450.0, 1950.0),
        _BOTH,
        "168 cm, the middle height of the EN 13402-3 women's tables (from memory)",
    ),
)

# What may be measured on each side apart. The rule is what the other side, or one not given, takes.
SIDE_MEASUREMENTS: Final[tuple[Measurement, ...]] = (
    Measurement(
        "bust_to_underbust",
        "bust point to underbust, this side",
        "As for the whole body, on this side's breast.",
        (25.0, 260.0),
        (50.0, 130.0),
        None,
        "the body's own bust point to underbust",
    ),
    Measurement(
        "bust_to_waist",
        "bust point to waist, this side",
        "As for the whole body, on this side's breast.",
        (80.0, 420.0),
        (130.0, 260.0),
        None,
        "the body's own bust point to waist",
    ),
    Measurement(
        "side_length",
        "side length, this side",
        "As for the whole body, under this arm.",
        (80.0, 380.0),
        (150.0, 270.0),
        None,
        "the body's own side length",
    ),
    Measurement(
        "front_bust",
        "front bust, this side",
        "From the centre front over this side's bust point to this side's side seam line.",
        (90.0, 700.0),
        (160.0, 450.0),
        None,
        "half the front bust arc",
    ),
    Measurement(
        "front_waist",
        "front waist, this side",
        "Along the cord at the waist from the centre front to this side's side seam line.",
        (60.0, 700.0),
        (120.0, 380.0),
        None,
        "half the front waist arc",
    ),
    Measurement(
        "bust_point",
        "bust point, this side",
        "Straight across from the centre front to this side's bust point, the tape taut.",
        (30.0, 220.0),
        (70.0, 150.0),
        None,
        "half the bust span",
    ),
)

BY_KEY: Final = {m.key: m for m in MEASUREMENTS}
SIDE_BY_KEY: Final = {m.key: m for m in SIDE_MEASUREMENTS}
# The readings that a garment with a bust needs, which is any where nothing else is said.
REQUIRED: Final = tuple(m.key for m in MEASUREMENTS if m.required)
# Those that a garment which ends at the underbust needs: an underbust corset, a belt.
NEEDED_WITHOUT_BUST: Final = ("underbust", "waist", "underbust_to_waist")
# What fills those of the former that such a garment does not use, where they were not taken; nothing is drawn by them.
# Rules of thumb without a source unless the text says otherwise.
RULES_WITHOUT_BUST: Final[Mapping[str, str]] = {
    "bust": f"the underbust plus {USUAL_DIFFERENCE / 10.0:g} cm, the usual cup",
    "bust_span": "a fifth of the bust plus 0.5 cm",
    "bust_to_underbust": "over the half sphere of a standard size",
    "bust_to_waist": "bust point to underbust plus underbust to waist",
}


def guide() -> Iterator[str]:
    """How to take each measurement, as lines of plain text: those that are needed first."""
    yield "Measure over what will be worn under the garment, standing at ease, the tape lying on and not pulling in."
    yield "Tie a cord at the waist and a narrow elastic under the bust before you start."
    for m in MEASUREMENTS:
        need = "needed" if m.required else "may be left out"
        yield ""
        yield f"{m.name} ({m.key}, {need})"
        yield f"  {m.how}"
        if m.standard:
            yield f"  Defined in {m.standard}."
        if m.better_rule:
            yield f"  If left out: {m.better_rule}; else {m.rule}."
        elif m.rule:
            yield f"  If left out: {m.rule}."
        if m.key in NEEDED_WITHOUT_BUST:
            yield "  Needed for a garment that ends at the underbust."
