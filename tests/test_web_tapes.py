"""Tapes by the page's own calls (docs/web-api.md, 2): begun from, dated, noted, side by side, erased."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from coutil.web.readings import compared, difference
from coutil.web.server import Running
from web_page import Window, let_in


def begun(window: Window, client: object, name: str = "second") -> Any:
    answer = window.post("/api/orders", {"name": name, "client": client})
    assert answer.status_code == 200, answer.text
    return answer.json()


def keep(window: Window, day: str, note: str = "") -> Any:
    answer = window.post(f"/api/orders/{window.order}/tape", {"taken_on": day, "note": note})
    assert answer.status_code == 200, answer.text
    return answer.json()["tape"]


def hers(window: Window) -> str:
    client: str = window.sheet()["order"]["client"]["id"]
    return client


def test_a_new_order_takes_the_newest_tape_and_says_so(window: Window) -> None:
    window.edit("body.waist", "71.3 cm")
    keep(window, "2026-03-01")
    window.edit("body.waist", "73 cm")
    keep(window, "2026-01-05")
    assert window.sheet()["tape"] is None, "keeping a tape of it does not make its figures another's"
    made = begun(window, hers(window))
    assert made["tape"] == {"taken_on": "2026-03-01", "kept": True, "changed": []}
    window.order = made["order"]["id"]
    sheet = window.sheet()
    assert sheet["values"]["body.waist"]["text"] == "71.3 cm"
    assert sheet["values"]["client.label"]["text"] == "M. T."
    assert sheet["tape"] == made["tape"]
    rows = window.get(f"/api/orders/{window.order}/versions").json()["versions"]
    assert [r["tape"] for r in rows] == ["2026-03-01"]
    window.edit("body.waist", "72 cm")
    assert window.sheet()["tape"] == {"taken_on": "2026-03-01", "kept": True, "changed": ["waist girth"]}
    rows = window.get(f"/api/orders/{window.order}/versions").json()["versions"]
    assert [r["tape"] for r in rows] == [None, "2026-03-01"]
    (client,) = [c for c in window.get("/api/clients").json()["clients"] if c["id"] == hers(window)]
    assert (client["taken_on"], client["tapes"], client["orders"]) == ("2026-03-01", 2, 2)


def test_without_a_tape_it_begins_as_it_always_did(window: Window) -> None:
    plain = begun(window, None)
    window.order = plain["order"]["id"]
    values = window.sheet()["values"]
    made = begun(window, {"label": "New One"})
    assert made["tape"] is None
    window.order = made["order"]["id"]
    assert window.sheet()["tape"] is None
    for key in ("body.bust", "body.waist", "body.bust_span"):
        assert window.sheet()["values"][key]["text"] == values[key]["text"]


def test_whoever_counts_in_inches_reads_a_tape_in_cm_in_inches(window: Window) -> None:
    """89 cm are no round number of inches: the order counts as the tape does, or it would say "890.0 mm"."""
    window.edit("body.high_hip", "89")
    keep(window, "2026-03-01")
    window.post("/api/settings", {"unit": "in"})
    window.order = begun(window, hers(window))["order"]["id"]
    sheet = window.sheet()
    body = {k: v["text"] for k, v in sheet["values"].items() if k.startswith("body.") and v["state"] == "measured"}
    assert len(body) > 6
    assert all(text.endswith(" in") for text in body.values()), body
    assert sheet["values"]["body.high_hip"]["text"] == "≈35 1/16 in"
    assert window.edit("body.waist", "28 1/2").status_code == 200
    assert window.sheet()["values"]["body.waist"]["text"] == "28 1/2 in"


def test_a_second_client_of_one_label_is_made_when_asked_for(window: Window) -> None:
    window.edit("body.waist", "73 cm")
    keep(window, "2026-03-01")
    made = begun(window, {"label": "M. T."})
    assert made["order"]["client"]["id"] != hers(window)
    assert made["tape"] is None, "the other's tape is not hers"
    assert window.post("/api/orders", {"name": "x", "client": {"label": " "}}).status_code == 422
    assert window.post("/api/orders", {"name": "x", "client": 7}).status_code == 400
    assert window.post("/api/orders", {"name": "x", "client": "c99"}).status_code == 404
    assert window.get("/api/orders").json()["total"] == 2


def test_day_and_note_when_kept_and_afterwards(page: tuple[Running, Window]) -> None:
    server, window = page
    tape = keep(window, "2026-03-01", "after lunch")
    assert (tape["taken_on"], tape["note"], tape["orders"]) == ("2026-03-01", "after lunch", [])
    made = begun(window, hers(window))
    with let_in(server, "w-2") as other:
        other.order = made["order"]["id"]
        before = other.sheet()
        told = window.post(f"/api/tapes/{tape['id']}", {"taken_on": "2026-03-02", "note": "before lunch"}).json()[
            "tape"
        ]
        assert (told["taken_on"], told["note"]) == ("2026-03-02", "before lunch")
        assert [o["id"] for o in told["orders"]] == [made["order"]["id"]]
        now = other.sheet()
        assert now["tape"]["taken_on"] == "2026-03-02"
        assert now["version"] > before["version"], "so that windows look again"
    only_note = window.post(f"/api/tapes/{tape['id']}", {"note": ""}).json()["tape"]
    assert (only_note["taken_on"], only_note["note"]) == ("2026-03-02", "")


@pytest.mark.parametrize("call", ["orders/{order}/tape", "tapes/{tape}"])
def test_days_that_cannot_be_are_refused_in_words(window: Window, call: str) -> None:
    tape = keep(window, "2026-03-01")
    path = f"/api/{call.format(order=window.order, tape=tape['id'])}"
    soon = (datetime.now(UTC) + timedelta(days=2)).date().isoformat()
    for day, word in ((soon, "still to come"), ("0202-06-03", "1900"), ("yesterday", "2026-03-01"), ("", "year")):
        answer = window.post(path, {"taken_on": day})
        assert answer.status_code == 422, (day, answer.text)
        assert word in answer.json()["says"]
    assert window.post(path, {"taken_on": 7}).status_code == 400
    assert [t["taken_on"] for t in window.get(f"/api/clients/{hers(window)}").json()["tapes"]] == ["2026-03-01"]
    today = datetime.now(UTC).date().isoformat()
    assert window.post(path, {"taken_on": today}).status_code == 200


def test_a_tape_is_erased_and_what_stays_is_said(window: Window) -> None:
    tape = keep(window, "2026-03-01", "after lunch")
    made = begun(window, hers(window))
    again = window.post(f"/api/tapes/{tape['id']}/erase", {"taken_on": "2026-03-02"})
    assert again.status_code == 422
    assert "changed elsewhere" in again.json()["says"]
    gone = window.post(f"/api/tapes/{tape['id']}/erase", {"taken_on": "2026-03-01"}).json()
    assert [o["id"] for o in gone["orders"]] == [made["order"]["id"]]
    assert any("Backups" in says for says in gone["left"])
    assert window.get(f"/api/clients/{hers(window)}").json()["tapes"] == []
    window.order = made["order"]["id"]
    assert window.sheet()["tape"] == {"taken_on": "2026-03-01", "kept": False, "changed": []}
    for path, body in ((f"/api/tapes/{tape['id']}/erase", {"taken_on": "2026-03-01"}), ("/api/tapes/x", {"note": ""})):
        answer = window.post(path, body)
        assert (answer.status_code, answer.json()["error"]) == (404, "no_such_tape")


def test_two_tapes_side_by_side_in_both_units(window: Window) -> None:
    window.edit("body.waist", "70 cm")
    window.edit("body.high_hip", "92 cm")
    old = keep(window, "2026-01-05")
    window.edit("body.waist", "71.5 cm")
    window.edit("body.bust", "95.4 cm")
    window.edit("body.high_hip", "")
    window.edit("body.left.bust_to_waist", "19 cm")
    new = keep(window, "2026-03-01", "after lunch")
    told = window.get(f"/api/tapes/{old['id']}/beside/{new['id']}").json()
    assert [t["taken_on"] for t in told["tapes"]] == ["2026-01-05", "2026-03-01"]
    assert told["tapes"][1]["note"] == "after lunch"
    rows = {r["key"]: r for r in told["rows"]}
    assert rows["body.waist"] == {
        "key": "body.waist",
        "name": "waist girth",
        "before": "70 cm",
        "after": "71.5 cm",
        "change": "more",
        "difference": "+1.5 cm",
    }
    assert (rows["body.bust"]["change"], rows["body.bust"]["difference"]) == ("less", "−0.6 cm")
    assert (rows["body.underbust"]["change"], rows["body.underbust"]["difference"]) == ("same", "the same")
    hip, left = rows["body.high_hip"], rows["body.left.bust_to_waist"]
    assert (hip["before"], hip["after"], hip["change"]) == ("92 cm", "not taken", "untold")
    assert (left["name"], left["before"], left["after"]) == ("bust point to waist, left", "not taken", "19 cm")
    assert window.get(f"/api/tapes/{new['id']}/beside/{old['id']}").json() == told, "the earlier first, always"
    window.post("/api/settings", {"unit": "in"})
    rows = {r["key"]: r for r in window.get(f"/api/tapes/{old['id']}/beside/{new['id']}").json()["rows"]}
    assert rows["body.waist"]["before"] == "27 9/16 in"
    assert rows["body.waist"]["difference"] == "≈+9/16 in"
    assert rows["body.bust"]["difference"] == "≈−1/4 in"


def test_tapes_of_two_clients_are_not_held_against_each_other(window: Window) -> None:
    one = keep(window, "2026-01-05")
    window.order = begun(window, {"label": "New One"})["order"]["id"]
    window.sheet()
    # A tape holds readings: all that are needed are taken first.
    for key, text in (("bust", "96"), ("underbust", "80"), ("waist", "72"), ("bust_span", "19")):
        assert window.edit(f"body.{key}", text).status_code == 200
    for key, text in (("bust_to_underbust", "8.5"), ("bust_to_waist", "17")):
        assert window.edit(f"body.{key}", text).status_code == 200
    other = keep(window, "2026-01-05")
    assert window.get(f"/api/tapes/{one['id']}/beside/{other['id']}").status_code == 404
    assert window.get(f"/api/tapes/{one['id']}/beside/t99").status_code == 404


@pytest.mark.parametrize(
    ("mm", "in_cm", "in_inches"),
    [
        (15.0, "+1.5 cm", "≈+9/16 in"),
        (-9.525, "≈−1 cm", "−3/8 in"),
        (0.3, "+0.3 mm", "+0.3 mm"),
        (-0.3, "−0.3 mm", "−0.3 mm"),
        (25.4, "≈+2.5 cm", "+1 in"),
        (0.01, "the same", "the same"),
    ],
)
def test_differences_are_signed_and_never_nothing(mm: float, in_cm: str, in_inches: str) -> None:
    """1 in is 25.4 mm exactly; 15 mm are 9.4 sixteenths of an inch."""
    assert difference(mm, "cm")[1] == in_cm
    assert difference(mm, "in")[1] == in_inches


def test_no_reading_of_either_tape_is_left_out() -> None:
    before = {"bust": 960.0, "left.side_length": 200.0}
    rows = compared(before, {"waist": 700.0, "right.bust_point": 95.0}, "cm")
    assert [r["key"] for r in rows] == ["body.bust", "body.waist", "body.left.side_length", "body.right.bust_point"]
    assert {r["change"] for r in rows} == {"untold"}
