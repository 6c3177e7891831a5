"""The commands as their users meet them: real processes where it matters, exit codes, files whole or not at all."""

import json
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from click.testing import CliRunner

from coutil.cli import coutil
from coutil.cli.page import commands_page

ROOT = Path(__file__).parent.parent
DEMO = ROOT / "examples" / "sea-green.toml"


def run(*args: object):
    return CliRunner().invoke(coutil, [str(a) for a in args])


def order(tmp_path: Path, **changes: str) -> Path:
    """The demo order with some lines replaced, by key."""
    text = DEMO.read_text()
    for key, value in changes.items():
        lines = [f"{key} = {value}" if line.startswith(f"{key} ") else line for line in text.splitlines()]
        assert lines != text.splitlines(), key
        text = "\n".join(lines)
    path = tmp_path / "order.toml"
    path.write_text(text)
    return path


def test_make_writes_everything_and_says_what(tmp_path):
    out = tmp_path / "out"
    result = run("make", DEMO, "-o", out, "--quick")
    assert result.exit_code == 0, result.output
    names = {p.name for p in out.iterdir()}
    assert {"pattern.json", "panels.svg", "pieces.svg", "lesson.pdf", "findings.txt"} <= names
    assert {f"pattern-{p}.pdf" for p in ("a4", "letter", "a3", "a0", "roll")} <= names
    assert {"lays.pdf", "lays.json", "docket.pdf", "docket.json", "quote.pdf", "card.pdf", "pattern.dxf"} <= names
    assert len(list((out / "cutting").glob("*.svg"))) > 8
    for path in (p for p in out.rglob("*") if p.is_file()):
        assert f"wrote {path}" in result.output
    assert (out / "pattern-a4.pdf").read_bytes().startswith(b"%PDF")


def test_nothing_is_overwritten_without_force(tmp_path):
    run("make", DEMO, "-o", tmp_path, "--paper", "a0", "--no-lays")
    (tmp_path / "panels.svg").write_text("mine")
    again = run("make", DEMO, "-o", tmp_path, "--paper", "a0", "--no-lays")
    assert again.exit_code == 2
    assert "--force" in again.output
    assert (tmp_path / "panels.svg").read_text() == "mine"
    forced = run("make", DEMO, "-o", tmp_path, "--paper", "a0", "--no-lays", "--force")
    assert forced.exit_code == 0
    assert (tmp_path / "panels.svg").read_text() != "mine"
    assert not [p for p in tmp_path.iterdir() if p.name.startswith(".")]


def test_sheets_left_from_before_are_told(tmp_path):
    """Who cuts by a sheet of the order as it was before cuts wrongly."""
    assert "from before" not in run("make", DEMO, "-o", tmp_path, "--paper", "a0", "--no-lays").output
    (tmp_path / "cutting").mkdir(exist_ok=True)
    (tmp_path / "cutting" / "left-side-front.svg").write_text("old")
    (tmp_path / "mine.svg").write_text("not of the job")
    again = run("make", DEMO, "-o", tmp_path, "--paper", "a3", "--no-lays", "--force")
    assert "from before, not of this job: cutting/left-side-front.svg, pattern-a0.pdf. Do not cut" in again.output
    assert (tmp_path / "cutting" / "left-side-front.svg").read_text() == "old"


def test_make_gives_the_same_bytes_twice(tmp_path):
    for k in "ab":
        assert run("make", DEMO, "-o", tmp_path / k, "--no-lays").exit_code == 0
    for p in (p for p in (tmp_path / "a").rglob("*") if p.is_file()):
        assert p.read_bytes() == (tmp_path / "b" / p.relative_to(tmp_path / "a")).read_bytes(), p.name


def test_a_stop_exits_with_1_and_still_draws(tmp_path):
    tight = order(tmp_path, waist='"-8 in"')
    # the first line that begins with "waist" is the body's; put it back and change the ease only
    text = DEMO.read_text().replace('waist = "-1 1/2 in"', 'waist = "-6 in"')
    tight.write_text(text)
    result = run("make", tight, "-o", tmp_path / "out", "--quick")
    assert result.exit_code == 1, result.output
    assert "STOP" in (tmp_path / "out" / "findings.txt").read_text()
    assert (tmp_path / "out" / "panels.svg").stat().st_size > 1000


@pytest.mark.parametrize(
    ("key", "value", "says"),
    [
        ("bust", "0", ("body", "bust", "0")),
        ("bust", '"wide"', ("body", "bust", "wide")),
        ("neckline", '"boat"', ("style", "neckline", "boat", "sweetheart")),
        ("bust_to_underbust", '"2 cm"', ("bust_to_underbust",)),
        ("plunge", "60", ("style", "plunge", "60.0 cm")),
        ("plunge", "24", ("style.plunge", "24.0 cm")),
    ],
)
def test_bad_input_is_one_clear_message_and_exit_2(tmp_path, key, value, says):
    bad = order(tmp_path, **{key: value})
    result = run("make", bad, "-o", tmp_path / "out")
    assert result.exit_code == 2, result.output
    assert result.output.startswith("Error: ")
    assert "Traceback" not in result.output
    for word in says:
        assert word in result.output
    assert not (tmp_path / "out").exists()


def test_a_misspelt_key_is_refused_with_the_nearest_one(tmp_path):
    bad = tmp_path / "order.toml"
    bad.write_text(DEMO.read_text().replace("bust_span", "bust_spann"))
    result = run("draft", bad)
    assert result.exit_code == 2
    assert "bust_spann" in result.output
    assert "bust_span" in result.output.replace("bust_spann", "")


@pytest.mark.parametrize("command", ["make", "draft", "walk", "lesson", "body"])
def test_a_missing_order_is_named(tmp_path, command):
    args = [command, tmp_path / "none.toml"] + (["-o", tmp_path / "o"] if command == "make" else [])
    result = run(*args)
    assert result.exit_code == 2
    assert "none.toml" in result.output
    assert "Traceback" not in result.output


def test_an_unwritable_place_is_named(tmp_path):
    (tmp_path / "file").write_text("")
    result = run("draft", DEMO, "-o", tmp_path / "file" / "panels.svg")
    assert result.exit_code == 2
    assert str(tmp_path / "file") in result.output


def test_json_of_make_and_draft_is_the_pattern_file(tmp_path):
    made = run("make", DEMO, "-o", tmp_path / "out", "--paper", "a0", "--no-lays", "--json")
    pattern = json.loads(made.stdout)
    assert (pattern["format"], pattern["version"], pattern["unit"]) == ("coutil-pattern", 1, "mm")
    assert pattern == json.loads(run("draft", DEMO, "--json").stdout)
    assert pattern == json.loads((tmp_path / "out" / "pattern.json").read_text())


def test_json_of_the_others():
    walk = json.loads(run("walk", DEMO, "--json").stdout)
    assert all(abs(i["difference_mm"]) < 0.3 for i in walk["intervals"])
    lesson = json.loads(run("lesson", DEMO, "--json").stdout)
    assert [s["number"] for s in lesson["steps"]] == list(range(1, len(lesson["steps"]) + 1))
    body = json.loads(run("body", DEMO, "--json").stdout)
    assert body["measurements"]["bust"] == 960.0
    guide = json.loads(run("body", "--guide", "--json").stdout)
    assert {"bust", "waist"} <= {m["key"] for m in guide["measurements"]}


def test_draft_tells_the_widths_and_what_they_add_up_to():
    result = run("draft", DEMO)
    bust = next(line for line in result.output.splitlines() if line.startswith("bust"))
    assert bust.split("  ")[-1].startswith("91.0 cm")  # 96 less 5 of gap, no ease at the bust


def test_walk_shows_every_seam():
    result = run("walk", DEMO)
    for seam in ("front princess", "side", "back princess"):
        assert seam in result.output
    assert result.exit_code == 0
    differences = re.findall(r"(\S+)$", result.output.partition("Findings")[0], re.MULTILINE)[1:]
    assert differences
    assert all(re.fullmatch(r"0\.00|[+-](?!0\.00)\d\.\d\d", d) for d in differences), "nothing has no sign"


def test_lay_tells_how_much_of_each_cloth(tmp_path):
    result = run("lay", DEMO, "--time", "1", "-o", tmp_path / "lays.pdf")
    assert result.exit_code == 0, result.output
    assert "sea-green silk satin" in result.output
    assert (tmp_path / "lays.pdf").read_bytes().startswith(b"%PDF")
    lays = json.loads(run("lay", DEMO, "--time", "0.5", "--json").stdout)["lays"]
    for lay in lays:
        keys = {"cloth", "width_mm", "length_mm", "lower_bound_mm", "used", "placements", "offcuts", "seconds"}
        assert keys <= set(lay)
        assert {"piece", "copy", "mirrored", "rotation_deg", "polygon"} <= set(lay["placements"][0])


def test_docket_tells_what_to_buy_and_the_price(tmp_path):
    result = run("docket", DEMO, "--time", "1", "-o", tmp_path / "papers")
    assert result.exit_code == 0, result.output
    assert "with tax €" in result.output
    assert {p.name for p in (tmp_path / "papers").iterdir()} == {"docket.json", "docket.pdf", "quote.pdf", "card.pdf"}
    assert json.loads(run("docket", DEMO, "--time", "0.5", "--json").stdout)["price"]["currency"] == "EUR"


@pytest.mark.parametrize(
    ("line", "says", "code"),
    [
        ('price = "-1"', ("price", "-1"), 2),
        ("shrink_length = 90", ("shrink_length", "90"), 2),
        ("shrink_length = 0", (), 0),
        ("width = 12", ("sea-green silk satin", "usable width"), 1),
    ],
)
def test_cloth_that_cannot_be_is_told_and_the_rest_is_made(tmp_path, line, says, code):
    key = line.split(" ")[0]
    old = {"price": 'price = "46.00"', "shrink_length": "shrink_length = 2", "width": "width = 138"}[key]
    text = DEMO.read_text()
    assert old in text
    (tmp_path / "order.toml").write_text(text.replace(old, line))
    result = run("make", tmp_path / "order.toml", "-o", tmp_path / "out", "--paper", "a4", "--time", "0.5")
    assert result.exit_code == code, result.output
    for word in says:
        assert word in result.output
    assert (tmp_path / "out" / "docket.pdf").exists() == (code != 2)


def test_new_can_be_made_as_it_stands(tmp_path):
    path = tmp_path / "hers.toml"
    result = run("new", path, "--bust", "42 in", "--cup", "D", "--unit", "in", "--label", "Ж. Ш.")
    assert result.exit_code == 0, result.output
    assert run("make", path, "-o", tmp_path / "out", "--paper", "a4", "--no-lays").exit_code == 0
    assert run("new", path).exit_code == 2  # not over what is there
    assert run("new").output.startswith("#")


@pytest.mark.parametrize(
    "args",
    [
        ("new", "--bust", "wide"),
        ("new", "--bust", "96 cm", "--cup", "Q"),
        ("new", "--cup", "D"),
        ("new", "--bust", "96 cm", "--cup", "D", "--underbust", "80 cm"),
        ("body",),
        ("make", DEMO),
        ("make", DEMO, "-o", "x", "--paper", "b5"),
        ("make", DEMO, "-o", "x", "--roll-width", "-3 cm"),
        ("make", DEMO, "-o", "x", "--quick", "--time", "3"),
        ("lay", DEMO, "--time", "-1"),
        ("sew", DEMO),
    ],
)
def test_wrong_words_are_refused_with_2(args):
    result = run(*args)
    assert result.exit_code == 2, result.output
    assert "Traceback" not in result.output


def test_every_command_has_a_sentence_and_an_example():
    for name, command in coutil.commands.items():
        if hasattr(command, "commands"):
            continue
        text = command.help
        assert text.split("\n")[0].endswith((".", ",")), name
        assert f"coutil {name}" in text, name
        for parameter in command.params:
            if parameter.param_type_name == "option":
                assert parameter.help, (name, parameter.name)


def test_the_page_of_commands_is_fresh():
    assert (ROOT / "docs" / "commands.md").read_text() == commands_page()


def test_help_loads_no_heavy_library():
    code = (
        "import sys, coutil.cli; print([m for m in ('numpy', 'shapely', 'fpdf', 'typst', 'rich') if m in sys.modules])"
    )
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert shown.stdout.strip() == "[]"


def whole_files(folder: Path) -> dict[str, bytes]:
    """Every file under its own name, by its path within the folder."""
    found = (p.relative_to(folder) for p in folder.rglob("*") if p.is_file())
    return {str(p): (folder / p).read_bytes() for p in found if not str(p).startswith(".")}


def test_a_kill_leaves_nothing_half_written(tmp_path):
    """Killed at a dozen moments from start to end, every file is whole: of this run or of the one before."""
    other = order(tmp_path, plunge="9")
    kinds = []
    for source in (DEMO, other):
        assert run("make", source, "-o", tmp_path / "out", "--no-lays", "--force").exit_code == 0
        kinds.append(whole_files(tmp_path / "out"))
    assert kinds[0]["panels.svg"] != kinds[1]["panels.svg"]
    for k in range(12):
        source = (DEMO, other)[k % 2]
        process = subprocess.Popen(
            [sys.executable, "-m", "coutil", "make", str(source), "-o", str(tmp_path / "out"), "--no-lays", "--force"],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        time.sleep(0.15 * k)
        os.kill(process.pid, signal.SIGKILL)
        process.wait()
        # A killed run may leave its waiting room behind, which bears no name of a result.
        there = whole_files(tmp_path / "out")
        assert set(there) == set(kinds[0])
        for name, data in there.items():
            assert data in (kinds[0][name], kinds[1][name]), name
