"""A pattern worn: sewn up, laid round the form, and brought to rest on it, coarse first and then fine."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from coutil.pattern import Pattern
from coutil.seaming import CENTRE_BACK, CENTRE_FRONT
from coutil.worn.cloth import Cloth, Membrane, bending, rod
from coutil.worn.distance import Distance, distance_grid
from coutil.worn.form import Form
from coutil.worn.refusal import WornError
from coutil.worn.sections import Floats
from coutil.worn.settle import Rest, settle
from coutil.worn.sewn import Ints, Sewn, sew
from coutil.worn.start import begin
from coutil.worn.system import Contact, Pull, System

# Mesh widths in mm: for the page while she edits, and on asking. By trial 6 mm differs from 4 mm by 0.2 mm in the mean,
# 12 mm from 6 mm by 0.4.
COARSE, FINE = 12.0, 6.0
# How hard the form is, in N/mm³: 50 kPa for each mm, or flesh, 0.5 kPa for each mm (assumed, not measured).
HARD, FLESH = 0.05, 0.0005
# A spiral steel bone 6 mm wide, bent in its easy direction: E I in N mm² (assumed, not measured).
BONE = 3000.0
# What keeps the waist at its height, in N/mm for each mm of it: a stay, or where there is none the friction.
STAY = 0.02
# What a lacing's two edges are kept apart by, in N/mm for each pair of vertices.
LACED = 5.0
# A place outside a panel's triangles by this part of one still lies on it: chords cut curved edges off.
SLACK: Final = 0.15
# What stretches and bends more easily than the layers of cloth, as a part of them (assumed, not measured): an elastic
# panel takes 30 % under 0.3 N for each mm, net 1 % under a tenth of what coutil takes.
WEAKER: Final[Mapping[str, float]] = {"cloth": 1.0, "elastic": 0.05, "net": 0.1}
# Levels by which a pattern may be held at its height, the best first.
HEIGHTS: Final = ("waist", "underbust", "high_hip", "bust", "hip")
# What is assumed of every worn pattern, by code, beside what its form assumes.
ASSUMED: Final = ("cloth", "smooth", "still")


@dataclass(frozen=True, slots=True)
class Wearing:
    """How it is worn: cloth, how hard the form is in N/mm³, by seam the mm of arc from the hem to which it is boned,
    and by the role of a centre what stays open there, in mm."""

    cloth: Cloth = field(default_factory=Cloth)
    hard: float = HARD
    boned: Mapping[str, float] = field(default_factory=dict)
    gaps: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, eq=False)
class Stand:
    """A form made ready to be tried on: with its distances. Kept while only the pattern changes."""

    form: Form
    distance: Distance


@dataclass(frozen=True, slots=True, eq=False)
class Worn:
    """What came of it: the mesh, where it lies, and what pulls there."""

    pattern: Pattern
    stand: Stand
    wearing: Wearing
    sewn: Sewn
    membrane: Membrane
    contact: Contact
    stays: tuple[Pull, ...]
    rest: Rest
    seconds: float
    assumed: tuple[str, ...] = ASSUMED

    @property
    def settled(self) -> bool:
        return self.rest.settled


def stand_of(form: Form) -> Stand:
    """A form with its distances worked out."""
    return Stand(form, distance_grid(form.points, form.faces, half=form.symmetric))


def one_side_tells(pattern: Pattern, form: Form) -> bool:
    """Whether the left half alone tells what both do."""
    return form.symmetric and all(p.side == "both" for p in pattern.panels)


def wear(
    pattern: Pattern,
    stand: Stand,
    wearing: Wearing,
    *,
    fine: bool = False,
    told: Callable[[float, str], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Worn:
    """Sew a pattern up and bring it to rest on a form.

    Raises WornError where a panel cannot be meshed, StoppedError when `stop` says so. Where it does not come to rest
    `Worn.settled` is false and no figure counts.
    """
    began = time.perf_counter()
    half = one_side_tells(pattern, stand.form)
    sewn = sew(pattern, COARSE, wearing.gaps, half=half)
    gaps = (wearing.gaps.get(CENTRE_FRONT, 0.0), wearing.gaps.get(CENTRE_BACK, 0.0))
    level, waist = hung_by(pattern)
    start = begin(sewn, stand.form, gaps, waist - stand.form.levels[level])

    def heard(part: str, share: float, of: float) -> Callable[[int, float], None] | None:
        if told is None:
            return None
        # Steps are not known beforehand: the share closes up on its end.
        return lambda step, residual: told(share + of * (1.0 - 0.85**step), part)

    system, membrane, contact, stays = assemble(sewn, stand, wearing, level)
    rest = _settled(system, sewn, start, heard("coarse", 0.0, 0.4 if fine else 1.0), stop)
    if fine and rest.settled:
        finer = sew(pattern, FINE, wearing.gaps, half=half)
        start = carried(sewn, rest.points, finer)
        sewn = finer
        system, membrane, contact, stays = assemble(sewn, stand, wearing, level)
        rest = _settled(system, sewn, start, heard("fine", 0.4, 0.6), stop)
    return Worn(pattern, stand, wearing, sewn, membrane, contact, stays, rest, time.perf_counter() - began)


def _settled(
    system: System,
    sewn: Sewn,
    start: Floats,
    told: Callable[[int, float], None] | None,
    stop: Callable[[], bool] | None,
) -> Rest:
    for vertex, x in sewn.held.items():
        start[vertex, 0] = x
    return settle(system, start, told=told, stop=stop)


def hung_by(pattern: Pattern) -> tuple[str, float]:
    """The level by which a pattern is held at its height, and where its panels have it (mean y, mm)."""
    for level in HEIGHTS:
        bearing = [p for p in pattern.panels if p.levels]
        ends = [p.levels[level] for p in bearing if level in p.levels]
        if bearing and len(ends) == len(bearing):
            return level, sum(a[1] + b[1] for a, b in ends) / (2.0 * len(ends))
    raise WornError("no_level")


def assemble(
    sewn: Sewn, stand: Stand, wearing: Wearing, level: str
) -> tuple[System, Membrane, Contact, tuple[Pull, ...]]:
    """Everything that acts on a mesh."""
    cloth = wearing.cloth
    weaker = np.concatenate([np.full(len(p.mesh.faces), WEAKER[p.panel.material]) for p in sewn.patches])
    membrane = Membrane.of(sewn.faces, sewn.rest, cloth, weaker)
    shares = np.repeat(membrane.areas / 3.0, 3)
    areas = np.bincount(sewn.faces.ravel(), weights=shares, minlength=sewn.count).astype(np.float64)
    contact = Contact(stand.distance, wearing.hard, areas, np.zeros(sewn.count))
    apart = np.concatenate([np.full(len(p.mesh.faces), k) for k, p in enumerate(sewn.patches)])
    springs = [bending(sewn.faces, sewn.rest, apart, cloth.bending * weaker)]
    for line in sewn.seams:
        reach = wearing.boned.get(line.name, 0.0)
        inside = int((line.at <= reach + 1e-6).sum())
        if inside >= 3:
            springs.append(rod(line.vertices[:inside], line.at[:inside], BONE))
    stays = tuple(_stay(sewn, level, stand.form.levels[level]))
    pulls = list(stays)
    if sewn.laced:
        a, b, gap = (np.array(v) for v in zip(*sewn.laced, strict=True))
        ends = np.stack((a, b), axis=1)
        sign = np.tile([1.0, -1.0], (len(a), 1))
        for axis in range(3):
            to = gap if axis == 0 else np.zeros(len(a))
            pulls.append(Pull(ends, sign, np.full(len(a), LACED), axis, to.astype(float)))
    held = np.array(sorted(3 * v for v in sewn.held), dtype=np.int64)
    system = System(sewn.count, membrane, springs=springs, pulls=pulls, contact=contact, held=held)
    return system, membrane, contact, stays


def _stay(sewn: Sewn, level: str, height: float) -> list[Pull]:
    """What holds a level at its height, piece by piece along it."""
    out = []
    for patch in sewn.patches:
        if level not in patch.panel.levels:
            continue
        line = level_line(sewn, patch.panel.levels[level], sewn.width, patch.mirrored)
        at = place(patch.mesh.points, patch.mesh.faces, line)
        inside = at[0] >= 0
        if inside.any():
            each = float(np.linalg.norm(line[-1] - line[0])) / len(line)
            vertices = patch.number[patch.mesh.faces[at[0][inside]]]
            n = len(vertices)
            out.append(Pull(vertices, at[1][inside], np.full(n, STAY * each), 1, np.full(n, height)))
    return out


def level_line(
    sewn: Sewn, ends: tuple[tuple[float, float], tuple[float, float]], step: float, mirrored: bool
) -> Floats:
    """Places (n, 2) along a level, at most `step` mm apart, on a panel that may be mirrored."""
    a, b = np.array(ends[0]), np.array(ends[1])
    n = max(int(np.ceil(np.linalg.norm(b - a) / step)), 1)
    line: Floats = a + (b - a) * np.linspace(0.0, 1.0, n + 1)[:, None]
    line[:, 0] *= -1.0 if mirrored else 1.0
    return line


def place(points: Floats, faces: Ints, to: Floats, *, slack: float = SLACK) -> tuple[Ints, Floats]:
    """In which flat triangle each place lies (-1: in none), and its weights there (n, 3). A place may lie outside by
    `slack` parts of a triangle's height."""
    t = points[faces]
    a, u, v = t[:, 0], t[:, 1] - t[:, 0], t[:, 2] - t[:, 0]
    det = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    d = to[:, None, :] - a[None]
    w1 = (d[..., 0] * v[:, 1] - d[..., 1] * v[:, 0]) / det
    w2 = (u[:, 0] * d[..., 1] - u[:, 1] * d[..., 0]) / det
    least = np.minimum(np.minimum(w1, w2), 1.0 - w1 - w2)
    who = least.argmax(axis=1)
    k = np.arange(len(to))
    weights = np.stack((1.0 - w1[k, who] - w2[k, who], w1[k, who], w2[k, who]), axis=1)
    return np.where(least[k, who] >= -slack, who, -1), weights


def carried(sewn: Sewn, points: Floats, finer: Sewn) -> Floats:
    """The finer mesh's vertices where the coarser one lies."""
    out = np.zeros((finer.count, 3))
    weight = np.zeros(finer.count)
    for old, new in zip(sewn.patches, finer.patches, strict=True):
        who, w = place(old.mesh.points, old.mesh.faces, new.mesh.points, slack=np.inf)
        at = np.einsum("nk,nkx->nx", w, points[old.number[old.mesh.faces[who]]])
        np.add.at(out, new.number, at)
        np.add.at(weight, new.number, 1.0)
    found: Floats = out / weight[:, None]
    return found
