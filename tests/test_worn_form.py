"""The form from the tape: taut girths by shapely, the readings that fix the breast, soundness of the mesh."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from bodies import plausible
from coutil.body import Body, resolve_body
from coutil.worn.form import Form, form_of
from coutil.worn.start import cut_at
from coutil.worn.tape import bust_ring, from_tape

BODY = {"bust": 960.0, "underbust": 780.0, "waist": 705.0, "bust_span": 195.0, "bust_to_underbust": 80.0}
BODY |= {"bust_to_waist": 185.0, "high_hip": 890.0, "high_hip_depth": 100.0, "hip": 990.0, "side_length": 205.0}
BODIES = [body for body, _ in plausible(4)]


def taut(points: np.ndarray) -> float:
    """The perimeter of the convex hull, by shapely."""
    return float(shapely.MultiPoint(points).convex_hull.length)


def ring(form: Form, level: str) -> np.ndarray:
    """The mesh's own points on a level."""
    on = np.abs(form.points[:, 1] - form.levels[level]) < 1e-9
    return form.points[on][:, [0, 2]]


@pytest.mark.parametrize("body", BODIES, ids=range(len(BODIES)))
def test_a_taut_tape_reads_the_body_s_girths(body: Body) -> None:
    form = form_of(body)
    for level in ("hip", "high_hip", "waist", "underbust", "upper_bust"):
        assert taut(ring(form, level)) == pytest.approx(getattr(body, level), abs=0.01), level
    made = from_tape(body)
    over = bust_ring(made.torso, made.mounds, made.levels["bust"], made.tilt)
    assert taut(over) == pytest.approx(body.bust, abs=0.01)


def test_an_even_body_s_bust_is_read_off_the_mesh_too() -> None:
    body = resolve_body(BODY)
    form = form_of(body)
    assert taut(ring(form, "bust")) == pytest.approx(960.0, abs=0.01)
    # Between the mesh's rings it is read off a section: chords of rings 6 mm apart.
    assert taut(cut_at(form.points, form.faces, form.levels["bust"] + 1e-6)) == pytest.approx(960.0, abs=0.5)


@pytest.mark.parametrize("body", BODIES[:6], ids=range(6))
def test_the_bust_points_lie_where_the_tape_has_them(body: Body) -> None:
    form = form_of(body)
    for name, side in (("left", body.left), ("right", body.right)):
        assert abs(form.bust_points[name][0]) == pytest.approx(side.bust_point, abs=0.01)
    made = from_tape(body)
    low, high = made.levels["underbust"], made.mounds[0].height
    assert 0.5 * body.left.bust_to_underbust < high - low < 1.05 * body.left.bust_to_underbust


def test_the_mesh_is_closed_runs_outwards_and_is_its_own_mirror_image_for_an_even_body() -> None:
    form = form_of(resolve_body(BODY))
    a = np.concatenate((form.faces[:, [0, 1]], form.faces[:, [1, 2]], form.faces[:, [2, 0]]))
    there = {(int(i), int(j)) for i, j in a}
    assert len(there) == len(a)
    assert all((j, i) in there for i, j in there)
    p, q, r = (form.points[form.faces[:, k]] for k in range(3))
    volume = float(np.einsum("nx,nx->", p, np.cross(q, r))) / 6.0
    # A trunk of about 82 cm mean girth and its own height, as an ellipse: within a tenth.
    height = float(np.ptp(form.points[:, 1]))
    assert volume == pytest.approx(0.97 * 820.0**2 / (4.0 * math.pi) * height, rel=0.15)
    assert volume > 0.0
    mine = {(round(x, 4) + 0.0, round(y, 4) + 0.0, round(z, 4) + 0.0) for x, y, z in form.points.tolist()}
    other = {(round(-x, 4) + 0.0, round(y, 4) + 0.0, round(z, 4) + 0.0) for x, y, z in form.points.tolist()}
    assert mine == other


def test_a_small_change_of_the_tape_makes_a_small_change_of_the_form() -> None:
    body = resolve_body(BODY)
    before = from_tape(body)
    after = from_tape(replace(body, bust=body.bust + 1.0))
    assert abs(before.levels["bust"] - after.levels["bust"]) < 2.0
    assert abs(before.mounds[0].out - after.mounds[0].out) < 3.0


def test_a_fuller_bust_stands_farther_out_until_the_torso_has_to_give() -> None:
    flat = from_tape(resolve_body(BODY | {"bust": 860.0}))
    full = from_tape(resolve_body(BODY | {"bust": 900.0}))
    huge = from_tape(resolve_body(BODY | {"bust": 1080.0}))
    assert flat.mounds[0].out < full.mounds[0].out
    assert "steepest" in huge.assumed
    assert huge.mounds[0].out == pytest.approx(huge.mounds[0].radius)


def test_without_a_bust_it_ends_at_the_underbust_and_has_no_breasts() -> None:
    form = form_of(resolve_body(BODY), bust=False)
    assert set(form.levels) == {"hip", "high_hip", "waist", "underbust"}
    assert not form.bust_points
    assert taut(ring(form, "underbust")) == pytest.approx(780.0, abs=0.01)
