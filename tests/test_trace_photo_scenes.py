"""A hundred rendered photographs, traced and held against the truth. They are rendered, not real: see scenes.py.

The pattern is 600 by 450 mm (one piece, or two or three within that), the camera up to 35 degrees from above, 12
megapixels, wood and cloth, shadows, noise, blur, lens, JPEG. The limits are those that the product promises: 95 % of
the outline's points within 0.7 mm and none beyond 2 mm, every seam's length within 0.5 %, every corner found, no other.
"""

from __future__ import annotations

import cv2
import pytest

import scene_picture
import scene_truth
import scenes
from coutil.sheets.traced import traced_svg
from coutil.trace import as_written
from coutil.trace.photo import read_photo
from scene_picture import FINE

# Tests run in several processes: one thread each.
cv2.setNumThreads(1)

SEEDS = range(1, 101)


@pytest.mark.parametrize("seed", SEEDS)
def test_rendered_photograph(seed: int) -> None:
    s = scenes.scene(seed)
    got = read_photo(s.jpeg())
    v = scene_truth.compare(s, got)
    assert v.pieces_found == v.pieces_true
    assert v.share_95 < 0.7
    assert v.worst < 2.0
    assert v.corners_right
    assert v.worst_seam < 0.5
    # Nicks are cut 3 to 6 mm deep and 2 to 4 mm wide; now and then a soft picture hides one.
    assert v.nicks_found >= v.nicks_true - 1
    assert v.nicks_false <= 1
    assert v.nick_error < 1.0
    assert v.nick_size_error < 1.2
    # Lines that run to the rim are no words along it.
    assert not [d for d in got.doubts if d.why.startswith(("words", "a corner"))]
    # The check picture numbers the sides as the description does that is made of the drawing.
    written = as_written(got.traced, traced_svg(got.traced, "p").encode())
    for shape, again in zip(got.traced.shapes, written.shapes, strict=True):
        assert [round(c.length) for c in again.sides] == pytest.approx([round(c.length) for c in shape.sides], abs=1)
    # What the report says of itself must be true: residual small, and the markers' share of the error as expected.
    assert got.residual < 0.35
    assert got.expected_error < 0.25


def test_scenes_are_what_they_claim_to_be() -> None:
    """The set covers tilts up to 35 degrees, all tables, one to three pieces, 12 megapixels, and its masks are true."""
    every = [scenes.scene(k) for k in SEEDS]
    assert max(s.tilt for s in every) > 33.0
    assert {s.look.table for s in every} == set(scenes.TABLES)
    assert {len(s.shapes) for s in every} == {1, 2, 3}
    assert all(s.camera.wide * s.camera.high == 12_000_000 for s in every)
    assert sum(bool(s.look.shadows) for s in every) > 30
    poly = every[0].shapes[0].cut()
    x0, y0, x1, y1 = poly.bounds
    mask = scene_picture.mask_of(poly, x0 - 5, y0 - 5, int((x1 - x0 + 10) * FINE), int((y1 - y0 + 10) * FINE))
    # Drawn area against the polygon's: a rim that is off by 0.01 mm all round is off by that times the length.
    assert abs(mask.sum() / 255 / FINE**2 - poly.area) < 0.02 * poly.length


def test_print_scale_is_taken_from_the_measured_chequer() -> None:
    s = scenes.scene(5)
    printed = (0.97, 0.975)
    scaled = scenes.Scene(s.seed, s.tilt, s.camera, s.shapes, s.sheets, s.look, printed)
    data = scaled.jpeg()
    got = read_photo(data, measured=(175 * printed[0], 200 * printed[1]))
    v = scene_truth.compare(scaled, got)
    assert v.share_95 < 0.7
    assert v.worst_seam < 0.5
    without = read_photo(data)
    assert scene_truth.compare(scaled, without).worst_seam > 1.5
