"""A commented order to start from."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import Final

from coutil.body import (
    DEFAULT_STANDARD,
    MEASUREMENTS,
    REQUIRED,
    SIDE_MEASUREMENTS,
    Body,
    Measurement,
    order_body,
)
from coutil.order.model import Unit
from coutil.order.read import parse_order
from coutil.order.refusal import OrderError
from coutil.order.sets import SETS, BuildSet
from coutil.units import INCH, plain_number


def new_order(
    *,
    name: str = "new order",
    label: str = "",
    unit: Unit = "cm",
    body: Body | None = None,
    note: str = "",
    build: str | None = None,
) -> str:
    """The text of a new order file, every key of body, style and build explained; plain numbers in `unit`.

    The figures are those of `body`; without one nothing is taken, and a standard size stands in the place of the
    readings. A body of a standard size that was asked for as such gives an order for that size. `parse_order` accepts
    the text as it stands; raises OrderError for a name, label or note that it would not take, and for a body whose
    figures a bare `standard_body` made up. `build` is one of SETS, to start from; raises KeyError for another.
    """
    own = body if body is not None else order_body({}, standard=DEFAULT_STANDARD)
    if any(key in own.assumed for key in REQUIRED if key in own.needed):
        raise OrderError("standard_is_no_reading")
    style = _STYLE if build is None else _built(SETS[build])
    text = "\n".join([*_lines(name, label, note, unit, own), *style.splitlines()]) + "\n"
    parse_order(text, "new order")
    return text


def _lines(name: str, label: str, note: str, unit: Unit, body: Body) -> Iterator[str]:
    yield "# An order: one garment for one client. docs/order-file.md explains every key."
    yield f'# A length is a number in {unit}, or a text with its own unit: "36 1/4 in", "9,5 cm", "10 mm".'
    yield "coutil = 1"
    yield f"name = {_quoted(name)}"
    yield f'unit = "{unit}"'
    yield ""
    yield "[client]"
    yield f"label = {_quoted(label)}"
    yield f"note = {_quoted(note)}"
    yield ""
    yield "[body]"
    if body.as_asked:
        yield from _remark(
            "The order is for a standard size and for nobody's measured body: see [body.standard] below. If a client "
            "is measured for it after all, write her readings here and take as_asked out there."
        )
    elif body.drawn:
        yield from _remark(
            "Not taken yet: write what the client's own tape says behind each =, and take off the # that stands before "
            "it. Until all six are taken nothing may be cut: what is drawn is the standard size below."
        )
    for m in MEASUREMENTS:
        if m.required:
            yield from _entry(m, body, unit)
    yield ""
    yield from _remark(
        "The rest may be left out: each is then filled by a rule and listed in the findings. Take off the # that "
        "stands before a key to state it."
    )
    for m in MEASUREMENTS:
        if not m.required:
            yield from _entry(m, body, unit)
    yield ""
    if body.confirmed:
        yield from _remark("These are the client's own readings, although they are those of a standard size.")
        yield "confirmed = true"
    else:
        yield from _remark("Where her readings are those of a standard size to the millimetre, say that they are hers:")
        yield "# confirmed = true"
    yield ""
    yield from _remark(
        "What measures differently on one side is stated apart, under [body.left] or [body.right]: "
        f"{', '.join(m.key for m in SIDE_MEASUREMENTS)}."
    )
    for side, said in zip(("left", "right"), body.measured_sides(), strict=True):
        if said:
            yield f"[body.{side}]"
            yield from (f"{key} = {_figure(mm, unit)}" for key, mm in said.items())
    yield ""
    yield from _standard(body, unit)
    yield ""


def _built(chosen: BuildSet) -> str:
    """The tables of style and build with a set's layers in force, and its back kit."""
    listed = ", ".join(f'"{x}"' for x in chosen.layers)
    text = _STYLE.replace(f"{_LAYERS}\n", f"# {chosen.says[0].upper()}{chosen.says[1:]}.\nlayers = [{listed}]\n")
    carries = "" if "foam" not in chosen.layers else '"strength"' if "strength" in chosen.layers else '"shell"'
    text = text.replace('on = ["shell"]   ', f"on = [{carries}]   ")
    text = text.replace("# [build.kit] ", "[build.kit] ")
    if not chosen.lined:
        start = text.index("[build.lining]")
        text = text[:start] + text[text.index("[build.kit]") :]
    return f"{text}{_PILE}" if chosen.pile else text


def _standard(body: Body, unit: Unit) -> Iterator[str]:
    """The size that stands in for readings; out of use (#) for a body that has all of its own."""
    size = body.standard or DEFAULT_STANDARD
    yield from _remark(
        "The standard size (EN 13402-3, by bust and cup) that is drawn in the place of readings that are not taken. "
        "as_asked = true makes the order one for this very size, with no readings in [body]."
    )
    off = "# " if body.standard is None else ""
    yield f"{off}[body.standard]"
    yield f"{off}bust = {_figure(size.bust, unit)}"
    yield f'{off}cup = "{size.cup}"'
    yield f"{'' if size.as_asked else '# '}as_asked = true"


def _entry(m: Measurement, body: Body, unit: Unit) -> Iterator[str]:
    """What it is, how it is taken, then its figure: out of use (#) where a rule would fill it anyway.

    Beside a standard size no figure stands behind the #: it would be a stranger's.
    """
    yield ""
    yield from _remark(f"{m.name.capitalize()}. {m.how}")
    if body.state(m.key) == "taken":
        yield f"{m.key} = {_figure(getattr(body, m.key), unit)}"
    elif body.drawn:
        yield f"# {m.key} ="
    else:
        off = "# " if body.state(m.key) == "by_rule" else ""
        yield f"{off}{m.key} = {_figure(getattr(body, m.key), unit, rounded=bool(off))}"


def _remark(text: str) -> list[str]:
    return textwrap.wrap(text, 100, initial_indent="# ", subsequent_indent="# ")


def _figure(mm: float, unit: Unit, *, rounded: bool = False) -> str:
    """A length as it stands in the file; one that a rule made is rounded to what a tape shows: 1 mm or 1/16 in."""
    if rounded and unit == "in":
        number = round(mm / INCH * 16) / 16
    elif rounded:
        number = round(mm) if unit == "mm" else round(mm) / 10
    else:
        written = plain_number(mm, unit)
        if isinstance(written, str):
            return _quoted(written)
        number = written
    return f"{number:.10g}" if number == float(f"{number:.10g}") else repr(number)


def _quoted(text: str) -> str:
    """A TOML basic string; escapes whatever a basic string may not hold."""
    signs = {'"': '\\"', "\\": "\\\\"}
    return '"' + "".join(signs.get(c, c if c.isprintable() else f"\\U{ord(c):08x}") for c in text) + '"'


_LAYERS: Final = 'layers = ["shell", "interfacing", "foam", "web"]'
# What the cloth of a build with a pile is: it is steamed, never pressed, and all its tops lie one way.
_PILE: Final = """
[[cloth]]                   # steamed, never pressed; all tops one way
name = "velvet"
for = ["shell"]
pile = true
direction = "one-way"
"""

_STYLE: Final = """\
[style]
# Panels and seams: princess-4, side-panel-4, princess-5, corset-5, corset-6, corset-7, underbust-4,
# underbust-5, underbust-6, belt-3, or own: the seams told in [[style.seam]] (docs/order-file.md).
seaming = "princess-4"
neckline = "sweetheart"     # plunge, sweetheart, straight, scoop, v or pointed
back = "straight"           # or scoop, v
closing = "lacing"          # at the centre back: lacing, zip or hooks; other places in [[style.opening]]
lacing_gap = "5 cm"         # what the lacing leaves open
# Heights and depths that are left out are taken from the body. Take off the # to state them.
# plunge = "6 cm"           # lowest point of the neckline above the underbust level
# cup_height = "8 cm"       # from the bust point up to the end of the centre front panel
# peak = "0 cm"             # how far the side front's princess edge runs on above that
# upper = 0.5               # how much of what the top would stand off is taken in above the bust, 0 to 1
# side_top = "18 cm"        # height at the side seam, above the waist
# back_top = "16 cm"        # height at the centre back, above the waist
# hem = "10 cm"             # depth below the waist
# hem_point = "0 cm"        # how much deeper at the centre front
# hem_point_back = "0 cm"   # and at the centre back
# hem_line = "pointed"      # or curved: how that depth runs out
# centre_front = "fold"     # or seam: a centre that does not open
# centre_back = "fold"
# foam_ease = true          # add to the front what the foam takes up; needs thickness below

# [style.ease]
# More than the body, around the whole body; negative draws in. A bodice that is too tight harms.
# Left out: the usual for what closes it.
# bust = 0
# underbust = "-2 cm"
# waist = "-4 cm"
# high_hip = 0

[build]
allowance = "1/2 in"
# From the outside in, beside the lining; others are lace, flat_lining, strength. The shell must be there.
layers = ["shell", "interfacing", "foam", "web"]

# [build.allowances]        # by edge: centre_front front_princess side back_princess centre_back top hem,
#                           # in other seamings also side_front side_back second_front back second_back front,
#                           # and elastic
# hem = "1 in"

[build.pad]
top_drop = "1 cm"           # starts below the end of the centre front panel (the trade says 3/8 in)
side_inset = "1 in"         # outer top corner from the side seam
side_dip = "1/4 in"         # outer top corner below the top
front_dip = "1/4 in"        # below the neckline on the centre front
apart = "1 cm"              # between both pads at the centre front
beyond = "3 cm"             # outwards beyond the root of the breast, at most
catch = "1/8 in"            # what the princess seam catches of the pad
# thickness = "6 mm"        # of the foam
on = ["shell"]              # or ["shell", "lining"], or [] for no pads

[build.lining]              # take this table out for a bodice without a lining
fused = false               # true: the lining is interfaced too
# smaller = true            # over the cup by what the foam takes up; needs thickness above

# [build.kit]               # what the opening needs behind it: facings, modesty panel, guard, waist stay
# stay_less = "1.5 cm"      # what the waist stay is shorter than the worn waist

[build.bones]
extra = "none"              # lines at the centre front and beside the cup: none, fuller (busts), always

# For a price, take off the # and state your own rates.
# docs/order-file.md has more keys for [hours] and [notions].
# [money]
# currency = "EUR"          # ISO 4217
# locale = "en_IE"          # how amounts are written
# hour = 40                 # one hour of work
# overhead = 10             # percent on materials and labour
# margin = 15               # percent of the price before tax that is left when all costs are paid
# tax = 23                  # percent

# [hours]
# sew = 3
# fit = 2

# [notions]
# bone_price = "2.50"       # of 1 m
# eyelet_price = "0.35"     # of one
"""
