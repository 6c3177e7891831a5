"""How long one order takes, as a ratio to shapely buffers of the same outlines at the same tolerance.

    pytest bench/test_speed.py

The reference is timed in the same run, so that the ratio says something on any machine: `reference` is what shapely
needs to buffer every distinct outline of the pieces once, by 1/2 in, at the tolerance that coutil states for its
cut lines (0.05 mm).
"""

from __future__ import annotations

import math
from pathlib import Path
from time import perf_counter

import pytest
from shapely import Polygon

from coutil.check import check
from coutil.draft import draft
from coutil.layers import layer_up
from coutil.make import work_out
from coutil.order import read_order
from coutil.pattern.json import dumps

ORDER = Path(__file__).parent.parent / "examples" / "sea-green.toml"
# The tolerance of a cut line, in mm.
TOLERANCE = 0.05
ROUNDS = 60


@pytest.fixture(scope="module")
def order():
    return read_order(ORDER)


@pytest.fixture(scope="module")
def work(order):
    return work_out(order)


def quarter_segments(radius: float) -> int:
    """Segments per quarter circle with which shapely's round buffer stays within the tolerance."""
    return max(1, math.ceil(math.pi / 4 / math.acos(1 - TOLERANCE / radius)))


def buffers(pattern) -> None:
    seen = set()
    for piece in pattern.pieces:
        key = tuple(id(c) for c in piece.cut)
        if key not in seen:
            seen.add(key)
            Polygon(piece.net_outline(tolerance=TOLERANCE)).buffer(12.7, quad_segs=quarter_segments(12.7))


def reference(pattern) -> float:
    """Median seconds for the buffers, over as many rounds as the benchmarks take."""
    times = []
    for _ in range(ROUNDS):
        start = perf_counter()
        buffers(pattern)
        times.append(perf_counter() - start)
    return sorted(times)[len(times) // 2]


def measure(benchmark, job, pattern) -> None:
    benchmark.pedantic(job, rounds=ROUNDS, warmup_rounds=3)
    base = reference(pattern)
    benchmark.extra_info["reference_ms"] = round(base * 1e3, 3)
    benchmark.extra_info["ratio"] = round(benchmark.stats.stats.median / base, 2)
    print(f"\n{benchmark.name}: {benchmark.stats.stats.median * 1e3:.2f} ms, {benchmark.extra_info['ratio']} buffers")


def test_order_to_json(benchmark, order, work):
    measure(benchmark, lambda: dumps(work_out(order).pattern), work.pattern)


def test_draft(benchmark, order, work):
    measure(benchmark, lambda: draft(order.body, order.style), work.pattern)


def test_layers(benchmark, order, work):
    measure(benchmark, lambda: layer_up(work.draft.pattern, order.build), work.pattern)


def test_checks(benchmark, order, work):
    layered = layer_up(work.draft.pattern, order.build)
    measure(benchmark, lambda: check(layered, order.body, order.style, order.build), work.pattern)


def test_json(benchmark, work):
    measure(benchmark, lambda: dumps(work.pattern), work.pattern)
