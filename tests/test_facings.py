"""Facings and linings: where one ends the other begins; and which cloth facings are cut from."""

from __future__ import annotations

from functools import cache

import pytest
from shapely import LineString, Point, Polygon

from coutil.docket import Docket, make_docket, making_up
from coutil.lay import LayPlan, plan
from coutil.layers.openings import beside
from coutil.make import Work, work_out
from coutil.order import OrderError, parse_order
from coutil.pattern import Edge, Piece
from order_texts import BODY, problems

UNEVEN = "[body.left]\nbust_to_underbust = 8.5\nbust_to_waist = 19\n"
LINED = "[build.kit]\n[build.lining]\nfused = true\n"
BUILDS = {
    "laced": f'[style]\nclosing = "lacing"\n{LINED}',
    "zipped": f'[style]\nclosing = "zip"\n{LINED}',
    "hooked": f'[style]\nclosing = "hooks"\n{LINED}',
    "uneven": f'{UNEVEN}[style]\nclosing = "lacing"\n{LINED}',
    "smaller": f'[[style.opening]]\nat = "centre_front"\nwith = "busk"\n{LINED}smaller = true\n'
    '[build.pad]\nthickness = "6 mm"\n',
    "a busk, laced behind": '[style]\nseaming = "corset-7"\n[[style.opening]]\nat = "centre_front"\nwith = "busk"\n'
    f'[[style.opening]]\nat = "centre_back"\nwith = "lacing"\n{LINED}',
}
VELVET = '[[cloth]]\nname = "velvet"\nfor = ["shell"]\ndirection = "one-way"\npile = true\n'
ALLOWANCE = 12.7


@cache
def made(text: str) -> tuple[Work, Docket]:
    work = work_out(parse_order(BODY + text))
    return work, make_docket(work.order, work.pattern, None)


@cache
def laid(text: str) -> LayPlan:
    work, _ = made(text)
    return plan(work.pattern, work.order, seconds=0.2)


def pairs(text: str) -> list[tuple[Piece, Piece, Piece]]:
    """(shell, facing, lining) of every panel that is faced, on each side."""
    pieces = made(text)[0].pattern.pieces
    by = {(p.panel, p.side, p.layer): p for p in pieces}
    return [(by[p.panel, p.side, "shell"], p, by[p.panel, p.side, "lining"]) for p in pieces if p.layer == "facing"]


def inner(piece: Piece) -> Edge:
    return next(e for e in piece.net if e.name == "facing_inner")


@pytest.mark.parametrize("name", BUILDS)
def test_the_lining_ends_where_the_facing_begins(name: str) -> None:
    work, _ = made(BUILDS[name])
    found = pairs(BUILDS[name])
    assert found
    for shell, facing, lining in found:
        (opens,) = [o for o in work.order.style.opens if any(e.role == o.at for e in facing.net)]
        net = {k: Polygon(p.net_outline(tolerance=0.005)) for k, p in (("s", shell), ("f", facing), ("l", lining))}
        # Together they are the shell and they do not overlap; a lining inside the foam is smaller over the cup.
        taken_in = 400.0 if name == "smaller" else 1.0
        assert net["f"].area + net["l"].area == pytest.approx(net["s"].area, abs=taken_in)
        assert net["f"].intersection(net["l"]).area < 0.5
        edge = LineString(next(e for e in shell.net if e.role == opens.at).curve.points(tolerance=0.005))
        wide = beside(work.order, opens).facing
        for piece in (facing, lining):
            line = inner(piece).curve
            at = [line.point(line.length * k / 10) for k in range(1, 10)]
            assert [edge.distance(Point(p)) for p in at] == pytest.approx([wide] * 9, abs=0.05)
            # The seam's allowance stands on both.
            ring = Polygon(piece.cut_outline(tolerance=0.005)).exterior
            assert [ring.distance(Point(p)) for p in at[2:7]] == pytest.approx([ALLOWANCE] * 5, abs=0.05)
        assert inner(facing).curve.length == pytest.approx(inner(lining).curve.length, abs=1e-6)
        for n in lining.notches:
            assert net["l"].distance(Point(n.at)) < 0.1, n.name
        assert net["l"].contains(LineString(lining.grain))
        # What is fused to it is cut alike, and neither bears the lines of channels.
        fused = next(
            p
            for p in work.pattern.pieces
            if (p.panel, p.side, p.layer) == (lining.panel, lining.side, "lining_interfacing")
        )
        assert (fused.net, fused.cut) == (lining.net, lining.cut)
        assert lining.lines == () == lining.spots


def test_a_strip_of_lining_that_is_hard_to_sew_is_told_of() -> None:
    """Where the two allowances of 1/2 in would lie on each other; measured from the pattern's own lines."""
    for name, text in BUILDS.items():
        told = {
            (f.about.panel, f.about.side): f.args["left"].mm  # type: ignore[union-attr]
            for f in made(text)[0].pattern.findings
            if f.code == "opening.narrow_lining"
        }
        for _, _, lining in pairs(text):
            rim = LineString(inner(lining).curve.points(tolerance=0.02))
            left = min(
                rim.distance(LineString(e.curve.points(tolerance=0.02)))
                for e in lining.net
                if e.kind in ("seam", "centre")
            )
            if left < 2 * ALLOWANCE:
                assert told[lining.panel, lining.side] == pytest.approx(left, abs=0.1), name
            else:
                assert (lining.panel, lining.side) not in told
    assert any(f.code == "opening.narrow_lining" for f in made(BUILDS["a busk, laced behind"])[0].pattern.findings)


def test_panels_without_an_opening_and_sides_keep_their_whole_lining() -> None:
    text = f'[[style.opening]]\nat = "side_left"\nwith = "zip"\n{LINED}'
    pieces = made(text)[0].pattern.pieces
    assert not any(p.layer == "facing" for p in pieces)
    for p in pieces:
        if p.layer == "lining":
            assert p.net == next(q.net for q in pieces if (q.panel, q.side, q.layer) == (p.panel, p.side, "shell"))


def test_without_a_lining_the_facing_ends_free() -> None:
    for p in made("[build.kit]\n")[0].pattern.pieces:
        if p.layer == "facing":
            ring = Polygon(p.cut_outline(tolerance=0.005)).exterior
            line = inner(p).curve
            assert ring.distance(Point(line.point(line.length / 2))) < 0.05


def test_the_seam_that_joins_them_takes_thread() -> None:
    _, docket = made(BUILDS["laced"])
    (row,) = [t for t in docket.thread.lines if t.what == "lining to facings"]
    ((_, facing, _),) = pairs(BUILDS["laced"])
    assert row.sewn == pytest.approx(2 * inner(facing).curve.length, abs=1e-6)
    assert not any(t.what == "lining to facings" for t in made("[build.kit]\n")[1].thread.lines)


def cloth_of(text: str, layer: str) -> str:
    return next(lay.cloth for lay in laid(text).lays if layer in lay.layers)


@pytest.mark.parametrize(
    ("text", "cloth"),
    [
        ("[build.kit]\n[build.lining]\n", "shell cloth"),
        ('[build]\nlayers = ["shell", "strength"]\n[build.kit]\n[build.lining]\n', "strength cloth"),
        (f'[build]\nlayers = ["shell"]\n[build.kit]\n[build.lining]\n{VELVET}', "lining cloth"),
        (f'[build]\nlayers = ["shell", "strength"]\n[build.kit]\n[build.lining]\n{VELVET}', "strength cloth"),
        # Nothing else is there: a cloth is bought for them.
        (f'[build]\nlayers = ["shell"]\n[build.kit]\n{VELVET}', "facing cloth"),
        ('[build.kit]\n[build.lining]\n[[cloth]]\nname = "guipure"\nfor = ["shell", "lace"]\n', "lining cloth"),
        ('[build.kit]\nfacing_of = "lining"\n[build.lining]\n', "lining cloth"),
        ('[build.kit]\nfacing_of = "shell"\n[build]\nlayers = ["shell", "strength"]\n', "shell cloth"),
        ('[build.kit]\nfacing_of = "lining"\n[build.lining]\n[[cloth]]\nname = "twill"\nfor = ["facing"]\n', "twill"),
    ],
)
def test_facings_are_cut_from_a_cloth_that_holds_eyelets(text: str, cloth: str) -> None:
    assert cloth_of(text, "facing") == cloth
    # Docket and card say the same.
    work, _ = made(text)
    docket = make_docket(work.order, work.pattern, laid(text))
    (bought,) = [b for b in docket.buy if "facing" in b.layers]
    assert bought.cloth == cloth
    (cut,) = [s for s in making_up(work.order, work.pattern, docket) if s.title == "Cut the other layers"]
    says = {"shell cloth": "shell", "lining cloth": "lining", "strength cloth": "strength layer"}.get(cloth)
    told = " ".join(cut.says)
    if says is None:
        assert "Facings are cut from" not in told
    else:
        assert f"Facings are cut from the cloth of the {says}." in told


def test_a_layer_that_is_not_made_gives_no_facings() -> None:
    for layer in ("lining", "strength"):
        (said,) = problems(f'[build.kit]\nfacing_of = "{layer}"\n')
        assert "facing_of" in said
        assert layer in said
    with pytest.raises(OrderError):
        parse_order(BODY + '[build.kit]\nfacing_of = "foam"\n')


def test_one_set_of_bones_lies_in_a_facings_channels() -> None:
    """They are sewn through every layer beneath the facing, so a second set would have nowhere to go."""
    _, docket = made('[build]\nlayers = ["shell", "strength"]\n[build.bones]\non = ["strength", "lining"]\n' + LINED)
    edges = [b for b in docket.bones if b.place == "openings"]
    assert [(b.carrier, b.quantity, b.cased) for b in edges] == [("strength", 4, False)]
    assert {b.carrier for b in docket.bones if b.place == "seams"} == {"strength", "lining"}
