"""What orders gave when the reference files were written, number by number and word by word.

The files in tests/reference were written by the code of commit 8d25a2a, the last before the garment became data, from
the texts of the orders that stand in them. They hold the pattern, what goes into the lays, the docket and the lesson of
300 random orders and of the demo, and the words with which 6 further orders are refused. Lengths must be the same to
0.001 mm, lists in the same order, texts the same to the letter; only fields may be added to records.

Only a change of the results that is asked for may write the files anew, with words in the CHANGELOG on what changed
and by how much: `.venv/bin/python tests/write_reference.py`. Of the random orders a fixed forty are compared in a usual
run (7 s), all of them by `COUTIL_REFERENCE=all .venv/bin/pytest tests/test_reference.py` (a minute on one core).

Blocks and docket figures that hang on them come out of shapely: written with shapely 2.2.0 over GEOS 3.14.1.
"""

from __future__ import annotations

import os
from random import Random
from typing import Any

import pytest

import reference

SOME = 40
# Differences that are shown of one order: one fault mostly makes many.
SHOWN = 12
EVERY = os.environ.get("COUTIL_REFERENCE") == "all"
COUNT = 306
CHOSEN = range(COUNT) if EVERY else sorted(Random(1).sample(range(COUNT), SOME))


def mended(kept: Any, found: Any) -> Any:
    """What was kept; in the pattern's second version where references bear a side of their own."""
    seams = found.get("pattern", {}).get("seams", ())
    if any("side" in s[e] for s in seams for e in "ab"):
        return {**kept, "pattern": {**kept["pattern"], "version": 2}}
    return kept


def told(name: str, found: list[str]) -> str:
    more = f"\n... and {len(found) - SHOWN} more" if len(found) > SHOWN else ""
    return f"{name}: {len(found)} differences\n" + "\n".join(found[:SHOWN]) + more


@pytest.mark.parametrize("number", CHOSEN)
def test_an_order_gives_what_it_gave(number: int) -> None:
    kept = reference.unpacked(reference.kept()[number])
    outcome = reference.outcome(kept["order"])
    found = list(reference.differences(mended(kept["result"], outcome), outcome, kept["lines"]))
    name = kept["order"].split('"')[1]
    assert not found, told(f"order {number} ({name})", found)


def test_the_demo_gives_what_it_gave_point_by_point() -> None:
    kept = reference.kept_demo()
    assert reference.DEMO.read_text(encoding="utf-8") == kept["order"], "the demo order itself has changed"
    outcome = reference.outcome(kept["order"])
    found = list(reference.differences(mended(kept["result"], outcome), outcome, ()))
    assert not found, told("the demo order", found)


def test_all_the_orders_are_there_and_differ() -> None:
    kept = [reference.unpacked(k) for k in reference.kept()]
    assert len(kept) == COUNT
    assert len({k["order"] for k in kept}) == COUNT
    assert sum("refused" in k["result"] for k in kept) == 6
    made = [k["order"] for k in kept if "refused" not in k["result"]]
    for said in ("plunge", "sweetheart", "straight", "lacing", "zip", "hooks"):
        assert sum(f'= "{said}"' in text for text in made) > 30, said
    for said in ("[body.left]", '"shell", "lining"]', "[build.allowances]", "foam_ease = true", "sheet = ", "peak = 8"):
        assert sum(said in text for text in made) > 20, said


LINE = [[float(k), 0.01 * k * k] for k in range(400)]


@pytest.mark.parametrize("number", [0, 1, 133, 398, 399])
@pytest.mark.parametrize("shift", [(0.001, 0.0), (0.0, -0.001)])
def test_one_point_of_a_line_shifted_by_a_thousandth_is_seen(number: int, shift: tuple[float, float]) -> None:
    lines: list[reference.Plain] = []
    old = reference.packed({"net": LINE}, lines, {})
    assert not list(reference.differences(old, {"net": LINE}, lines))
    moved = [list(p) for p in LINE]
    moved[number] = [moved[number][0] + shift[0], moved[number][1] + shift[1]]
    found = list(reference.differences(old, {"net": moved}, lines))
    assert found
    assert all(f.startswith("net.") and " was " in f for f in found)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ([1, 2], [2, 1]),
        ([1, 2], [1, 2, 3]),
        ({"a": 1.0}, {"a": 1.002}),
        ({"a": 1.0}, {}),
        ({"a": True}, {"a": 1}),
        ({"a": None}, {"a": 0.0}),
        ({"says": "Mark P1."}, {"says": "Mark P2."}),
        ({"levels": {"bust": 1}}, {"levels": {"bust": 1, "hip": 2}}),
        ({"curvature_rad": 0.873}, {"curvature_rad": 0.874}),
        ({"quantity": 2}, {"quantity": 2.0005}),
    ],
)
def test_other_differences_are_seen(old: reference.Plain, new: reference.Plain) -> None:
    assert list(reference.differences(old, new, ()))


def test_added_fields_and_roundings_are_no_differences() -> None:
    old = {"findings": [{"level": "note", "says": "so"}], "width": 10.0}
    new = {"findings": [{"level": "note", "says": "so", "code": "x", "args": {}}], "width": 10.001, "new": 1}
    assert not list(reference.differences(old, new, ()))
