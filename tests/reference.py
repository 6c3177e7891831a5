"""What an order gives, as plain data to be compared: pattern, what goes into the lays, docket, lesson.

Polylines are told by figures of theirs (`digest`) that a shift of any of their points by 0.001 mm changes. What the
placing engine does depends on the machine, so of the lays there is what goes into them: blocks, outlines, areas and the
least length. The docket is made with the least lengths as if they had been laid.
"""

from __future__ import annotations

import json
import lzma
import math
from collections.abc import Iterator, Sequence
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

from coutil.docket import docket_json, make_docket
from coutil.lay.blocks import MARGIN
from coutil.lay.cloths import materials
from coutil.lay.json import lay_json
from coutil.lay.model import Lay, LayPlan
from coutil.lay.wants import Wanted, gather
from coutil.make import Work, work_out
from coutil.order import OrderError, parse_order
from coutil.pattern.json import as_json
from coutil.sheets.lesson import lesson_data, lesson_text

FOLDER = Path(__file__).parent / "reference"
DEMO = Path(__file__).parent.parent / "examples" / "sea-green.toml"
# Places on a polyline that are kept, by fraction of its length.
FRACTIONS = tuple(k / 8 for k in range(9))
# How far figures may differ: lengths in mm. Results are rounded to 1e-3 or 1e-4 mm, so less would tell of rounding.
TOLERANCE = 0.001 + 1e-6
# Sums over all points of a line, in mm: less than a shift of one point by 0.001 mm, more than five roundings.
SUMS = 0.0006
# Angles in radians and parts of 1: figures that are no lengths.
FINER = 2e-4
# Data whose keys are names: here a further one is a difference, while a record may gain fields.
MAPS = ("levels", "points", "to_buy", "sums")
# Parts of the results that may gain keys of their own, of which the values are compared all the same.
Plain = Any


def outcome(text: str) -> dict[str, Plain]:
    """All that is compared of one order; for one that is refused, the words of that."""
    try:
        work = work_out(parse_order(text))
    except OrderError as refused:
        return {"refused": list(refused.problems)}
    lays, plan = laid(work)
    return {
        "pattern": as_json(work.pattern),
        "lays": lays,
        "docket": docket_json(make_docket(work.order, work.pattern, plan)),
        "lesson": [{k: v for k, v in step.items() if k != "says"} for step in lesson_data(work.lesson)],
        "lesson text": lesson_text(work.lesson).split("\n"),
    }


def laid(work: Work) -> tuple[dict[str, Plain], LayPlan]:
    """What goes into the lays of an order, and a plan of the least lengths, in which nothing has been placed."""
    mats, found = materials(work.order, work.layers)
    wanted, blocks, said = gather(work.pattern, mats, margin=MARGIN)
    lays = tuple(_least(w) for w in wanted)
    to_buy: dict[str, float] = {}
    for lay in lays:
        to_buy[lay.cloth] = to_buy.get(lay.cloth, 0.0) + (1.0 if lay.on == "sheet" else lay.length_mm)
    plan = LayPlan(lays, blocks, to_buy, (*found, *said))
    told = {k: v for k, v in lay_json(plan).items() if k != "lays"}
    return {**told, "asked": [_asked(w, lay) for w, lay in zip(wanted, lays, strict=True)]}, plan


def _least(w: Wanted) -> Lay:
    """A lay as long as the area over the width, and no shorter than the longest outline; nothing lies in it."""
    area = sum(x.outline.area * x.quantity for x in w.wants)
    longest = max(x.outline.bounds[2] - x.outline.bounds[0] for x in w.wants)
    length = max(area / w.material.width, longest)
    on = "length" if w.material.sheet is None else "sheet"
    return Lay(w.material.name, on, w.layers, w.material.folded, w.material.width, length, length, 1.0, ())  # type: ignore[arg-type]


def _asked(w: Wanted, lay: Lay) -> dict[str, Plain]:
    m = w.material
    return {
        "cloth": m.name,
        "layers": list(w.layers),
        "steamed": w.steamed,
        "one_way": m.one_way,
        "folded": m.folded,
        "usual": m.usual,
        "width": round(m.width, 4),
        "gap": m.gap,
        "shrink_length_part": m.shrink_length,
        "shrink_width_part": m.shrink_width,
        "sheet": m.sheet,
        "remnants": [list(r) for r in m.remnants],
        "least": round(lay.length_mm, 4),
        "wants": [
            {
                "name": x.name,
                "layer": x.layer,
                "quantity": x.quantity,
                "mirrored_pair": x.mirrored_pair,
                "on_fold": x.on_fold,
                "bust": [list(b) for b in x.bust],
                "outline": [[round(px, 4), round(py, 4)] for px, py in x.outline.exterior.coords[:-1]],
            }
            for x in w.wants
        ],
    }


def digest(line: Sequence[Sequence[float]]) -> dict[str, Plain]:
    """Figures of a polyline: number of points, length, area if it were closed, box, points along it, sums of points."""
    xs, ys = [p[0] for p in line], [p[1] for p in line]
    steps = [math.dist(a, b) for a, b in pairwise(line)]
    area = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(line, [*line[1:], line[0]], strict=True)) / 2
    heavy = range(0, len(line), 2)
    return {
        "count": len(line),
        "length": round(sum(steps), 4),
        "area": round(area, 2),
        "box": [min(xs), min(ys), max(xs), max(ys)],
        "along": [[round(v, 4) for v in _at(line, steps, f * sum(steps))] for f in FRACTIONS],
        "sums": {
            "x": round(sum(xs), 4),
            "y": round(sum(ys), 4),
            "every other x": round(sum(xs[k] for k in heavy), 4),
            "every other y": round(sum(ys[k] for k in heavy), 4),
        },
    }


def _at(line: Sequence[Sequence[float]], steps: Sequence[float], s: float) -> tuple[float, float]:
    for k, step in enumerate(steps):
        if step >= s and step > 0.0:
            (ax, ay), (bx, by) = line[k], line[k + 1]
            return ax + (bx - ax) * s / step, ay + (by - ay) * s / step
        s -= step
    return line[-1][0], line[-1][1]


def is_line(value: Plain) -> bool:
    return isinstance(value, list) and len(value) > 2 and all(_is_point(p) for p in value)


def _is_point(value: Plain) -> bool:
    return isinstance(value, list) and len(value) == 2 and all(type(v) in (int, float) for v in value)


def packed(value: Plain, lines: list[Plain], known: dict[str, int]) -> Plain:
    """A result with every polyline taken out into `lines` as its digest, each once; {"line": number} in its place."""
    if is_line(value):
        key = json.dumps(value)
        if key not in known:
            known[key] = len(lines)
            lines.append(digest(value))
        return {"line": known[key]}
    if isinstance(value, dict):
        return {k: packed(v, lines, known) for k, v in value.items()}
    if isinstance(value, list):
        return [packed(v, lines, known) for v in value]
    return value


def differences(old: Plain, new: Plain, lines: Sequence[Plain], where: str = "") -> Iterator[str]:
    """Every difference between a kept result and a new one, as a sentence with its place, the old and the new."""
    if isinstance(old, dict) and set(old) == {"line"}:
        if not is_line(new):
            yield f"{where}: was a line of {lines[old['line']]['count']} points, is {new!r}"
        else:
            yield from differences(lines[old["line"]], digest(new), lines, where)
    elif isinstance(old, dict):
        yield from _of_records(old, new, lines, where)
    elif isinstance(old, list):
        if not isinstance(new, list):
            yield f"{where}: was a list of {len(old)}, is {new!r}"
            return
        if len(old) != len(new):
            yield f"{where}: was {len(old)} long, is {len(new)}: {_first_unlike(old, new)}"
        for k, (a, b) in enumerate(zip(old, new, strict=False)):
            yield from differences(a, b, lines, f"{where}[{k}{_called(a)}]")
    elif type(old) in (int, float) and type(new) in (int, float):
        if not abs(old - new) <= _tolerance(where, old):
            yield f"{where}: was {old}, is {new}"
    elif type(old) is not type(new) or old != new:
        yield f"{where}: was {old!r}, is {new!r}"


def _of_records(old: dict[str, Plain], new: Plain, lines: Sequence[Plain], where: str) -> Iterator[str]:
    if not isinstance(new, dict):
        yield f"{where}: was {sorted(old)}, is {new!r}"
        return
    if where.rpartition(".")[2] in MAPS and list(old) != list(new):
        yield f"{where}: was {list(old)}, is {list(new)}"
    for key, value in old.items():
        here = f"{where}.{key}" if where else key
        if key in new:
            yield from differences(value, new[key], lines, here)
        else:
            yield f"{here}: was {value!r}, is gone"


def _tolerance(where: str, old: float) -> float:
    last = where.rpartition(".")[2]
    if ".sums." in where:
        return SUMS
    if last == "area":
        # A thousandth all round a square of that area.
        return 0.01 + TOLERANCE * 4.0 * math.sqrt(abs(old))
    if last in ("count", "quantity", "number", "copy"):
        return 0.0
    return FINER if last.endswith(("_rad", "_part", "ratio")) else TOLERANCE


def _called(record: Plain) -> str:
    """The name of a record in a list, to find it by."""
    if isinstance(record, dict):
        for key in ("name", "piece", "what", "about", "cloth", "edge", "where"):
            if isinstance(record.get(key), str):
                return f" {record[key]}"
    return ""


def _first_unlike(old: list[Plain], new: list[Plain]) -> str:
    k = next((k for k, (a, b) in enumerate(zip(old, new, strict=False)) if _called(a) != _called(b)), None)
    if k is None:
        k = min(len(old), len(new))
    a, b = (str(x[k])[:80] if k < len(x) else "the end" for x in (old, new))
    return f"number {k} was {a}, is {b}"


@cache
def kept() -> tuple[str, ...]:
    """The kept orders, each a text for `unpacked`: all of them as data would take hundreds of MB."""
    return tuple(lzma.decompress((FOLDER / "orders.jsonl.xz").read_bytes()).decode().splitlines())


def unpacked(line: str) -> dict[str, Plain]:
    """A kept order: {"order": text, "lines": digests, "result": packed result}."""
    return json.loads(line)  # type: ignore[no-any-return]


@cache
def kept_demo() -> dict[str, Plain]:
    """The demo order's text and its whole result, every point of it."""
    return json.loads(lzma.decompress((FOLDER / "demo.json.xz").read_bytes()))  # type: ignore[no-any-return]
