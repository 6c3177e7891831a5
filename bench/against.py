"""Whether the code became slower: this checkout against another one, in alternating runs.

    python bench/against.py FOLDER [--runs N] [--edit | --page]

FOLDER is a checkout of the code as it was, with an environment of its own in .venv (`git worktree add FOLDER COMMIT`,
`make .venv/.ready-test` in it). Both are run in turn, each time in processes of their own, so that what else the
machine does meets both alike. From an order's text to its JSON text: the median of 40 in each process, in CPU time of
the thread, which leaves out what the process waits for. With --edit a change from the page to its answer, server and
asker in one process: the median of 60, in CPU time of the process. With --page from edit to paint: bench/page.py, 100
edits a run, by the clock; on a machine that does other work it says little.
"""

from __future__ import annotations

import argparse
import os
import re
import statistics
import subprocess
from pathlib import Path

HERE = Path(__file__).parents[1]
# Rounds before the 40 that count warm up caches and imports.
JOB = """
import statistics
from pathlib import Path
from time import thread_time
from coutil.make import work_out
from coutil.order import read_order
from coutil.pattern.json import dumps
times = []
for _ in range(45):
    start = thread_time()
    dumps(work_out(read_order(Path("examples/sea-green.toml"))).pattern)
    times.append(thread_time() - start)
print(1e3 * statistics.median(times[5:]))
"""


EDITS = """
import statistics, sys, tempfile
from pathlib import Path
from time import process_time
sys.path.insert(0, "tests")
from web_page import open_page
FIELDS = (("body.bust", "92.{} cm"), ("body.waist", "70.{} cm"), ("style.hem_point", "3.{} cm"),
          ("style.hem", "8.{} cm"), ("build.allowance", "1.{} cm"))
with tempfile.TemporaryDirectory() as folder, open_page(Path(folder)) as (_, window):
    times = []
    for k in range(70):
        key, text = FIELDS[k % 5]
        start = process_time()
        answer = window.edit(key, text.format(k // 5 % 7 + 1))
        times.append(process_time() - start)
        assert answer.status_code == 200, answer.text
print(1e3 * statistics.median(times[10:]))
"""


def order_to_json(folder: Path) -> float:
    """Milliseconds, the median of one process."""
    return float(_said(folder, "-c", JOB))


def edit_to_answer(folder: Path) -> float:
    """Milliseconds, the median of 60 edits."""
    return float(_said(folder, "-c", EDITS))


def edit_to_paint(folder: Path) -> float:
    """Milliseconds, the median of 100 edits."""
    said = _said(folder, "bench/page.py", "100")
    found = re.search(r"half +([\d.]+) ms", said)
    if found is None:
        raise ValueError(f"bench/page.py in {folder} said no median: {said}")
    return float(found[1])


def _said(folder: Path, *job: str) -> str:
    python = folder / ".venv" / "bin" / "python"
    # The exit code of bench/page.py says whether its promise is kept, which is not asked here.
    return subprocess.run([python, *job], cwd=folder, stdout=subprocess.PIPE, text=True, check=False).stdout


def main() -> None:
    arguments = argparse.ArgumentParser()
    arguments.add_argument("folder", type=Path)
    arguments.add_argument("--runs", type=int, default=10)
    arguments.add_argument("--edit", dest="measure", action="store_const", const=edit_to_answer)
    arguments.add_argument("--page", dest="measure", action="store_const", const=edit_to_paint)
    arguments.set_defaults(measure=order_to_json)
    said = arguments.parse_args()
    before, now = [], []
    for _ in range(said.runs):
        before.append(said.measure(said.folder.resolve()))
        now.append(said.measure(HERE))
        print(
            f"before {before[-1]:7.2f} ms   now {now[-1]:7.2f} ms   now / before {now[-1] / before[-1]:.3f}", flush=True
        )
    ratios = sorted(b / a for a, b in zip(before, now, strict=True))
    print(f"medians: before {statistics.median(before):.2f} ms, now {statistics.median(now):.2f} ms")
    print(f"now / before, run by run: median {statistics.median(ratios):.3f}, {ratios[0]:.3f} to {ratios[-1]:.3f}")
    print(f"{os.cpu_count()} cores; load of the machine at the end: {os.getloadavg()[0]:.1f}")


if __name__ == "__main__":
    main()
