"""The sheet and its changes (docs/web-api.md, 3 and 4): against a real server, on a book of its own."""

from __future__ import annotations

import itertools
import re
from typing import Any

import pytest

from coutil.make import work_out
from coutil.order import parse_order
from coutil.web.server import Running
from web_page import Window, handle_of, let_in, numbers_of, panel_of

# --- the sheet


def test_a_first_visit_shows_the_demo_order(page: tuple[Running, Window]) -> None:
    server, window = page
    told = window.get("/api/session").json()
    assert told["first_visit"] is False, "the window was the first visit"
    assert told["open"] == window.order
    assert window.sheet()["order"]["name"] == "sea-green bustier"
    assert [o["name"] for o in window.get("/api/orders").json()["orders"]] == ["sea-green bustier"]
    with let_in(server) as again:
        assert again.order == window.order


def test_every_run_of_a_sentence_is_a_text_or_a_value(window: Window) -> None:
    sheet = window.sheet()
    assert [s["id"] for s in sheet["spreads"]] == [
        "tape",
        "shape",
        "pads",
        "checks",
        "cloth",
        "making",
        "money",
        "lesson",
    ]
    seen = set()
    for spread in sheet["spreads"]:
        for section in spread["sections"]:
            assert section["sentences"], section["id"]
            for sentence in section["sentences"]:
                assert sentence["id"] not in seen
                seen.add(sentence["id"])
                for run in sentence["runs"]:
                    assert len(run) == 1
                    if "value" in run:
                        value = sheet["values"][run["value"]]
                        assert value["text"]
                        assert value["state"] in ("measured", "stated", "assumed")
                    else:
                        assert "{" not in run["text"], sentence["id"]


def test_an_outline_is_its_edges_end_to_end(window: Window) -> None:
    panels = window.sheet()["drawing"]["panels"]
    outlines = [(p["net"], p["edges"]) for p in panels] + [
        (p["pad"]["d"], p["pad"]["edges"]) for p in panels if p["pad"]
    ]
    assert len(outlines) == 6
    for outline, edges in outlines:
        runs = [re.fullmatch(r"(M[^LC]+)((?:[LC][^LC]+)+)", e["d"]) for e in edges]
        assert outline == runs[0][1] + "".join(run[2] for run in runs) + "Z"
        # Each edge sets out where the one before it ended.
        for before, after in itertools.pairwise([*edges, edges[0]]):
            assert numbers_of(before["d"])[-1] == numbers_of(after["d"])[0]


def test_what_a_value_governs_is_drawn_and_leads_back(window: Window) -> None:
    sheet = window.sheet()
    drawn = set()
    for panel in sheet["drawing"]["panels"]:
        drawn |= {panel["id"], *(e["id"] for e in panel["edges"]), *(v["id"] for v in panel["levels"])}
        drawn |= {q["id"] for q in panel["points"]} | {n["id"] for n in panel["layers"]}
        if panel["pad"]:
            drawn |= {panel["pad"]["id"], *(e["id"] for e in panel["pad"]["edges"])}
    for value in sheet["values"].values():
        assert set(value["governs"]) <= drawn, value["key"]
    assert set(sheet["drawing"]["hand"]) <= drawn
    for key in sheet["drawing"]["hand"].values():
        assert key in sheet["values"], key
    for finding in sheet["findings"]:
        assert set(finding["parts"]) <= drawn
    # Every edge and level brings some value to hand.
    for panel in sheet["drawing"]["panels"]:
        for part in (*panel["edges"], *panel["levels"]):
            assert part["id"] in sheet["drawing"]["hand"], part["id"]


def test_a_lowest_point_stated_under_a_straight_neckline_is_drawn_and_shown(window: Window) -> None:
    """It is cut, so it must be seen; one that nobody stated is not spoken of, and no line leads to it."""
    assert window.edit("style.neckline", "straight").status_code == 200
    stated = window.sheet()
    assert stated["values"]["style.plunge"]["text"] == "7 cm"
    assert handle_of(stated, "plunge")["text"] == "7 cm"
    assert "style.plunge" in stated["drawing"]["hand"].values()
    assert window.edit("style.plunge", "").status_code == 200
    silent = window.sheet()
    assert "style.plunge" not in silent["values"]
    assert "plunge" not in {h["id"] for h in silent["drawing"]["handles"]}
    assert set(silent["drawing"]["hand"].values()) <= set(silent["values"])
    assert panel_of(silent, "centre-front")["net"] != panel_of(stated, "centre-front")["net"]


def test_assumed_and_measured_are_told_apart(window: Window) -> None:
    values = window.sheet()["values"]
    assert values["body.bust"]["state"] == "measured"
    assert values["style.hem"]["state"] == "stated"
    assert values["body.front_bust_arc"]["state"] == "assumed"
    assert "underbust" in values["body.front_bust_arc"]["why"]
    assert values["build.pad.side_inset"]["text"] == "1 in"
    assert values["build.pad.top_drop"]["text"] == "1 cm", "as it was typed"
    assert values["style.ease.waist"]["text"] == "1 1/2 in less"


def test_the_drawing_is_the_pattern(window: Window) -> None:
    """Panels at true size, right side up, in sewing order, on squares of 1 cm with the waists on y = 0."""
    sheet = window.sheet()
    pattern = work_out(parse_order(window.get(f"/api/orders/{window.order}/file/order.toml").text)).pattern
    assert [p["name"] for p in sheet["drawing"]["panels"]] == [p.name for p in pattern.panels]
    for drawn, panel in zip(sheet["drawing"]["panels"], pattern.panels, strict=True):
        waist = next(v for v in drawn["levels"] if v["level"] == "waist")
        ys = [y for _, y in numbers_of(waist["d"])]
        assert ys == pytest.approx([0.0, 0.0], abs=0.02)
        for edge, own in zip(drawn["edges"], panel.edges, strict=True):
            assert edge["length"] == pytest.approx(own.curve.length, abs=0.01)
            ends = numbers_of(edge["d"])
            (ax, ay), (bx, by) = own.curve.start, own.curve.end
            assert abs(ends[-1][0] - ends[0][0]) == pytest.approx(abs(bx - ax), abs=0.02)
            assert ends[0][1] - ends[-1][1] == pytest.approx(by - ay, abs=0.02), "y down"
        box = drawn["box"]
        for x, y in numbers_of(drawn["layers"][0]["cut"]):
            assert box[0] - 0.1 <= x <= box[2] + 0.1
            assert box[1] - 0.1 <= y <= box[3] + 0.1
    boxes = [p["box"] for p in sheet["drawing"]["panels"]]
    assert all(a[2] < b[0] for a, b in itertools.pairwise(boxes)), "side by side"
    # Neighbours face each other: the side front's side seam lies on its right, the side back's on its left.
    front, back = panel_of(sheet, "side-front"), panel_of(sheet, "side-back")
    middle = [(p["box"][0] + p["box"][2]) / 2 for p in (front, back)]
    sides = [next(e for e in p["edges"] if e["role"] == "side") for p in (front, back)]
    assert numbers_of(sides[0]["d"])[0][0] > middle[0]
    assert numbers_of(sides[1]["d"])[0][0] < middle[1]


def test_layers_from_the_outside_in(window: Window) -> None:
    sheet = window.sheet()
    layers = [n["layer"] for n in sheet["drawing"]["layers"]]
    assert layers == ["shell", "interfacing", "foam", "web", "lining"]
    front = panel_of(sheet, "side-front")
    assert [n["layer"] for n in front["layers"]] == layers
    foam = next(n for n in front["layers"] if n["layer"] == "foam")
    assert foam["net"]
    assert front["layers"][0]["net"] == "", "the panel's own"
    assert front["layers"][0]["placement"]
    assert len(front["layers"][0]["notches"]) == 6


def test_an_uneven_body_has_both_halves_in_two_rows(window: Window) -> None:
    assert window.edit("body.left.bust_to_underbust", "8.5 cm").status_code == 200
    sheet = window.sheet()
    panels = sheet["drawing"]["panels"]
    assert [p["side"] for p in panels] == ["left"] * 4 + ["right"] * 4
    assert [p["id"] for p in panels][3:5] == ["left-centre-back", "right-centre-back"]
    assert max(p["box"][3] for p in panels[:4]) < min(p["box"][1] for p in panels[4:])
    value = sheet["values"]["body.left.bust_to_underbust"]
    assert value["state"] == "measured"
    assert all(part.startswith("left-") for part in value["governs"])
    assert value["governs"]
    assert sheet["values"]["body.right.bust_to_underbust"]["state"] == "assumed"
    assert {h["id"] for h in sheet["drawing"]["handles"]} >= {"underbust:left", "underbust:right"}
    assert handle_of(sheet, "underbust:left")["keys"] == ["body.left.bust_to_underbust"]


def test_each_person_in_their_own_unit(window: Window) -> None:
    assert window.post("/api/settings", {"unit": "in"}).json() == {"unit": "in", "look": "auto"}
    values = window.sheet()["values"]
    assert values["body.bust"]["text"] == "≈37 13/16 in"
    assert values["body.bust"]["also"] == "96 cm"
    assert values["body.bust"]["edit"] == "96 cm", "in inches it would read back to 960.0001 mm"
    assert values["build.pad.top_drop"]["text"] == "1 cm", "as it was typed"
    # A bare number counts in the person's unit; a step is a sixteenth.
    assert window.edit("body.bust", "38").status_code == 200
    assert window.sheet()["values"]["body.bust"]["text"] == "38 in"
    answer = window.change("edit", key="body.bust", nudge=-1).json()
    assert answer["sheet"]["values"]["body.bust"]["text"] == "37 15/16 in"
    assert window.get("/api/session").json()["settings"]["unit"] == "in"
    assert window.post("/api/settings", {"unit": "furlong"}).status_code == 400


# --- edits


def test_an_edit_is_answered_with_the_new_drawing_and_kept(window: Window) -> None:
    before = handle_of(window.sheet(), "plunge")["at"]
    answer = window.edit("style.plunge", "6 1/2 cm").json()
    assert answer["saved"] is True
    after = handle_of(answer["sheet"], "plunge")
    assert after["at"][1] - before[1] == pytest.approx(5.0, abs=0.01), "5 mm lower on the paper"
    assert answer["sheet"]["values"]["style.plunge"]["text"] == "6 1/2 cm"
    text = window.get(f"/api/orders/{window.order}/file/order.toml").text
    assert 'plunge = "6 1/2 cm"' in text
    assert "# lowest point at the centre front" in text, "remarks stay"


@pytest.mark.parametrize(
    ("key", "text", "shown"),
    [
        ("body.waist", "28 1/4 in", "28 1/4 in"),
        ("body.waist", "71,5", "71.5 cm"),
        ("body.waist", "720mm", "720mm"),
        ("body.height", "", "168 cm"),
        ("style.neckline", "plunge", "a plunge"),
        ("style.neckline", "", "a sweetheart"),
        ("style.foam_ease", "true", "added"),
        ("build.lining", "fused", "a lining that is interfaced"),
        ("build.lining", "none", "no lining"),
        ("notions.bones", ["side", "centre_back"], "side seams and centre back"),
        ("hours.sew", "4,5", "4.5"),
        ("money.hour", "31.50", "31.50"),
        ("client.note", "two\nlines", "two\nlines"),
        ("name", "  moss top ", "moss top"),
        ("cloth.0.width", "1.4 m", "1.4 m"),
        ("cloth.0.remnants", "30 x 45 cm; 12 in by 24 in", "30 cm × 45 cm; 12 in × 24 in"),
        ("cloth.2.sheet", "50 × 100", "50 cm × 100 cm"),
        ("cloth.0.remnants", "", "none"),
    ],
)
def test_values_of_every_kind_are_edited(window: Window, key: str, text: Any, shown: str) -> None:
    answer = window.edit(key, text)
    assert answer.status_code == 200, answer.text
    assert answer.json()["sheet"]["values"][key]["text"] == shown
    assert window.sheet()["values"][key]["text"] == shown


@pytest.mark.parametrize(
    ("key", "text", "says"),
    [
        ("style.plunge", "24 cm", "under this top it may lie"),
        # Beyond any order, told by what is allowed in this one.
        ("style.plunge", "40 cm", r"^40\.0 cm \(15 3/4 in\) given; under this top it may lie .* to 16\.3 cm"),
        ("style.hem", "-9 cm", r"^-9\.0 cm \(.*\) given; on this body it may be"),
        ("build.pad.top_drop", "9 m", r"^that is 900\.0 cm \(.*\); it takes a length from 0\.0 cm .* to 6\.0 cm"),
        ("body.bust", "abc", "not a length.*; it takes a length from 55"),
        ("body.waist", "96 furlongs", "not known"),
        ("style.neckline", "boat", "must be"),
        ("hours.sew", "long", "number"),
        ("build.lining", "silk", "choices"),
        ("notions.bones", ["hem"], "hem"),
        ("cloth.9.width", "1 m", "no such value"),
        ("nowhere.at", "1", "no such value"),
        ("coutil", "2", "no such value"),
        ("money.currency", "XYZ", "currency"),
        ("cloth.0.remnants", "30", "width and length"),
        ("cloth.0.sheet", "a × b", "not a length"),
    ],
)
def test_what_cannot_be_keeps_the_last_good_drawing(window: Window, key: str, text: Any, says: str) -> None:
    before = window.sheet()
    answer = window.edit(key, text)
    assert answer.status_code == 422
    told = answer.json()
    assert told["error"] == "refused"
    assert told["refused"][0]["key"] == key
    assert re.search(says, told["refused"][0]["says"]), told
    after = window.sheet()
    assert after["drawing"] == before["drawing"]
    if isinstance(text, str) and text and key in after["values"]:
        assert after["values"][key]["typed"] == text, "nothing that was typed is lost"
        assert after["values"][key]["text"] == before["values"][key]["text"]


def test_a_conflict_of_the_tape_is_told_beside_every_value_of_it(window: Window) -> None:
    answer = window.edit("body.underbust", "99 cm").json()
    assert [r["key"] for r in answer["refused"]] == ["body.underbust", "body.bust"]
    assert "smaller than the bust" in answer["refused"][0]["says"]


def test_a_value_refused_for_another_is_taken_once_that_one_is_right(window: Window) -> None:
    assert window.edit("body.underbust", "99 cm").status_code == 422
    answer = window.edit("body.bust", "118 cm").json()
    assert answer["accepted"] == ["body.underbust"]
    values = answer["sheet"]["values"]
    assert values["body.underbust"]["text"] == "99 cm"
    assert "typed" not in values["body.underbust"]


def test_a_body_that_cannot_be_can_still_be_put_right(window: Window) -> None:
    text = window.get(f"/api/orders/{window.order}/file/order.toml").text.replace("underbust = 78", "underbust = 99")
    headers = {**window.headers, "Content-Type": "application/toml"}
    window.order = window.client.post("/api/orders/import", content=text.encode(), headers=headers).json()["order"][
        "id"
    ]
    window.sheet()
    assert window.edit("style.hem", "8 cm").status_code == 200, "not the cause"
    assert window.edit("body.underbust", "78 cm").status_code == 200
    assert window.edit("body.underbust", "99 cm").status_code == 422


def test_what_was_typed_and_refused_goes_when_the_value_is_right(window: Window) -> None:
    window.edit("body.waist", "70.")
    window.edit("body.waist", "seventy")
    assert window.sheet()["values"]["body.waist"]["typed"] == "seventy"
    window.edit("body.waist", "71")
    assert "typed" not in window.sheet()["values"]["body.waist"]


def test_arrow_keys_step_along_the_ruler(window: Window) -> None:
    def nudged(key: str, steps: int) -> str:
        answer = window.change("edit", key=key, nudge=steps)
        assert answer.status_code == 200, answer.text
        text: str = answer.json()["sheet"]["values"][key]["text"]
        return text

    assert nudged("body.waist", 1) == "70.6 cm"
    assert nudged("body.waist", -3) == "70.3 cm"
    assert nudged("build.pad.side_inset", 1) == "2.6 cm", "from an inch to the next millimetre"
    assert nudged("build.allowance", 1) == "9/16 in", "typed in inches, stepped in inches"
    assert nudged("style.cup_height", 1) == "6.5 cm", "from what was assumed"
    assert window.sheet()["values"]["style.cup_height"]["state"] == "stated"
    assert nudged("hours.sew", 1) == "3.5"


def test_a_preview_is_kept_nowhere(window: Window) -> None:
    before = window.version
    answer = window.change("edit", key="style.plunge", text="5 cm", preview=True).json()
    assert answer["saved"] is False
    assert answer["sheet"]["values"]["style.plunge"]["text"] == "5 cm"
    sheet = window.sheet()
    assert sheet["version"] == before
    assert sheet["values"]["style.plunge"]["text"] == "7 cm"


def test_cloths_are_added_and_taken_off(window: Window) -> None:
    before = len([k for k in window.sheet()["values"] if re.fullmatch(r"cloth\.\d+\.name", k)])
    answer = window.change("edit", key="cloth", add=True)
    assert answer.status_code == 200, answer.text
    assert f"cloth.{before}.name" in answer.json()["sheet"]["values"]
    for _ in range(before + 1):
        assert window.change("edit", key="cloth.0", remove=True).status_code == 200
    sheet = window.sheet()
    assert not [k for k in sheet["values"] if k.startswith("cloth.")]
    assert window.change("edit", key="cloth.0", remove=True).status_code == 422
    assert window.change("edit", key="cloth", add=True).status_code == 200


# --- drags


def test_every_point_follows_the_pointer(window: Window) -> None:
    """8 mm along its way: the value changes, and the point comes to lie under the pointer to half a step."""
    sheet = window.sheet()
    assert len(sheet["drawing"]["handles"]) >= 12
    for handle in sheet["drawing"]["handles"]:
        dx, dy = handle["along"] or (-0.7, 0.7)
        to = (handle["at"][0] + 8 * dx, handle["at"][1] + 8 * dy)
        answer = window.change("drag", handle=handle["id"], x=to[0], y=to[1], final=False)
        assert answer.status_code == 200, (handle["id"], answer.text[:300])
        told = answer.json()
        assert told["saved"] is False
        assert list(told["values"]) == handle["keys"]
        at = handle_of(told["sheet"], handle["id"])["at"]
        assert at == pytest.approx(to, abs=0.8), handle["id"]
    assert window.sheet()["version"] == sheet["version"]


def test_a_drag_is_kept_at_its_end_and_undone_in_one_step(window: Window) -> None:
    x, y = handle_of(window.sheet(), "plunge")["at"]
    for k in range(1, 6):
        assert window.change("drag", handle="plunge", x=x, y=y + k, final=False).json()["saved"] is False
    answer = window.change("drag", handle="plunge", x=x, y=y + 6.2, final=True).json()
    assert answer["saved"] is True
    assert answer["values"] == {"style.plunge": "6.4 cm"}
    assert "6.4" in answer["sheet"]["undo"]
    assert window.change("undo").json()["sheet"]["values"]["style.plunge"]["text"] == "7 cm"


def test_a_point_dragged_out_of_reach_stays(window: Window) -> None:
    before = window.sheet()
    x, y = handle_of(before, "plunge")["at"]
    answer = window.change("drag", handle="plunge", x=x, y=y + 300, final=True)
    assert answer.status_code == 422
    assert answer.json()["refused"][0]["key"] == "style.plunge"
    assert window.sheet()["drawing"] == before["drawing"]
    assert window.change("drag", handle="nowhere", x=0.0, y=0.0, final=True).status_code == 422
