"""Rendered photographs that are harder than the hundred: shadows with sharp rims, sharpening, sheets close by.

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
