"""The making-up card: steps in the order of the work, with this order's figures, and only those of this build."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from bodice import BODY, UNEVEN, made, plan
from coutil.docket import MakingStep, make_docket, making_up
from coutil.order import Order
from coutil.pattern import Cup, Pattern
from coutil.sheets.card import card_pdf
from coutil.sheets.sketches import SIZE, sketch
from coutil.sheets.wording import cautions
from printed import words_of

FULL = '[style]\nclosing = "lacing"\n[build.pad]\nthickness = "6 mm"\n[build.lining]\n'


def steps(text: str = FULL, body: str = BODY) -> tuple[MakingStep, ...]:
    order, pattern = made(text, body)
    return making_up(order, pattern, make_docket(order, pattern, None))


def titles(text: str = FULL, body: str = BODY) -> list[str]:
    return [s.title for s in steps(text, body)]


def step(start: str, text: str = FULL, body: str = BODY) -> str:
    return " ".join(next(s for s in steps(text, body) if s.title.startswith(start)).says)


def test_the_order_of_the_work() -> None:
    # Toile, fuse before cutting, mark, press open over a form and mould with steam, repeat for the lining, tip bones,
    # fit, set the eyelets, hem last: common practice, no source.
    got = titles()
    wanted = [
        "Toile first",
        "Fuse first, then cut",
        "Steam the lining, then cut",
        "Cut the other layers",
        "Mark",
        "Set the pads",
        "Baste, and try it on",
        "Sew the front princess seams of the shell",
        "Clip and press the shell over a curved form",
        "Sew the other seams of the shell",
        "Sew the casings",
        "Turn the edges of the opening",
        "Repeat for the lining",
        "Join shell and lining at the top",
        "Cut, tip and insert the bones",
        "Second fitting",
        "Set the eyelets and lace",
        "Close the hem",
        "Press off and fit",
    ]
    assert got == wanted


def test_only_what_the_build_has() -> None:
    bare = titles('[style]\nclosing = "zip"\n')
    assert not any("lining" in t for t in bare)
    assert "Set the zip" in bare
    assert "Turn in the top" in bare
    # A zip is set before the top is closed; hooks are sewn on when it has been fitted, and the hem is last.
    assert bare.index("Set the zip") < bare.index("Turn in the top")
    hooks = titles('[style]\nclosing = "hooks"\n[build.lining]\nfused = true\n')
    assert hooks.index("Second fitting") < hooks.index("Sew on hooks and eyes") < hooks.index("Close the hem")
    assert not any("Steam the lining" in t for t in hooks)
    assert "Its pieces were fused" in step("Repeat", "[build.lining]\nfused = true\n")
    assert "lining" not in " ".join(" ".join(s.says) for s in steps('[style]\nclosing = "zip"\n'))


def test_the_placement_line_is_the_allowance_less_what_the_seam_catches() -> None:
    # Common practice, no source: 1/2 in less 1/8 in is 3/8 in.
    says = step("Set the pads")
    assert "9.5 mm (3/8 in) inside the cut edge" in says
    assert "catch 3.2 mm (1/8 in) of the foam" in says
    wide = step("Set the pads", '[build.allowances]\nfront_princess = "20 mm"\n[build.pad]\ncatch = "5 mm"\n')
    assert "1.5 cm (≈9/16 in) inside the cut edge" in wide


def test_the_notches_that_meet_are_those_on_both_pieces_with_their_distances() -> None:
    order, pattern = made(FULL)
    says = step("Sew the front princess")
    seam = next(s for s in pattern.seams if s.name == "front princess")
    a, b = pattern.edges_of(seam)
    for name in ("underbust", "bust_point"):
        mm = (a.marks[name] + b.marks[name]) / 2
        assert f"{name.replace('_', ' ')} " in says
        assert re.search(rf"{name.replace('_', ' ')} ≈?{mm / 10:.1f} cm", says), (name, mm, says)
    # 1 in beside the bust point: common practice, no source.
    mean = (a.marks["bust_point"] + b.marks["bust_point"]) / 20
    assert re.search(rf"1 in below the bust point ≈?{mean - 2.54:.1f} cm", says)
    assert re.search(rf"1 in above the bust point ≈?{mean + 2.54:.1f} cm", says)
    # The waist bears no notch there, so it is not said to meet.
    notched = {n.name for p in pattern.pieces if p.panel == "centre front" for n in p.notches}
    assert ("waist" in notched) == ("waist" in says)
    assert order.style.closing == "lacing"


def test_a_peak_is_not_sewn() -> None:
    says = step("Sew the front princess", '[style]\npeak = "2 cm"\n')
    assert "end of the centre front" in says
    assert "Stop at the end of the centre front" in says
    assert "Stop at" not in step("Sew the front princess")


def test_figures_of_bones_and_closing_are_the_dockets() -> None:
    order, pattern = made(FULL)
    d = make_docket(order, pattern, None)
    bones = step("Cut, tip")
    for b in d.bones:
        assert re.search(rf"{b.quantity} of ≈?{b.length / 10:.1f} cm", bones)
    assert f"{d.fastening.count} eyelets are marked" in step("Set the eyelets")
    assert re.search(rf"Cord: ≈?{d.fastening.cord / 10:.1f} cm", step("Set the eyelets"))


def test_both_sides_of_an_uneven_body_are_told() -> None:
    says = step("Sew the front princess", FULL, UNEVEN)
    assert "left: " in says
    assert "right: " in says
    assert "Centre front seam" in step("Sew the other", FULL, UNEVEN)


def test_each_cup_of_an_uneven_body_has_its_own_depth() -> None:
    """A left cup of 6.1 cm and a right one of 5.7 cm were both told to come out 6.1 cm deep."""
    order, pattern = made(FULL, UNEVEN)
    cups = (Cup("left", 61.3, 406.0, 77.7, 0.75), Cup("right", 57.1, 352.0, 74.7, 0.74))
    sized = replace(pattern, cups=cups)
    told = " ".join(s for n in making_up(order, sized, make_docket(order, sized, None)) for s in n.says)
    assert "left 6.1 cm (≈2 7/16 in), right 5.7 cm (2 1/4 in)" in told


def test_distances_that_are_stepped_off_are_not_rounded_to_the_mm() -> None:
    """Eleven steps of 25.3 mm, told as 2.5 cm, ended 3 mm too high."""
    for closing in ("lacing", "hooks"):
        order, pattern = made(f'[style]\nclosing = "{closing}"\n')
        d = make_docket(order, pattern, None)
        says = " ".join(s for n in making_up(order, pattern, d) for s in n.says)
        told = re.search(r"then every ([0-9.]+) mm", says)
        assert told is not None
        assert abs(float(told[1]) - d.fastening.spacing) * (d.fastening.count - 1) < 1.0


def test_the_lining_of_one_side_is_cut_with_the_pattern_face_down() -> None:
    """Its right side looks at the body, so cut like the shell it fits neither side of an uneven body."""
    for lining in ("[build.lining]\n", "[build.lining]\nfused = true\n"):
        uneven = " ".join(s for n in steps(lining, UNEVEN)[:3] for s in n.says)
        assert uneven.count("face down on the right side") == 1
        assert "face down" not in " ".join(s for n in steps(lining, BODY) for s in n.says)


def test_blocks_of_the_plan_are_counted() -> None:
    order, pattern = made(FULL)
    d = make_docket(order, pattern, plan({"shell cloth": ("shell", 500.0)}))
    assert "Cut the 2 rough blocks of the docket" in " ".join(making_up(order, pattern, d)[1].says)


def test_stitches_and_seams_bear_the_numbers_of_their_standards() -> None:
    uses = {s.title: s.uses for s in steps(FULL + '[notions]\nstitch = "401"\n')}
    assert uses["Sew the front princess seams of the shell"] == "ISO 4915 stitch 401, ISO 4916 seam 1.01.01"
    assert uses["Sew the casings"] == "ISO 4915 stitch 301"
    assert uses["Close the hem"].startswith("ISO 4915 class 200")


# The sheet


CASES = {
    "lacing": (FULL, BODY),
    "zip, uneven, plunge with a peak": ('[style]\nclosing = "zip"\nneckline = "plunge"\npeak = "2 cm"\n', UNEVEN),
    "hooks, straight, all fused": (
        '[style]\nclosing = "hooks"\nneckline = "straight"\n[build.lining]\nfused = true\n',
        BODY,
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_the_card_prints_every_step_and_the_cautions_that_apply(name: str, tmp_path: Path) -> None:
    order, pattern = made(*CASES[name])
    d = make_docket(order, pattern, None)
    text = words_of(card_pdf(order, pattern, d), tmp_path, "-layout")
    for k, s in enumerate(making_up(order, pattern, d), 1):
        assert f"{k}. {s.title}" in text
    for says in cautions({p.layer for p in pattern.pieces}):
        assert says.split(":")[0].split(",")[0] in text
    assert "[U+" not in text


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize("ratio", [6.0, 10.0])
def test_no_name_in_a_sketch_lies_over_another(name: str, ratio: float) -> None:
    order, pattern = made(*CASES[name])
    d = make_docket(order, pattern, None)
    seen = 0
    for kind in ("pad", "princess", "bones", "closing"):
        drawing = sketch(kind, order, pattern, d, ratio)  # type: ignore[arg-type]
        assert drawing is not None
        boxes = []
        for t in drawing.texts:
            assert t.size == pytest.approx(SIZE * ratio)
            xs, ys = zip(*t.corners(), strict=True)
            boxes.append((min(xs), min(ys), max(xs), max(ys)))
        for i, a in enumerate(boxes):
            for b in boxes[i + 1 :]:
                assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1], (kind, drawing.texts)
        seen += len(boxes)
    assert seen > 10


def test_the_same_order_gives_the_same_card_and_labels_in_any_script(tmp_path: Path) -> None:
    order, pattern = _labelled()
    d = make_docket(order, pattern, None)
    one = card_pdf(order, pattern, d)
    assert one == card_pdf(order, pattern, d)
    text = words_of(one, tmp_path, "-layout")
    assert "Ольга # *Π*" in text


def _labelled() -> tuple[Order, Pattern]:
    # Signs that mean something to the typesetter must come out as they are.
    return made('[client]\nlabel = "Ольга # *Π*"\n' + FULL)


def test_the_words_are_gone_through_for_letter_and_a3(tmp_path: Path) -> None:
    order, pattern = made(FULL)
    d = make_docket(order, pattern, None)
    for paper in ("Letter", "A3"):
        assert "Press off and fit" in words_of(card_pdf(order, pattern, d, paper=paper), tmp_path, "-layout")
    with pytest.raises(ValueError, match="A4"):
        card_pdf(order, pattern, d, paper="B7")


def test_the_bust_level_and_the_bust_point_are_one_notch_though_a_file_rounded_them_apart() -> None:
    order, pattern = made(FULL, BODY)
    shifted = tuple(
        replace(
            p,
            edges=tuple(
                replace(e, marks={**e.marks, "bust": e.marks["bust_point"] - 1e-3}) if "bust_point" in e.marks else e
                for e in p.edges
            ),
        )
        for p in pattern.panels
    )
    pattern = replace(pattern, panels=shifted)
    says = next(s for s in making_up(order, pattern, make_docket(order, pattern, None)) if "princess" in s.title).says[
        0
    ]
    assert ", bust point " in says
    assert ", bust ≈" not in says
