"""Rendered photographs that are harder than the hundred: shadows with sharp rims, sharpening, sheets close by.

Rendered, not real: see scenes.py. The limits are those of the product all the same.
"""

from __future__ import annotations

import math
from dataclasses import replace

import cv2
import numpy as np
import pytest

import scene_truth
import scenes
from coutil.trace.photo import read_photo

# Tests run in several processes: one thread each.
cv2.setNumThreads(1)


def _sharp_shadows(seed: int) -> scenes.Scene:
    """Two shadows, each with a rim 1 to 4 mm wide: a hand or a box just above the table, in the light of a lamp."""
    s = scenes.scene(seed)
    rng = np.random.default_rng(9000 + seed)
    shadows = tuple(
        (
            *(float(v) for v in rng.uniform(-350, 350, 2)),
            *(float(v) for v in rng.uniform(150, 500, 2)),
            float(rng.uniform(0, math.pi)),
            float(rng.uniform(0.45, 0.8)),
            float(rng.uniform(1, 4)),
        )
        for _ in range(2)
    )
    return replace(s, look=replace(s.look, shadows=shadows))


def _sharpened(seed: int) -> scenes.Scene:
    s = scenes.scene(seed)
    return replace(s, look=replace(s.look, sharpen=1.0))


HARDER = [
    *(pytest.param(_sharp_shadows, k, id=f"sharp shadows {k}") for k in (2, 3, 13, 27, 34)),
    *(pytest.param(_sharpened, k, id=f"sharpened {k}") for k in (5, 6)),
    pytest.param(lambda k: scenes.scene(k, gap=7.0), 4, id="sheets 7 mm away"),
]


@pytest.mark.parametrize(("make", "seed"), HARDER)
def test_harder_photograph(make, seed: int) -> None:  # type: ignore[no-untyped-def]
    s = make(seed)
    v = scene_truth.compare(s, read_photo(s.jpeg()))
    assert v.pieces_found == v.pieces_true
    assert v.share_95 < 0.7
    assert v.worst < 2.0
    assert v.corners_right
    assert v.worst_seam < 0.5
