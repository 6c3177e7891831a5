"""The tables of the page say what the docket on paper says, in words that fit the number."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bodice import BODY, UNEVEN, made, plan
from coutil.docket import make_docket
from coutil.web.tables import docket_tables

CLOTH = '[[cloth]]\nname = "foam board"\nfor = ["foam"]\nsheet = [50, 70]\n'


@pytest.mark.parametrize(("count", "says"), [(1, "1 sheet"), (2, "2 sheets")])
def test_one_sheet_is_one(count: int, says: str) -> None:
    """It said "1 sheets"."""
    order, pattern = made(CLOTH)
    d = make_docket(order, pattern, plan({}, {"foam board": ("foam", count)}))
    assert [row[3] for row in docket_tables(d, "cm")["buy"]["rows"]] == [says]


@pytest.mark.parametrize(("count", "says"), [(1, "m: 1 spool."), (3, "m: 3 spools.")])
def test_one_spool_is_one(count: int, says: str) -> None:
    """It said "1 spools"."""
    order, pattern = made()
    d = make_docket(order, pattern, None)
    told = docket_tables(replace(d, thread=replace(d.thread, spools=count)), "cm")["thread"]["foot"]
    assert told.endswith(says)


@pytest.mark.parametrize(("body", "often"), [(BODY, 0), (UNEVEN, 8)])
def test_the_lining_of_one_side_is_told_to_be_cut_face_down(body: str, often: int) -> None:
    order, pattern = made("[build.lining]\n", body)
    rows = docket_tables(make_docket(order, pattern, None), "cm")["cut"]["rows"]
    assert sum("pattern face down" in row[2] for row in rows) == often
