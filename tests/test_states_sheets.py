"""Every sheet of an order with readings that are not taken says so on its face; a standard size is named as one."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner

from coutil.body import DEFAULT_STANDARD, as_asked_body, order_body
from coutil.cli import coutil
from coutil.make import QUICK, Document, documents, lay_out, work_out
from coutil.order import Client, Order, parse_order, write_order

MONEY = '\n[money]\ncurrency = "EUR"\nhour = 40\n'
MISSING = "bust, bust span"
TAKEN = {"underbust": 780.0, "waist": 700.0, "bust_to_underbust": 80.0, "bust_to_waist": 185.0}
SIZE = "bust 92, cup C (75C)"
# How often the words must be drawn in white on black: more black than the text of a page makes.
PRINTED = ("lesson.pdf", "lays.pdf", "docket.pdf", "quote.pdf", "card.pdf")


def made(order: Order) -> dict[str, Document]:
    work = lay_out(work_out(parse_order(write_order(order) + MONEY)), seconds=QUICK)
    return {d.name: d for d in documents(work)}


@pytest.fixture(scope="module")
def part() -> dict[str, Document]:
    body = order_body(TAKEN, standard=DEFAULT_STANDARD)
    return made(Order("ivory", body, client=Client("Anna")))


@pytest.fixture(scope="module")
def size() -> dict[str, Document]:
    return made(Order("sample", as_asked_body(920.0, "C"), client=Client("Shop")))


def pages(document: Document, folder: Path) -> list[str]:
    """The text of each page, its line ends taken for spaces."""
    program = shutil.which("pdftotext")
    assert program is not None
    file = folder / document.name
    file.write_bytes(document.data)
    text = subprocess.run([program, file, "-"], capture_output=True, check=True).stdout.decode()
    return [re.sub(r"\s+", " ", p) for p in text.split("\f")[:-1]]


def test_every_page_of_every_pdf_names_what_is_not_taken(part: dict[str, Document], tmp_path: Path) -> None:
    pdfs = [d for name, d in part.items() if name.endswith(".pdf")]
    assert {d.name for d in pdfs} >= {*PRINTED, "pattern-a4.pdf", "pattern-letter.pdf", "pattern-a0.pdf"}
    for d in pdfs:
        for n, text in enumerate(pages(d, tmp_path), start=1):
            assert f"DO NOT CUT. Body not taken: {MISSING}" in text, f"{d.name}, page {n}: {text[:300]}"


def test_every_piece_bears_it_too(part: dict[str, Document], tmp_path: Path) -> None:
    whole = " ".join(pages(part["pattern-a0.pdf"], tmp_path))
    shapes = part["pieces.svg"].data.decode().count("DO NOT CUT: not taken</text>")
    assert shapes >= 5
    assert whole.count("DO NOT CUT: not taken") == shapes
    assert part["panels.svg"].data.decode().count("DO NOT CUT: not taken</text>") == 4


def test_files_for_programs_and_machines_bear_it(part: dict[str, Document]) -> None:
    for name, d in part.items():
        if name.endswith(".svg"):
            text = d.data.decode()
            assert re.search(r"<(title|desc)>[^<]*DO NOT CUT\. Body not taken: bust, bust span", text), name
    dxf = part["pattern.dxf"].data.decode()
    assert "DO NOT CUT. Body not taken: bust, bust span" in dxf
    assert dxf.count("DO NOT CUT: not taken") >= 5
    pattern = json.loads(part["pattern.json"].data)
    assert pattern["body"] == {"standard": None, "not_taken": ["bust", "bust_span"]}
    assert pattern["findings"][0]["level"] == "stop"
    assert pattern["findings"][0]["says"].startswith(f"Not taken: {MISSING}.")
    assert json.loads(part["lays.json"].data)["not_taken"] == ["bust", "bust_span"]
    docket = json.loads(part["docket.json"].data)
    assert docket["not_taken"] == ["bust", "bust_span"]
    assert docket["findings"][0]["says"].startswith(f"Not taken: {MISSING}.")
    assert (
        part["findings.txt"].data.decode().startswith("STOP  body: bust, bust_span\n      Not taken: bust, bust span.")
    )


def test_a_plot_has_more_letters_for_it(part: dict[str, Document], size: dict[str, Document]) -> None:
    from coutil.sheets.plotter import lay_hpgl

    order = parse_order(write_order(Order("x", as_asked_body(920.0, "C"))))
    lay = lay_out(work_out(order), seconds=QUICK).plan
    assert lay is not None
    plain, warned = lay_hpgl(lay.lays[0]), lay_hpgl(lay.lays[0], warn="DO NOT CUT: not taken")
    # Eighteen letters of some twenty points each on every piece.
    assert len(warned) > len(plain) + 18 * 20 * len(lay.lays[0].placements)
    assert any(name.endswith(".plt") for name in part)


def test_the_warning_is_a_black_bar_on_the_page(part: dict[str, Document], tmp_path: Path) -> None:
    from PIL import Image

    program = shutil.which("pdftoppm")
    assert program is not None
    for name in PRINTED:
        file = tmp_path / name
        file.write_bytes(part[name].data)
        subprocess.run([program, "-r", "50", "-png", "-singlefile", file, tmp_path / file.stem], check=True)
        grey = Image.open(tmp_path / f"{file.stem}.png").convert("L")
        head = grey.crop((0, 0, grey.width, grey.height // 6))
        rows = [sum(head.getpixel((x, y)) < 60 for x in range(head.width)) for y in range(head.height)]  # type: ignore[operator]
        # Rows that are black over most of the page's width.
        assert sum(n > 0.6 * head.width for n in rows) >= 3, name


def test_a_standard_size_is_named_as_the_body_on_every_sheet(size: dict[str, Document], tmp_path: Path) -> None:
    for name, d in size.items():
        if name.endswith(".pdf"):
            text = " ".join(pages(d, tmp_path))
            assert SIZE in text, name
            assert "not taken" not in text.lower(), name
    for name in ("panels.svg", "pieces.svg", "pattern.dxf", "pattern.json", "docket.json", "findings.txt"):
        assert SIZE in size[name].data.decode(), name
    assert "STOP" not in size["findings.txt"].data.decode()


def test_a_taken_body_bears_neither(tmp_path: Path) -> None:
    body = order_body({**TAKEN, "bust": 960.0, "bust_span": 195.0})
    for name, d in made(Order("hers", body, client=Client("Anna"))).items():
        if name.endswith(".pdf"):
            text = " ".join(pages(d, tmp_path)).lower()
            assert "not taken" not in text, name
            assert "standard size" not in text, name


def test_make_makes_everything_and_exits_as_for_a_stop(tmp_path: Path) -> None:
    runner, file = CliRunner(), tmp_path / "hers.toml"
    assert runner.invoke(coutil, ["new", str(file), "--label", "Anna"]).exit_code == 0
    run = runner.invoke(coutil, ["make", str(file), "-o", str(tmp_path / "out"), "--quick"])
    assert run.exit_code == 1
    assert "STOP  body: bust, underbust, waist, bust_span, bust_to_underbust, bust_to_waist" in run.output
    assert (tmp_path / "out" / "pattern-a4.pdf").is_file()
    told = runner.invoke(coutil, ["body", str(file)])
    assert told.exit_code == 1
    assert told.output.count("  not taken\n") == 6
    assert "By EN 13402" not in told.output
    states = json.loads(runner.invoke(coutil, ["body", str(file), "--json"]).output)
    assert states["states"]["bust"] == "not_taken"
    assert states["states"]["hip"] == "by_rule"


def test_new_with_a_size_makes_an_order_for_it(tmp_path: Path) -> None:
    runner, file = CliRunner(), tmp_path / "size.toml"
    assert runner.invoke(coutil, ["new", str(file), "--bust", "96", "--cup", "D"]).exit_code == 0
    text = file.read_text()
    assert "\nas_asked = true\n" in text
    body = parse_order(text).body
    assert (body.as_asked, body.bust, body.underbust) == (True, 960.0, 770.0)
    told = runner.invoke(coutil, ["body", str(file)])
    assert told.exit_code == 0
    assert "bust 96, cup D (75D)" in told.output
    assert "measured  " not in told.output
