"""Every text of the page is in the catalogue, every pair of colours can be read, no source names another machine."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from coutil.words import catalogue
from page_book import ROOT

SOURCES = sorted((ROOT / "frontend/src").rglob("*.ts*"))
# Texts that are looked up by a name made at run time: t(`level.${...}`).
MADE = re.compile(r"t\(\s*`([^`]+)`")
SAID = re.compile(r'\bt\(\s*(?:[^"`()]*\?\s*)?"([a-z_.]+)"(?:\s*:\s*"([a-z_.]+)")?')


def sources() -> dict[Path, str]:
    assert len(SOURCES) > 20
    return {path: path.read_text("utf-8") for path in SOURCES}


def test_every_text_that_the_page_asks_for_is_in_the_catalogue() -> None:
    known = catalogue()
    missing = []
    for path, text in sources().items():
        for said in SAID.findall(text):
            missing += [
                f"{path.name}: {key}" for key in said if key and f"page.{key}" not in known and key not in known
            ]
    assert missing == []


def test_every_text_of_the_page_is_asked_for() -> None:
    """A text that nothing shows is a text that a translator translates for nobody."""
    together = "\n".join(sources().values())
    made = [re.escape(m).replace(r"\$\{", "${") for m in MADE.findall(together)]
    patterns = [re.compile("^" + re.sub(r"\$\{[^}]*\}", "[a-z_]+", m) + "$") for m in made]
    unused = [
        key
        for key in catalogue()
        if key.startswith("page.") and f'"{key[5:]}"' not in together and not any(p.match(key[5:]) for p in patterns)
    ]
    assert unused == []


def test_the_page_holds_no_sentence_of_its_own() -> None:
    """No words between tags: every text goes through the catalogue."""
    words = re.compile(r">\s*([A-Za-z][A-Za-z ,.']{2,})\s*<")
    found = [
        f"{path.name}: {m}"
        for path, text in sources().items()
        if path.suffix == ".tsx"
        for m in words.findall(re.sub(r"//.*|/\*.*?\*/", "", text, flags=re.S))
    ]
    assert found == []


def test_nothing_of_the_build_names_another_machine() -> None:
    lock = (ROOT / "frontend/package-lock.json").read_text("utf-8")
    assert '"resolved"' not in lock
    for path, text in sources().items():
        assert not re.search(r"https?://", text), path.name


# --- colours


HEX = "#[0-9a-f]{6}(?:[0-9a-f]{2})?"


def looks() -> dict[str, dict[str, str]]:
    """The colours of each look; whatever in the file is not one pair for day and night fails here."""
    css = re.sub(r"/\*.*?\*/", "", (ROOT / "frontend/src/style/colours.css").read_text("utf-8"), flags=re.S)
    blocks = dict(re.findall(r"(\S+) \{([^}]*)\}", css))
    assert set(blocks) == {":root", ':root[data-look="light"]', ':root[data-look="dark"]'}
    schemes = {selector: re.findall(r"color-scheme:\s*([a-z ]+);", body) for selector, body in blocks.items()}
    assert schemes == {
        ":root": ["light dark"],
        ':root[data-look="light"]': ["light"],
        ':root[data-look="dark"]': ["dark"],
    }
    out: dict[str, dict[str, str]] = {"white": {}, "carbon": {}}
    for name, value in re.findall(r"--([a-z-]+):\s*([^;]+);", css):
        if name == "serif":
            continue
        pair = re.fullmatch(rf"light-dark\(({HEX}), ({HEX})\)", value)
        assert pair, f"{name}: {value}"
        assert name not in out["white"], f"{name} stands twice"
        out["white"][name], out["carbon"][name] = pair.groups()
    assert {c for pair in (*TEXT, *LINES) for c in pair} <= set(out["white"])
    return out


def luminance(colour: str) -> float:
    """Relative luminance of sRGB as WCAG 2.2 defines it."""
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    r, g, b = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one: str, other: str) -> float:
    a, b = sorted((luminance(one), luminance(other)), reverse=True)
    return (a + 0.05) / (b + 0.05)


def test_contrast_by_the_closed_form() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    # WCAG's own example of a grey that just fails and one that just passes 4.5:1 on white.
    assert contrast("#777777", "#ffffff") < 4.5 < contrast("#767676", "#ffffff")


TEXT = [
    *[
        ("ink", ground)
        for ground in ("page", "slip", "squared", "ground", "pen-wash", "stop-wash", "warn-wash", "cloth", "pad")
    ],
    *[("soft", ground) for ground in ("page", "slip", "squared", "ground")],
    *[("pen", ground) for ground in ("page", "slip", "pen-wash", "squared", "ground")],
    *[("pencil", ground) for ground in ("page", "slip", "pen-wash")],
    ("stop", "page"),
    ("stop", "slip"),
    ("stop", "stop-wash"),
    ("warn", "page"),
    ("warn", "slip"),
    ("warn", "warn-wash"),
    ("note", "slip"),
    ("note", "page"),
    ("page", "pen"),
    ("tape-ink", "tape"),
    ("tape-stop", "tape"),
    ("table-ink", "table"),
]
# Lines and points that mean something want 3:1 (WCAG 1.4.11).
LINES = [
    ("ink", "ground"),
    ("ink", "squared"),
    ("pen", "squared"),
    ("soft", "ground"),
    ("stop", "squared"),
    ("warn", "squared"),
    ("note", "cloth"),
]


@pytest.mark.parametrize("look", ["white", "carbon"])
def test_words_and_lines_stand_out_from_their_ground(look: str) -> None:
    colours = looks()[look]
    pale = [
        f"{a} on {b}: {contrast(colours[a], colours[b]):.2f}" for a, b in TEXT if contrast(colours[a], colours[b]) < 4.5
    ]
    faint = [
        f"{a} on {b}: {contrast(colours[a], colours[b]):.2f}" for a, b in LINES if contrast(colours[a], colours[b]) < 3
    ]
    assert pale == []
    assert faint == []
