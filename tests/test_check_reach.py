"""How high the top may stand, against the neck and against the shoulder; the figures are those of four_panels.py."""

from __future__ import annotations

import pytest

import checked
import four_panels
from coutil.body import DEFAULT_STANDARD, order_body
from coutil.check.reach import NEAR, reach_findings
from coutil.order import Style
from coutil.pattern import Finding
from spoken import spoken, subject

# The centre back is a straight line from the hem up; the princess edges stray 5 mm on 65.
BACK = four_panels.TOP["back_princess"]
FRONT = four_panels.TOP["front_princess"] - four_panels.HEIGHTS["bust"]


def found(*, peak: float = 0.0, **tape: float) -> list[Finding]:
    pattern = four_panels.build(peak=peak)
    return reach_findings(pattern, checked.body(pattern, **tape))


def test_an_ordinary_top_is_left_alone() -> None:
    assert found() == found(centre_back_length=BACK + NEAR + 0.1, bust_depth=FRONT + NEAR + 1.0) == []


@pytest.mark.parametrize(
    ("key", "top", "about"),
    [
        ("centre_back_length", BACK, "style.back_top, centre_back_length"),
        ("bust_depth", FRONT, "style.cup_height, style.peak, bust_depth"),
    ],
)
def test_a_top_near_the_neck_is_warned_of_and_one_beyond_it_stops(key: str, top: float, about: str) -> None:
    (near,) = found(**{key: top + NEAR - 1.0})
    (beyond,) = found(**{key: top - 1.0})
    assert (near.level, beyond.level) == ("warn", "stop")
    assert near.code.endswith("_near")
    assert beyond.code.endswith("_beyond")
    for finding in (near, beyond):
        assert subject(finding) == about
        assert "by rule" not in spoken(finding)


def test_the_longer_edge_counts() -> None:
    assert found(bust_depth=FRONT + 10.0 + NEAR) == []
    (near,) = found(bust_depth=FRONT + 10.0 + NEAR, peak=18.0)
    assert near.code == "reach.front_near"


def test_a_length_by_rule_only_warns() -> None:
    # A quarter of this height less 1 cm is 1 cm below the top.
    (near,) = found(height=4.0 * BACK)
    assert near.level == "warn"
    assert "by rule" in spoken(near)


def test_a_strangers_length_says_nothing() -> None:
    pattern = four_panels.build()
    # The bust depth rests on a bust that nobody took, the back's length on none.
    body = order_body({"waist": 700.0, "centre_back_length": BACK}, standard=DEFAULT_STANDARD)
    assert [f.code for f in reach_findings(pattern, body)] == ["reach.back_beyond"]


def test_it_is_among_the_checks() -> None:
    said = checked.findings(
        four_panels.build(), style=Style(neckline="straight", closing="zip"), centre_back_length=BACK + 40.0
    )
    assert any(f.code == "reach.back_near" for f in said)
