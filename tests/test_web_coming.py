"""What comes in by the page: an order with the drawing of its own pattern, or a drawing alone. A real server."""

from __future__ import annotations

import base64
import tomllib
from pathlib import Path
from typing import Any

import httpx
import pytest

from coutil.layers import layer_up
from coutil.make import work_out
from coutil.order import Build, OrderError, parse_order, read_order
from coutil.sheets import panels_svg
from coutil.sheets.dxf import pattern_dxf
from coutil.web.coming import files_of
from coutil.web.problems import ProblemError
from own_drawing import plain_drawing
from web_page import Window, shows_nothing

DEMO = Path(__file__).parents[1] / "examples" / "sea-green.toml"
PATTERN = work_out(read_order(DEMO)).pattern
SVG = panels_svg(PATTERN, "mine").encode()
ORDER = DEMO.read_text("utf-8").split("[style]")[0] + '[pattern]\nfile = "drawer/mine.svg"\nline = "net"\n'


def bring(window: Window, **files: bytes) -> httpx.Response:
    """Files by their names, in which two underscores stand for the dot."""
    rows = [{"name": n.replace("__", "."), "data": base64.b64encode(d).decode()} for n, d in files.items()]
    return window.post("/api/orders/import", {"files": rows})


def opened(window: Window, answer: httpx.Response) -> dict[str, Any]:
    assert answer.status_code == 200, answer.text
    window.order = answer.json()["order"]["id"]
    return window.sheet("checks")


def test_a_drawing_alone_makes_an_order_that_lives(window: Window) -> None:
    sheet = opened(window, bring(window, mine__svg=SVG))
    assert sheet["order"]["name"] == "mine"
    assert [p["name"] for p in sheet["drawing"]["panels"]] == ["centre front", "side front", "side back", "centre back"]
    # No value of style moves a line of it, and there is no lesson to take away.
    assert sheet["drawing"]["handles"] == []
    assert "lesson.pdf" not in {f["name"] for f in sheet["files"]}
    assert not {k for k in sheet["values"] if k.startswith("style.")} - {"style.closing", "style.lacing_gap"}
    assert sheet["drawing"]["hand"]["side-front/edge/side"] == "build.allowances.side"
    assert sheet["spread"]["girths"]["rows"]
    # Its cut line follows the allowance, its girths are held against the body.
    before = sheet["drawing"]["panels"][1]["layers"][0]["cut"]
    again = window.edit("build.allowances.side", "3 cm").json()["sheet"]
    assert again["drawing"]["panels"][1]["layers"][0]["cut"] != before
    assert window.edit("body.waist", "60 cm").status_code == 200
    assert any("waist" in f["about"] and f["level"] != "note" for f in window.sheet("checks")["findings"])


@pytest.mark.parametrize(
    "name", ["pattern-a4.pdf", "pieces.dxf", "pieces.svg", "panels.svg", "card.pdf", "docket.pdf", "findings.txt"]
)
def test_its_files_are_made(window: Window, name: str) -> None:
    opened(window, bring(window, mine__svg=SVG))
    answer = window.get(f"/api/orders/{window.order}/file/{name}")
    assert answer.status_code == 200, answer.text
    assert len(answer.content) > 500


def test_an_order_comes_with_its_drawing_and_goes_out_whole(window: Window) -> None:
    sheet = opened(window, bring(window, hers__toml=ORDER.encode(), mine__svg=SVG))
    assert sheet["order"]["name"] == "sea-green bustier"
    text = window.get(f"/api/orders/{window.order}/file/order.toml").text
    assert work_out(parse_order(text), Path("nowhere")).pattern.panels
    # And in again, alone.
    assert opened(window, bring(window, again__toml=text.encode()))["drawing"] == sheet["drawing"]


def test_a_description_and_its_drawing_make_an_order(window: Window) -> None:
    described = (
        b'[pattern]\nfile = "mine.svg"\nline = "net"\n[[pattern.panels]]\noutline = "side back"\nname = "side"\n'
    )
    sheet = opened(window, bring(window, mine__toml=described, mine__svg=SVG))
    assert [p["name"] for p in sheet["drawing"]["panels"]] == ["side"]


def test_a_pattern_that_does_not_open_has_no_closing_to_buy(window: Window) -> None:
    described = (
        b'[pattern]\nfile = "mine.svg"\nline = "net"\n[[pattern.panels]]\noutline = "side back"\nname = "side"\n'
    )
    opened(window, bring(window, mine__toml=described, mine__svg=SVG))
    assert window.sheet("money")["spread"]["closing"] is None
    assert window.sheet("making")["spread"]["steps"]


def test_what_its_outlines_are_is_said_on_the_page(window: Window) -> None:
    """Cut lines that are taken for net lines: she says so, and how much lies between."""
    sheet = opened(window, bring(window, mine__svg=plain_drawing(PATTERN)))
    assert sheet["drawing"] is None
    assert [r["key"] for r in sheet["refused"]] == ["pattern.line"]
    assert all(word in sheet["refused"][0]["says"] for word in ("net lines", "cut lines", "what lies between"))
    assert [f["name"] for f in sheet["files"]] == ["order.toml"]
    answer = window.edit("pattern.line", "net")
    assert answer.status_code == 200, answer.text
    # It shows no bust point: of a pad the page says only why there is none.
    assert "build.pad.thickness" not in answer.json()["sheet"]["values"]
    assert "No pad is made" in str(answer.json()["sheet"]["spreads"])
    net = answer.json()["sheet"]["drawing"]["panels"][1]["net"]
    window.edit("pattern.line", "")
    answer = window.edit("pattern.line", "cut")
    assert answer.status_code == 422
    assert {r["key"] for r in answer.json()["refused"]} == {"pattern.line", "pattern.allowance"}
    # What was refused goes in once the other is said.
    assert window.edit("pattern.allowance", "1 cm").status_code == 200
    cut = window.sheet()
    assert cut["values"]["pattern.line"]["value"] == "cut"
    assert cut["drawing"]["panels"][1]["net"] != net
    text = window.get(f"/api/orders/{window.order}/file/order.toml").text
    assert tomllib.loads(text)["pattern"]["line"] == "cut"


def answer_at_once(window: Window, line: str, allowance: str) -> httpx.Response:
    """The question of what the outlines are, as the page's form sends it."""
    return window.change("edit", key="pattern.line", text=line, beside={"pattern.allowance": allowance})


def test_cut_lines_and_their_allowance_are_one_answer(window: Window) -> None:
    sheet = opened(window, bring(window, mine__svg=plain_drawing(PATTERN)))
    asked = [s for p in sheet["spreads"] for c in p["sections"] for s in c["sentences"] if "asks" in s]
    assert [s["asks"] for s in asked] == [["pattern.line", "pattern.allowance"]]
    assert {"pattern.line", "pattern.allowance"} <= set(sheet["values"])
    before = window.get(f"/api/orders/{window.order}/file/order.toml").text
    answer = answer_at_once(window, "cut", "1 cm")
    assert answer.status_code == 200, answer.text
    made = answer.json()["sheet"]
    assert made["drawing"] is not None
    assert made["values"]["pattern.line"]["value"] == "cut"
    assert made["values"]["pattern.allowance"]["text"] == "1 cm"
    own = tomllib.loads(window.get(f"/api/orders/{window.order}/file/order.toml").text)["pattern"]
    assert (own["line"], own["allowance"]) == ("cut", "1 cm")
    # One step back, and neither is said; one step on, and both are.
    assert window.change("undo").status_code == 200
    assert window.get(f"/api/orders/{window.order}/file/order.toml").text == before
    assert window.change("redo").json()["sheet"]["values"]["pattern.allowance"]["text"] == "1 cm"
    # Net lines after all: nothing lies between.
    assert answer_at_once(window, "net", "").status_code == 200
    own = tomllib.loads(window.get(f"/api/orders/{window.order}/file/order.toml").text)["pattern"]
    assert own["line"] == "net"
    assert "allowance" not in own


@pytest.mark.parametrize(
    ("line", "allowance", "key", "says"),
    [
        ("cut", "", "pattern.allowance", "what lies between"),
        ("cut", "a thumb", "pattern.allowance", "not a length"),
        ("cut", "9 m", "pattern.allowance", "a length from"),
        ("cut", "-1 cm", "pattern.allowance", "a length from"),
        ("", "1 cm", "pattern.line", "net lines, where it is sewn, or cut lines"),
        ("hem", "1 cm", "pattern.line", "net lines, where it is sewn, or cut lines"),
        ("net", "1 cm", "pattern.allowance", "nothing"),
    ],
)
def test_an_answer_that_is_missing_or_wrong_takes_neither(
    window: Window, line: str, allowance: str, key: str, says: str
) -> None:
    opened(window, bring(window, mine__svg=plain_drawing(PATTERN)))
    before = window.get(f"/api/orders/{window.order}/file/order.toml").text
    answer = answer_at_once(window, line, allowance)
    assert answer.status_code == 422, answer.text
    assert [r["key"] for r in answer.json()["refused"]] == [key]
    assert says in answer.json()["refused"][0]["says"]
    assert window.get(f"/api/orders/{window.order}/file/order.toml").text == before
    # What was typed is still there, and the right answer takes its place in one step.
    typed = {k: v["typed"] for k, v in window.sheet()["values"].items() if "typed" in v}
    assert typed == {k: v for k, v in (("pattern.line", line), ("pattern.allowance", allowance)) if v}
    assert answer_at_once(window, "cut", "1 cm").status_code == 200
    assert not any("typed" in v for v in window.sheet()["values"].values())
    window.change("undo")
    assert window.get(f"/api/orders/{window.order}/file/order.toml").text == before


@pytest.mark.parametrize(
    "body",
    [
        {"key": "style.closing", "text": "zip", "beside": {"pattern.allowance": "1 cm"}},
        {"key": "pattern.line", "text": "cut", "beside": {"body.waist": "60 cm"}},
        {"key": "pattern.line", "text": "cut", "beside": {"pattern.allowance": 1}},
        {"key": "pattern.line", "text": "cut", "beside": ["1 cm"]},
    ],
)
def test_only_answers_of_one_question_go_together(window: Window, body: dict[str, Any]) -> None:
    assert window.change("edit", **body).status_code == 400


@pytest.mark.parametrize("said", ["", 'allowance = "1 cm"\n', 'line = "cut"\n'])
def test_in_an_order_file_one_refusal_names_both_keys(tmp_path: Path, said: str) -> None:
    (tmp_path / "mine.svg").write_bytes(plain_drawing(PATTERN))
    file = tmp_path / "order.toml"
    file.write_text(DEMO.read_text("utf-8").split("[style]")[0] + f'[pattern]\nfile = "mine.svg"\n{said}')
    with pytest.raises(OrderError) as e:
        work_out(read_order(file), tmp_path)
    assert len(e.value.problems) == 1
    assert 'line = "cut" and allowance' in str(e.value)
    assert 'line = "net"' in str(e.value)


def test_dxf_comes_in_as_well(window: Window) -> None:
    pieces = tuple(p for p in layer_up(PATTERN, Build()).pieces if p.layer == "shell")
    data = pattern_dxf(type(PATTERN)(**{**fields_of(PATTERN), "pieces": pieces}))
    sheet = opened(window, bring(window, mine__dxf=data))
    assert len(sheet["drawing"]["panels"]) == 4
    # An edit does not read the drawing again: it is known.
    assert window.edit("body.waist", "70 cm").status_code == 200


def fields_of(pattern: Any) -> dict[str, Any]:
    return {name: getattr(pattern, name) for name in pattern.__dataclass_fields__}


@pytest.mark.parametrize(
    ("files", "says"),
    [
        ({"hers__toml": ORDER.encode()}, "Choose that file together with the order"),
        ({"hers__toml": ORDER.encode(), "other__svg": SVG}, "mine.svg"),
        ({"a__toml": ORDER.encode(), "b__toml": ORDER.encode(), "mine__svg": SVG}, "a.toml or b.toml"),
        ({"a__svg": SVG, "b__svg": SVG}, "a.svg or b.svg"),
        ({"mine__jpg": b"\xff\xd8\xff\xe0" + b"x" * 99}, "photograph"),
        ({"mine__svg": b"<svg><!DOCTYPE"}, "mine.svg"),
        ({"mine__dxf": b"0\nSECTION\n"}, "mine.dxf"),
        ({"mine__toml": b"[pattern]\nfile = 3\n", "mine__svg": SVG}, "one line of text"),
        ({"hers__toml": b"a." * 300_000}, "not an order"),
        ({"hers__toml": b"#" * 1_000_001}, "larger"),
    ],
)
def test_what_cannot_come_in_is_said_in_words(window: Window, files: dict[str, bytes], says: str) -> None:
    before = window.get("/api/orders").json()["total"]
    answer = bring(window, **files)
    assert answer.status_code == 422, answer.text
    assert says in answer.json()["says"]
    shows_nothing(answer.text)
    assert window.get("/api/orders").json()["total"] == before


@pytest.mark.parametrize(
    "body",
    [
        {},
        {"files": []},
        {"files": "x"},
        {"files": [3]},
        {"files": [{"name": "", "data": ""}]},
        {"files": [{"name": "x.svg", "data": "no base64"}]},
        {"files": [{"name": "x.svg"}]},
        {"files": [{"name": "x" * 300, "data": ""}]},
        {"files": [{"name": "x.svg", "data": ""}] * 6},
    ],
)
def test_a_request_of_another_form_is_not_understood(body: dict[str, Any]) -> None:
    with pytest.raises(ProblemError):
        files_of(body)
