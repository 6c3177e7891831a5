"""Kill a process that edits the book, many times, on each database, and count what is left.

python bench/kills.py [ROUNDS] [SEED]        200 rounds each, where nothing is said
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

TESTS = Path(__file__).resolve().parent.parent / "tests"
sys.path.insert(0, str(TESTS))


def main() -> None:
    from book_kills import file_places, kill_rounds
    from book_server import running_server

    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else int(time.time())
    print(f"seed {seed}")
    with tempfile.TemporaryDirectory(prefix="coutil-kills-") as folder, running_server() as server:
        for name, places in (
            ("SQLite", file_places(Path(folder))),
            ("PostgreSQL", lambda number: server.fresh(f"killed{number}")),
        ):
            begun = time.monotonic()
            tally = kill_rounds(places, rounds, seed)
            print(f"{name}: {tally} in {time.monotonic() - begun:.0f} s; no acknowledged edit lost, every check passed")


if __name__ == "__main__":
    main()
