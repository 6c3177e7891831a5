"""A pattern that exists already, from the file to the cut list, by the commands alone."""

import json
import math
import re
from itertools import pairwise
from pathlib import Path

import pytest
from click.testing import CliRunner

from coutil.cli import coutil

DEMO = Path(__file__).parent.parent / "examples" / "sea-green.toml"
BODY = """
coutil = 1
name = "mine"
[body]
bust = 96
underbust = 78
waist = 70.5
bust_span = 19.5
bust_to_underbust = 8
bust_to_waist = 18.5
[style]
closing = "lacing"
lacing_gap = 5
[pattern]
file = "traced/panels.toml"
"""


def run(*args: object):
    return CliRunner().invoke(coutil, [str(a) for a in args])


@pytest.fixture
def folder(tmp_path):
    """A folder with the demo's panels as a drawing of our own, traced, and an order that names them."""
    assert run("draft", DEMO, "-o", tmp_path / "panels.svg").exit_code == 0
    result = run("trace", tmp_path / "panels.svg", "--line", "net", "-o", tmp_path / "traced")
    assert result.exit_code == 0, result.output
    for seam in ("front princess", "side", "back princess"):
        assert f"seam {seam}" in result.output
    (tmp_path / "mine.toml").write_text(BODY)
    return tmp_path


def test_a_traced_pattern_is_made_up_like_a_draft(folder):
    before = (folder / "panels.svg").read_bytes()
    result = run("make", folder / "mine.toml", "-o", folder / "out", "--quick")
    assert result.exit_code == 0, result.output
    made = {p.name for p in (folder / "out").iterdir()}
    assert {"pattern.json", "pattern-a4.pdf", "docket.pdf", "card.pdf", "lays.pdf"} <= made
    assert "lesson.pdf" not in made
    pattern = json.loads((folder / "out" / "pattern.json").read_text())
    assert {p["layer"] for p in pattern["pieces"]} == {"shell", "interfacing", "foam", "web"}
    assert len(pattern["pads"]) == 2
    # The cup is that of the draft, which the demo's own test measures.
    drafted = json.loads(run("draft", DEMO, "--json").stdout)
    assert pattern["cup"][0]["depth_mm"] == pytest.approx(drafted["cup"][0]["depth_mm"], abs=0.1)
    assert (folder / "panels.svg").read_bytes() == before
    assert (folder / "traced" / "panels.svg").read_bytes() == before


def test_walk_shows_what_does_not_match_and_true_mends_it(folder):
    svg = (folder / "traced" / "panels.svg").read_text()
    # The side back's hem corner is pulled down by 4 mm: its side edge grows.
    path = re.search(r'(<g[^>]*>\s*<title>side back</title>.*?<path class="panel" d=")([^"]+)"', svg, re.S)
    points = re.findall(r"(-?[\d.]+) (-?[\d.]+)", path[2])
    lowest = max(float(y) for _, y in points)
    x, y = min((p for p in points if float(p[1]) > lowest - 15.0), key=lambda p: float(p[0]))
    spoilt = path[2].replace(f"{x} {y}", f"{x} {float(y) + 4.0}")
    assert spoilt != path[2]
    (folder / "traced" / "panels.svg").write_text(svg.replace(path[2], spoilt))
    walk = json.loads(run("walk", folder / "mine.toml", "--json").stdout)
    off = [i for i in walk["intervals"] if i["seam"] == "side" and abs(i["difference_mm"]) > 1.0]
    assert off
    result = run("true", folder / "mine.toml", "side", "--give", "second", "--json", "-o", folder / "mended.svg")
    mended = json.loads(result.stdout)
    assert all(abs(i["difference_mm"]) < 0.3 for i in mended["after"])
    assert {m["panel"] for m in mended["moves"]} == {"side back"}
    assert max(m["mm"] for m in mended["moves"]) < 8.0
    again = run("trace", folder / "mended.svg", "--line", "net")
    assert "seam side: side front (side) with side back (side): equal" in again.output


def test_an_allowance_that_cannot_be_drawn_is_refused_in_one_line(folder):
    (folder / "wide.toml").write_text(BODY + "[build.allowances]\nfront_princess = 7.9\nside = 7.9\n")
    result = run("walk", folder / "wide.toml")
    assert result.exit_code == 2, result.output
    assert "cut line cannot be drawn" in result.output


def test_a_lesson_is_for_what_was_drafted(folder):
    result = run("lesson", folder / "mine.toml")
    assert result.exit_code == 2
    assert "no lesson" in result.output


@pytest.mark.parametrize(
    ("name", "data", "says"),
    [
        ("empty.svg", b"", "empty.svg"),
        ("bomb.svg", b'<!DOCTYPE a [<!ENTITY b "c">]><svg xmlns="http://www.w3.org/2000/svg">&b;</svg>', "bomb.svg"),
        ("no-size.svg", b'<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0H300V400H0Z"/></svg>', "scale"),
        ("words.dxf", b"hello", "words.dxf"),
        ("no.jpg", b"\xff\xd8nothing", "no.jpg"),
    ],
)
def test_a_file_that_is_no_pattern_is_refused(tmp_path, name, data, says):
    (tmp_path / name).write_bytes(data)
    result = run("trace", tmp_path / name)
    assert result.exit_code == 2, result.output
    assert says in result.output
    assert "Traceback" not in result.output
    assert (tmp_path / name).read_bytes() == data


def test_wrong_words(tmp_path):
    assert run("trace").exit_code == 2
    assert run("trace", "--board", "a4").exit_code == 2
    assert run("true", DEMO, "side").exit_code == 2
    assert run("trace", tmp_path / "none.svg").exit_code == 2
    (tmp_path / "one.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="9cm" height="9cm" viewBox="0 0 90 90">'
        '<path d="M9 9H70V70H9Z"/></svg>'
    )
    for words, says in (
        (("--measured", "175", "200"), "--measured is for photographs"),
        (("--line", "net", "--allowance", "1 cm"), "--allowance goes with --line cut"),
        (("--board", "a4", "-o", tmp_path / "out"), "traces nothing"),
    ):
        result = run("trace", tmp_path / "one.svg", *words)
        assert result.exit_code == 2
        assert says in result.output
    assert not (tmp_path / "out").exists()


def test_the_marker_board_is_printed(tmp_path):
    result = run("trace", "--board", "letter", "-o", tmp_path)
    assert result.exit_code == 0, result.output
    assert (tmp_path / "marker-board.pdf").read_bytes().startswith(b"%PDF")


def test_a_pattern_of_other_panels_is_made_up_as_far_as_it_goes(folder):
    """The side back is left out: what is known is walked, laid and priced, what is not is said, and nothing crashes."""
    svg = (folder / "traced" / "panels.svg").read_text()
    group = re.search(r"<g[^>]*>\s*<title>side back</title>.*?</g>\s*", svg, re.S)
    (folder / "three.svg").write_text(svg[: group.start()] + svg[group.end() :])
    text = BODY.replace('file = "traced/panels.toml"', 'file = "three.svg"\nline = "net"')
    (folder / "three.toml").write_text(text)
    result = run("make", folder / "three.toml", "-o", folder / "out", "--quick", "--paper", "a4")
    assert result.exit_code == 1, result.output
    assert "STOP  waist ease" in result.output
    made = {p.name for p in (folder / "out").iterdir()}
    assert {"pattern-a4.pdf", "lays.pdf", "docket.pdf", "card.pdf"} <= made
    pattern = json.loads((folder / "out" / "pattern.json").read_text())
    assert len(pattern["panels"]) == 3


@pytest.mark.parametrize("seed", [29])
def test_from_the_photograph_to_the_cut_list(tmp_path, seed):
    """A rendered scene (not a real photograph, see scenes.py) of two panels, traced, named, made up by commands."""
    import scenes

    scene = scenes.scene(seed)
    (tmp_path / "paper.jpg").write_bytes(scene.jpeg())
    result = run("trace", tmp_path / "paper.jpg", "--line", "net", "-o", tmp_path / "traced")
    assert result.exit_code == 0, result.output
    assert {p.name for p in (tmp_path / "traced").iterdir()} == {"paper.svg", "paper.toml", "paper-check.jpg"}
    # Which of the two is the front is only proposed; the person says that the taller one is, and gives the waist.
    text = (tmp_path / "traced" / "paper.toml").read_text()
    panels = re.findall(r"\[\[pattern.panels\]\]\n(?:.+\n)+", text)
    assert len(panels) == 2
    assert all("grain = " in panel for panel in panels)
    for panel in panels:
        front = 'outline = "piece 1"' in panel
        said = re.sub(r'name = ".*"', f'name = "{"front" if front else "back"}"\nwaist = {20 if front else 18}', panel)
        said = re.sub('"centre_(front|back)"', f'"centre_{"front" if front else "back"}"', said)
        text = text.replace(panel, said)
    text = re.sub(r"\[\[pattern.seams\]\](.|\n)*", "", text)
    (tmp_path / "traced" / "paper.toml").write_text(
        text + '[[pattern.seams]]\nname = "side"\na = ["front", "side"]\nb = ["back", "side"]\n'
    )
    (tmp_path / "mine.toml").write_text(BODY.replace("panels.toml", "paper.toml"))
    result = run("make", tmp_path / "mine.toml", "-o", tmp_path / "out", "--quick", "--paper", "a4")
    # The two sides differ by 36 mm in this scene: the walk says so, and it is a stop.
    assert result.exit_code == 1, result.output
    pattern = json.loads((tmp_path / "out" / "pattern.json").read_text())
    assert [f for f in pattern["findings"] if f["about"] == "side seam" and f["level"] == "stop"]
    assert "side" in run("walk", tmp_path / "mine.toml").output
    for name in ("pattern-a4.pdf", "lays.pdf", "docket.pdf", "pieces.svg", "pattern.dxf"):
        assert (tmp_path / "out" / name).stat().st_size > 1000
    # Every seam within 0.5 % of the scene's truth, and the paper's straight centre upright, along the grain.
    by_height = sorted(scene.shapes, key=lambda s: -s.edges[3].length)
    for panel, shape in zip(sorted(pattern["panels"], key=lambda p: p["name"] != "front"), by_height, strict=True):
        truth = dict(zip(("hem", "side", "top", "centre"), (e.length for e in shape.edges), strict=True))
        for edge in panel["edges"]:
            length = sum(math.dist(a, b) for a, b in pairwise(edge["points"]))
            assert length == pytest.approx(truth[edge["role"].split("_")[0]], rel=0.005), (panel["name"], edge["role"])
        centre = next(e["points"] for e in panel["edges"] if e["role"].startswith("centre"))
        assert abs(centre[-1][0] - centre[0][0]) < 0.5
        assert len({x for x, _ in panel["grain"]}) == 1
