"""Every ready seaming on the page: all spreads work, every value can be taken in hand, nothing is lost by a change."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest

from coutil.make import work_out
from coutil.order import parse_order
from coutil.seaming import LEVELS, READY, told_seams
from coutil.web.pictures import pictures
from page_book import SPREADS
from web_page import Window, handle_of, numbers_of

WITHOUT_BUST = tuple(n for n, s in READY.items() if not s.bust)
UNDER_ARM = tuple(n for n, s in READY.items() if s.side is None)


def text_of(window: Window) -> str:
    return window.get(f"/api/orders/{window.order}/file/order.toml").text


def seamed(window: Window, name: str) -> dict[str, Any]:
    answer = window.edit("style.seaming", name)
    assert answer.status_code == 200, answer.text
    sheet: dict[str, Any] = answer.json()["sheet"]
    return sheet


def seams_of(window: Window) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = tomllib.loads(text_of(window))["style"]["seam"]
    return found


def wide(sheet: dict[str, Any], level: str) -> float:
    return float(sum(v["length"] for p in sheet["drawing"]["panels"] for v in p["levels"] if v["level"] == level))


@pytest.mark.parametrize("name", READY)
def test_every_spread_of_every_ready_seaming(name: str, window: Window) -> None:
    seamed(window, name)
    for spread in SPREADS:
        sheet = window.sheet(spread)
        assert "refused" not in sheet
        assert sheet["spread"]["id"] == spread
        assert "refused" not in sheet["spread"], sheet["spread"]
    panels = [p["name"] for p in sheet["drawing"]["panels"]]
    assert panels == [p.name for p in READY[name].panels]
    assert len({h["id"] for h in sheet["drawing"]["handles"]}) == len(sheet["drawing"]["handles"])
    assert {h["id"] for h in sheet["drawing"]["handles"]} >= {"side_top", "back_top", "hem", "hem_point", "plunge"}
    for told in sheet["spreads"]:
        for section in told["sections"]:
            for sentence in section["sentences"]:
                for run in sentence["runs"]:
                    assert "value" in run or ("{" not in run["text"] and run["text"])
    for key, value in sheet["values"].items():
        assert value["text"], key
    # What is touched brings a value to hand that some sentence says, and every edge and level does.
    for panel in sheet["drawing"]["panels"]:
        for part in (*panel["edges"], *panel["levels"]):
            assert sheet["drawing"]["hand"][part["id"]] in sheet["values"], part["id"]
    assert not [f for f in sheet["findings"] if f["level"] == "stop"]


@pytest.mark.parametrize("name", READY)
def test_every_point_of_every_ready_seaming_goes_where_it_is_pulled(name: str, window: Window) -> None:
    """5 mm along its way, in the direction in which there is room."""
    sheet = seamed(window, name)
    assert window.edit("style.hem_point_back", "3").status_code == 200
    sheet = window.sheet()
    for handle in sheet["drawing"]["handles"]:
        if handle["along"] is None or not handle["keys"][0].startswith("style."):
            continue
        (x, y), (ax, ay) = handle["at"], handle["along"]
        by = -5.0 if handle["text"] != "0 cm" else 5.0
        answer = window.change("drag", handle=handle["id"], x=x + by * ax, y=y + by * ay, final=False)
        assert answer.status_code == 200, (handle["id"], answer.text)
        after = handle_of(answer.json()["sheet"], handle["id"])
        moved = (after["at"][0] - x) * ax + (after["at"][1] - y) * ay
        assert moved == pytest.approx(by, abs=1.0), handle["id"]


@pytest.mark.parametrize("name", WITHOUT_BUST)
def test_a_garment_without_a_bust_asks_for_what_it_needs(name: str, window: Window) -> None:
    sheet = seamed(window, name)
    assert sheet["body"]["not_taken"] == []
    needed = {k for k, v in sheet["values"].items() if v.get("needed")}
    assert needed == {"body.underbust", "body.waist", "body.underbust_to_waist"}
    assert sheet["values"]["body.underbust_to_waist"]["text"] == "10.5 cm", "the demo's 18.5 less 8"
    assert "style.cup_height" not in sheet["values"]
    assert "style.ease.bust" not in sheet["values"]
    # Without the bust it stays what it is; without its ribs' length it is drawn from a standard size.
    for key in ("body.bust", "body.bust_span", "body.bust_to_underbust"):
        assert window.edit(key, "").status_code == 200
    assert window.sheet()["body"]["not_taken"] == ["underbust to waist"]
    answer = window.edit("body.underbust_to_waist", "11")
    assert answer.json()["sheet"]["body"]["not_taken"] == []
    # A seaming with a bust needs them again: not taken, never refused, never called measured.
    again = seamed(window, "corset-5")
    assert set(again["body"]["not_taken"]) == {"bust", "bust span", "bust to underbust"}
    assert again["values"]["body.bust"]["state"] == "not_taken"


def test_what_has_no_place_is_told_and_comes_back(window: Window) -> None:
    assert window.edit("style.cup_height", "6").status_code == 200
    assert window.edit("build.allowances.back_princess", "2").status_code == 200
    sheet = seamed(window, "underbust-5")
    said = " ".join(f["says"] for f in sheet["findings"])
    assert "height of the cup is kept, but not used" in said.lower()
    assert "allowance of the back princess seam is kept, but not used" in said.lower()
    assert sheet["values"]["style.plunge"]["typed"] == "7 cm", "no top under the bust stands 7 cm above the underbust"
    assert "plunge = 7" not in text_of(window)
    back = window.edit("style.seaming", "princess-4").json()
    assert back["accepted"] == ["style.plunge"]
    values = back["sheet"]["values"]
    assert [values[k]["text"] for k in ("style.plunge", "style.cup_height")] == ["7 cm", "6 cm"]
    assert values["build.allowances.back_princess"]["text"] == "2 cm"


def test_a_side_that_opens_needs_a_side_seam(window: Window) -> None:
    assert window.change("edit", key="style.opening", add=True).status_code == 200
    assert window.edit("style.opening.1.at", "side_left").status_code == 200
    answer = window.edit("style.seaming", "corset-7")
    assert answer.status_code == 422
    assert "has no side seam" in answer.json()["refused"][0]["says"]
    assert window.edit("style.opening.1.at", "centre_front").status_code == 200
    seamed(window, "corset-7")
    places = window.sheet()["values"]["style.opening.1.at"]["choices"]
    assert [c["value"] for c in places] == ["centre_front"]


def test_openings_are_added_changed_and_removed(window: Window) -> None:
    before = window.sheet()
    added = window.change("edit", key="style.opening", add=True).json()["sheet"]
    style = tomllib.loads(text_of(window))["style"]
    assert style["opening"] == [
        {"at": "centre_back", "with": "lacing", "gap": 5},
        {"at": "centre_front", "with": "busk"},
    ]
    assert "closing" not in style
    assert "lacing_gap" not in style
    assert not [f for f in added["findings"] if "not used" in f["says"]]
    # The lacing leaves open what it left: no girth changes, and the centre front lies on no fold.
    assert wide(added, "waist") == pytest.approx(wide(before, "waist"), abs=0.01)
    assert before["drawing"]["panels"][0]["fold"]
    assert added["drawing"]["panels"][0]["fold"] is None
    assert "style.centre_front" not in added["values"]
    # Elastic has a width and a stretch; a zip neither.
    assert window.edit("style.opening.0.with", "elastic").status_code == 200
    assert window.edit("style.opening.0.gap", "10").status_code == 200
    assert window.edit("style.opening.0.drawn", "25").json()["sheet"]["values"]["style.opening.0.drawn"]["text"] == "25"
    assert window.edit("style.opening.0.with", "zip").status_code == 200
    assert tomllib.loads(text_of(window))["style"]["opening"][0] == {"at": "centre_back", "with": "zip"}
    # Whole again: what was closed is wide by what the lacing left open.
    assert wide(window.sheet(), "waist") == pytest.approx(wide(before, "waist") + 25.0, abs=0.3)
    gone = window.change("edit", key="style.opening.1", remove=True).json()["sheet"]
    assert gone["drawing"]["panels"][0]["fold"]
    assert window.change("edit", key="style.opening.0", remove=True).status_code == 422, "she has to get in"


@pytest.mark.parametrize("name", ["princess-5", "corset-7", "belt-3"])
def test_a_seaming_of_her_own_begins_as_the_one_that_is_there(name: str, window: Window) -> None:
    before = seamed(window, name)
    answer = window.change("edit", key="style.seam", add=True)
    assert answer.status_code == 200, answer.text
    sheet = answer.json()["sheet"]
    assert sheet["values"]["style.seaming"]["value"] == "own"
    assert [p["net"] for p in sheet["drawing"]["panels"]] == [p["net"] for p in before["drawing"]["panels"]]
    assert [s["name"] for s in seams_of(window)] == [s.name for s in told_seams(READY[name])]
    # Kept beside a ready one, told, and taken up again as it was.
    other = seamed(window, "princess-4" if READY[name].bust else "underbust-4")
    assert any("seaming of your own is kept" in f["says"] for f in other["findings"])
    assert [p["net"] for p in seamed(window, "own")["drawing"]["panels"]] == [
        p["net"] for p in sheet["drawing"]["panels"]
    ]


@pytest.mark.parametrize("name", ["princess-5", "corset-7", "underbust-6"])
def test_places_of_her_own_seams_are_dragged(name: str, window: Window) -> None:
    seamed(window, name)
    assert window.change("edit", key="style.seam", add=True).status_code == 200
    placed = [n for n, s in enumerate(READY[name].seams) if s.at is not None]
    assert [h["id"] for h in window.sheet()["drawing"]["handles"] if h["id"].startswith("seam_")] == [
        f"seam_{n}" for n in placed
    ]
    highest = READY[name].highest
    for n in placed:
        before = window.sheet()
        handle = handle_of(before, f"seam_{n}")
        (x, y), (ax, ay) = handle["at"], handle["along"]
        answer = window.change("drag", handle=f"seam_{n}", x=x + 6 * ax, y=y + 6 * ay, final=True)
        assert answer.status_code == 200, answer.text
        after = answer.json()["sheet"]

        def widths(sheet: dict[str, Any], level: str = highest) -> list[float]:
            return [next(v["length"] for v in p["levels"] if v["level"] == level) for p in sheet["drawing"]["panels"]]

        # The panel before it wins what the one behind it loses; all others keep theirs.
        won = [b - a for a, b in zip(widths(before), widths(after), strict=True)]
        assert won[n] == pytest.approx(6.0, abs=0.3)
        assert won[n + 1] == pytest.approx(-won[n], abs=0.05)
        assert [w for k, w in enumerate(won) if k not in (n, n + 1)] == pytest.approx([0.0] * (len(won) - 2), abs=0.05)
        assert seams_of(window)[n]["at"] != READY[name].seams[n].at


def test_what_an_edge_takes_the_others_give(window: Window) -> None:
    assert window.change("edit", key="style.seam", add=True).status_code == 200
    answer = window.edit("style.seam.0.near.waist", "45 %")
    assert answer.status_code == 200, answer.text
    front = [seams_of(window)[k][e][1] for k, e in ((0, "near"), (0, "far"), (1, "near"))]
    assert sum(front) == pytest.approx(1.0, abs=1e-6)
    assert front == pytest.approx([0.45, 0.55 * 0.40 / 0.65, 0.55 * 0.25 / 0.65], abs=1e-5), "in proportion"
    assert seams_of(window)[1]["far"] == [0.5, 0.3, 0.5], "the back's are the back's"
    step = window.change("edit", key="style.seam.0.near.waist", nudge=-5).json()["sheet"]
    assert step["values"]["style.seam.0.near.waist"]["text"] == "40 %"
    for wrong in ("96 %", "-1", "much", "2 3"):
        assert window.edit("style.seam.0.near.waist", wrong).status_code == 422
    # Typed in one hand, each beginning of it is a share too; what is left in the end is as if typed at once.
    hand = window.sheet()["step"]
    for text in ("3", "30", "30 %"):
        assert window.change("edit", key="style.seam.2.far.waist", text=text, hand=hand).status_code == 200
    whole = [seams_of(window)[k][e][1] for k, e in ((1, "far"), (2, "near"), (2, "far"))]
    assert whole == pytest.approx([0.7 * 0.3 / 0.65, 0.7 * 0.35 / 0.65, 0.3], abs=1e-4)
    back = window.change("edit", key="style.seam.2.far.waist", back=True, hand=hand)
    assert back.status_code == 200
    assert [seams_of(window)[k][e][1] for k, e in ((1, "far"), (2, "near"), (2, "far"))] == [0.3, 0.35, 0.35]


@pytest.mark.parametrize(
    ("key", "text", "shown"),
    [
        ("style.upper", "a third", "a third"),
        ("style.upper", "35", "35 %"),
        ("style.upper", "1", "all"),
        ("style.upper", "0 %", "none"),
        ("style.neckline", "pointed", "pointed over the breast"),
        ("style.neckline", "scoop", "a scoop"),
        ("style.back", "v", "in a V"),
        ("style.hem", "-3", "3 cm above the waist"),
        ("style.hem", "22", "22 cm"),
        ("style.plunge", "-2", "2 cm below the underbust"),
        ("style.hem_point_back", "4", "4 cm"),
        ("style.hem_line", "curved", "runs in a curve"),
        ("style.centre_front", "seam", "has a seam"),
    ],
)
def test_all_that_style_says_is_edited(window: Window, key: str, text: str, shown: str) -> None:
    before = window.sheet()
    answer = window.edit(key, text)
    assert answer.status_code == 200, answer.text
    sheet = answer.json()["sheet"]
    assert sheet["values"][key]["text"] == shown
    if key != "style.hem_line":
        assert sheet["drawing"]["panels"] != before["drawing"]["panels"]
    # What the field shows in hand reads back to the same.
    again = window.edit(key, sheet["values"][key].get("edit", sheet["values"][key].get("value", shown)))
    assert again.status_code == 200
    assert again.json()["sheet"]["values"][key]["text"] == shown


def test_a_hem_to_the_hip_draws_its_level(window: Window) -> None:
    sheet = window.edit("style.hem", "22").json()["sheet"]
    ids = [v["id"] for p in sheet["drawing"]["panels"] for v in p["levels"] if v["level"] == LEVELS[0]]
    assert len(ids) == 4
    assert set(ids) <= set(sheet["values"]["body.hip"]["governs"])
    assert all(sheet["drawing"]["hand"][part] == "body.hip" for part in ids)
    assert handle_of(sheet, "hip")["keys"] == ["body.hip_depth"]


def test_ease_that_is_left_open_is_told_with_its_figure(window: Window) -> None:
    sheet = window.edit("style.ease.waist", "").json()["sheet"]
    value = sheet["values"]["style.ease.waist"]
    assert value["state"] == "assumed"
    assert "closes" in value["why"]
    # 6.5 % of the waist's 70.5 cm for what is laced.
    assert value["text"] == "4.6 cm less"
    nudged = window.change("edit", key="style.ease.waist", nudge=1).json()["sheet"]["values"]["style.ease.waist"]
    assert nudged["state"] == "stated"
    assert nudged["text"] == "4.5 cm less"


@pytest.mark.parametrize(
    "style",
    ['[[style.opening]]\nat = "centre_back"\nwith = "elastic"\n', "plunge = -4\n"],
    ids=["elastic", "net"],
)
def test_panels_beside_the_seaming_have_no_handles_of_their_own(style: str, window: Window) -> None:
    """An elastic panel and the net of a low plunge."""
    if "elastic" in style:
        assert window.change("edit", key="style.opening", add=True).status_code == 200
        sheet = window.edit("style.opening.0.with", "elastic").json()["sheet"]
    else:
        sheet = window.edit("style.plunge", "-4").json()["sheet"]
    assert len(sheet["drawing"]["panels"]) == 5
    ids = [h["id"] for h in sheet["drawing"]["handles"]]
    assert len(set(ids)) == len(ids)
    assert {"plunge", "hem_point", "back_top", "hem_point_back", "side_top", "hem"} <= set(ids)


def test_the_pictures_are_drafts() -> None:
    """As many outlines as panels, none of them like another, each drawn by a curve and closed."""
    found = pictures()
    assert set(found["style.seaming"]) == set(READY)
    for name, picture in found["style.seaming"].items():
        assert len(picture["panels"]) == len(READY[name].panels)
        x0, y0, x1, y1 = picture["box"]
        for d in picture["panels"]:
            assert d.endswith("Z")
            assert "C" in d
            assert all(x0 <= x <= x1 and y0 <= y <= y1 for x, y in numbers_of(d))
    for key, count in (("style.neckline", 6), ("style.back", 3)):
        drawn = {"".join(p["panels"]) for p in found[key].values()}
        assert len(drawn) == count


def test_the_page_asks_for_the_pictures(window: Window) -> None:
    assert window.get("/api/pictures").json() == {"pictures": pictures()}


@pytest.mark.parametrize("name", UNDER_ARM)
def test_a_panel_under_the_arm_lights_what_the_side_seam_would(name: str, window: Window) -> None:
    sheet = seamed(window, name)
    arm = READY[name].panels[READY[name].under_arm or 0].name.replace(" ", "-")
    assert f"{arm}/edge/top" in sheet["values"]["style.side_top"]["governs"]
    assert f"{arm}/edge/hem" in sheet["values"]["style.hem"]["governs"]
    assert sheet["drawing"]["hand"][f"{arm}/edge/top"] == "style.side_top"
    assert handle_of(sheet, "side_top")["panel"] == arm


def test_an_order_of_the_page_is_an_order(window: Window) -> None:
    """What the page writes of openings and seams reads back as the file's reader reads it, remarks and all."""
    seamed(window, "corset-6")
    window.change("edit", key="style.seam", add=True)
    window.change("edit", key="style.opening", add=True)
    text = text_of(window)
    order = parse_order(text)
    assert [o.closed_with for o in order.style.openings] == ["lacing", "busk"]
    assert told_seams(order.style.seaming) == told_seams(READY["corset-6"])
    assert "# drawn in by the lacing" in text
    assert len(work_out(order).pattern.panels) == 6
