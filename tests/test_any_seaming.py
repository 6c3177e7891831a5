"""A seaming that nobody shipped goes through every room: lesson, walk, pads, pieces, lays, docket, card, DXF and page.

Panels bear names that say nothing, so a room that asks for one by its name finds none (see seamings.py). What the draft
itself holds of such seamings is measured in test_draft.py.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterator
from dataclasses import replace

import ezdxf
import pytest
from shapely import Polygon

from bodies import plausible
from coutil.docket import make_docket
from coutil.docket.making import making_up
from coutil.lay import plan
from coutil.make import Work, work_out
from coutil.order import Order, OrderError
from coutil.pattern.json import as_json
from coutil.sheets.dxf import pattern_dxf
from coutil.sheets.lesson import lesson_text
from coutil.web.drawing import drawing, part_ids
from coutil.web.governs import Drawn
from coutil.web.handles import find_handles
from coutil.web.places import place_panels
from seamings import seamings

COUNT = 150
# These go through the slow rooms too.
SLOW = 4


@pytest.fixture(scope="module")
def tried() -> list[Work | OrderError]:
    """The orders of COUNT random seamings, each on a body of its own, or why they cannot be drafted."""
    out: list[Work | OrderError] = []
    for seaming, (body, style) in zip(seamings(COUNT, seed=21), plausible(9, seed=3), strict=False):
        try:
            out.append(work_out(Order("nobody's", body, style=replace(style, seaming=seaming))))
        except OrderError as refused:
            out.append(refused)
    return out


@pytest.fixture(scope="module")
def works(tried: list[Work | OrderError]) -> list[Work]:
    return [w for w in tried if isinstance(w, Work)]


def test_what_is_refused_is_refused_by_name(tried: list[Work | OrderError]) -> None:
    for refused in tried:
        if isinstance(refused, OrderError):
            assert re.search(r"(bust|waist|hip|span|arc)\w* .*(conflict|cannot be used)", str(refused)), refused


def drafted(work: Work) -> int:
    assert work.draft is not None
    return len(work.draft.seaming.panels)


def test_every_number_of_panels_comes_through(works: list[Work]) -> None:
    assert {drafted(w) for w in works} == set(range(3, 9))
    assert len(works) > COUNT / 3
    assert any(not w.pattern.cup_seams for w in works)
    assert any(w.pattern.cup_seams and w.order.body.symmetric for w in works)


def test_the_checks_find_its_sums_right(works: list[Work]) -> None:
    for w in works:
        stops = {f.code.partition(".")[0] for f in w.findings if f.level == "stop"}
        # What a checked draft never has: wrong girths, seams that do not walk, tops that turn, unsound outlines.
        assert not stops & {"girth", "walk", "true", "outline", "run", "bust_point", "level", "notch"}, (
            [s.name for s in w.pattern.seams],
            stops,
        )


def test_a_cup_has_its_pads_or_the_reason_why_not(works: list[Work]) -> None:
    padded = 0
    for w in works:
        cups = {(ref.panel, ref.side) for s in w.pattern.cup_seams for ref in (s.a, s.b)}
        pads = {(p.panel, p.side) for p in w.pattern.pads}
        assert pads <= cups
        if not cups:
            assert not pads
            continue
        missing = cups - pads
        told = {f.code.partition(".")[0] for f in w.findings}
        assert not missing or "no_pad" in told, told
        padded += not missing
        for p in w.pattern.pads:
            panel = Polygon(w.pattern.panel(p.panel, p.side).outline(tolerance=0.02)).buffer(0.06)
            assert panel.contains(Polygon(p.outline(tolerance=0.02)))
    assert padded > 20


def test_every_panel_is_cut_from_every_layer(works: list[Work]) -> None:
    for w in works:
        for layer in ("shell", "interfacing"):
            cut = [(p.panel, p.side) for p in w.pattern.pieces if p.layer == layer]
            assert cut == [(p.name, p.side) for p in w.pattern.panels]
        for piece in w.pattern.pieces:
            net, around = (Polygon(x) for x in (piece.net_outline(tolerance=0.02), piece.cut_outline(tolerance=0.02)))
            assert around.buffer(0.06).contains(net), piece.name


def test_the_lesson_names_every_panel_and_every_seam(works: list[Work]) -> None:
    for w in works:
        said = lesson_text(w.lesson)
        assert w.draft is not None
        for panel in w.draft.seaming.panels:
            assert f"{panel.name.capitalize()}: the frame" in said
        for seam in w.draft.seaming.seams:
            assert f"the {seam.spoken}" in said
        # Nothing is left unfilled.
        assert "{" not in said


def test_the_pattern_file_bears_the_roles(works: list[Work]) -> None:
    for w in works:
        assert w.draft is not None
        roles = {e["role"] for p in as_json(w.pattern)["panels"] for e in p["edges"]}
        assert {s.role for s in w.draft.seaming.seams} <= roles


def test_the_page_draws_it_and_every_value_governs_what_is_drawn(works: list[Work]) -> None:
    for w in works:
        placed = place_panels(w.pattern)
        drawn = drawing(w, "cm", placed)
        ids = part_ids(drawn, placed)
        assert len(drawn["panels"]) == len(w.pattern.panels)
        assert len(set(ids)) == len(ids)
        lit = Drawn.of(w.pattern, ids, w.order.style)
        for key in ("body.bust", "style.hem", "style.side_top", "style.back_top", "style.neckline", "build.allowance"):
            assert lit.governed(key), key
        assert bool(lit.governed("style.cup_height")) == bool(w.pattern.cup_seams)
        pulled = {h.keys[0] for h in find_handles(w, placed)}
        assert {"style.side_top", "style.back_top", "style.hem"} <= pulled
        assert ("style.cup_height" in pulled) == bool(w.pattern.cup_seams)


def some(works: list[Work]) -> Iterator[Work]:
    """A few of different numbers of panels."""
    seen: set[int] = set()
    for w in works:
        if drafted(w) not in seen and len(seen) < SLOW:
            seen.add(drafted(w))
            yield w


def test_dxf_has_every_piece_in_its_size(works: list[Work]) -> None:
    for w in some(works):
        doc = ezdxf.read(io.StringIO(pattern_dxf(w.pattern).decode("ascii", "replace")))
        blocks = [doc.blocks.get(i.dxf.name) for i in doc.modelspace().query("INSERT")]
        assert len(blocks) == len(w.pattern.pieces)
        for block, piece in zip(blocks, w.pattern.pieces, strict=True):
            # The largest closed line is the cut line.
            areas = [
                Polygon([(v.dxf.location.x, v.dxf.location.y) for v in p.vertices]).area
                for p in block.query("POLYLINE")
                if p.is_closed
            ]
            cut = Polygon(piece.cut_outline(tolerance=0.02)).area
            assert math.isclose(max(areas), cut, rel_tol=1e-3), piece.name


def test_it_is_laid_counted_and_made_up(works: list[Work]) -> None:
    for w in some(works):
        planned = plan(w.pattern, w.order, seconds=1.0)
        assert not [f for f in planned.findings if f.level == "stop"]
        docket = make_docket(w.order, w.pattern, planned)
        assert {n.piece for n in docket.cut} == {p.name for p in w.pattern.pieces}
        # Every seam has a bone, but those too short for one.
        assert {b.seam for b in docket.bones} <= {s.name for s in w.pattern.seams} | {""}
        assert docket.bones
        card = " ".join(s for step in making_up(w.order, w.pattern, docket) for s in (step.title, *step.says))
        for seam in w.pattern.seams:
            if not seam.on_itself:
                assert seam.name.lower() in card.lower()
