"""Faults made by machine, a fixed sample of them, and which of them the tests see.

python bench/mutation.py [--sample N] [--seed N] [--cores N] [--only WORD ...] [--out FILE] [--quick]
python bench/mutation.py --all                    every one of them: hours

cosmic-ray says where a fault can be put and puts it there (a number one more or less, another sign, another comparison,
a condition turned round, a loop that does nothing); each is tried in a copy of the project with the tests of its room,
until the first fails. What no test of its room sees is tried with the reference files: those see a change, but not
whether it is right. Tests that fail without any fault say nothing; they are named and left out. With --quick the tests
that take seconds are left out and of the reference files only the demo is asked, so more survives.

The tests of a fault run in a process that is split off one which has numpy, shapely and the like loaded already: that
saves half the time of most faults.

What survives is written to FILE as one JSON object a line, and belongs into docs/mutation.md with why it may live, or
gets a test.
"""

from __future__ import annotations

import argparse
import difflib
import importlib
import json
import multiprocessing
import os
import shutil
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import asdict, dataclass
from pathlib import Path
from random import Random

from mutants import COPIED, ROOT, environment

CODE = "src/coutil"
# Rooms, by the beginnings of their files' paths in src/coutil, and the tests that are to see their faults, the quick
# and telling ones first.
ROOMS: dict[tuple[str, ...], tuple[str, ...]] = {
    ("draft/",): (
        "test_steps.py",
        "test_draft_rules.py",
        "test_ready_cups.py",
        "test_rules_by_hand.py",
        "test_sheets_lesson.py",
        "test_garments.py",
        "test_any_seaming.py",
        "test_draft.py",
        "test_make.py",
    ),
    ("seaming/",): ("test_any_seaming.py", "test_draft_rules.py", "test_garments.py"),
    ("dome/",): ("test_dome_gauge.py", "test_draft_rules.py"),
    ("pattern/nicks.py", "plane/ray.py"): ("test_drawn_notches.py", "test_nicks.py"),
    ("plane/upright.py",): ("test_drawn_lines.py",),
    ("layers/",): (
        "test_layers_build.py",
        "test_drawn_lines.py",
        "test_steps.py",
        "test_cutting.py",
        "test_rules_by_hand.py",
        "test_layers_pieces.py",
        "test_drawn_notches.py",
        "test_layers_pads.py",
        "test_garments.py",
        "test_any_seaming.py",
    ),
    ("sheets/figures.py", "sheets/drawing.py", "sheets/cover.py", "sheets/labels.py"): (
        "test_sheets_drawing.py",
        "test_rules_by_hand.py",
        "test_drawn_notches.py",
        "test_layers_build.py",
        "test_sheets_labels.py",
        "test_sheets_marks.py",
        "test_sheets_svg.py",
        "test_sheets_print.py",
    ),
    ("docket/",): (
        "test_docket.py",
        "test_docket_money.py",
        "test_docket_thread.py",
        "test_card.py",
        "test_making_order.py",
        "test_rules_by_hand.py",
        "test_docket_sums.py",
        "test_docket_sheets.py",
    ),
}
REFERENCE = ("test_reference.py",)
DEMO = ("test_reference.py::test_the_demo_gives_what_it_gave_point_by_point",)
# What --quick leaves out: files that take a minute, and tests that take seconds (measured).
SLOW = (
    "test_draft.py",
    "test_sheets_print.py",
    "test_sheets_svg.py",
    "test_layers_pads.py",
    "test_docket_sheets.py",
    "test_make.py",
    "test_garments.py",
    "test_any_seaming.py",
    "test_draft_rules.py::test_neighbours_share_a_block_where_that_saves_four_hundredths",
    "test_layers_pieces.py::test_every_drafted_body_is_layered_up",
    "test_sheets_marks.py::test_large_paper_bears_whole_pieces_and_the_squares_come_first",
    "test_docket_sums.py::test_thread_counts_no_interfacing_in_a_lining_that_has_none",
    "test_draft_rules.py::test_the_princess_edge_is_round_at_the_bust_point",
    "test_docket_sums.py::test_bones_and_casings[uneven]",
    "test_sheets_labels.py::test_no_label_lies_over_a_line_on_drafted_bodies",
)
# Loaded before tests are split off: libraries, nothing of coutil, none of its tests and no plugins of pytest.
LIBRARIES = ("numpy", "scipy.integrate", "shapely", "kurbopy", "ezdxf", "pytest", "tomlkit")
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
# A fault may make a loop endless: after this many seconds it counts as seen.
PATIENCE = 600


@dataclass(frozen=True)
class Fault:
    """One fault: the file under src/coutil, what is done, and where cosmic-ray counts it."""

    file: str
    operator: str
    occurrence: int
    line: int


def faults(words: list[str]) -> list[Fault]:
    """Every fault of every room, in a fixed order; with `words`, those whose file's path holds one of them."""
    from cosmic_ray.ast import ast_nodes, get_ast_from_path
    from cosmic_ray.plugins import get_operator

    out = []
    for path in sorted((ROOT / CODE).rglob("*.py")):
        file = path.relative_to(ROOT / CODE).as_posix()
        if not any(file.startswith(start) for room in ROOMS for start in room):
            continue
        if words and not any(word in file for word in words):
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


class Failures:
    """Notes the names of tests that fail, for pytest."""

    def __init__(self) -> None:
        self.names: list[str] = []

    def pytest_runtest_logreport(self, report: object) -> None:
        if getattr(report, "failed", False):
            self.names.append(str(getattr(report, "nodeid", "")))


def failing(folder: Path, tests: tuple[str, ...], without: tuple[str, ...], *, first: bool) -> list[str] | None:
    """The tests that fail in a copy, with `first` no more than one; None if they could not be run or did not end."""
    context = multiprocessing.get_context("fork")
    here, there = context.Pipe(duplex=False)
    child = context.Process(target=_run, args=(folder, tests, without, first, there))
    child.start()
    there.close()
    try:
        return here.recv() if here.poll(PATIENCE) else None
    except EOFError:
        return None
    finally:
        child.kill()
        child.join()


def _run(folder: Path, tests: tuple[str, ...], without: tuple[str, ...], first: bool, told: object) -> None:
    import pytest

    os.chdir(folder)
    os.environ.update(environment(folder))
    sys.path.insert(0, str(folder / "src"))
    sys.dont_write_bytecode = True
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    seen = Failures()
    left_out = [f"--deselect=tests/{name}" for name in without]
    there = [f"tests/{t}" for t in tests if (folder / "tests" / t.partition("::")[0]).exists()]
    code = pytest.main([*(["-x"] if first else []), "-q", "-p", "no:cacheprovider", *left_out, *there], plugins=[seen])
    told.send(seen.names if code in (0, 1) else None)  # type: ignore[attr-defined]


def room_of(fault: Fault, *, quick: bool) -> tuple[str, ...]:
    room = next(tests for starts, tests in ROOMS.items() if any(fault.file.startswith(s) for s in starts))
    return tuple(t for t in room if not (quick and t in SLOW))


def verdict(fault: Fault, folder: Path, without: tuple[str, ...], *, quick: bool) -> tuple[str, str]:
    """What became of a fault in a copy of the project, and its lines; `without`: tests that are left out."""
    path = folder / CODE / fault.file
    sound = path.read_text(encoding="utf-8")
    changed = broken(sound, fault)
    if changed is None or changed == sound:
        return "no fault", ""
    diff = difflib.unified_diff(sound.splitlines(), changed.splitlines(), lineterm="", n=0)
    lines = "\n".join(row for row in diff if row[:1] in "+-" and row[:3] not in ("+++", "---"))
    path.write_text(changed, encoding="utf-8")
    try:
        if failing(folder, room_of(fault, quick=quick), without, first=True) != []:
            return "seen", lines
        if failing(folder, DEMO if quick else REFERENCE, without, first=True) != []:
            return "seen by the reference files only", lines
    finally:
        path.write_text(sound, encoding="utf-8")
    return "SURVIVED", lines


def copied(home: Path) -> Path:
    """A copy of the project, of its own for each process that works on faults."""
    folder = home / str(os.getpid())
    if folder.exists():
        return folder
    folder.mkdir()
    for part in COPIED:
        if (ROOT / part).is_dir():
            shutil.copytree(ROOT / part, folder / part, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(ROOT / part, folder / part)
    for library in LIBRARIES:
        importlib.import_module(library)
    return folder


def one(fault: Fault, home: Path, without: tuple[str, ...], quick: bool) -> tuple[Fault, str, str, float]:
    begun = time.monotonic()
    return (fault, *verdict(fault, copied(home), without, quick=quick), time.monotonic() - begun)


def broken_already(chosen: list[Fault], home: Path, without: tuple[str, ...], quick: bool) -> tuple[str, ...]:
    """The tests that fail without any fault."""
    tests = dict.fromkeys(t for f in chosen for t in room_of(f, quick=quick))
    found = failing(copied(home), (*tests, *(DEMO if quick else REFERENCE)), without, first=False)
    if found is None:
        raise ValueError("the tests cannot be run at all")
    return tuple(name.removeprefix("tests/") for name in found)


def tried(chosen: list[Fault], cores: int, home: Path, *, quick: bool) -> Iterator[tuple[Fault, str, str, float]]:
    """Every fault with its verdict, its lines and how long it took."""
    with ProcessPoolExecutor(cores, mp_context=multiprocessing.get_context("spawn")) as pool:
        without = tuple(t for t in SLOW if "::" in t) if quick else ()
        already = pool.submit(broken_already, chosen, home, without, quick).result()
        for name in already:
            print(f"fails without any fault, left out: {name}", flush=True)
        for done in as_completed([pool.submit(one, fault, home, (*without, *already), quick) for fault in chosen]):
            yield done.result()


def main() -> int:
    arguments = argparse.ArgumentParser()
    arguments.add_argument("--sample", type=int, default=60)
    arguments.add_argument("--seed", type=int, default=1)
    arguments.add_argument("--cores", type=int, default=2)
    arguments.add_argument("--only", nargs="*", default=[])
    arguments.add_argument("--all", action="store_true")
    arguments.add_argument("--quick", action="store_true")
    arguments.add_argument("--out", type=Path)
    said = arguments.parse_args()
    every = faults(said.only)
    chosen = every if said.all else Random(said.seed).sample(every, min(said.sample, len(every)))
    print(f"{len(chosen)} of {len(every)} faults, seed {said.seed}", flush=True)
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
