"""A reading of the worn pattern for the terminal."""

from __future__ import annotations

from coutil.words import say
from coutil.worn.reading import Reading
from coutil.worn.told import region_name


def worn_text(reading: Reading) -> str:
    """Tables of girths, stand-off and regions, lengths in mm; one line where it did not settle."""
    if not reading.settled:
        return say("worn.no_figures") + "\n\n"
    out = ["girth, mm             flat    worn  strain"]
    for name, level in reading.levels.items():
        called = name.replace("_", " ")
        out.append(f"  {called:18} {level.flat_mm:7.0f} {level.girth_mm:7.0f} {100.0 * level.strain:6.1f} %")
    for line, places in reading.stand_off_mm.items():
        out += ["", f"stand-off along the {line}, mm"]
        out += [f"  {place:26} {mm:6.0f}" for place, mm in places.items()]
    out += ["", f"{'region':42} {'kPa':>5} {'along':>7} {'across':>7}"]
    for r in reading.regions:
        out.append(f"  {region_name(r):40} {r.pressure_kpa:5.1f} {100.0 * r.along:5.1f} % {100.0 * r.across:5.1f} %")
    return "\n".join(out) + "\n\n"
