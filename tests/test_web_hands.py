"""A value in hand, as the server sees it: a refusal and Escape put back what the hand found, and leave no step."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from web_page import Window, let_in, open_page


def stands(window: Window, key: str) -> dict[str, Any]:
    value: dict[str, Any] = window.sheet("tape")["values"][key]
    return value


def typed(window: Window, key: str, hand: int, *texts: str) -> list[int]:
    """Each text as a keystroke of one hand; the answers' statuses."""
    return [window.change("edit", key=key, text=text, hand=hand).status_code for text in texts]


def steps(window: Window) -> list[str]:
    return [v["what"] for v in window.get(f"/api/orders/{window.order}/versions").json()["versions"]]


def test_a_refusal_puts_back_what_the_hand_found(window: Window) -> None:
    """75.5, the beginning of 75.5.5, was taken while she typed; the order must not keep it, nor a step to undo."""
    before = window.sheet("tape")
    was, undone = before["values"]["body.waist"], steps(window)
    assert typed(window, "body.waist", before["step"], "75", "75.5", "75.5.5") == [200, 200, 422]
    now = window.sheet("tape")
    assert now["values"]["body.waist"]["text"] == was["text"]
    assert now["values"]["body.waist"]["typed"] == "75.5.5"
    assert steps(window) == undone
    assert now["step"] == before["step"]
    # Undo takes the refused text away, and then what came before the hand: nothing here.
    undo = window.change("undo").json()
    assert "typed" not in undo["sheet"]["values"]["body.waist"]
    assert window.change("undo").status_code == 422


def test_the_refusal_brings_the_sheet_that_holds(window: Window) -> None:
    before = window.sheet("tape")
    window.change("edit", key="body.waist", text="75", hand=before["step"])
    told = window.change("edit", key="body.waist", text="75x", hand=before["step"]).json()
    assert told["sheet"]["values"]["body.waist"]["text"] == before["values"]["body.waist"]["text"]
    assert told["sheet"]["version"] == told["version"]


def test_escape_is_as_it_was_and_no_step(window: Window) -> None:
    before = window.sheet("tape")
    typed(window, "body.waist", before["step"], "75", "75.5")
    answer = window.change("edit", key="body.waist", back=True, hand=before["step"])
    assert answer.status_code == 200
    now = window.sheet("tape")
    assert (now["values"]["body.waist"], now["step"], now["undo"]) == (
        before["values"]["body.waist"],
        before["step"],
        before["undo"],
    )


def test_two_hands_on_one_value_are_two_steps(window: Window) -> None:
    """A second hand within the minute: its refusal goes back to what the first one left."""
    first = window.sheet("tape")["step"]
    typed(window, "body.waist", first, "7", "75")
    second = window.sheet("tape")["step"]
    assert typed(window, "body.waist", second, "7", "76", "76-") == [422, 200, 422]
    assert stands(window, "body.waist")["text"] == "75 cm"


def test_what_another_window_did_meanwhile_stays(server: Any, window: Window) -> None:
    """Its change lies upon the beginning: that is taken out from under it."""
    before = window.sheet("tape")
    was = before["values"]["body.waist"]["text"]
    typed(window, "body.waist", before["step"], "75")
    with let_in(server, "w-2") as other:
        other.sheet()
        assert other.edit("body.bust", "99").status_code == 200
        assert typed(window, "body.waist", before["step"], "75x") == [422]
        now = other.sheet("tape")["values"]
    assert (now["body.waist"]["text"], now["body.bust"]["text"]) == (was, "99 cm")


def test_what_went_in_with_a_beginning_comes_out_with_it(window: Window) -> None:
    """An underbust above the bust is refused, and goes in when the bust is large enough: not for half a bust."""
    start = window.sheet("tape")
    before = {k: start["values"][k]["text"] for k in ("body.bust", "body.underbust")}
    window.edit("body.underbust", "99 cm")
    assert stands(window, "body.underbust")["typed"] == "99 cm"
    hand = window.sheet("tape")["step"]
    answer = window.change("edit", key="body.bust", text="118", hand=hand)
    assert answer.json()["accepted"] == ["body.underbust"]
    assert window.change("edit", key="body.bust", text="1180", hand=hand).status_code == 422
    now = window.sheet("tape")["values"]
    assert {k: now[k]["text"] for k in before} == before
    assert now["body.underbust"]["typed"] == "99 cm"


def test_a_hand_outlives_the_server(tmp_path: Path) -> None:
    with open_page(tmp_path) as (_, window):
        before = window.sheet("tape")
        typed(window, "body.waist", before["step"], "75")
    with open_page(tmp_path) as (_, window):
        window.sheet()
        assert typed(window, "body.waist", before["step"], "75x") == [422]
        now = window.sheet("tape")
    assert now["values"]["body.waist"]["text"] == before["values"]["body.waist"]["text"]
    assert now["step"] == before["step"]


def test_the_same_text_sent_again_is_no_conflict(tmp_path: Path) -> None:
    """The answer was lost, and the server that gave it too: what is so already is taken as it is."""
    with open_page(tmp_path) as (_, window):
        base = window.sheet()["version"]
        assert window.edit("body.waist", "75").status_code == 200
    with open_page(tmp_path) as (_, window):
        window.version = base
        assert window.edit("body.waist", "75").status_code == 200
        window.version = base
        assert window.edit("body.waist", "76").status_code == 409


@pytest.mark.parametrize(
    "body", [{"back": True}, {"back": False, "hand": 1}, {"text": "75", "hand": 0}, {"text": "75", "hand": "1"}]
)
def test_a_hand_that_is_none_is_not_understood(window: Window, body: dict[str, Any]) -> None:
    window.sheet()
    assert window.change("edit", key="body.waist", **body).status_code == 400


def test_a_hand_upon_no_version_and_no_value_harms_nothing(window: Window) -> None:
    before = window.sheet("tape")
    for key in ("no.such", "cloth.x.width", "cloth.77.width", "client.label", "body.waist"):
        window.change("edit", key=key, back=True, hand=999)
        window.change("edit", key=key, text="\x00", hand=999)
        window.sheet()
    now = window.sheet("tape")["values"]
    assert {k: v["text"] for k, v in now.items()} == {k: v["text"] for k, v in before["values"].items()}


def test_a_label_that_is_refused_is_the_client_again(window: Window) -> None:
    before = window.sheet("tape")
    label = before["order"]["client"]["label"]
    assert typed(window, "client.label", before["step"], "A", "A\u0001") == [200, 422]
    assert window.sheet()["order"]["client"]["label"] == label
