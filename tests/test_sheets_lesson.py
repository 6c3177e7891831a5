"""The lesson: every step, every figure in cm and in inches, nothing of the client's words lost or taken for markup."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from coutil.body import resolve_body
from coutil.draft import draft
from coutil.draft.steps import Figure, Step
from coutil.order import Style
from coutil.plane import line
from coutil.sheets import lesson_pdf, lesson_text
from coutil.sheets.fonts import printed
from coutil.sheets.lesson import COLUMN, TALLEST, figure_words, group_drawing, groups, lesson_data, parts
from coutil.sheets.wording import cautions
from printed import words_of

# A body of our own invention, in mm.
TAPE = {
    "bust": 960.0, "underbust": 800.0, "waist": 740.0, "bust_span": 190.0, "bust_to_underbust": 85.0,
    "bust_to_waist": 175.0, "high_hip": 900.0, "high_hip_depth": 100.0,
}  # fmt: skip


def steps(*, uneven: bool = False) -> tuple[Step, ...]:
    left = {"bust_to_underbust": 90.0, "bust_to_waist": 180.0} if uneven else None
    return draft(resolve_body(TAPE, left), Style(neckline="sweetheart"), "paper").steps


def step(says: str = "Square out {far} from W0.", *figures: Figure) -> Step:
    return Step("a frame", "centre front", "both", "square out", says, "why", figures, (("W0", (0.0, 0.0)),), (), ())


@pytest.mark.parametrize("uneven", [False, True])
def test_every_step_and_figure_is_printed(uneven: bool, tmp_path: Path) -> None:
    made = steps(uneven=uneven)
    words = words_of(lesson_pdf(made, "sea-green bustier", "M. T."), tmp_path, "-raw")
    for n, s in enumerate(made, 1):
        assert f"{n}. " in words
        said = " ".join(printed("".join(text for text, _ in parts(s))).split())
        # The reader may break lines anywhere, also after a hyphen.
        assert said.replace(" ", "") in words.replace(" ", ""), said
        assert s.why.replace(" ", "") in words.replace(" ", "")
    for title in {g.title for g in groups(made)}:
        assert title in words
    if uneven:
        assert "(left side)" in words
        assert "(right side)" in words


def test_figures_are_in_cm_and_in_inches() -> None:
    # 1 in = 25.4 mm (1959 agreement).
    assert figure_words(Figure("a", 254.0)) == "25.4 cm (10 in)"
    assert figure_words(Figure("a", 9.525)) == "9.5 mm (3/8 in)"
    assert figure_words(Figure("a", 65.8)) == "6.6 cm (≈2 9/16 in)"
    assert figure_words(Figure("a", 0.0)) == "0 cm (0 in)"
    # A bow of 0.35 mm was told as "0.4 mm (≈0 in)".
    assert figure_words(Figure("a", 0.35)) == "0.4 mm (1/64 in)"
    assert figure_words(Figure("a", 0.6)) == "0.6 mm (1/32 in)"
    assert figure_words(Figure("a", 12.34, "degree")) == "12.3°"
    made = steps()
    shown = [text for s in made for text, is_figure in parts(s) if is_figure]
    assert len(shown) == sum(len(re.findall(r"\{", s.says)) for s in made) > 50
    for text in shown:
        assert re.fullmatch(r"≈?-?[\d.]+ (cm|mm) \(≈?-?[\d /]+ in\)|-?[\d.]+°", text), text


def test_a_figure_that_is_missing_is_refused() -> None:
    with pytest.raises(ValueError, match="far"):
        lesson_text([step()])
    assert "Square out 10.0 cm" in lesson_text([step("Square out {far} from W0.", Figure("far", 100.0))])


def test_text_and_data_say_the_same() -> None:
    made = steps()
    text, data = lesson_text(made), lesson_data(made)
    assert [d["number"] for d in data] == list(range(1, len(made) + 1))
    for d in data:
        assert f"{d['number']:>3}. {d['says']}" in text


@pytest.mark.parametrize("label", ['#x $y$ *b* _i_ `c` @ref <l> \\ "q" // /* ] }', "#panic(1)", "", "  ", "😀\x00\n‮x"])
def test_words_of_a_client_are_not_markup(label: str, tmp_path: Path) -> None:
    words = words_of(lesson_pdf(steps()[:8], label, label), tmp_path, "-raw")
    if "panic" in label or "#x" in label:
        assert label.replace(" ", "") in words.replace(" ", "")


def test_the_lesson_is_repeatable() -> None:
    made = steps()
    assert lesson_pdf(made, "paper", "M. T.") == lesson_pdf(made, "paper", "M. T.")


def test_cautions_are_those_of_the_layers() -> None:
    # docs/method.md, cautions.
    assert any("tight" in c for c in cautions([]))
    assert not any("laser" in c for c in cautions(["shell", "lining"]))
    assert any("laser" in c for c in cautions(["foam"]))
    assert any("steam" in c for c in cautions(["web"]))
    assert any("tips" in c for c in cautions(["shell"]))


def test_drawings_fit_their_column_and_name_their_points() -> None:
    made = steps()
    before: dict[str, list[Step]] = {}
    for g in groups(made):
        if not g.draws:
            continue
        panel = g.steps[0].panel
        d = group_drawing(g, before.setdefault(panel, []), 4.0)
        x0, y0, x1, y1 = d.bounds()
        assert (x1 - x0) / 4.0 <= COLUMN
        assert (y1 - y0) / 4.0 <= TALLEST
        said = {t.says for t in d.texts}
        assert said >= {name for s in g.steps for name, _ in s.points}
        # What this group draws is in ink, all of it and nothing else.
        assert sum(n.style == "panel" for n in d.lines) == sum(len(s.curves) for s in g.steps)
        before[panel] += g.steps


def test_drawings_lie_face_up() -> None:
    # The words speak of left and right as seen with the right side of the cloth up: a back panel's x is turned over.
    for part, box in (("front", (0.0, 0.0, 50.0, 10.0)), ("back", (-50.0, 0.0, 0.0, 10.0))):
        s = replace(step("Square out."), part=part, curves=(line((0.0, 0.0), (50.0, 10.0)),))
        (g,) = groups([s])
        drawn = next(n for n in group_drawing(g, [], 4.0).lines if n.style == "panel")
        assert drawn.path.bounds() == pytest.approx(box)
