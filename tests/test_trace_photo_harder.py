"""Rendered photographs that are harder than the hundred: sharp shadows, sharpening, sheets close by, papers, words.

Rendered, not real: see scenes.py. The limits are those of the product all the same.
"""

from __future__ import annotations

from collections.abc import Callable

import cv2
import pytest

import scene_truth
import scenes
from coutil.trace.photo import read_photo

# Tests run in several processes: one thread each.
cv2.setNumThreads(1)


HARDER = [
    *(pytest.param(scenes.with_sharp_shadows, k, id=f"sharp shadows {k}") for k in (2, 3, 13, 27, 34)),
    *(pytest.param(scenes.sharpened, k, id=f"sharpened {k}") for k in (5, 6)),
    pytest.param(scenes.sheets_close_by, 4, id="sheets 7 mm away"),
    pytest.param(scenes.on_squared_paper, 9, id="squared paper"),
    pytest.param(scenes.on_dotted_paper, 6, id="dotted paper"),
    pytest.param(scenes.on_tracing_paper, 8, id="tracing paper"),
    # Letters that once made a corner each.
    *(pytest.param(scenes.with_words, k, id=f"words across the rim {k}") for k in (8, 9)),
]


@pytest.mark.parametrize(("make", "seed"), HARDER)
def test_harder_photograph(make: Callable[[int], scenes.Scene], seed: int) -> None:
    s = make(seed)
    v = scene_truth.compare(s, read_photo(s.jpeg()))
    assert v.pieces_found == v.pieces_true
    assert v.share_95 < 0.7
    assert v.worst < 2.0
    assert v.corners_right
    assert v.worst_seam < 0.5


@pytest.mark.parametrize("seed", [18, 32, 40])
def test_what_words_across_the_rim_spoil_is_marked(seed: int) -> None:
    """Words as dark as the table hide the rim: the outline may then be wrong, but the check picture says where."""
    s = scenes.with_words(seed)
    got = read_photo(s.jpeg())
    v = scene_truth.compare(s, got)
    # Otherwise nothing is shown by this.
    assert v.worst > 1.5 or not v.corners_right
    assert v.corners_unmarked == 0
    assert v.unmarked < 2.0
    assert any(d.why.startswith("words") for d in got.doubts)
