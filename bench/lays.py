"""Lays of very many random orders, held against their patterns by shapely; prints what it found.

    python bench/lays.py                # 300 orders: some minutes
    python bench/lays.py --orders 30 --time 2

Each order gets short engine runs, as the lays need only be right, not good. Exit code 1 if any lay is not right.
"""

from __future__ import annotations

import argparse
import collections
import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent / "tests"))

from coutil.pattern import about_words, says
from lay_orders import cases


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--orders", type=int, default=300)
    parser.add_argument("--seed", type=int, default=11)
    parser.add_argument("--time", type=float, default=0.3, help="seconds of the engine for each order")
    given = parser.parse_args()

    counts: collections.Counter[str] = collections.Counter()
    stops: collections.Counter[str] = collections.Counter()
    faults: list[str] = []
    ratios: list[float] = []
    started = time.monotonic()
    for i, case in enumerate(cases(given.orders, seed=given.seed)):
        made = case.planned(given.time)
        found = case.faults(made)
        faults += [f"order {i}: {f}" for f in found]
        for f in made.findings:
            if f.level == "stop" and f.code in ("lay.none", "lay.engine"):
                stops["the engine" if f.code == "lay.engine" else "a piece does not fit"] += 1
                if f.code == "lay.engine":
                    faults.append(f"order {i}: {about_words(f.about)}: {says(f)}")
        counts["orders"] += 1
        counts["blocks shared"] += sum(len(b.pieces) > 1 for b in made.blocks)
        for lay in made.lays:
            counts["lays"] += 1
            counts[f"lays on a {lay.on}"] += 1
            counts["folded"] += lay.folded
            counts["pieces and blocks laid"] += len(lay.placements)
            counts["parts of pieced interfacing"] += sum(p.part is not None for p in lay.placements)
            ratios.append(lay.length_mm / lay.lower_bound_mm)
        if sys.stderr.isatty():
            print(f"\r{i + 1} of {given.orders} orders", end="", file=sys.stderr)
    print(f"{time.monotonic() - started:.0f} s")
    for name, n in counts.items():
        print(f"{n:6d} {name}")
    for name, n in stops.items():
        print(f"{n:6d} cloths without a lay: {name}")
    if ratios:
        print(f"{statistics.median(ratios):6.3f} times the lower bound, median")
    print(f"{len(faults):6d} faults")
    for f in faults[:50]:
        print(f"       {f}")
    return 1 if faults else 0


if __name__ == "__main__":
    raise SystemExit(main())
