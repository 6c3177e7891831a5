"""What is said on the page speaks of values by their names, not by the order file's keys."""

from __future__ import annotations

import re

import pytest

from coutil.pattern import ClothRef, KeysRef, SeamRef
from coutil.web.naming import named, subject
from web_page import Window

_A_KEY = re.compile(r"[a-z](?:_|\.)[a-z]")


def test_findings_and_remarks_speak_of_names(window: Window) -> None:
    # Short for this difference of bust and underbust: a warning, and a remark beside the values.
    assert window.edit("body.bust", "104 cm").status_code == 200
    assert window.edit("body.bust_to_underbust", "6 cm").status_code == 200
    sheet = window.sheet("money")
    said_of = {f["about"]: f["says"] for f in sheet["findings"]}
    assert said_of["height of the cup"].startswith("Height of the cup was not given; drawn as ")
    assert said_of["upper bust girth"].startswith("Upper bust girth is by rule, ")
    assert "bust point to underbust 6.0 cm" in said_of["bust girth, underbust girth, bust point to underbust"].lower()
    assert "Bust point to underbust" in sheet["values"]["body.bust_to_underbust"]["remark"]["says"]
    for finding in (*sheet["findings"], *sheet["spread"]["findings"]):
        assert not _A_KEY.search(finding["about"] + " " + finding["says"]), finding


def test_findings_lead_to_their_values_still(window: Window) -> None:
    found = {f["about"]: f for f in window.sheet()["findings"]}
    assert found["height of the cup"]["keys"] == ["style.cup_height"]
    assert found["height of the cup"]["id"] == "style.cup_height#1"


@pytest.mark.parametrize(
    ("key", "name"),
    [
        ("style.hem", "hem"),
        ("bust_span", "bust span"),
        ("left.bust_point", "left bust point"),
        ("side_inset", "pad in from the side seam"),
        ("bust", "bust"),
        ("no_such_key", "no_such_key"),
    ],
)
def test_keys_have_names(key: str, name: str) -> None:
    assert named(key) == name


def test_what_no_body_has_is_refused_by_names(window: Window) -> None:
    answer = window.edit("body.bust_to_underbust", "19 cm")
    assert answer.status_code == 422
    found = {r["key"]: r["says"] for r in answer.json()["refused"]}
    assert set(found) == {"body.bust_to_underbust", "body.bust_to_waist"}
    for text in found.values():
        assert text.startswith("Bust point to underbust")
        assert "bust point to waist" in text
        assert not _A_KEY.search(text)
        assert not text.endswith(".")


def test_subjects_that_are_no_keys_stay() -> None:
    assert subject(SeamRef("front princess")) == "front princess seam"
    # A cloth may be called anything.
    assert subject(ClothRef("style.hem")) == "style.hem"
    assert subject(KeysRef(("style.ease.bust", "body.bust"))) == "ease at the bust, bust girth"
    assert subject(KeysRef(("body.left.front_bust",))) == "left front bust"


@pytest.mark.parametrize(
    ("key", "text"),
    [
        ("body.bust_span", "39 cm"),
        ("body.underbust", "120 cm"),
        ("body.waist", "20 cm"),
        ("body.bust_to_underbust", "17 cm"),
        ("style.peak", "40 cm"),
        ("style.plunge", "30 cm"),
        ("style.side_top", "3 cm"),
        ("style.hem", "90 cm"),
        ("build.pad.top_drop", "9 m"),
        ("build.pad.thickness", "4 ells"),
        ("money.hour", "much"),
        ("notions.closing_inset", "30 cm"),
    ],
)
def test_what_is_refused_speaks_of_names(window: Window, key: str, text: str) -> None:
    answer = window.edit(key, text)
    assert answer.status_code == 422, answer.text
    for r in answer.json()["refused"]:
        assert not _A_KEY.search(re.sub(r'"[^"]*"', "", r["says"])), r
        assert "[" not in r["says"], r


def test_what_needs_another_value_speaks_of_names(window: Window) -> None:
    assert window.edit("style.foam_ease", "true").status_code in (200, 422)
    answer = window.edit("build.pad.thickness", "")
    assert answer.status_code == 422, answer.text
    assert [r["says"] for r in answer.json()["refused"]] == ["needs the thickness of the foam, such as 6 mm"]
