"""Undo, windows, the book, lays and files (docs/web-api.md, 2 and 4 to 8): a real server, on a book of its own."""

from __future__ import annotations

import json
import re
import threading
import time
from pathlib import Path
from typing import Any, Literal

import pytest

from coutil.lay.model import Block, Lay, LayPlan, Placement
from coutil.web.lays import called
from coutil.web.server import Running
from web_page import Window, let_in, numbers_of, open_page

# --- undo, versions


def test_undo_and_redo_of_everything(window: Window) -> None:
    start = window.sheet()
    assert start["undo"] is None
    changes = [
        ("style.plunge", "6 cm", "style.plunge"),
        ("body.waist", "72", "body.waist"),
        ("style.closing", "zip", "style.closing"),
    ]
    for key, text, _ in changes:
        window.edit(key, text)
    window.change("edit", key="cloth", add=True)
    texts = []
    while (sheet := window.sheet())["undo"]:
        texts.append(window.get(f"/api/orders/{window.order}/file/order.toml").text)
        assert window.change("undo").status_code == 200
    assert len(texts) == 4
    assert sheet["drawing"] == start["drawing"]
    assert window.change("undo").status_code == 422
    for text in reversed(texts):
        assert window.change("redo").status_code == 200
        assert window.get(f"/api/orders/{window.order}/file/order.toml").text == text
    assert window.sheet()["redo"] is None


def test_versions_are_listed_and_brought_back(window: Window) -> None:
    window.edit("style.plunge", "6 cm")
    window.edit("style.hem", "8 cm")
    rows = window.get(f"/api/orders/{window.order}/versions").json()["versions"]
    assert [r["keys"] for r in rows] == [["style.hem"], ["style.plunge"], []]
    assert "6 cm" in rows[1]["what"]
    assert [r["now"] for r in rows] == [True, False, False]
    answer = window.change("restore", version=rows[-1]["version"]).json()
    assert answer["sheet"]["values"]["style.plunge"]["text"] == "7 cm"
    assert answer["sheet"]["values"]["style.hem"]["text"] == "9 cm"


# --- two windows


def test_another_key_goes_on_top_the_same_key_is_a_conflict(page: tuple[Running, Window]) -> None:
    server, first = page
    with let_in(server, "w-2") as second:
        first.edit("style.plunge", "6 cm")
        answer = second.edit("style.hem", "8 cm").json()
        assert answer["saved"] is True
        assert answer["merged"] == ["style.plunge"]
        assert answer["sheet"]["values"]["style.plunge"]["text"] == "6 cm"
        # The first window still stands where it was, before the second's change of the hem.
        clash = first.edit("style.hem", "7 cm")
        assert clash.status_code == 409
        told = clash.json()
        assert told["conflict"] == {"key": "style.hem", "yours": "7 cm", "theirs": "8 cm", "was": "9 cm"}
        assert told["sheet"]["values"]["style.hem"]["text"] == "8 cm"
        assert second.sheet()["values"]["style.hem"]["text"] == "8 cm", "nothing was overwritten"
        first.version = told["version"]
        assert first.edit("style.hem", "7 cm").status_code == 200, "mine after all"
        assert second.change("undo").status_code == 409, "on what it has not seen"


@pytest.mark.parametrize(
    ("key", "one", "two", "theirs", "was"),
    [
        ("body.waist", "71", "72", "71 cm", "70.5 cm"),
        ("style.neckline", "plunge", "straight", "a plunge", "a sweetheart"),
        ("style.cup_height", "7 cm", "8 cm", "7 cm", "6.4 cm"),
        ("style.ease.waist", "-2 cm", "-1 cm", "2 cm less", "1 1/2 in less"),
        ("hours.sew", "4", "5", "4", "3"),
    ],
)
def test_a_conflict_says_what_the_page_showed(
    page: tuple[Running, Window], key: str, one: str, two: str, theirs: str, was: str
) -> None:
    server, first = page
    with let_in(server, "w-2") as second:
        assert second.sheet()["values"][key]["text"] == was
        assert first.edit(key, one).status_code == 200
        told = second.edit(key, two).json()["conflict"]
        assert told == {"key": key, "yours": two, "theirs": theirs, "was": was}
        assert first.sheet()["values"][key]["text"] == theirs


def test_a_conflict_about_a_cloth_that_is_gone(page: tuple[Running, Window]) -> None:
    server, first = page
    with let_in(server, "w-2") as second:
        cloths = [k for k in first.sheet()["values"] if re.fullmatch(r"cloth\.\d+\.for", k)]
        for _ in cloths:
            assert first.change("edit", key="cloth.0", remove=True).status_code == 200
        told = second.edit("cloth.0.for", ["shell"])
        assert told.status_code == 409
        assert told.json()["conflict"]["theirs"] == ""
        assert told.json()["conflict"]["was"] == "shell"


def test_an_older_request_that_was_overtaken_changes_nothing(window: Window) -> None:
    """The second of two requests for one value arrives first."""
    head = {"base_version": window.version, "window": "w", "key": "style.plunge"}
    path = f"/api/orders/{window.order}/edit"
    assert window.post(path, {**head, "seq": 11, "text": "6 cm"}).json()["saved"] is True
    late = window.post(path, {**head, "seq": 10, "text": "5 cm"}).json()
    assert late == {"seq": 10, "window": "w", "superseded": True}
    assert window.sheet()["values"]["style.plunge"]["text"] == "6 cm"


def test_the_other_window_hears_of_it(page: tuple[Running, Window]) -> None:
    server, first = page
    with let_in(server, "w-2") as second:
        events: list[tuple[str, dict[str, Any]]] = []
        ready = threading.Event()

        def listen() -> None:
            with second.client.stream("GET", "/api/events", params={"window": "w-2", "order": second.order}) as stream:
                name = ""
                for line in stream.iter_lines():
                    if line.startswith("event: "):
                        name = line[7:]
                    elif line.startswith("data: "):
                        events.append((name, json.loads(line[6:])))
                        ready.set()
                        if name == "changed":
                            return

        thread = threading.Thread(target=listen)
        thread.start()
        assert ready.wait(10)
        first.edit("style.plunge", "6 cm")
        thread.join(10)
        assert not thread.is_alive()
    assert events[0][0] == "hello"
    assert events[0][1]["version"] == 1
    name, told = events[-1]
    assert name == "changed"
    assert told["window"] == "w-1"
    assert told["version"] == first.version
    assert told["keys"] == ["style.plunge"]


def test_what_another_program_changed_is_heard_too(tmp_path: Path) -> None:
    from coutil.book import open_book

    with open_page(tmp_path) as (_, window), open_book(tmp_path / "book.db") as other:
        number = int(window.order[1:])
        with window.client.stream("GET", "/api/events", params={"window": "w", "order": window.order}) as stream:
            lines = stream.iter_lines()
            assert next(lines) == "event: hello"
            entry = other.order(number)
            other.save(number, entry.text.replace("plunge = 7 ", "plunge = 6 "), based_on=entry.edit)
            assert any(line == "event: changed" for line in lines)
        assert window.sheet()["values"]["style.plunge"]["text"] == "6 cm"


# --- the book


def test_clients_orders_copies_and_erasing(window: Window) -> None:
    made = window.post("/api/clients", {"label": "Ánna-Lee", "note": "n"}).json()["client"]
    assert [c["label"] for c in window.get("/api/clients", find="anna").json()["clients"]] == ["Ánna-Lee"]
    refused = window.post(f"/api/orders/{window.order}/copy", {"client": made["id"]})
    assert refused.status_code == 422, "no tape of hers yet"
    copy = window.post(f"/api/orders/{window.order}/copy", {"client": made["id"], "keep_body": True}).json()["order"]
    assert copy["client"]["label"] == "Ánna-Lee"
    fresh = window.post("/api/orders", {"name": "second", "client": {"label": "New One"}}).json()["order"]
    assert window.get(f"/api/orders/{fresh['id']}").json()["drawing"]
    due = window.post(f"/api/orders/{copy['id']}/about", {"due": "2026-05-01"}).json()["order"]
    assert due["due"] == "2026-05-01"
    listed = window.get("/api/orders").json()
    assert listed["total"] == 3
    assert listed["orders"][0]["id"] == copy["id"], "what is due comes first"
    assert window.get("/api/orders", client=made["id"]).json()["total"] == 1
    tape = window.post(f"/api/orders/{window.order}/tape", {"taken_on": "2026-03-02"}).json()["tape"]
    # Readings that came along with a copy are another client's, and are not kept as hers.
    assert window.post(f"/api/orders/{copy['id']}/tape", {"taken_on": "2026-03-02"}).status_code == 422
    one = window.get(f"/api/clients/{window.sheet()['order']['client']['id']}").json()
    assert one["tapes"][0]["id"] == tape["id"]
    assert {"key": "body.bust", "name": "bust girth", "text": "96 cm"} in one["tapes"][0]["measurements"]
    assert window.get(f"/api/clients/{made['id']}/export").content[:2] == b"PK"
    assert window.post(f"/api/clients/{made['id']}/erase", {"label": "wrong"}).status_code == 422
    gone = window.post(f"/api/clients/{made['id']}/erase", {"label": "Ánna-Lee"}).json()
    assert gone["orders"] == 1
    assert window.get(f"/api/orders/{copy['id']}").status_code == 404
    assert window.post(f"/api/orders/{fresh['id']}/erase", {"name": "second"}).status_code == 200
    assert window.get("/api/orders").json()["total"] == 1


def test_a_label_changes_in_every_order_of_the_client(window: Window) -> None:
    window.edit("client.label", "Mara T.")
    client = window.sheet()["order"]["client"]
    assert client["label"] == "Mara T."
    answer = window.post(f"/api/clients/{client['id']}", {"label": "Mara Tann"})
    assert answer.json()["client"]["label"] == "Mara Tann"
    assert window.sheet()["values"]["client.label"]["text"] == "Mara Tann"


def test_an_order_and_the_book_go_out_and_come_in(window: Window, tmp_path: Path) -> None:
    window.edit("style.plunge", "6 cm")
    text = window.get(f"/api/orders/{window.order}/file/order.toml").content
    whole = window.get("/api/book/export")
    headers = {**window.headers, "Content-Type": "application/toml"}
    added = window.client.post("/api/orders/import", content=text, headers=headers).json()["order"]
    assert window.get(f"/api/orders/{added['id']}/file/order.toml").content == text
    headers["Content-Type"] = "application/octet-stream"
    again = window.client.post("/api/book/import", content=whole.content, headers=headers).json()
    assert again["orders"] == 0
    assert again["there_already"] > 0
    (tmp_path / "other").mkdir()
    with open_page(tmp_path / "other") as (_, other):
        headers = {**other.headers, "Content-Type": "application/octet-stream"}
        got = other.client.post("/api/book/import", content=whole.content, headers=headers).json()
        assert got["orders"] == 1
        assert other.get("/api/orders").json()["total"] == 2


def test_an_order_that_cannot_be_drafted_is_shown_without_a_drawing(window: Window) -> None:
    text = window.get(f"/api/orders/{window.order}/file/order.toml").text.replace("plunge = 7 ", "plunge = 24 ")
    headers = {**window.headers, "Content-Type": "application/toml"}
    added = window.client.post("/api/orders/import", content=text.encode(), headers=headers).json()["order"]
    window.order = added["id"]
    sheet = window.sheet("shape")
    assert sheet["drawing"] is None
    assert sheet["refused"][0]["key"] == "style.plunge"
    assert sheet["values"]["style.plunge"]["text"] == "24 cm"
    answer = window.edit("style.plunge", "7 cm").json()
    assert answer["sheet"]["drawing"]
    assert "refused" not in answer["sheet"]


# --- spreads, lays, files


def lesson_told(sheet: dict[str, Any]) -> str:
    """The lesson's sentences as one text."""
    told = next(s for s in sheet["spreads"] if s["id"] == "lesson")
    return "".join(r.get("text", "") for c in told["sections"] for line in c["sentences"] for r in line["runs"])


def test_every_spread_has_its_part(window: Window) -> None:
    for name in [s["id"] for s in window.sheet()["spreads"]]:
        spread = window.sheet(name)["spread"]
        assert spread["id"] == name
        assert window.get(f"/api/orders/{window.order}/spread/{name}").json()["spread"] == spread
    tape = window.sheet("tape")["spread"]["figures"]
    keys = {v["figure"] for v in window.sheet()["values"].values() if "figure" in v}
    assert keys <= tape.keys()
    for figure in tape.values():
        for d in (*figure["body"], figure["tape"]):
            numbers_of(d)
    lesson = window.sheet("lesson")["spread"]["groups"]
    numbers = [s["number"] for g in lesson for s in g["steps"]]
    assert numbers == list(range(1, len(numbers) + 1))
    assert f"in {len(numbers)} steps" in lesson_told(window.sheet("lesson"))
    assert "steps" not in lesson_told(window.sheet("shape")), "counted only where the lesson lies open"
    money = window.sheet("money")["spread"]
    for table in ("cut", "bones", "thread", "price"):
        assert all(len(r) == len(money[table]["head"]) == len(money[table]["align"]) for r in money[table]["rows"])
    assert window.get(f"/api/orders/{window.order}", spread="nowhere").status_code == 400


def test_the_walk_and_the_cup_are_shown(window: Window) -> None:
    sheet = window.sheet()
    assert {r["level"] for r in sheet["walk"]} == {"fine"}
    assert {r["seam"] for r in sheet["walk"]} == {"front princess", "side", "back princess"}
    cup = sheet["cups"][0]
    assert cup["volume"]["text"].endswith(" ml")
    points = numbers_of(cup["profile"]["d"])
    assert points[0] == pytest.approx((-points[-1][0], points[-1][1]), abs=0.01), "whole, from side to side"
    box = cup["profile"]["box"]
    assert all(box[0] <= x <= box[2] and box[1] <= y <= box[3] for x, y in points)


def _laid(window: Window, seconds: float, stop: bool = False) -> dict[str, Any]:
    path = f"/api/orders/{window.order}/lays"
    told = window.post(path, {"seconds": seconds}).json()["lays"]
    assert told["state"] in ("working", "done")
    if stop:
        time.sleep(0.5)
        window.post(f"{path}/stop")
    until = time.monotonic() + 60.0
    while time.monotonic() < until:
        told = window.get(path).json()["lays"]
        if told["state"] != "working":
            return dict(told)
        time.sleep(0.05)
    raise AssertionError("the lays do not end")


def test_lays_run_in_the_background_and_go_stale(window: Window) -> None:
    told = _laid(window, 1.0)
    assert told["state"] == "done"
    assert {p for lay in told["lays"] for p in lay["layers"]} == {"shell", "interfacing", "foam", "web", "lining"}
    for lay in told["lays"]:
        x0, y0, x1, y1 = lay["box"]
        for piece in lay["pieces"]:
            assert all(x0 - 0.1 <= x <= x1 + 0.1 and y0 - 0.1 <= y <= y1 + 0.1 for x, y in numbers_of(piece["d"]))
    money = window.sheet("money")
    assert money["lays"]["stale"] is False
    assert money["spread"]["buy"]["rows"], "the docket knows the lays"
    window.edit("client.note", "only a note")
    assert window.sheet()["lays"]["stale"] is False
    window.edit("style.hem", "8 cm")
    stale = window.sheet("money")
    assert stale["lays"]["stale"] is True
    assert stale["spread"]["buy"] is None, "not with lays of another pattern"


def test_lays_of_one_cloth_are_told_apart(window: Window) -> None:
    """The demo has two lays of its interfacing: one on the remnant, one off the roll."""
    told = _laid(window, 1.0)["lays"]
    names = {(lay["cloth"], lay["on"]): lay["called"] for lay in told}
    cloth = "woven cotton interfacing"
    assert names[cloth, "remnant"] == f"{cloth} (interfacing): blocks on a remnant"
    assert names[cloth, "length"] == f"{cloth} (interfacing): blocks off the roll"
    assert names["cotton batiste", "length"] == "cotton batiste", "alone, so by its name"
    assert all(lay["title"].startswith(lay["called"] + ", ") for lay in told)


def test_lays_that_are_alike_in_words_are_numbered() -> None:
    def lay(on: Literal["length", "sheet", "remnant"], *pieces: str) -> Lay:
        placed = tuple(Placement(p, 1, False, 0.0, ()) for p in pieces)
        return Lay("foam", on, ("foam",), False, 500.0, 700.0, 0.0, 0.5, placed)

    lays = (lay("sheet", "a"), lay("sheet", "a"), lay("remnant", "a", "b"), lay("remnant", "b"))
    names = called(LayPlan(lays, (Block("b", "foam", (), ()),)))
    assert names == [
        "foam (foam): pieces on a sheet, no. 1",
        "foam (foam): pieces on a sheet, no. 2",
        "foam (foam): blocks and pieces on a remnant",
        "foam (foam): blocks on a remnant",
    ]


def test_lays_are_stopped(window: Window) -> None:
    started = time.monotonic()
    told = _laid(window, 300.0, stop=True)
    assert told["state"] == "done"
    assert time.monotonic() - started < 30.0
    assert window.post(f"/api/orders/{window.order}/lays", {"seconds": 0}).status_code == 400


def test_the_page_answers_while_lays_are_made(window: Window) -> None:
    window.post(f"/api/orders/{window.order}/lays", {"seconds": 5})
    for k in range(5):
        assert window.edit("style.plunge", f"6.{k} cm").status_code == 200
    window.post(f"/api/orders/{window.order}/lays/stop")


def test_every_file_is_given(window: Window) -> None:
    starts = {"PDF": b"%PDF-", "SVG": b"<?xml", "DXF": b"  0", "JSON": b"{", "TOML": b"#", "TXT": b""}
    sheet = window.sheet()
    spreads = {s["id"] for s in sheet["spreads"]}
    assert spreads == {s for f in sheet["files"] for s in f["spreads"]}, "every spread has a file"
    for file in sheet["files"]:
        answer = window.get(file["href"])
        assert answer.status_code == 200, file["name"]
        assert answer.content.lstrip()[: len(starts[file["kind"]].strip())] == starts[file["kind"]].strip(), file[
            "name"
        ]
        assert answer.headers["content-disposition"].startswith("attachment")
    shown = window.get(f"/api/orders/{window.order}/file/pattern-a4.pdf", show=1)
    assert shown.headers["content-disposition"].startswith("inline")
    assert window.get(f"/api/orders/{window.order}/file/other.pdf").status_code == 404


def test_everything_is_there_after_a_restart(tmp_path: Path) -> None:
    with open_page(tmp_path) as (_, window):
        window.edit("style.plunge", "6 cm")
        window.edit("body.waist", "seventy")
    with open_page(tmp_path) as (_, window):
        sheet = window.sheet()
        assert sheet["values"]["style.plunge"]["text"] == "6 cm"
        assert sheet["values"]["body.waist"]["typed"] == "seventy"
        assert window.get("/api/orders").json()["total"] == 1


def test_the_page_of_privacy_says_where_the_book_lies(window: Window) -> None:
    told = window.get("/api/privacy").json()
    assert "a file" in told["paragraphs"][0]
    assert "erased" in " ".join(told["paragraphs"])
