"""Faults made by hand, each of which the tests named with it must see.

python bench/mutants.py [WORD ...]      all of them, or those whose name holds one of the words

Each fault is put into a copy of the project in a temporary folder; the tests named run there until the first fails.
First those tests run on the copy as it is, where all must pass. Exit code 1 if any fault survives. All take some
20 minutes on one core.

Where code moves, aim a fault anew: its old text must stand exactly once in its file, and the run ends with exit code 2
where one does not, before any test is run. Tests that only compare with the reference files are never named here:
each fault must be seen by a test that knows what is right.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
# What a test needs of the project.
COPIED = ("src", "tests", "examples", "docs", "bench", "pyproject.toml", "README.md", "CONTRIBUTING.md")


@dataclass(frozen=True)
class Mutant:
    """A fault: its name, the file in src/coutil, what stands there, what is put in its place, and what must see it."""

    name: str
    file: str
    old: str
    new: str
    tests: tuple[str, ...]


NOTCHES = "test_drawn_notches.py"
LINES = "test_drawn_lines.py"
SUMS = "test_docket_sums.py"
RULES = "test_draft_rules.py"
GOVERNS = "test_web_governs.py"

MUTANTS = (
    # What is drawn.
    Mutant(
        "cutter nicks outwards",
        "pattern/nicks.py",
        "found.append((edge, (edge[0] - ox * deep, edge[1] - oy * deep)))",
        "found.append((edge, (edge[0] + ox * deep, edge[1] + oy * deep)))",
        (f"{NOTCHES}::test_for_the_cutting_machine",),
    ),
    Mutant(
        "cutter nicks 300 mm long",
        "pattern/nicks.py",
        "deep = NICK if room < NO_ALLOWANCE else min(NICK, room)",
        "deep = 300.0",
        (f"{NOTCHES}::test_for_the_cutting_machine",),
    ),
    Mutant(
        "nicks 4 mm apart",
        "pattern/nicks.py",
        "\nNICKS_APART = 6.0\n",
        "\nNICKS_APART = 4.0\n",
        (f"{NOTCHES}::test_in_the_pieces_for_a_drawing_program",),
    ),
    Mutant(
        "nicks half as deep",
        "pattern/nicks.py",
        "\nNICK = 3.0\n",
        "\nNICK = 1.5\n",
        (f"{NOTCHES}::test_in_the_pieces_for_a_drawing_program",),
    ),
    Mutant(
        "nicks from the net line outwards",
        "pattern/nicks.py",
        "edge = (x + ox * room, y + oy * room)",
        "edge = (x + ox * deep, y + oy * deep)",
        (f"{NOTCHES}::test_for_the_cutting_machine",),
    ),
    Mutant(
        "cutter nicks not mirrored on the fold",
        "sheets/cutting.py",
        "cuts += [Line(n.path.mirrored(), n.style) for n in cuts]",
        "cuts += list(cuts)",
        (f"{NOTCHES}::test_for_the_cutting_machine",),
    ),
    Mutant(
        "paper notch 25 mm off",
        "sheets/figures.py",
        'fig.run([(flip * a[0], a[1]), (flip * b[0], b[1])], "notch")',
        'fig.run([(flip * a[0], a[1] + 25.0), (flip * b[0], b[1] + 25.0)], "notch")',
        (f"{NOTCHES}::test_on_paper", f"{NOTCHES}::test_in_the_pieces_for_a_drawing_program"),
    ),
    Mutant(
        "paper notches single",
        "sheets/figures.py",
        "for a, b in notch:",
        "for a, b in notch[:1]:",
        (f"{NOTCHES}::test_on_paper",),
    ),
    Mutant(
        "paper notches inwards",
        "sheets/figures.py",
        'fig.run([(flip * a[0], a[1]), (flip * b[0], b[1])], "notch")',
        'fig.run([(flip * b[0], b[1]), (flip * (2 * b[0] - a[0]), 2 * b[1] - a[1])], "notch")',
        (f"{NOTCHES}::test_on_paper",),
    ),
    Mutant(
        "paper grain not turned over",
        "sheets/figures.py",
        "a, b = ((flip * x, y) for x, y in grain)",
        "a, b = ((x, y) for x, y in grain)",
        (f"{NOTCHES}::test_on_paper",),
    ),
    Mutant(
        "paper placement line not drawn",
        "sheets/figures.py",
        'fig.stroke(_turned(Path.of(run), flip), "placement")',
        "pass",
        (f"{NOTCHES}::test_on_paper",),
    ),
    Mutant(
        "DXF notches on the net line",
        "sheets/dxf.py",
        "for p, _ in notch:",
        "for p in [piece.notches[0].at] * len(notch):",
        (f"{NOTCHES}::test_in_dxf",),
    ),
    Mutant(
        "page nicks 30 mm off",
        "web/drawing.py",
        '"".join(p.place.line(*ends) for ends in notch)',
        '"".join(p.place.line(*((x, y + 30.0) for x, y in ends)) for ends in notch)',
        (f"{NOTCHES}::test_on_the_page",),
    ),
    Mutant(
        "page nicks inwards",
        "web/drawing.py",
        '"".join(p.place.line(*ends) for ends in notch)',
        '"".join(p.place.line(b, (2 * b[0] - a[0], 2 * b[1] - a[1])) for a, b in notch)',
        (f"{NOTCHES}::test_on_the_page",),
    ),
    Mutant(
        "plots a hundredth too large",
        "sheets/plotter.py",
        "Vec2.list([*p.polygon, p.polygon[0]])",
        "[v * 1.01 for v in Vec2.list([*p.polygon, p.polygon[0]])]",
        (f"{LINES}::test_a_plot_draws_the_pieces_that_are_to_be_cut", "test_plotter.py"),
    ),
    Mutant(
        "top allowance + 7.77 mm",
        "layers/allowances.py",
        "return 0.0 if fold else build.allowance_for(role)",
        'return 0.0 if fold else build.allowance_for(role) + 7.77 * (role == "top")',
        (f"{LINES}::test_every_edge_has_its_allowance",),
    ),
    Mutant(
        "pads cut with the panel's allowance",
        "layers/allowances.py",
        '0.0 if e.role == "pad_rim" else build.pad.catch',
        '0.0 if e.role == "pad_rim" else build.allowance_for(e.role)',
        (f"{LINES}::test_pads_have_an_allowance_only_where_the_seam_catches_them",),
    ),
    Mutant(
        "lowest grain span of an upright",
        "plane/upright.py",
        "return max(spans, key",
        "return min(spans, key",
        (f"{LINES}::test_a_hollow_pad_bears_its_grain_in_the_higher_of_its_arms",),
    ),
    Mutant(
        "lowest upright for the grain",
        "plane/upright.py",
        "if b - a > best[0]:",
        "if best[0] == 0.0 or b - a < best[0]:",
        (f"{LINES}::test_pads_bear_their_grain_where_they_are_highest",),
    ),
    Mutant(
        "the waist lights the bust",
        "web/governs.py",
        '"body.waist": level["waist"],',
        '"body.waist": level["bust"],',
        (f"{GOVERNS}::test_the_girths_are_the_lines_that_they_light",),
    ),
    Mutant(
        "the hem lights the top",
        "web/governs.py",
        '"style.hem": (*g.edges(HEM, from_side), *(e',
        '"style.hem": (*g.edges(TOP, from_side), *(e',
        (f"{GOVERNS}::test_what_a_value_lights_first_is_moved_by_it",),
    ),
    # Sums of docket and card.
    Mutant(
        "thread without foam",
        "docket/thread.py",
        'foam = ply["foam"] * FOAM_PRESSED + ply["web"] * ("web" in layers)',
        "foam = 0.0",
        (SUMS,),
    ),
    Mutant(
        "thread without web",
        "docket/thread.py",
        'FOAM_PRESSED + ply["web"] * ("web" in layers)',
        "FOAM_PRESSED",
        (SUMS,),
    ),
    Mutant(
        "thread without interfacing",
        "docket/thread.py",
        'shell = ply["shell"] + ply["interfacing"] * ("interfacing" in layers)',
        'shell = ply["shell"]',
        (SUMS,),
    ),
    Mutant(
        "thread with interfacing in a lining that has none",
        "docket/thread.py",
        'ply["lining_interfacing"] * ("lining_interfacing" in layers)',
        'ply["lining_interfacing"]',
        (SUMS, "test_docket_thread.py"),
    ),
    Mutant(
        "thread of one half",
        "docket/thread.py",
        'return 2 if side == "both" else 1',
        "return 1",
        (SUMS,),
    ),
    Mutant(
        "card casings doubled",
        "docket/making.py",
        "length=said(self.docket.casing)",
        "length=said(2.0 * self.docket.casing)",
        (f"{SUMS}::test_the_card_speaks_of_the_same_casings",),
    ),
    Mutant(
        "card channels doubled",
        "docket/making.py",
        "where=_where(b), length=said(b.channel), says=b.says) for b in some",
        "where=_where(b), length=said(2.0 * b.channel), says=b.says) for b in some",
        (f"{SUMS}::test_the_card_speaks_of_the_same_casings",),
    ),
    Mutant(
        "docket casings doubled",
        "docket/model.py",
        "return self.quantity * self.channel if self.cased",
        "return 2 * self.quantity * self.channel if self.cased",
        (SUMS,),
    ),
    Mutant(
        "bones over the cup",
        "layers/boning.py",
        'runs, length = "cup", a.marks["underbust"]',
        'runs, length = "cup", a.marks["bust"]',
        (SUMS,),
    ),
    # Rules that constants stand for.
    Mutant(
        "blocks shared only for 15 parts in a hundred",
        "lay/blocks.py",
        "SHARE_SAVES = 0.04",
        "SHARE_SAVES = 0.15",
        (f"{RULES}::test_neighbours_share_a_block_where_that_saves_four_hundredths",),
    ),
    Mutant(
        "blocks shared for nothing",
        "lay/blocks.py",
        "SHARE_SAVES = 0.04",
        "SHARE_SAVES = 0.0",
        (f"{RULES}::test_neighbours_share_a_block_where_that_saves_four_hundredths",),
    ),
    Mutant(
        "foam worked out once",
        "make.py",
        "FOAM_PASSES = 2",
        "FOAM_PASSES = 1",
        (f"{RULES}::test_foam_that_is_counted_in_is_what_the_cup_takes_up",),
    ),
    Mutant(
        "upper shaping too weak",
        "draft/sharing.py",
        "UPPER_PART = 0.75",
        "UPPER_PART = 0.35",
        (RULES,),
    ),
    Mutant(
        "a half of the upper shaping leaves the front too wide",
        "draft/sharing.py",
        "UPPER_ALL = 2.0",
        "UPPER_ALL = 1.0",
        (RULES,),
    ),
    Mutant(
        "no belly carried",
        "draft/sharing.py",
        '"high_hip": body.high_hip / 4.0 + belly,',
        '"high_hip": body.high_hip / 4.0,',
        (f"{RULES}::test_a_fuller_front_waist_is_carried_on_and_the_side_seam_flares_alike",),
    ),
    Mutant(
        "a high hip mark below the hem",
        "draft/panels.py",
        "marks[name] = max(at, 0.0)",
        "marks[name] = max(at, -1.0)",
        (f"{RULES}::test_every_mark_lies_on_its_edge",),
    ),
    Mutant(
        "apex bend ignored",
        "draft/rise.py",
        "off / max(abs(bend), 1e-6)",
        "off / 1e-6",
        (f"{RULES}::test_the_princess_edge_is_round_at_the_bust_point",),
    ),
)


def misaimed() -> list[str]:
    """What is wrong with the list itself: texts that do not stand exactly once, tests that are not there."""
    out = []
    for m in MUTANTS:
        path = ROOT / "src" / "coutil" / m.file
        count = path.read_text(encoding="utf-8").count(m.old) if path.exists() else -1
        if count != 1:
            stands = "there is no such file" if count < 0 else f"its old text stands {count} times, not once"
            out.append(f"{m.name}: {m.file}: {stands}")
        for test in m.tests:
            name, _, function = test.partition("::")
            file = ROOT / "tests" / name
            if not file.exists() or f"def {function}" not in file.read_text(encoding="utf-8"):
                out.append(f"{m.name}: there is no test {test}")
    return out


def environment(folder: Path) -> dict[str, str]:
    """That of a process which takes coutil from a copy of the project."""
    return {**os.environ, "PYTHONPATH": str(folder / "src"), "PYTHONDONTWRITEBYTECODE": "1"}


def run(folder: Path, tests: tuple[str, ...]) -> tuple[int, str]:
    """Exit code of pytest for these tests in a copy, and what it said."""
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", "--no-header"]
    done = subprocess.run(
        [*command, *(f"tests/{t}" for t in tests)], cwd=folder, env=environment(folder), capture_output=True, text=True
    )
    return done.returncode, done.stdout + done.stderr


def try_out(m: Mutant, folder: Path) -> str:
    """ "caught", or what happened instead."""
    path = folder / "src" / "coutil" / m.file
    sound = path.read_text(encoding="utf-8")
    path.write_text(sound.replace(m.old, m.new), encoding="utf-8")
    try:
        for test in m.tests:
            code, said = run(folder, (test,))
            # 1: a test failed; anything else is no verdict of a test.
            if code == 1:
                return "caught"
            if code != 0:
                return f"no verdict (pytest ended with {code})\n{said[-2000:]}"
    finally:
        path.write_text(sound, encoding="utf-8")
    return "SURVIVED"


def main() -> int:
    words = sys.argv[1:]
    chosen = [m for m in MUTANTS if not words or any(w in m.name for w in words)]
    if not chosen or (wrong := misaimed()):
        print("\n".join(wrong if chosen else [f"no fault is called {' or '.join(words)}"]))
        return 2
    with tempfile.TemporaryDirectory(prefix="coutil-mutants-") as name:
        folder = Path(name)
        for part in COPIED:
            whole = ROOT / part
            if whole.is_dir():
                shutil.copytree(whole, folder / part, ignore=shutil.ignore_patterns("__pycache__", ".pytest_cache"))
            else:
                shutil.copy(whole, folder / part)
        tests = tuple(dict.fromkeys(t for m in chosen for t in m.tests))
        code, said = run(folder, tests)
        if code != 0:
            print(f"the tests do not pass without any fault:\n{said[-3000:]}")
            return 2
        survived = 0
        for m in chosen:
            begun = time.monotonic()
            result = try_out(m, folder)
            survived += result != "caught"
            print(f"{time.monotonic() - begun:5.0f} s  {m.name}: {result}", flush=True)
    print(f"{len(chosen) - survived} of {len(chosen)} caught")
    return 1 if survived else 0


if __name__ == "__main__":
    sys.exit(main())
