"""docs/measurements.md, made from the measurements themselves. A test compares the two."""

from __future__ import annotations

from collections.abc import Iterable

from coutil.body.breast import USUAL_DIFFERENCE, breast_length, breast_volume, breast_width
from coutil.body.measurements import (
    BY_KEY,
    MEASUREMENTS,
    NEEDED_WITHOUT_BUST,
    RULES_WITHOUT_BUST,
    SIDE_MEASUREMENTS,
    Measurement,
)
from coutil.body.resolve import EN_13402_3, RIBS, SPAN_RULE
from coutil.body.standard import CUPS, SIDE_RULE, USUAL_CUP, cup_difference
from coutil.units import both


def measurements_page() -> str:
    """The whole page as Markdown, ending with a line end."""
    needed = [m for m in MEASUREMENTS if m.required]
    optional = [m for m in MEASUREMENTS if not m.required]
    parts = [
        "# The measurements\n",
        "How each is taken, who defines it, and what is done without it. This page is made by "
        "`coutil.body.measurements_page`; do not edit it.\n",
        "Measure over what will be worn under the garment, standing at ease, the tape lying on and not pulling in. Tie "
        "a cord at the waist and a narrow elastic under the bust before you start. A value outside the possible range "
        "is refused, one outside the usual range is only remarked on; both ranges are judgement, no source. Rules for "
        "what is left out are rules of thumb without source unless they name one, and every value that a rule fills "
        "and a garment is drawn by is listed with it in the findings.\n",
        "## Needed\n",
        *_entries(needed),
        "A garment that ends at the underbust, as an underbust corset or a belt, needs other readings: "
        f"{', '.join(f'`{key}`' for key in NEEDED_WITHOUT_BUST)}. The last is worked out where both lengths from the "
        "bust point were taken. What of the above it does not use may then be left out; it is filled by a rule, and "
        "nothing is drawn by it:\n",
        *(f"- {BY_KEY[key].name}: {rule}." for key, rule in RULES_WITHOUT_BUST.items()),
        "",
        "## May be left out\n",
        *_entries(optional),
        "## Each side apart\n",
        "For a body whose sides differ, in `[body.left]` and `[body.right]`. A side keeps the body's own value for "
        "what is not said of it.\n",
        *_entries(SIDE_MEASUREMENTS),
        "## Standard sizes\n",
        "Bust, waist and hip in cm after EN 13402-3 (table from memory of the published text), to start from when no "
        "client is at hand. Between two sizes coutil goes in proportion, which is ours.\n",
        "| bust | waist | hip |\n| ---: | ---: | ---: |",
        *(f"| {b:g} | {w:g} | {h:g} |" for b, w, h in EN_13402_3),
        "\nThe cup is bust minus underbust, an upper end belonging to its step; the band is the underbust to the "
        "nearest 5 cm. Letters beyond H simply go on.\n",
        "| cup | over, cm | up to, cm |\n| --- | ---: | ---: |",
        *(f"| {c} | {cup_difference(c) / 10 - 1:g} | {cup_difference(c) / 10 + 1:g} |" for c in CUPS),
        "\nThe standard's pairing knows no cup: it is taken for that of the usual cup, "
        f"{USUAL_CUP}. Waist and hip of a standard size go with its ribs: they are those that the table pairs with its "
        f"underbust and {USUAL_DIFFERENCE / 10:g} cm more. So a fuller breast on the same ribs changes neither.\n",
        "The breast is taken for a half sphere. In the trade 75C, 80B and 70D hold the same, so its width goes with "
        "the sum of bands and cups: 11.4 cm at 75B and 8.5 mm more for each (tables of the trade, from memory). From "
        "the bust point to the underbust it is a quarter of a great circle: pi / 4 times the width. Of a real breast "
        "that lies flatter the tape reads less. A few sizes, each with the middle of its cup:\n",
        "| size | width, cm | holds, ml | bust point to underbust, cm |\n| --- | ---: | ---: | ---: |",
        *map(_breast, ((60, "D"), (70, "A"), (75, "B"), (75, "C"), (80, "D"), (85, "D"), (100, "D"), (125, "D"))),
        f"\nFrom there down to the waist it is {RIBS / 10:g} cm. The bust span is {SPAN_RULE}, the side length "
        f"{SIDE_RULE}.",
    ]
    return "\n".join(parts) + "\n"


def _breast(size: tuple[int, str]) -> str:
    underbust = 10.0 * size[0]
    bust = underbust + cup_difference(size[1])
    width, volume, length = (f(bust, underbust) for f in (breast_width, breast_volume, breast_length))
    return f"| {size[0]}{size[1]} | {width / 10:.1f} | {volume / 1000:.0f} | {length / 10:.1f} |"


def _entries(measurements: Iterable[Measurement]) -> Iterable[str]:
    for m in measurements:
        yield f"### {m.name} (`{m.key}`)\n"
        yield f"{m.how}\n"
        yield f"- Possible: {both(m.possible[0])} to {both(m.possible[1])}."
        yield f"- Usual: {both(m.usual[0])} to {both(m.usual[1])}."
        yield f"- Defined in {m.standard}." if m.standard else "- No standard is known to us that defines it."
        if m.better_rule:
            yield f"- If left out: {m.better_rule}; else {m.rule}."
        elif m.rule:
            yield f"- If left out: {m.rule}."
        yield ""
