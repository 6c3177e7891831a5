"""One word for one thing on docket, card, pieces and checks: places, levels, what is fused."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from coutil.cli.show import widths
from coutil.docket import Docket, make_docket, making_up
from coutil.make import Work, work_out
from coutil.order import parse_order
from coutil.pattern import LEVELS, girths, level_words
from coutil.sheets import panels_svg, piece_figures
from coutil.sheets.docket import docket_pdf
from coutil.units import plain
from coutil.web.checks import girths as girths_table
from coutil.words import catalogue
from order_texts import BODY
from printed import words_of

SIDE = (
    '[[style.opening]]\nat = "side_left"\nwith = "zip"\n[[style.opening]]\nat = "centre_back"\nwith = "lacing"\n'
    "[build.kit]\n[build.lining]\n"
)
DEEP = '[style]\nneckline = "plunge"\nplunge = "-3 cm"\n'
# To the hip, 20 cm below this body's waist.
LONG = '[style]\nhem = "20 cm"\n'


@cache
def made(text: str) -> tuple[Work, Docket]:
    work = work_out(parse_order(BODY + text))
    return work, make_docket(work.order, work.pattern, None)


def test_a_side_is_called_alike_everywhere(tmp_path: Path) -> None:
    work, docket = made(SIDE)
    card = " ".join(x for s in making_up(work.order, work.pattern, docket) for x in (s.title, *s.says))
    printed = words_of(docket_pdf(docket), tmp_path)
    for says in (docket.garment, card, printed, " ".join(t.what for t in docket.thread.lines)):
        assert "left side" in says
    for says in (docket.garment, card, printed, " ".join(p.name for p in work.pattern.pieces)):
        assert "side left" not in says
    assert "Left side: finished edge" in printed
    assert "left side, guard" in {p.name for p in work.pattern.pieces}


@pytest.mark.parametrize(
    ("build", "fused"),
    [
        ("", True),
        ('[build]\nlayers = ["shell", "foam", "web"]\n', False),
        ('[build]\nlayers = ["shell"]\n', False),
        ('[build]\nlayers = ["shell"]\n[build.lining]\nfused = true\n', True),
    ],
)
def test_hours_of_fusing_are_counted_where_cloth_is_fused(build: str, fused: bool) -> None:
    """What fuses the web is the setting of the pads, and counted with them."""
    work, docket = made(build)
    assert ("fuse" in {h.what for h in docket.hours}) is fused
    titles = [s.title for s in making_up(work.order, work.pattern, docket)]
    assert any(t.startswith("Fuse first") for t in titles) is fused


def test_levels_have_one_name_in_the_catalogue() -> None:
    assert [level_words(v) for v in LEVELS] == ["hip", "high hip", "waist", "underbust", "bust"]
    texts = catalogue()
    # Names of values of the order ("name.") and of its shares are keys' names, not levels'.
    again = [k for k, v in texts.items() if v == "high hip" and not k.startswith(("name.", "value."))]
    assert again == ["level.high_hip"]


def test_the_hip_is_named_on_pieces_and_panels() -> None:
    work, _ = made(LONG)
    assert any("hip" in p.levels for p in work.pattern.panels)
    assert ">hip<" in panels_svg(work.pattern, "long").replace("\n", "")
    assert any(t.says == "hip" for d in piece_figures(work.pattern) for t in d.texts)


def test_girths_are_told_though_a_net_bridges_the_plunge() -> None:
    work, _ = made(DEEP)
    assert any(p.material == "net" for p in work.pattern.panels)
    table = girths_table(work.pattern)
    measured = girths(work.pattern)
    assert [r[0] for r in table["rows"]] == [level_words(v) for v in reversed(LEVELS) if v in measured]
    assert len(table["rows"]) >= 3
    for row in table["rows"]:
        level = next(v for v in LEVELS if level_words(v) == row[0])
        assert row[-1] == plain(measured[level])
        assert len(row) == len(table["head"])
    told = widths(work)
    for mm in measured.values():
        assert plain(mm) in told
