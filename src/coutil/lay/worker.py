"""The process in which the placing engine runs. It imports nothing of coutil, so that it starts in a blink.

One job comes in as a line of JSON on standard input: {"height", "seconds", "seed", "items": [{"id", "points", "demand",
"turns"}]}, lengths in mm, turns in degrees. Each layout that can be cut goes out as a line of JSON: {"width", "placed":
[[id, x, y, degrees], ...], "final"}. A failure goes out as {"failed": why, "missing": whether the engine is not
installed}. The parent ends this process whenever it has seen enough.
"""

from __future__ import annotations

import json
import os
import sys
import threading
from typing import Any

# How often the engine's reports are fetched, in seconds: a blink for the eye, nothing for the processor.
TICK = 0.02


def main() -> None:
    job = json.loads(sys.stdin.readline())
    threading.Thread(target=_end_with_parent, daemon=True).start()
    try:
        import spyrrow
    except ImportError as e:
        _say({"failed": str(e), "missing": True})
        return

    queue = spyrrow.ProgressQueue()
    done: dict[str, Any] = {}

    def solve() -> None:
        try:
            items = [
                spyrrow.Item(
                    i["id"], [(x, y) for x, y in i["points"]], demand=i["demand"], allowed_orientations=i["turns"]
                )
                for i in job["items"]
            ]
            config = spyrrow.StripPackingConfig(
                early_termination=True,
                total_computation_time=job["seconds"],
                # With one worker a seed gives one layout; with two it does not (found by trial).
                num_workers=1,
                seed=job["seed"],
            )
            done["solution"] = spyrrow.StripPackingInstance("lay", job["height"], items).solve(config, queue)
        # The engine's panics are no Exceptions.
        except BaseException as e:
            done["failed"] = f"{type(e).__name__}: {e}".splitlines()[0]

    thread = threading.Thread(target=solve, daemon=True)
    thread.start()
    # Only these reports are layouts without overlaps (found by trial).
    good = {int(spyrrow.ReportType.ExplFeas), int(spyrrow.ReportType.CmprFeas)}
    while thread.is_alive():
        thread.join(TICK)
        for kind, solution in queue.drain():
            if int(kind) in good:
                _say(_layout(solution, final=False))
    if "solution" in done:
        _say(_layout(done["solution"], final=True))
    else:
        _say({"failed": done.get("failed", "it ended without a layout"), "missing": False})


def _end_with_parent() -> None:
    """The parent holds standard input open as long as it lives; when it is gone nobody needs a layout."""
    # Read past Python's own buffer, whose lock a thread must not hold when the interpreter ends.
    while os.read(0, 1024):
        pass
    os._exit(1)


def _layout(solution: Any, *, final: bool) -> dict[str, Any]:
    placed = [[p.id, p.translation[0], p.translation[1], p.rotation] for p in solution.placed_items]
    return {"width": solution.width, "placed": placed, "final": final}


def _say(what: dict[str, Any]) -> None:
    sys.stdout.write(json.dumps(what) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    try:
        main()
    except BrokenPipeError:
        # The parent has gone; nobody listens any more, and flushing at exit would only complain.
        os._exit(1)
