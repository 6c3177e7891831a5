"""What a worn pattern says as findings: place, amount, remedy, and how sure it is; and the same as data."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from coutil.pattern import Cup, CupRef, Finding, LevelRef, PanelRef, SeamRef, Topic
from coutil.pattern.refs import About
from coutil.seaming import CENTRE_FRONT
from coutil.words import Length, Told, say
from coutil.worn.reading import Reading, Region

# A top or hem that stands off by more than this is told, in mm: what a finger lies flat in. Judgement, no source.
STANDS = 8.0
# The part of a stand-off that comes of the mesh and of what was left out, in mm: 12 mm meshes differ from 6 mm ones by
# 0.4 in the mean and by up to 2 where cloth hangs free, 6 mm from 4 mm by half of that (by trial).
UNSURE = {12.0: 3.0, 6.0: 1.5}
# Strain from which cloth is told to pull, and pressure in kPa: common figures for compression garments are 2 to 4 kPa
# (15 to 30 mmHg, from memory); more than that over a whole region is too tight for an evening.
PULLS, PRESSES = 0.03, 4.0
# Pressed together by more than this it wrinkles. Judgement, no source.
WRINKLES = 0.02
# A cup is told where it differs from the gauge by more than this part of its depth.
CUP_OFF = 0.15
# The whole bodice is told to slide where more than this, in N, holds it at its height.
SLIDES = 15.0
# How many regions of a kind are named.
MOST_NAMED = 3


def findings(reading: Reading, gauge: Sequence[Cup] = ()) -> tuple[Finding, ...]:
    """What is worth saying, each with its place, amount and remedy; first of all that a toile decides."""
    width = {"mesh": Length(reading.mesh_mm, "whole_mm")}
    if not reading.settled:
        args = {"residual": reading.residual_n, **width}
        return (Finding("worn.unsettled", "warn", Topic("worn"), args),)
    sure = Length(UNSURE.get(reading.mesh_mm, max(UNSURE.values())), "whole_mm")
    out = [Finding("worn.computed", "note", Topic("worn"), {**width, "assumed": assumed(reading)})]
    out += _stand_off(reading, sure)
    out += _regions(reading)
    out += _cups(reading, gauge)
    if abs(reading.stay_n) > SLIDES:
        way = "up" if reading.stay_n > 0.0 else "down"
        args = {"way": way, "force": abs(reading.stay_n)}
        out.append(Finding("worn.slides", "warn", LevelRef("waist", "level"), args))
    return tuple(out)


def assumed(reading: Reading) -> tuple[Told, ...]:
    """What was assumed, as texts."""
    return tuple(Told(f"worn.assumed.{code.replace('.', '_')}") for code in reading.assumed)


def _stand_off(reading: Reading, sure: Length) -> list[Finding]:
    out = []
    for line, places in reading.stand_off_mm.items():
        for place, mm in places.items():
            # Between the breasts cloth and tape both go straight across.
            between = line == "top" and place == CENTRE_FRONT.replace("_", " ") and bool(reading.cups)
            if mm > STANDS and not between:
                code = "worn.top_off" if line == "top" else "worn.hem_off"
                args = {"place": place, "off": Length(mm, "mm"), "sure": sure}
                out.append(Finding(code, "note", _seam_of(place), args))
    return out


def _seam_of(place: str) -> About:
    name, _, side = place.partition(", ")
    return SeamRef(name, side) if side in ("left", "right") else SeamRef(name)  # type: ignore[arg-type]


def _regions(reading: Reading) -> list[Finding]:
    out = []
    pressing = [r for r in reading.regions if r.pressure_kpa > PRESSES]
    for r in sorted(pressing, key=lambda r: -r.pressure_kpa)[:MOST_NAMED]:
        args = {"region": region_told(r), "pressure": r.pressure_kpa}
        out.append(Finding("worn.presses", "warn", PanelRef(r.panel, r.side), args))
    pulling = [r for r in reading.regions if max(r.along, r.across) > PULLS]
    for r in sorted(pulling, key=lambda r: -max(r.along, r.across))[:MOST_NAMED]:
        args = {"region": region_told(r), "along": 100.0 * r.along, "across": 100.0 * r.across}
        out.append(Finding("worn.pulls", "note", PanelRef(r.panel, r.side), args))
    wrinkled = [r for r in reading.regions if r.least < -WRINKLES]
    for r in sorted(wrinkled, key=lambda r: r.least)[:MOST_NAMED]:
        args = {"region": region_told(r), "pressed": -100.0 * r.least}
        out.append(Finding("worn.wrinkles", "note", PanelRef(r.panel, r.side), args))
    return out


def _cups(reading: Reading, gauge: Sequence[Cup]) -> list[Finding]:
    out = []
    for cup in reading.cups:
        flat = next((g for g in gauge if g.side in (cup.side, "both") or cup.side == "both"), None)
        if flat is None:
            continue
        differs = abs(cup.depth_mm - flat.depth_mm) > CUP_OFF * flat.depth_mm
        args = {"depth": Length(cup.depth_mm, "mm"), "gauge": Length(flat.depth_mm, "mm"), "differs": differs}
        out.append(Finding("worn.cup", "note", CupRef(cup.side), args))
    return out


def region_told(r: Region) -> Told:
    """A region in words: panel and the levels between which it lies."""
    low, high = (level.replace("_", " ") for level in r.band)
    kind = "whole" if not low and not high else "below" if not low else "above" if not high else "between"
    return Told(f"worn.region.{kind}", {"panel": r.panel, "low": low, "high": high})


def region_name(r: Region) -> str:
    """The region's name in data: in words, with its side where both sides are told."""
    from coutil.words import in_words

    name = in_words(region_told(r))
    return name if r.side == "both" else say("worn.region.of_side", region=name, side=r.side)


def reading_json(reading: Reading, gauge: Sequence[Cup] = ()) -> dict[str, Any]:
    """The reading as data: lengths in mm, pressures in kPa, strains as parts of one; without figures where it did not
    settle."""
    from coutil.words import in_words

    depth = {g.side: g.depth_mm for g in gauge}
    return {
        "settled": reading.settled,
        "residual_n": reading.residual_n,
        "mesh_mm": reading.mesh_mm,
        "seconds": round(reading.seconds, 3),
        "levels": {
            k: {"girth_mm": _r(v.girth_mm), "flat_mm": _r(v.flat_mm), "strain": round(v.strain, 5)}
            for k, v in reading.levels.items()
        },
        "stand_off_mm": {k: {p: _r(mm) for p, mm in v.items()} for k, v in reading.stand_off_mm.items()},
        "pressure_kpa": {region_name(r): round(r.pressure_kpa, 2) for r in reading.regions},
        "strain": {
            region_name(r): {
                "along": round(r.along, 4),
                "across": round(r.across, 4),
                "most": round(r.most, 4),
                "least": round(r.least, 4),
            }
            for r in reading.regions
        },
        "cup": [
            {"side": c.side, "depth_mm": _r(c.depth_mm), "gauge_mm": _r(depth.get(c.side, depth.get("both", 0.0)))}
            for c in reading.cups
        ],
        "stay_n": round(reading.stay_n, 2),
        "assumed": [in_words(t) for t in assumed(reading)],
        "caution": say("worn.caution"),
    }


def _r(mm: float) -> float:
    return round(mm, 2)
