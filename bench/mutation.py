"""Faults made by machine, a fixed sample of them, and which of them the tests see.

python bench/mutation.py [--sample N] [--seed N] [--cores N] [--only WORD] [--out FILE] [--quick]
python bench/mutation.py --all                    every one of them: hours

cosmic-ray says where a fault can be put and puts it there (a number one more or less, another sign, another comparison,
a condition turned round, a loop that does nothing); each is tried in a copy of the project with the tests of its room,
until the first fails. What no test of its room sees is tried with the reference files: those see a change, but not
whether it is right. With --quick the slow files of tests are left out, so more survives.

What survives is written to FILE as one JSON object a line, and belongs into docs/mutation.md with why it may live, or
gets a test.
"""

from __future__ import annotations

import argparse
import difflib
import json
import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor, as_completed
from dataclasses import asdict, dataclass
from pathlib import Path
from queue import SimpleQueue
from random import Random

from mutants import COPIED, ROOT, environment

CODE = "src/coutil"
# Rooms, by the beginnings of their files' paths in src/coutil, and the tests that are to see their faults, the quick
# and telling ones first.
ROOMS: dict[tuple[str, ...], tuple[str, ...]] = {
    ("draft/",): ("test_draft_rules.py", "test_steps.py", "test_sheets_lesson.py", "test_draft.py", "test_make.py"),
    ("seaming/",): ("test_any_seaming.py", "test_draft_rules.py"),
    ("dome/",): ("test_dome_gauge.py", "test_draft_rules.py"),
    ("pattern/nicks.py", "plane/ray.py"): ("test_drawn_notches.py", "test_nicks.py"),
    ("plane/upright.py",): ("test_drawn_lines.py",),
    ("layers/",): ("test_drawn_lines.py", "test_drawn_notches.py", "test_layers_pads.py", "test_layers_pieces.py"),
    ("sheets/figures.py", "sheets/drawing.py", "sheets/cover.py", "sheets/labels.py"): (
        "test_sheets_drawing.py",
        "test_drawn_notches.py",
        "test_sheets_marks.py",
        "test_sheets_labels.py",
        "test_sheets_svg.py",
        "test_sheets_print.py",
    ),
    ("docket/",): (
        "test_docket.py",
        "test_docket_money.py",
        "test_docket_thread.py",
        "test_docket_sums.py",
        "test_card.py",
        "test_docket_sheets.py",
    ),
}
REFERENCE = ("test_reference.py",)
# A minute and more each.
SLOW = ("test_draft.py", "test_sheets_print.py", "test_layers_pads.py")
# Kinds of faults: those that a slip of the hand makes. Others (a sum turned into a shift of bits) are seen by any test.
OPERATORS = (
    "core/NumberReplacer",
    "core/AddNot",
    "core/ReplaceTrueWithFalse",
    "core/ReplaceFalseWithTrue",
    "core/ReplaceAndWithOr",
    "core/ReplaceOrWithAnd",
    "core/ReplaceBreakWithContinue",
    "core/ReplaceContinueWithBreak",
    "core/ZeroIterationForLoop",
    "core/ReplaceUnaryOperator_Delete_USub",
    "core/ReplaceUnaryOperator_Delete_Not",
    *(f"core/ReplaceBinaryOperator_{a}" for a in ("Add_Sub", "Sub_Add", "Mul_Div", "Div_Mul", "Pow_Mul")),
    *(
        f"core/ReplaceComparisonOperator_{a}"
        for a in (
            "Eq_NotEq",
            "NotEq_Eq",
            "Lt_LtE",
            "Lt_GtE",
            "LtE_Lt",
            "LtE_Gt",
            "Gt_GtE",
            "Gt_LtE",
            "GtE_Gt",
            "GtE_Lt",
        )
    ),
)
# A fault may make a loop endless: after this many seconds for one file of tests it counts as seen.
PATIENCE = 600


@dataclass(frozen=True)
class Fault:
    """One fault: the file under src/coutil, what is done, and where cosmic-ray counts it."""

    file: str
    operator: str
    occurrence: int
    line: int


def faults(word: str) -> list[Fault]:
    """Every fault of every room, in a fixed order; with `word`, those whose file's path holds it."""
    from cosmic_ray.ast import ast_nodes, get_ast_from_path
    from cosmic_ray.plugins import get_operator

    out = []
    for path in sorted((ROOT / CODE).rglob("*.py")):
        file = path.relative_to(ROOT / CODE).as_posix()
        if not any(file.startswith(start) for room in ROOMS for start in room) or word not in file:
            continue
        nodes = list(ast_nodes(get_ast_from_path(path)))
        for name in OPERATORS:
            operator = get_operator(name)()
            places = (start for node in nodes for start, _ in operator.mutation_positions(node))
            out += [Fault(file, name, k, line) for k, (line, _) in enumerate(places)]
    return out


def broken(code: str, fault: Fault) -> str | None:
    from cosmic_ray.mutating import mutate_code
    from cosmic_ray.plugins import get_operator

    changed: str | None = mutate_code(code, get_operator(fault.operator)(), fault.occurrence)
    return changed


def verdict(fault: Fault, folder: Path, *, quick: bool) -> tuple[str, str]:
    """What became of a fault in a copy of the project, and its lines."""
    path = folder / CODE / fault.file
    sound = path.read_text(encoding="utf-8")
    changed = broken(sound, fault)
    if changed is None or changed == sound:
        return "no fault", ""
    diff = difflib.unified_diff(sound.splitlines(), changed.splitlines(), lineterm="", n=0)
    lines = "\n".join(row for row in diff if row[:1] in "+-" and row[:3] not in ("+++", "---"))
    room = next(tests for starts, tests in ROOMS.items() if any(fault.file.startswith(s) for s in starts))
    room = tuple(t for t in room if not (quick and t in SLOW))
    path.write_text(changed, encoding="utf-8")
    try:
        for tests, result in ((room, "seen"), (REFERENCE, "seen by the reference files only")):
            for test in tests:
                if _fails(folder, test):
                    return result, lines
    finally:
        path.write_text(sound, encoding="utf-8")
    return "SURVIVED", lines


def _fails(folder: Path, test: str) -> bool:
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", f"tests/{test}"]
    try:
        done = subprocess.run(command, cwd=folder, env=environment(folder), capture_output=True, timeout=PATIENCE)
    except subprocess.TimeoutExpired:
        return True
    return done.returncode != 0


def tried(chosen: list[Fault], cores: int, home: Path, *, quick: bool) -> Iterator[tuple[Fault, str, str, float]]:
    """Every fault with its verdict, its lines and how long it took; each core works in a copy of its own."""
    copies: SimpleQueue[Path] = SimpleQueue()
    for k in range(cores):
        folder = home / str(k)
        folder.mkdir()
        for part in COPIED:
            if (ROOT / part).is_dir():
                shutil.copytree(ROOT / part, folder / part, ignore=shutil.ignore_patterns("__pycache__"))
            else:
                shutil.copy(ROOT / part, folder / part)
        copies.put(folder)

    def one(fault: Fault) -> tuple[Fault, str, str, float]:
        folder, begun = copies.get(), time.monotonic()
        try:
            return (fault, *verdict(fault, folder, quick=quick), time.monotonic() - begun)
        finally:
            copies.put(folder)

    with ThreadPoolExecutor(cores) as pool:
        for done in as_completed([pool.submit(one, fault) for fault in chosen]):
            yield done.result()


def main() -> int:
    arguments = argparse.ArgumentParser()
    arguments.add_argument("--sample", type=int, default=60)
    arguments.add_argument("--seed", type=int, default=1)
    arguments.add_argument("--cores", type=int, default=2)
    arguments.add_argument("--only", default="")
    arguments.add_argument("--all", action="store_true")
    arguments.add_argument("--quick", action="store_true")
    arguments.add_argument("--out", type=Path)
    said = arguments.parse_args()
    every = faults(said.only)
    chosen = every if said.all else Random(said.seed).sample(every, min(said.sample, len(every)))
    print(f"{len(chosen)} of {len(every)} faults, seed {said.seed}")
    tally: Counter[str] = Counter()
    with tempfile.TemporaryDirectory(prefix="coutil-mutation-") as name:
        for fault, result, lines, seconds in tried(chosen, said.cores, Path(name), quick=said.quick):
            tally[result] += 1
            print(f"{seconds:5.0f} s  {fault.file}:{fault.line} {fault.operator.removeprefix('core/')}: {result}")
            if result not in ("seen", "no fault"):
                print(lines, flush=True)
                if said.out:
                    with said.out.open("a", encoding="utf-8") as f:
                        f.write(json.dumps({**asdict(fault), "result": result, "lines": lines}) + "\n")
            sys.stdout.flush()
    print(", ".join(f"{n} {result}" for result, n in tally.most_common()))
    return 0


if __name__ == "__main__":
    sys.exit(main())
