"""Thread by stitch type, against textile calculation handbooks."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bodice import made
from coutil.docket import make_docket, thread_ratio
from coutil.docket.thread import THICKNESS


def test_the_handbooks_worked_example() -> None:
    # Textile calculation handbooks: cloth 0.01 in thick, 10 stitches per inch, lockstitch: 2.2 lengths of thread.
    assert thread_ratio("301", 0.01, 10.0) == pytest.approx(2.2, abs=1e-12)
    # The same in mm.
    assert thread_ratio("301", 0.254, 10.0 / 25.4) == pytest.approx(2.2, abs=1e-12)


def test_chain_stitch_lies_two_more_lengths_along_the_seam() -> None:
    # Textile calculation handbooks: 4 + 2 T S for 401.
    assert thread_ratio("401", 0.01, 10.0) == pytest.approx(4.2, abs=1e-12)


def test_common_cloth_comes_near_the_handbooks_ratio() -> None:
    # Handbooks give about 2.5 for 301 where nothing is known: two plies of shirting to light suiting, 4 stitches to the
    # centimetre (the range of cloths is common practice, no source).
    assert 2.2 <= thread_ratio("301", 2 * 0.3, 0.4) <= 2.8
    assert 2.2 <= thread_ratio("301", 2 * 0.8, 0.4) <= 3.3


@given(st.floats(0.0, 20.0), st.just(0.0) | st.floats(1e-3, 2.0))
def test_the_formula_is_the_length_of_the_threads_themselves(thickness: float, per: float) -> None:
    """Lockstitch drawn out: per stitch two threads along the seam, and up and down between them through T in all."""
    if per == 0.0:
        assert thread_ratio("301", thickness, per) == 2.0
        return
    stitch = 1.0 / per
    needle = stitch + 2 * (thickness / 2)
    bobbin = stitch + 2 * (thickness / 2)
    assert thread_ratio("301", thickness, per) == pytest.approx((needle + bobbin) / stitch, rel=1e-12)


@pytest.mark.parametrize(
    ("stitch", "t", "s"), [("504", 0.1, 1), ("301", -0.1, 1), ("301", 0.1, -1), ("301", math.nan, 1)]
)
def test_what_is_refused(stitch: str, t: float, s: float) -> None:
    with pytest.raises(ValueError, match=r"not known|cannot be negative"):
        thread_ratio(stitch, t, s)


def test_lengths_come_from_the_pattern() -> None:
    order, pattern = made('[style]\nclosing = "zip"\n[build.lining]\n')
    docket = make_docket(order, pattern, None)
    lines = {n.what: n for n in docket.thread.lines}
    seams = 2 * sum(pattern.edges_of(s)[0].curve.length for s in pattern.seams)
    # Seams of both halves, over pads and elsewhere, once in the shell; once in the lining, which bears no pads.
    shell = lines["shell seams"].sewn + lines["shell seams over the pad"].sewn
    assert shell == pytest.approx(seams, rel=1e-3)
    assert lines["lining seams"].sewn == pytest.approx(seams, rel=1e-3)
    top = 2 * sum(e.curve.length for p in pattern.panels for e in p.edges if e.role == "top")
    assert lines["top edge"].sewn == pytest.approx(top)
    assert lines["casings, both edges"].sewn == pytest.approx(2 * docket.casing)
    for n in docket.thread.lines:
        assert n.thread == pytest.approx(n.sewn * thread_ratio(n.stitch, n.thickness, 1 / n.stitch_length))
    assert docket.thread.total == pytest.approx(1.125 * sum(n.thread for n in docket.thread.lines))
    # 10 to 15 % of wastage in the handbooks.
    assert Decimal(10) <= docket.thread.wastage <= Decimal(15)


def test_the_orders_cloth_and_stitch_count() -> None:
    cloth = '[[cloth]]\nname = "coutil"\nfor = ["shell"]\nthickness = "1 mm"\n'
    plain = make_docket(*made(), None)
    thick = make_docket(*made(cloth), None)
    chain = make_docket(*made('[notions]\nstitch = "401"\nstitch_length = "2 mm"\n'), None)
    a, b, c = ({n.what: n for n in d.thread.lines}["shell seams"] for d in (plain, thick, chain))
    assert b.thickness - a.thickness == pytest.approx(2 * (1.0 - THICKNESS["shell"]))
    assert b.ratio - a.ratio == pytest.approx(2 * 2 * (1.0 - THICKNESS["shell"]) / 2.5)
    assert c.ratio == pytest.approx(4 + 2 * a.thickness / 2)
    # The casings are sewn down by lockstitch all the same: a chain stitch would show its loops.
    assert {n.what: n for n in chain.thread.lines}["casings, both edges"].stitch == "301"


def test_spools_are_whole() -> None:
    order, pattern = made('[notions]\nthread_spool = "10 m"\n')
    t = make_docket(order, pattern, None).thread
    assert (t.spools - 1) * 10_000 < t.total <= t.spools * 10_000
