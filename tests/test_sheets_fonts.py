"""Any label in any script, or word that it cannot be shown."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from coutil.sheets import fonts, pattern_pdf
from coutil.sheets.drawing import CAP_HEIGHT
from coutil.sheets.fonts import fallbacks, house_font, is_plain, measure, showable, subset
from printed import words_of
from sheets_fixture import with_pieces
from spoken import spoken, subject

# Scripts that the house font has by itself, whatever else the machine has.
AT_HOME = ["Ærø Þórunn", "Ελένη", "Жанна Ґалаґан", "Nguyễn", "½ × 3/8 – “q”", "कृष्णा"]
ELSEWHERE = ["עדי", "سلمى", "中村 さくら", "ไทย", "ᚠᚢᚦ", "😀", "\U00012000", "\ue000"]


@pytest.fixture
def bare_machine(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A machine without any font but the house's."""
    for f in (showable, fallbacks, measure):
        f.cache_clear()
    monkeypatch.setattr(fonts, "_font_files", tuple)
    yield
    for f in (showable, fallbacks, measure):
        f.cache_clear()


@pytest.mark.parametrize("text", AT_HOME)
def test_the_house_font_shows_the_scripts_it_has(text: str, bare_machine: None) -> None:
    assert showable(text) == fonts.Shown(text)
    assert fallbacks(text) == ()


@pytest.mark.parametrize("text", ELSEWHERE)
def test_what_cannot_be_shown_is_said(text: str, bare_machine: None) -> None:
    shown = showable(f"Ada {text}")
    assert set(shown.missing) == set(text) - {" "}
    for c in shown.missing:
        assert f"[U+{ord(c):04X}]" in shown.text
    (finding,) = shown.findings("client label")
    assert finding.level == "note"
    for c in shown.missing:
        assert f"U+{ord(c):04X}" in spoken(finding)
    sheet = pattern_pdf(with_pieces(), "A0", label=f"Ada {text}", order_name="paper")
    assert any(f.level == "note" and "label" in subject(f) for f in sheet.findings)


@pytest.mark.parametrize("text", [*AT_HOME, *ELSEWHERE])
def test_a_label_prints_or_is_told_of(text: str, tmp_path: Path) -> None:
    sheet = pattern_pdf(with_pieces(), "A0", label=text, order_name="paper")
    words = words_of(sheet.data, tmp_path)
    missing = set(showable(text).missing)
    assert bool(sheet.findings) == bool(missing)
    for c in text:
        if c in missing:
            assert f"[U+{ord(c):04X}]" in words
        elif c not in "\u094d ":
            assert c in words


def test_control_letters_and_forced_directions_print_nothing() -> None:
    assert showable("a\nb\tc\x00\u202ed\u2066e").text == "a b cde"
    assert showable("  many   spaces ").text == "many spaces"
    assert showable("").text == ""


def test_lengths_agree_with_the_font_itself() -> None:
    # Without kerning between them, letters are as wide as the font's own table says.
    font = TTFont(house_font())
    widths, letters = font["hmtx"].metrics, font.getBestCmap()
    for text in ("H", "n", "m", "8", "nnn", "HHH"):
        true = sum(widths[letters[ord(c)]][0] for c in text) / font["head"].unitsPerEm
        assert measure(text, 10.0) == pytest.approx(10.0 * true)
    assert font["OS/2"].sCapHeight / font["head"].unitsPerEm == pytest.approx(CAP_HEIGHT)
    font.close()


def test_joined_letters_are_measured_joined() -> None:
    # क + virama + ष is one sign, not three.
    assert measure("क्ष", 10.0) < measure("क", 10.0) + measure("ष", 10.0)


def test_a_subset_bears_the_letters_asked_for_and_few_others(tmp_path: Path) -> None:
    data = subset(house_font(), frozenset("Aé"))
    (tmp_path / "f.ttf").write_bytes(data)
    with TTFont(tmp_path / "f.ttf") as font:
        assert set(font.getBestCmap()) == {ord("A"), ord("é")}
        assert "fvar" not in font
    assert len(data) < 20_000 < house_font().stat().st_size


def test_plain_text_is_told_from_text_that_needs_shaping() -> None:
    assert is_plain("sea-green bustier · M. T. ½")
    assert not is_plain("कृष्णा")
    assert not is_plain("e\u0301")
