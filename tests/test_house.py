"""The house keeps its walls: no room but the seaming's asks for a panel by its name, by its ending or by its place."""

from __future__ import annotations

import ast
import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from coutil.seaming import CUP_ROLE, USUAL, USUAL_ROLES

ROOT = Path(__file__).parents[1]
SOURCES = sorted(p for p in (ROOT / "src" / "coutil").rglob("*.py") if "seaming" not in p.parts)
# Fixed roles are told of every seaming; the roles of one seaming's seams are not to be asked for.
SEAM_ROLES = {r for r in USUAL_ROLES if not r.startswith("centre_") and r != "side"} | {CUP_ROLE}
ASKED = {
    *USUAL,
    *(n.replace(" ", "-") for n in USUAL),
    *(n.replace(" ", "_") for n in USUAL if "side" in n),
    *SEAM_ROLES,
}
# What ends or begins a panel's name.
PARTS = {"front", "back", "centre", "side", "princess"}


def asks(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Line and text of every place that asks for a panel by name, by the end of its name, or by its place."""
    docs = {
        id(n.body[0].value)
        for n in ast.walk(tree)
        if isinstance(n, ast.Module | ast.ClassDef | ast.FunctionDef) and n.body and isinstance(n.body[0], ast.Expr)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and node.value in ASKED and id(node) not in docs:
            yield node.lineno, repr(node.value)
        if (
            isinstance(node, ast.Call)
            and isinstance(node.func, ast.Attribute)
            and node.func.attr in ("endswith", "startswith", "removesuffix", "removeprefix")
            and any(
                isinstance(a, ast.Constant) and isinstance(a.value, str) and a.value.strip(" -_") in PARTS
                for a in node.args
            )
        ):
            yield node.lineno, ast.unparse(node)
        if (
            isinstance(node, ast.Subscript)
            and isinstance(node.value, ast.Attribute)
            and node.value.attr == "panels"
            and isinstance(node.slice, ast.Constant | ast.UnaryOp | ast.Slice)
        ):
            yield node.lineno, ast.unparse(node)


@pytest.mark.parametrize("path", SOURCES, ids=lambda p: str(p.relative_to(ROOT / "src" / "coutil")))
def test_no_room_asks_for_a_panel_by_name_ending_or_place(path: Path) -> None:
    found = [f"{path.name}:{line}: {what}" for line, what in asks(ast.parse(path.read_text("utf-8")))]
    assert not found, "\n".join(found)


@pytest.mark.parametrize(
    "code",
    [
        'p.name == "side front"',
        'panel("centre-front")',
        'e.role == "front_princess"',
        'name.endswith("back")',
        'p.name.startswith("side ")',
        "pattern.panels[0]",
        "pattern.panels[:2]",
    ],
)
def test_what_it_looks_for_it_finds(code: str) -> None:
    assert list(asks(ast.parse(code)))


# A plan, a paper or a list of issues that no reader of the project has.
UNREADABLE = re.compile(r"\bDESIGN\b|\bissue \d|plan of the project|the project's plan|design paper", re.IGNORECASE)
TEXTS = (".py", ".md", ".toml", ".ts", ".tsx", ".css", ".yml", ".cfg", "")


def test_nothing_is_cited_that_a_reader_does_not_have() -> None:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True).stdout.split(
        "\n"
    )
    files = [ROOT / name for name in listed if name and Path(name).suffix in TEXTS and name != "tests/test_house.py"]
    assert len(files) > 300
    found = [
        f"{path.relative_to(ROOT)}:{k}: {line.strip()}"
        for path in files
        if path.is_file()
        for k, line in enumerate(path.read_text("utf-8").splitlines(), start=1)
        if UNREADABLE.search(line)
    ]
    assert not found, "\n".join(found)


@pytest.mark.parametrize("line", ["(DESIGN 4)", "# issue 5: outer", "(plan of the project, section 5)"])
def test_such_citations_are_found(line: str) -> None:
    assert UNREADABLE.search(line)


def imported(path: Path) -> Iterator[Path]:
    """The files of the page that one of them imports, types apart."""
    for name in re.findall(r'import (?!type\b)[^;]*?from "(\.[^"]+)"', path.read_text("utf-8")):
        stem = (path.parent / name).resolve()
        yield from (p for p in (stem.with_name(f"{stem.name}{end}") for end in ("", ".ts", ".tsx")) if p.is_file())


def test_no_files_of_the_page_import_each_other() -> None:
    files = sorted((ROOT / "frontend" / "src").rglob("*.ts*"))
    reach = {p: set(imported(p)) for p in files}
    assert sum(map(len, reach.values())) > 100
    # What is imported by what is imported, until nothing new comes.
    grown = True
    while grown:
        grown = False
        for found in reach.values():
            more = set().union(*(reach.get(p, set()) for p in found)) - found
            grown = grown or bool(more)
            found |= more
    assert [str(p.relative_to(ROOT)) for p in files if p in reach[p]] == []
