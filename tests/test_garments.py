"""Every ready seaming with tops, hems, backs and openings at random holds what a draft must hold.

A seeded part of what bench/bodies.py --seaming NAME draws; docs/performance.md has its figures.
"""

from __future__ import annotations

import io
import math
import re
from dataclasses import replace
from pathlib import Path

import ezdxf
import pytest
from shapely import Polygon

from coutil.draft import DraftError, draft
from coutil.make import Work, lay_out, work_out
from coutil.order import Order, OrderError, Style
from coutil.pattern import EdgeRef
from coutil.pattern.json import as_json
from coutil.seaming import CENTRE_BACK, CENTRE_FRONT, READY, Opening
from coutil.sheets.dxf import pattern_dxf
from coutil.sheets.lesson import lesson_text
from garments import NECKLINES, any_garments, garments

ROOT = Path(__file__).parent.parent
# 2,043 bodies through the draft and its sums, 480 through every check.
DRAFTED, CHECKED = 11, 9
# What a draft that came out right never has.
WRONG = {"girth", "walk", "true", "outline", "run", "bust_point", "level", "notch", "pad"}


@pytest.fixture(scope="module")
def checked() -> list[tuple[Order, Work | OrderError]]:
    out: list[tuple[Order, Work | OrderError]] = []
    for body, style in any_garments(CHECKED, seed=7):
        order = Order("any garment", body, style=style)
        try:
            out.append((order, work_out(order)))
        except OrderError as refused:
            out.append((order, refused))
    return out


def works(checked: list[tuple[Order, Work | OrderError]]) -> list[Work]:
    return [w for _, w in checked if isinstance(w, Work)]


def test_two_thousand_bodies_have_the_girth_of_tape_ease_and_openings() -> None:
    """By the panels' own levels, taken without the project's checks; at most 2 in a hundred are refused, by name."""
    refused = seen = 0
    named = ""
    for body, style in any_garments(DRAFTED, seed=5):
        seen += 1
        try:
            made = draft(body, style)
        except DraftError as why:
            refused += 1
            named = str(why)
            continue
        panels = [p for p in made.pattern.panels if p.material != "net"]
        uncovered = sum(o.uncovered for o in style.openings)
        for level in panels[0].levels:
            cloth = sum((2 if p.side == "both" else 1) * math.dist(*p.levels[level]) for p in panels)
            wanted = getattr(body, level) + made.style.ease_at(level)
            assert cloth + uncovered == pytest.approx(wanted, abs=0.5), (style.seaming.name, level)
    assert seen > 1900
    assert refused <= 0.02 * seen
    assert not refused or re.search(r"(bust|waist|hip|arc|span)\w* .*(conflict|cannot be used)", named), named


def test_the_checks_stop_none(checked: list[tuple[Order, Work | OrderError]]) -> None:
    refused = [o for o, w in checked if isinstance(w, OrderError)]
    assert len(refused) <= 0.02 * len(checked)
    for w in works(checked):
        stops = {f.code for f in w.findings if f.level == "stop"}
        assert not {s for s in stops if s.partition(".")[0] in WRONG}, (w.order.style, stops)


def test_every_cup_has_its_pads_and_nothing_else_has(checked: list[tuple[Order, Work | OrderError]]) -> None:
    without = 0
    for w in works(checked):
        cups = {(ref.panel, ref.side) for s in w.pattern.cup_seams for ref in (s.a, s.b)}
        pads = {(p.panel, p.side) for p in w.pattern.pads}
        assert pads <= cups
        assert bool(cups) == w.order.style.seaming.bust
        if pads != cups:
            # Where one cannot be made the reason is told, and what to change.
            assert any(f.code.startswith("no_pad.") for f in w.findings)
            without += 1
    assert without <= 0.02 * len(checked)


def test_a_laced_front_is_wide_enough_for_what_it_is_laced_by(checked: list[tuple[Order, Work | OrderError]]) -> None:
    seen = 0
    for w in works(checked):
        laced = any(o.at == CENTRE_FRONT and o.closed_with == "lacing" for o in w.order.style.openings)
        if not laced:
            continue
        seen += 1
        for p in w.pattern.panels:
            if any(e.role == CENTRE_FRONT for e in p.edges) and p.material != "net":
                widths = {name: math.dist(*ends) for name, ends in p.levels.items()}
                highest = widths[w.order.style.seaming.highest]
                assert min(widths.values()) >= min(46.0, highest) - 0.01, (w.order.style, widths)
    assert seen > 20


def test_every_piece_is_sound_and_encloses_its_net(checked: list[tuple[Order, Work | OrderError]]) -> None:
    for w in works(checked):
        assert {p.panel for p in w.pattern.pieces} >= {p.name for p in w.pattern.panels}
        for piece in w.pattern.pieces:
            net, cut = (Polygon(x) for x in (piece.net_outline(tolerance=0.02), piece.cut_outline(tolerance=0.02)))
            assert net.is_valid, piece.name
            assert cut.is_valid, piece.name
            assert cut.buffer(0.06).contains(net), piece.name


def test_lesson_and_pattern_file_tell_every_panel(checked: list[tuple[Order, Work | OrderError]]) -> None:
    for w in works(checked)[::4]:
        said = lesson_text(w.lesson)
        assert "{" not in said
        assert {p["name"] for p in as_json(w.pattern)["panels"]} == {p.name for p in w.pattern.panels}
        assert w.draft is not None
        for panel in w.draft.seaming.panels:
            assert f"{panel.name.capitalize()}: the frame" in said


def test_dxf_has_every_piece(checked: list[tuple[Order, Work | OrderError]]) -> None:
    for w in works(checked)[:10]:
        doc = ezdxf.read(io.StringIO(pattern_dxf(w.pattern).decode("ascii", "replace")))
        assert len(doc.modelspace().query("INSERT")) == len(w.pattern.pieces)


@pytest.mark.parametrize(("n", "name"), list(enumerate(READY)))
def test_it_is_laid_and_counted(n: int, name: str) -> None:
    """Every seaming, and every neckline among them."""
    body, style = next(iter(garments(2, READY[name], seed=3)))
    style = replace(style, neckline=NECKLINES[n % len(NECKLINES)], plunge=None, hem=None, back_top=None)
    done = lay_out(work_out(Order("laid", body, style=style)), seconds=0.5)
    assert done.docket is not None
    assert {n.piece for n in done.docket.cut} == {p.name for p in done.pattern.pieces}
    assert not [f for f in done.findings if f.level == "stop"]


def test_what_opens_is_free_and_what_is_closed_is_sewn_or_folded(
    checked: list[tuple[Order, Work | OrderError]],
) -> None:
    seen = set()
    for w in works(checked):
        style, pattern = w.order.style, w.pattern
        sewn = {(ref.panel, ref.edge) for s in pattern.seams for ref in (s.a, s.b)}
        for role in (CENTRE_FRONT, CENTRE_BACK):
            opening = style.opening(role)
            for p in pattern.panels:
                if p.material == "cloth" and any(e.role == role for e in p.edges):
                    closed = p.fold == role or (p.name, role) in sewn
                    assert closed == (opening is None), (role, style)
                    seen.add((role, opening is None, p.fold == role))
    assert len(seen) == 6


def test_elastic_counts_as_far_as_it_is_drawn() -> None:
    """By hand: elastic 80 mm wide that is drawn by 30 % covers 104 mm; 80 of them are cut, 24 are what it gives."""
    body, style = next(iter(garments(2, READY["princess-4"], seed=3)))
    plain = replace(style, openings=(Opening("centre_back", "zip"),), centre_back="fold", hem=None)
    elastic = replace(plain, openings=(Opening("centre_back", "elastic", 80.0, 30.0),), ease=plain.ease)
    a, b = (draft(body, s).pattern for s in (plain, elastic))
    for level in ("waist", "underbust"):
        cloth = [sum((2 if p.side == "both" else 1) * math.dist(*p.levels[level]) for p in m.panels) for m in (a, b)]
        assert cloth[0] - cloth[1] == pytest.approx(24.0, abs=0.1)
    seam = next(s for s in b.seams if s.name == "elastic")
    assert seam.b == EdgeRef("elastic panel", "elastic", "both")
    one, other = b.edges_of(seam)
    assert one.curve.length == pytest.approx(other.curve.length, abs=1e-6)


def test_the_gallery_shows_every_seaming() -> None:
    """Written by bench/gallery.py; shares and places in it are those of the code."""
    page = (ROOT / "docs" / "gallery.md").read_text(encoding="utf-8")
    for name, seaming in READY.items():
        picture = (ROOT / "docs" / "gallery" / f"{name}.svg").read_text(encoding="utf-8")
        assert f"gallery/{name}.svg" in page
        for panel in seaming.panels:
            assert f"<title>{panel.name}</title>" in picture
        for seam in seaming.seams:
            near = ", ".join(f"{v:g}" for v in (seam.near.underbust, seam.near.waist, seam.near.high_hip))
            assert f"| {seam.name} | " in page
            assert f" | {near} | " in page


def test_a_straight_top_is_straight() -> None:
    """From the centre front to the side it falls by at most 1 cm, where the order states neither height."""
    seen = 0
    for n, (body, _) in enumerate(any_garments(8, seed=9)):
        seaming = [s for s in READY.values() if s.bust][n % 6]
        if not body.symmetric or seaming.side is None:
            continue
        try:
            made = draft(body, Style(seaming=seaming, neckline="straight"))
        except DraftError:
            continue
        seen += 1
        by_name = {p.name: p for p in made.pattern.panels}
        front, side = (by_name[seaming.panels[k].name] for k in (0, seaming.side))
        low, high = (p.edge(role).upward().end[1] for p, role in ((front, "centre_front"), (side, "side")))
        assert -0.01 <= low - high <= 10.01
    assert seen > 30
