"""What is taken, by rule and not taken, over the wire: new orders, old ones, tapes that are not kept."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from coutil.body import REQUIRED, standard_body
from coutil.book import BookError, open_book
from coutil.order import parse_order
from web_page import Window, open_page

HERS = {
    "bust": "96",
    "underbust": "78",
    "waist": "70.5",
    "bust_span": "19.5",
    "bust_to_underbust": "8",
    "bust_to_waist": "18.5",
}
OLD = "[body]\nbust = 92\nunderbust = 75\nwaist = 76\nbust_span = 18.9\nbust_to_underbust = 7.8\nbust_to_waist = 18.3\n"


@pytest.fixture
def window(tmp_path: Path) -> Iterator[Window]:
    with open_page(tmp_path) as (_, window):
        made = window.post("/api/orders", {"name": "ivory", "client": {"label": "Anna"}}).json()
        window.order = made["order"]["id"]
        window.sheet()
        yield window


def bring_in(window: Window, text: str) -> dict[str, Any]:
    head = {**window.headers, "content-type": "application/toml"}
    made = window.client.post("/api/orders/import", content=text.encode(), headers=head).json()
    window.order = made["order"]["id"]
    return window.sheet("tape")


def verdict(sheet: dict[str, Any]) -> str:
    (section,) = next(s for s in sheet["spreads"] if s["id"] == "checks")["sections"]
    return "".join(run["text"] for sentence in section["sentences"] for run in sentence["runs"])


def actions(sheet: dict[str, Any]) -> dict[str, dict[str, str]]:
    tape = next(s for s in sheet["spreads"] if s["id"] == "tape")["sections"]
    found = [a for section in tape for sentence in section["sentences"] for a in sentence.get("actions", ())]
    return {a["text"]: a["edit"] for a in found}


def order_of(window: Window) -> Any:
    return parse_order(window.get(f"/api/orders/{window.order}/file/order.toml").text)


def test_nothing_of_a_new_order_is_measured(window: Window) -> None:
    sheet = window.sheet("tape")
    values = sheet["values"]
    assert "measured" not in {v["state"] for v in values.values()}
    for key in REQUIRED:
        value = values[f"body.{key}"]
        assert value["state"] == "not_taken"
        assert value["text"].startswith("not taken (")
        assert value["edit"] == ""
        assert "nudge" not in value
        assert "clears" not in value
        assert "bust 92, cup C (75C)" in value["why"]
    assert sheet["body"] == {"not_taken": [k.replace("_", " ") for k in REQUIRED], "standard": ""}
    assert verdict(sheet).startswith("Do not cut. Not taken: bust, underbust, waist, bust span,")
    assert sheet["findings"][0]["level"] == "stop"
    assert [k for h in sheet["drawing"]["handles"] for k in h["keys"] if k in {f"body.{k}" for k in REQUIRED}] == []


def test_typing_all_six_clears_the_verdict_one_by_one(window: Window) -> None:
    missing = list(REQUIRED)
    for key, text in HERS.items():
        answer = window.edit(f"body.{key}", text).json()
        missing.remove(key)
        sheet = answer["sheet"]
        assert sheet["values"][f"body.{key}"]["state"] == "measured"
        assert sheet["values"][f"body.{key}"]["clears"]
        assert sheet["body"]["not_taken"] == [k.replace("_", " ") for k in missing]
        if missing:
            assert ", ".join(k.replace("_", " ") for k in missing) in verdict(sheet)
    assert "nothing stands in the way" in verdict(sheet) or "look at what" in verdict(sheet)
    assert not any(f["level"] == "stop" for f in sheet["findings"])
    assert window.post(f"/api/orders/{window.order}/tape", {"taken_on": "2026-05-01"}).status_code == 200


def test_emptying_a_needed_reading_makes_it_not_taken_again(window: Window) -> None:
    for key, text in HERS.items():
        window.edit(f"body.{key}", text)
    window.edit("body.hip", "99")
    sheet = window.edit("body.waist", "").json()["sheet"]
    assert sheet["values"]["body.waist"]["state"] == "not_taken"
    assert sheet["body"]["not_taken"] == ["waist"]
    sheet = window.edit("body.hip", "").json()["sheet"]
    assert sheet["values"]["body.hip"]["state"] == "assumed"
    assert "not taken: waist" in sheet["values"]["body.hip"]["why"]
    assert window.change("undo").status_code == 200


def test_the_demo_loses_a_reading_and_gets_a_standard_size(window: Window) -> None:
    orders = window.get("/api/orders").json()["orders"]
    window.order = next(o["id"] for o in orders if o["name"] != "ivory")
    window.sheet()
    sheet = window.edit("body.bust_span", "").json()["sheet"]
    assert sheet["body"]["not_taken"] == ["bust span"]
    order = order_of(window)
    assert (order.body.standard.bust, order.body.standard.cup) == (920.0, "C")


@pytest.mark.parametrize("missing", [list(REQUIRED), ["bust_span"]])
def test_no_tape_is_kept_while_a_reading_is_not_taken(window: Window, missing: list[str]) -> None:
    for key, text in HERS.items():
        if key not in missing:
            window.edit(f"body.{key}", text)
    answer = window.post(f"/api/orders/{window.order}/tape", {"taken_on": "2026-05-01"})
    assert answer.status_code == 422
    assert f"not taken: {', '.join(k.replace('_', ' ') for k in missing)}" in answer.json()["says"]
    client = window.get("/api/clients", find="Anna").json()["clients"][0]["id"]
    assert window.get(f"/api/clients/{client}").json()["tapes"] == []


def test_a_nudge_makes_no_reading_of_a_strangers_figure(window: Window) -> None:
    for key in ("body.bust", "body.upper_bust", "body.left.bust_point"):
        answer = window.change("edit", key=key, nudge=1)
        assert answer.status_code == 422, key
    assert order_of(window).body.measured() == {}
    window.edit("body.waist", "70")
    assert window.change("edit", key="body.waist", nudge=1).status_code == 200


def test_a_reading_is_taken_though_it_makes_no_body_with_a_strangers(window: Window) -> None:
    # A bust of 130 over the standard underbust of 75 cannot be drawn; her reading is kept all the same.
    answer = window.edit("body.bust", "130")
    assert answer.status_code == 200
    sheet = answer.json()["sheet"]
    assert sheet["drawing"] is None
    assert sheet["values"]["body.bust"]["state"] == "measured"
    assert sheet["findings"][0]["says"].startswith("Not taken: underbust, waist")
    assert sheet["refused"][0]["says"].startswith(
        "It cannot be drawn yet: with a standard size in the place of underbust"
    )
    assert window.sheet("tape")["refused"] == sheet["refused"]
    sheet = window.edit("body.underbust", "110").json()["sheet"]
    assert sheet["drawing"] is not None
    # Between what was taken a slip is refused as ever.
    assert window.edit("body.bust", "100").status_code == 422


def test_the_standard_size_can_be_changed_in_its_sentence(window: Window) -> None:
    sheet = window.edit("body.standard.bust", "104").json()["sheet"]
    assert sheet["values"]["body.bust"]["text"] == "not taken (104 cm)"
    sheet = window.edit("body.standard.cup", "E").json()["sheet"]
    assert sheet["values"]["body.underbust"]["text"] == "not taken (83 cm)"
    assert sheet["values"]["body.standard.bust"]["state"] == "stated"
    assert window.edit("body.standard.bust", "20").status_code == 422


def test_a_size_is_asked_for_as_such_and_a_reading_ends_it(window: Window) -> None:
    sheet = window.sheet("tape")
    wish = actions(sheet)["It is for this standard size itself"]
    sheet = window.edit(wish["key"], wish["text"]).json()["sheet"]
    assert sheet["body"] == {"not_taken": [], "standard": "bust 92, cup C (75C)"}
    assert {sheet["values"][f"body.{k}"]["state"] for k in REQUIRED} == {"standard"}
    assert {sheet["values"][f"body.{k}"]["edit"] for k in (*REQUIRED, "hip", "left.bust_point")} == {""}
    assert "bust 92, cup C (75C)" in verdict(sheet)
    assert not any(f["level"] == "stop" for f in sheet["findings"])
    answer = window.post(f"/api/orders/{window.order}/tape", {"taken_on": "2026-05-01"})
    assert answer.status_code == 422
    assert "nobody was measured" in answer.json()["says"]
    sheet = window.edit("body.waist", "70").json()["sheet"]
    assert not order_of(window).body.as_asked
    assert sheet["body"]["not_taken"] == [k.replace("_", " ") for k in REQUIRED if k != "waist"]
    # With a reading in it, it can no longer be asked for as such.
    assert actions(sheet) == {}
    assert window.edit("body.standard.as_asked", "true").status_code == 422


def test_an_old_order_is_confirmed_with_one_press(window: Window) -> None:
    sheet = bring_in(window, OLD)
    assert len(sheet["body"]["not_taken"]) == 6
    assert sheet["values"]["body.bust"]["text"] == "not taken (92 cm)"
    wish = actions(sheet)["These are hers"]
    assert window.post(f"/api/orders/{window.order}/tape", {"taken_on": "2026-05-01"}).status_code == 422
    sheet = window.edit(wish["key"], wish["text"]).json()["sheet"]
    assert sheet["body"]["not_taken"] == []
    assert sheet["values"]["body.bust"]["state"] == "measured"
    assert order_of(window).body.confirmed
    assert window.post(f"/api/orders/{window.order}/tape", {"taken_on": "2026-05-01"}).status_code == 200


def test_one_reading_typed_into_an_old_order_lets_none_of_the_other_five_pass_as_hers(window: Window) -> None:
    bring_in(window, OLD)
    sheet = window.edit("body.waist", "70").json()["sheet"]
    assert sheet["values"]["body.waist"]["state"] == "measured"
    assert sheet["body"]["not_taken"] == [k.replace("_", " ") for k in REQUIRED if k != "waist"]
    body = order_of(window).body
    assert body.measured() == {"waist": 700.0}
    assert (body.standard.bust, body.standard.cup) == (920.0, "C")


def test_a_confirmed_tape_stays_confirmed_through_the_book(tmp_path: Path) -> None:
    from datetime import date

    with open_book(tmp_path / "book.db") as book:
        entry = book.add_order(f'[client]\nlabel = "Anna"\n{OLD}')
        with pytest.raises(BookError, match="not taken"):
            book.tape_of(entry.id, taken_on=date(2026, 5, 1))
        sure = book.save(entry.id, entry.text + "confirmed = true\n", based_on=entry.edit)
        tape = book.tape_of(entry.id, taken_on=date(2026, 5, 1))
        other = book.add_order('[client]\nlabel = "Anna"\n[body.standard]\nbust = 104\ncup = "E"\n')
        used = book.use_tape(other.id, tape.id, based_on=other.edit)
        body = parse_order(used.text).body
        assert body == parse_order(sure.text).body
        assert body.not_taken == ()
        assert body.bust == standard_body(920.0, "C").bust
