"""Section 3 of the plan on very many random bodies, by the project's own checks; prints what it found.

    python bench/bodies.py              # 100,000 bodies and more, on all cores: some 15 minutes on two
    python bench/bodies.py --log2 12    # fewer
    python bench/bodies.py --seaming corset-7 --log2 15     # of one ready seaming, with tops, hems, openings at random
    python bench/bodies.py --seaming all --log2 15 --cores 1

A body is drafted, layered up and checked, or refused by name. Every `stop` that is not a remark on the body or its ease
is listed with an example.
"""

from __future__ import annotations

import argparse
import collections
import multiprocessing
import sys
import time
from collections.abc import Iterable
from itertools import islice
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent / "tests"))

from bodies import plausible
from coutil.make import work_out
from coutil.order import Build, Lining, Order, OrderError, PadBuild
from coutil.pattern import about_words, says
from coutil.seaming import READY
from garments import garments

BUILD = Build(pad=PadBuild(thickness=6.0), lining=Lining(fused=True))


def judge(case: tuple) -> tuple[str, str]:
    """("refused" | "stopped" | "crashed" | "fine", why)."""
    body, style = case
    try:
        pattern = work_out(Order(name="random", body=body, style=style, build=BUILD)).pattern
    except OrderError as refused:
        return "refused", str(refused)
    except Exception as fault:
        return "crashed", f"{type(fault).__name__}: {fault}"
    for f in pattern.findings:
        if f.level == "stop" and not f.code.startswith(("body.", "reduction.")):
            return "stopped", f"{about_words(f.about)}: {says(f)}"
    return "fine", ""


def main() -> None:
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--log2", type=int, default=17, help="the Sobol set has 2**LOG2 points (default 17)")
    arguments.add_argument("--seed", type=int, default=7)
    arguments.add_argument("--seaming", choices=[*READY, "all"], help="random garments of this ready seaming")
    arguments.add_argument("--most", type=int, help="stop after so many bodies (of each seaming)")
    arguments.add_argument("--cores", type=int, help="processes (default: all cores)")
    chosen = arguments.parse_args()
    if chosen.seaming is None:
        many(plausible(chosen.log2, chosen.seed), chosen)
        return
    for name in READY if chosen.seaming == "all" else (chosen.seaming,):
        print(f"== {name}", flush=True)
        many(garments(chosen.log2, READY[name], seed=chosen.seed), chosen)


def many(cases: Iterable[tuple], chosen: argparse.Namespace) -> None:
    """Judge them all and print what came of it."""
    count: collections.Counter[str] = collections.Counter()
    why: dict[str, collections.Counter[str]] = collections.defaultdict(collections.Counter)
    example: dict[str, str] = {}
    start = time.perf_counter()
    with multiprocessing.Pool(chosen.cores) as pool:
        for kind, says in pool.imap_unordered(judge, islice(cases, chosen.most), chunksize=64):
            count[kind] += 1
            if says:
                about = "".join(c for c in says.split(":")[1 if kind == "refused" else 0] if not c.isdigit())
                why[kind][about[:70]] += 1
                example.setdefault(about[:70], says)
            if sum(count.values()) % 5000 == 0:
                print(f"{sum(count.values())} bodies, {time.perf_counter() - start:.0f} s", file=sys.stderr)
    total = sum(count.values())
    print(f"{total} bodies in {time.perf_counter() - start:.0f} s")
    for kind in ("fine", "refused", "stopped", "crashed"):
        print(f"{kind}: {count[kind]} ({100.0 * count[kind] / total:.3f} %)")
        for about, n in why[kind].most_common(12):
            print(f"  {n:6} {about.strip()}\n         e.g. {example[about]}")


if __name__ == "__main__":
    main()
