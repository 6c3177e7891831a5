"""A public strip-packing instance through the same engine code as an order; prints width and density.

    python bench/nesting.py FILE.json --time 60

The file: {"name", "strip_height", "items": [{"id", "demand", "allowed_orientations": [degrees] or null,
"shape": {"data": [[x, y], ...]}}]}. Lengths are in the file's own unit. Overlaps, turns, counts and bounds are checked
by shapely, within some parts in a hundred thousand of the strip's height; exit code 1 if the layout does not hold, 2 if
the file cannot be used. Published widths to compare with: Gardeyn et al., arXiv 2509.13329.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections import Counter
from pathlib import Path
from typing import Any

from shapely import Polygon, STRtree, box

from coutil.lay.engine import EngineError, Item, Layout, pack

# Two shapes may press into each other by this part of the strip's height: the engine reckons in single precision.
PRESS = 1e-6
# The engine takes shapes that fill the strip's height exactly only if it is raised by some parts in a million, beyond
# its own rounding (found by trial); density is still reckoned with the nominal height.
RAISE = 1e-5
# Angles for a shape that may turn freely, in degrees.
FREE = tuple(float(a) for a in range(0, 360, 15))


def read(path: Path) -> tuple[str, float, list[Item]]:
    """Name, strip height and items; raises ValueError saying what is wrong with the file."""
    try:
        data: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
        items = []
        for k, i in enumerate(data["items"]):
            points = [(float(x), float(y)) for x, y in i["shape"]["data"]]
            if points[0] == points[-1]:
                points.pop()
            allowed = i.get("allowed_orientations", [0.0])
            turns = FREE if allowed is None else tuple(float(a) for a in allowed) or (0.0,)
            items.append(Item(str(k), tuple(points), int(i["demand"]), turns))
        return str(data.get("name", path.stem)), float(data["strip_height"]), items
    except (OSError, UnicodeDecodeError, json.JSONDecodeError, KeyError, TypeError, ValueError, IndexError) as e:
        raise ValueError(f"{path} is no strip-packing instance: {type(e).__name__}: {e}") from None


def faults(items: list[Item], height: float, layout: Layout) -> tuple[list[str], float, float]:
    """What is wrong with a layout, its true width, and its density."""
    by_id = {i.id: i for i in items}
    out = []
    placed = Counter(p.id for p in layout.placed)
    wanted = Counter({i.id: i.demand for i in items})
    if placed != wanted:
        out.append("not every shape is placed as often as it must be")
    shapes = [Polygon(p.of(by_id[p.id].points)) for p in layout.placed]
    for p in layout.placed:
        off = min(abs((p.degrees - t + 180.0) % 360.0 - 180.0) for t in by_id[p.id].turns)
        out += [f"shape {p.id} is turned by {p.degrees:g} degrees"] if off > 1e-3 else []
    press = PRESS * height
    left, right = min(s.bounds[0] for s in shapes), max(s.bounds[2] for s in shapes)
    room = box(left, -2 * press, right, height * (1 + RAISE) + 2 * press)
    out += [f"shape {p.id} lies outside" for p, s in zip(layout.placed, shapes, strict=True) if not room.covers(s)]
    tree = STRtree(shapes)
    for i, j in tree.query(shapes, predicate="intersects").T.tolist():
        # Two shapes that only touch share a line; what they share must be no thicker than `press`.
        if i < j and shapes[i].intersection(shapes[j]).area > 0.0:
            common = shapes[i].intersection(shapes[j])
            if not common.buffer(-press).is_empty:
                out.append(f"shapes {layout.placed[i].id} and {layout.placed[j].id} lie over each other")
    width = right - left
    return out, width, sum(s.area for s in shapes) / (width * height)


class Teller:
    """Tells better widths on the error stream, twice a second at most."""

    def __init__(self, factor: float) -> None:
        self.factor = factor
        self.started = self.told = time.monotonic()

    def __call__(self, width: float) -> None:
        now = time.monotonic()
        if now - self.told > 0.5:
            self.told = now
            print(f"  {now - self.started:6.1f} s: {width / self.factor:.3f}", file=sys.stderr)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("file", type=Path)
    parser.add_argument("--time", type=float, default=10.0, help="seconds")
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    try:
        name, height, items = read(given.file)
        # The engine reckons in single precision, so shapes go in at a size like that of a garment's, in mm.
        factor = 1000.0 / height
        scaled = [Item(i.id, tuple((x * factor, y * factor) for x, y in i.points), i.demand, i.turns) for i in items]
        layout = pack(
            scaled,
            1000.0 * (1 + RAISE),
            seconds=given.time,
            seed=given.seed,
            report=Teller(factor),
        )
    except (ValueError, EngineError) as e:
        print(f"{e}", file=sys.stderr)
        return 2
    wrong, width, density = faults(scaled, 1000.0, layout)
    print(f"{name}: width {width / factor:.3f}, density {density:.4%}, {len(layout.placed)} shapes")
    for w in wrong:
        print(f"  does not hold: {w}")
    return 1 if wrong else 0


if __name__ == "__main__":
    raise SystemExit(main())
