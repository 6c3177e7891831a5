"""Worn cloth against closed forms: ring, cone, ball; and what must hold of any energy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from coutil.worn.cloth import Cloth, Membrane, bending, rod
from coutil.worn.distance import Distance, distance_grid
from coutil.worn.patch import MeshError, triangulate
from coutil.worn.settle import settle
from coutil.worn.system import Contact, Pull, System

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
CLOTH = Cloth(along=20.0, across=20.0, shear=1.5, bending=0.05)


def cylinder(radius: float, low: float, high: float, around: int = 720) -> tuple[Floats, Ints]:
    """A closed cylinder about the y axis."""
    angle = np.linspace(0.0, 2.0 * math.pi, around, endpoint=False)
    rows = np.linspace(low, high, 41)
    ring = np.stack((radius * np.sin(angle), radius * np.cos(angle)), axis=1)
    points = np.array([(x, y, z) for y in rows for x, z in ring])
    k = np.arange(len(rows) * around).reshape(len(rows), around)
    a, b, c, d = k[:-1], np.roll(k, -1, 1)[:-1], np.roll(k, -1, 1)[1:], k[1:]
    walls = np.concatenate((np.stack((a, b, c), -1).reshape(-1, 3), np.stack((a, c, d), -1).reshape(-1, 3)))
    n = len(points)
    ends = [(n, k[0, (i + 1) % around], k[0, i]) for i in range(around)]
    ends += [(n + 1, k[-1, i], k[-1, (i + 1) % around]) for i in range(around)]
    return np.concatenate((points, [[0.0, low, 0.0], [0.0, high, 0.0]])), np.concatenate((walls, np.array(ends)))


def ball(radius: float, count: int = 6000) -> tuple[Floats, Ints]:
    k = np.arange(count) + 0.5
    polar, turn = np.arccos(1.0 - 2.0 * k / count), math.pi * (1.0 + math.sqrt(5.0)) * k
    points = radius * np.stack((np.cos(turn) * np.sin(polar), np.cos(polar), np.sin(turn) * np.sin(polar)), axis=1)
    return points, ConvexHull(points).simplices.astype(np.int64)


def areas(m: Membrane, count: int) -> Floats:
    return np.bincount(m.faces.ravel(), weights=np.repeat(m.areas / 3.0, 3), minlength=count)


class TestRing:
    """A strip 2 % too short round a cylinder: strain 2 %, pressure = tension / radius (Laplace)."""

    RADIUS, TALL, WIDTH, SHORT = 100.0, 60.0, 6.0, 0.02

    def worn(self, hard: float) -> tuple[Membrane, Contact, Floats, bool]:
        length = 2.0 * math.pi * self.RADIUS * (1.0 - self.SHORT)
        n, rows = math.ceil(length / self.WIDTH), 10
        x = np.linspace(0.0, length, n + 1)
        y = np.linspace(-self.TALL / 2.0, self.TALL / 2.0, rows + 1)
        flat = np.array([(u, v) for v in y for u in x])
        k = np.arange(len(flat)).reshape(rows + 1, n + 1)
        a, b, c, d = (q.ravel() for q in (k[:-1, :-1], k[:-1, 1:], k[1:, 1:], k[1:, :-1]))
        corners = np.concatenate((np.stack((a, b, c), 1), np.stack((a, c, d), 1)))
        rest = flat[corners][..., ::-1]  # the grain goes up
        ring = np.arange((rows + 1) * n).reshape(rows + 1, n)
        number = np.concatenate((ring, ring[:, :1]), axis=1).ravel()
        faces = number[corners]
        angle = 2.0 * math.pi * flat[:, 0] / length
        start = np.zeros(((rows + 1) * n, 3))
        start[number] = np.stack((105.0 * np.sin(angle), flat[:, 1], 105.0 * np.cos(angle)), axis=1)
        m = Membrane.of(faces, rest, CLOTH)
        grid = distance_grid(*cylinder(self.RADIUS, -120.0, 120.0))
        contact = Contact(grid, hard, areas(m, len(start)), np.zeros(len(start)))
        still = [Pull(number[:1, None], np.ones((1, 1)), np.ones(1), axis, np.zeros(1)) for axis in (1,)]
        turn = Pull(number[:1, None], np.ones((1, 1)), np.ones(1), 0, np.zeros(1))
        system = System(len(start), m, pulls=[*still, turn], contact=contact)
        rest_at = settle(system, start)
        return m, contact, rest_at.points, rest_at.settled

    def test_strain_and_pressure(self) -> None:
        m, contact, x, settled = self.worn(hard=5.0)
        assert settled
        middle = np.abs(x[m.faces].mean(axis=1)[:, 1]) < 20.0
        # A strip that is stretched round narrows at will: only the strain round it is given.
        e = m.strain(x)[middle, 1].mean()
        wanted = 0.5 * (1.0 / (1.0 - self.SHORT) ** 2 - 1.0)
        assert e == pytest.approx(wanted, rel=0.01)
        _, _, force = contact.forces(x)
        inner = np.abs(x[:, 1]) < 20.0
        pressure = force[inner].sum() / contact.areas[inner].sum()
        # Green's stress times the stretch is the tension along the strip, per mm of its flat width.
        stretch = 1.0 / (1.0 - self.SHORT)
        tension = CLOTH.across * wanted * stretch
        # Laplace on the worn area, which is longer by the stretch than the flat one that the vertices' shares count.
        assert pressure == pytest.approx(tension / self.RADIUS * stretch, rel=0.01)

    def test_forces_of_the_form_add_up_to_nothing_and_hold_the_tension_of_a_half(self) -> None:
        m, contact, x, _ = self.worn(hard=5.0)
        _, normal, force = contact.forces(x)
        push = normal * force[:, None]
        assert np.abs(push.sum(axis=0)).max() < 1e-2
        half = push[x[:, 2] > 0.0][:, 2].sum()
        stress = m.stress(x)[:, 1].mean() / (1.0 - self.SHORT)
        assert half == pytest.approx(2.0 * stress * self.TALL, rel=0.03)


def cone(width: float) -> tuple[Membrane, list[object], Floats, Ints, float]:
    """A disc with a sector cut out, its cut sewn; flat, with every point at its own distance from the middle."""
    radius, angle = 70.0, math.radians(60.0)
    n = math.ceil((2.0 * math.pi - angle) * radius / width)
    rim = [radius * np.array([math.cos(t), math.sin(t)]) for t in np.linspace(0.0, 2.0 * math.pi - angle, n + 1)]
    k = math.ceil(radius / width)
    first = [rim[0] * i / k for i in range(1, k)]
    last = [rim[-1] * (k - i) / k for i in range(1, k)]
    outline = np.array([np.zeros(2), *first, *rim, *last])
    mesh = triangulate(outline, width)
    number = np.arange(len(mesh.points))
    for i in range(1, k + 1):
        number[k + n + (k - i)] = number[i]
    number = np.unique(number, return_inverse=True)[1]
    faces = number[mesh.faces]
    m = Membrane.of(faces, mesh.points[mesh.faces], CLOTH)
    part = np.zeros(len(faces), dtype=np.int64)
    springs = [bending(faces, mesh.points[mesh.faces], part, np.full(len(faces), CLOTH.bending))]
    share = 1.0 - angle / (2.0 * math.pi)
    rho = np.linalg.norm(mesh.points, axis=1)
    turn = (np.arctan2(mesh.points[:, 1], mesh.points[:, 0]) % (2.0 * math.pi)) / share
    start = np.zeros((number.max() + 1, 3))
    start[number] = np.stack((rho * share * np.cos(turn), 0.4 * (radius - rho), rho * share * np.sin(turn)), axis=1)
    start[number[0]] = (0.0, 0.4 * radius, 0.0)
    on_rim = number[k : k + n + 1]
    wanted = radius * math.sqrt(1.0 - share * share)
    return m, list(springs), start, np.unique(on_rim), wanted


def test_a_cone_with_its_rim_held_plane_has_its_depth() -> None:
    m, springs, start, rim, wanted = cone(6.0)
    share = 1.0 - 60.0 / 360.0
    start[rim] *= np.array([1.0, 0.0, 1.0])
    flat = np.hypot(start[rim, 0], start[rim, 2])
    start[rim] *= (70.0 * share / flat)[:, None]
    held = (3 * rim[:, None] + np.arange(3)).ravel()
    found = settle(System(len(start), m, springs=springs, held=held), start)  # type: ignore[arg-type]
    assert found.settled
    assert found.points[:, 1].max() == pytest.approx(wanted, rel=0.015)


@pytest.mark.parametrize("width", [12.0, 6.0])
def test_twelve_gores_on_a_ball_that_is_too_large_press_as_laplace_says(width: float) -> None:
    """Gores of a ball of radius 100 on one of 102: a skin under even tension T presses with 2 T / R."""
    radius, larger, gores = 100.0, 102.0, 12
    half = math.pi / gores
    # A gore from latitude -60 to 60 degrees: its half width at each latitude, unrolled along its middle.
    top = math.radians(60.0)
    n = math.ceil(2.0 * top * radius / width)
    up = np.linspace(-top, top, n + 1)
    side = radius * np.cos(up) * np.tan(half) * (half / math.tan(half))
    right = np.stack((side, radius * up), axis=1)
    across = math.ceil(2.0 * side[-1] / width)
    over = np.linspace(side[-1], -side[-1], across + 1)[1:-1]
    under = np.linspace(-side[0], side[0], across + 1)[1:-1]
    outline = np.concatenate(
        (
            right,
            np.stack((over, np.full(len(over), radius * top)), 1),
            np.stack((-side, radius * up), 1)[::-1],
            np.stack((under, np.full(len(under), -radius * top)), 1),
        )
    )
    mesh = triangulate(outline, width)
    ups = n + 1
    lefts = ups + len(over) + np.arange(ups)[::-1]  # by row from below
    size = len(mesh.points)
    number = np.arange(gores * size)
    for g in range(gores):
        nxt = (g + 1) % gores
        number[nxt * size + lefts] = g * size + np.arange(ups)
    number = np.unique(number, return_inverse=True)[1]
    faces = np.concatenate([number[g * size + mesh.faces] for g in range(gores)])
    even = Cloth(along=20.0, across=20.0, shear=10.0, bending=0.05)
    m = Membrane.of(faces, np.tile(mesh.points[mesh.faces][..., ::-1], (gores, 1, 1)), even)
    start = np.zeros((number.max() + 1, 3))
    for g in range(gores):
        latitude = mesh.points[:, 1] / radius
        turn = 2.0 * half * g + mesh.points[:, 0] / (radius * np.cos(latitude))
        at = 104.0 * np.stack((np.sin(turn) * np.cos(latitude), np.sin(latitude), np.cos(turn) * np.cos(latitude)), 1)
        start[number[g * size : (g + 1) * size]] = at
    rim = np.flatnonzero(np.abs(np.abs(start[:, 1]) - 104.0 * math.sin(top)) < 1e-6)
    # The open ends are held where the larger ball has them, so that the skin is stretched evenly.
    start[rim] *= larger / 104.0
    grid = distance_grid(*ball(larger))
    contact = Contact(grid, 0.5, areas(m, len(start)), np.zeros(len(start)))
    held = (3 * rim[:, None] + np.arange(3)).ravel()
    part = np.repeat(np.arange(gores), len(mesh.faces))
    springs = [bending(faces, np.tile(mesh.points[mesh.faces], (gores, 1, 1)), part, np.full(len(faces), 0.05))]
    found = settle(System(len(start), m, springs=springs, contact=contact, held=held), start)
    assert found.settled
    _, _, force = contact.forces(found.points)
    inner = np.abs(found.points[:, 1]) < 50.0
    pressure = force[inner].sum() / contact.areas[inner].sum()
    # Tension along and across is Green's stress times the stretch; both pull over the worn radius, on the worn area,
    # which is larger than the flat one that the vertices' shares count.
    e = m.strain(found.points)[np.abs(found.points[faces].mean(axis=1)[:, 1]) < 50.0, :2].mean(axis=0)
    stretch = np.sqrt(1.0 + 2.0 * e)
    tension = 20.0 * e * stretch / stretch[::-1]
    wanted = tension.sum() / larger * stretch.prod()
    assert pressure == pytest.approx(wanted, rel=0.02 if width == 6.0 else 0.04)
    # Flat gores are longer at their edges than in the middle, by up to 0.9 % so near the middle of the ball.
    assert e.mean() == pytest.approx(0.5 * ((larger / radius) ** 2 - 1.0), rel=0.08)


def a_system() -> tuple[System, Floats]:
    """A bent patch with everything that acts on cloth."""
    rng = np.random.default_rng(3)
    mesh = triangulate(np.array([(60.0 * math.cos(t), 60.0 * math.sin(t)) for t in np.linspace(0, 6.1, 30)]), 14.0)
    m = Membrane.of(mesh.faces, mesh.points[mesh.faces], Cloth())
    n = len(mesh.points)
    part = np.zeros(len(mesh.faces), dtype=np.int64)
    springs = [bending(mesh.faces, mesh.points[mesh.faces], part, np.full(len(mesh.faces), 2.0))]
    springs.append(rod(np.arange(8), np.arange(8) * 12.0, 3000.0))
    grid = distance_grid(*cylinder(100.0, -120.0, 120.0))
    contact = Contact(grid, 0.05, areas(m, n), np.zeros(n))
    pulls = [Pull(mesh.faces[:4], np.full((4, 3), 1.0 / 3.0), np.full(4, 0.3), 1, np.full(4, 2.0))]
    x = np.stack((mesh.points[:, 0], mesh.points[:, 1], 96.0 + 0.0 * mesh.points[:, 0]), axis=1)
    return System(n, m, springs=springs, pulls=pulls, contact=contact), x + rng.normal(scale=1.5, size=x.shape)


def test_the_gradient_is_that_of_the_energy_and_the_second_derivative_that_of_the_gradient() -> None:
    system, x = a_system()
    rng = np.random.default_rng(4)
    for _ in range(5):
        way = rng.normal(size=x.shape)
        h = 1e-5
        slope = (system.energy(x + h * way) - system.energy(x - h * way)) / (2.0 * h)
        assert slope == pytest.approx(float((system.gradient(x) * way).sum()), rel=1e-6)
        # Contact's second derivative leaves out how the form curves, so it is left out here.
        system.contact, kept = None, system.contact
        turned = (system.gradient(x + h * way) - system.gradient(x - h * way)) / (2.0 * h)
        system.contact = kept
        bare = System(system.count, system.membrane, springs=system._springs, pulls=system._pulls)
        told = bare.hessian(x, without=0.0, more=0.0) @ way.ravel()
        assert np.abs(told - turned.ravel()).max() < 1e-4 * np.abs(told).max()


def test_what_is_left_of_the_second_derivative_is_never_negative() -> None:
    system, x = a_system()
    whole = np.linalg.eigvalsh(system.hessian(x, without=0.0, more=0.0).toarray())
    kept = np.linalg.eigvalsh(system.hessian(x, without=1.0, more=0.0).toarray())
    assert whole.min() < -1e-3
    assert kept.min() > -1e-9 * kept.max()


def test_a_moved_and_turned_cloth_has_the_same_energy() -> None:
    system, x = a_system()
    m = System(system.count, system.membrane, springs=system._springs)
    a, b = 0.7, -1.1
    turn = np.array([[math.cos(a), -math.sin(a), 0], [math.sin(a), math.cos(a), 0], [0, 0, 1.0]])
    turn = turn @ np.array([[1.0, 0, 0], [0, math.cos(b), -math.sin(b)], [0, math.sin(b), math.cos(b)]])
    assert m.energy(x @ turn.T + np.array([30.0, -8.0, 100.0])) == pytest.approx(m.energy(x), rel=1e-9)


def test_bending_round_a_cylinder_is_half_the_stiffness_times_curvature_squared_times_area() -> None:
    """An isometric roll of radius 100: half B / R² per area."""
    mesh = triangulate(np.array([(0.0, 0.0), *((x, 0.0) for x in range(5, 100, 5)), (100.0, 0.0),
                                 *((100.0, y) for y in range(5, 100, 5)), (100.0, 100.0),
                                 *((x, 100.0) for x in range(95, 0, -5)), (0.0, 100.0),
                                 *((0.0, y) for y in range(95, 0, -5))]), 5.0)  # fmt: skip
    rest = mesh.points[mesh.faces]
    at, weights, factors = bending(mesh.faces, rest, np.zeros(len(mesh.faces), dtype=np.int64), np.full(len(rest), 2.0))
    a = mesh.points[:, 0] / 100.0
    x = np.stack((100.0 * np.sin(a), mesh.points[:, 1], 100.0 * np.cos(a)), axis=1)
    sums = np.einsum("ek,ekx->ex", weights, x[at])
    energy = 0.5 * float(np.einsum("e,ex,ex->", factors, sums, sums))
    assert energy == pytest.approx(0.5 * 2.0 / 100.0**2 * 100.0 * 100.0, rel=0.06)


def test_a_bent_bone_holds_half_its_stiffness_times_curvature_squared_times_length() -> None:
    s = np.linspace(0.0, 90.0, 19)
    x = np.stack((200.0 * np.sin(s / 200.0), 200.0 * np.cos(s / 200.0), 0.0 * s), axis=1)
    at, weights, factors = rod(np.arange(19), s, 3000.0)
    sums = np.einsum("ek,ekx->ex", weights, x[at])
    energy = 0.5 * float(np.einsum("e,ex,ex->", factors, sums, sums))
    assert energy == pytest.approx(0.5 * 3000.0 / 200.0**2 * 85.0, rel=1e-3)


class TestDistance:
    def test_of_a_ball(self) -> None:
        grid = distance_grid(*ball(100.0))
        rng = np.random.default_rng(1)
        way = rng.normal(size=(3000, 3))
        way /= np.linalg.norm(way, axis=1)[:, None]
        far = rng.uniform(85.0, 150.0, 3000)
        value, slope = grid.at(way * far[:, None])
        near = np.abs(far - 100.0) < 20.0
        assert np.abs(value - (far - 100.0))[near].max() < 0.1
        assert np.abs(value - (far - 100.0)).max() < 0.3
        assert np.abs(slope - way)[near].max() < 0.03

    def test_its_gradient_is_that_of_its_value(self) -> None:
        grid = distance_grid(*ball(100.0))
        x = np.random.default_rng(2).uniform(-90.0, 90.0, (500, 3))
        self.slopes(grid, x)

    def slopes(self, grid: Distance, x: Floats) -> None:
        _, slope = grid.at(x)
        for k in range(3):
            step = np.zeros(3)
            step[k] = 1e-4
            told = (grid.at(x + step)[0] - grid.at(x - step)[0]) / 2e-4
            assert np.abs(told - slope[:, k]).max() < 1e-4


class TestTriangles:
    def test_fill_an_outline_and_keep_its_edges(self) -> None:
        outline = np.array([(math.cos(t) * 80.0, math.sin(t) * 50.0) for t in np.linspace(0.0, 2.0 * math.pi, 60)[:-1]])
        mesh = triangulate(outline, 8.0)
        a, b, c = (mesh.points[mesh.faces[:, k]] for k in range(3))
        area = 0.5 * ((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0])
        assert (area > 0.0).all()
        shoelace = 0.5 * float(
            np.sum(outline[:, 0] * np.roll(outline[:, 1], -1) - np.roll(outline[:, 0], -1) * outline[:, 1])
        )
        assert area.sum() == pytest.approx(shoelace, rel=1e-9)
        sides = np.stack((b - a, c - b, a - c), axis=1)
        cos = -np.einsum("nkx,nkx->nk", sides, np.roll(sides, 1, axis=1))
        cos /= np.linalg.norm(sides, axis=2) * np.linalg.norm(np.roll(sides, 1, axis=1), axis=2)
        assert math.degrees(np.arccos(np.clip(cos, -1, 1)).min()) > 20.0

    def test_a_crossed_outline_is_refused(self) -> None:
        with pytest.raises(MeshError):
            triangulate(np.array([(0.0, 0.0), (50.0, 50.0), (50.0, 0.0), (0.0, 50.0)]), 8.0)
