"""What a worn pattern says: girths, stand-off, pressure, strain, cups. Figures only where it came to rest."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from coutil.pattern.model import Side
from coutil.seaming import CENTRE_BACK, CENTRE_FRONT
from coutil.worn.sections import Floats
from coutil.worn.sewn import Line, Patch
from coutil.worn.wear import Worn, level_line, place

# Places along a level or round a cup at which it is read.
STEP, ROUND_CUP = 2.0, 96
KPA = 1000.0  # of one N/mm²
# The band of a panel between two of its levels is a region; a smaller piece of one than this, in mm², tells nothing.
LEAST_REGION = 400.0


@dataclass(frozen=True, slots=True)
class LevelRead:
    """Girth of the cloth at a level in mm, with what an opening leaves: flat, worn, and by which part longer (0.01 is
    1 %)."""

    flat_mm: float
    girth_mm: float
    strain: float


@dataclass(frozen=True, slots=True)
class Region:
    """A panel between two levels: `band` names the lower and the upper one, "" for the hem or the top.

    Pressure on the body in kPa, the mean over the region; strains along and across the grain, mean; the largest in any
    direction, and the least (negative: pressed together, where cloth wrinkles), each as 95 and 5 of 100 parts of the
    region's area have them.
    """

    panel: str
    side: Side
    band: tuple[str, str]
    pressure_kpa: float
    along: float
    across: float
    most: float
    least: float


@dataclass(frozen=True, slots=True)
class CupRead:
    """How deep a cup is when worn, in mm: its bust point over the plane through the rim of its base."""

    side: Side
    depth_mm: float


@dataclass(frozen=True, slots=True)
class Reading:
    """What is told of a worn pattern. Where it did not settle all figures are left out.

    `stand_off_mm` is by line ("top", "hem") and by place along it, from the centre front. `stay_n` is what holds the
    waist at its height, in N, positive where the bodice would ride up.
    """

    settled: bool
    residual_n: float
    mesh_mm: float
    seconds: float
    assumed: tuple[str, ...]
    levels: Mapping[str, LevelRead] = field(default_factory=dict)
    stand_off_mm: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    regions: tuple[Region, ...] = ()
    cups: tuple[CupRead, ...] = ()
    stay_n: float = 0.0


def read(worn: Worn, reach: Mapping[Side, float]) -> Reading:
    """Everything that a worn pattern says. `reach` is by side of each cup from the bust point to its base, in mm."""
    rest, sewn = worn.rest, worn.sewn
    assumed = (*worn.stand.form.assumed, *worn.assumed)
    plain = (rest.settled, rest.residual, sewn.width, worn.seconds, assumed)
    if not rest.settled:
        return Reading(*plain)
    return Reading(
        *plain,
        levels=_levels(worn),
        stand_off_mm={"top": _along(worn, "top"), "hem": _along(worn, "hem")},
        regions=_regions(worn),
        cups=_cups(worn, reach),
        stay_n=_stay(worn),
    )


def off(worn: Worn) -> Floats:
    """Stand-off of each vertex in mm; what presses in counts as nothing."""
    d, _ = worn.contact.distance.at(worn.rest.points)
    out: Floats = np.maximum(d - worn.contact.off, 0.0)
    return out


def in_space(worn: Worn, patch: Patch, flat: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """Where flat places (n, 2) of a patch lie in space (n, 3), and which of them it has (n,)."""
    who, weights = place(patch.mesh.points, patch.mesh.faces, flat)
    at = np.einsum("nk,nkx->nx", weights, worn.rest.points[patch.number[patch.mesh.faces[who]]])
    return at, who >= 0


def _levels(worn: Worn) -> dict[str, LevelRead]:
    """Levels that lie in the cloth of every panel from end to end."""
    out = {}
    sides = 2.0 if worn.sewn.half else 1.0
    names = list(dict.fromkeys(level for p in worn.sewn.patches for level in p.panel.levels))
    for level in names:
        flat = length = 0.0
        whole = True
        for patch in worn.sewn.patches:
            # Net between the cups bears none.
            if not patch.panel.levels:
                continue
            ends = patch.panel.levels.get(level)
            if ends is None:
                whole = False
                break
            line = level_line(worn.sewn, ends, STEP, patch.mirrored)
            at, there = in_space(worn, patch, line)
            if not there.all():
                whole = False
                break
            flat += float(np.linalg.norm(line[-1] - line[0]))
            length += float(np.linalg.norm(np.diff(at, axis=0), axis=1).sum())
        if whole:
            gap = sum(worn.wearing.gaps.values())
            out[level] = LevelRead(sides * flat + gap, sides * length + gap, length / flat - 1.0)
    return out


def _along(worn: Worn, role: str) -> dict[str, float]:
    """Stand-off along the top or the hem: at the centres and at each seam, in the order of the half."""
    distance = off(worn)
    end = -1 if role == "top" else 0
    edge = [line for line in worn.sewn.edges if line.role == role]
    on = {int(v) for line in edge for v in line.vertices}
    places: list[tuple[float, str, float]] = []
    for line in [*worn.sewn.edges, *worn.sewn.seams]:
        if line.role in ("top", "hem"):
            continue
        vertex = int(line.vertices[end])
        if vertex not in on:
            continue
        x, _, z = worn.rest.points[vertex]
        places.append((float(np.arctan2(abs(x), z)), _called(worn, line), float(distance[vertex])))
    return {name: mm for _, name, mm in sorted(places)}


def _called(worn: Worn, line: Line) -> str:
    """A line's name as the pattern has it; with its side where both sides are told."""
    name = line.role.replace("_", " ") if line.role in (CENTRE_FRONT, CENTRE_BACK) else line.name
    middle = line.role in (CENTRE_FRONT, CENTRE_BACK)
    return name if worn.sewn.half or (middle and not worn.wearing.gaps.get(line.role)) else f"{name}, {line.side}"


def _regions(worn: Worn) -> tuple[Region, ...]:
    _, _, force = worn.contact.forces(worn.rest.points)
    per_area = force / worn.contact.areas
    strain = worn.membrane.strain(worn.rest.points)
    # Green's strain e is a stretch by sqrt(1 + 2 e) - 1.
    stretch = np.sqrt(np.maximum(1.0 + 2.0 * strain[:, :2], 1e-9)) - 1.0
    mean, half = 0.5 * (strain[:, 0] + strain[:, 1]), 0.5 * (strain[:, 0] - strain[:, 1])
    radius = np.hypot(half, 0.5 * strain[:, 2])
    high, low = (np.sqrt(np.maximum(1.0 + 2.0 * (mean + s * radius), 1e-9)) - 1.0 for s in (1.0, -1.0))
    out = []
    for patch in worn.sewn.patches:
        t = np.arange(patch.first_face, patch.first_face + len(patch.mesh.faces))
        middle = patch.mesh.points[patch.mesh.faces].mean(axis=1)
        pressed = per_area[worn.sewn.faces[t]].mean(axis=1)
        for band, inside in _bands(patch, middle):
            k = t[inside]
            area = worn.membrane.areas[k]
            if area.sum() < LEAST_REGION:
                continue
            out.append(
                Region(
                    patch.panel.name,
                    "both" if worn.sewn.half else patch.side,
                    band,
                    KPA * float(np.average(pressed[inside], weights=area)),
                    float(np.average(stretch[k, 0], weights=area)),
                    float(np.average(stretch[k, 1], weights=area)),
                    _part(high[k], area, 0.95),
                    _part(low[k], area, 0.05),
                )
            )
    return tuple(out)


def _part(values: Floats, area: Floats, part: float) -> float:
    """The value that this part of an area stays below."""
    order = np.argsort(values)
    below = np.cumsum(area[order]) / area.sum()
    return float(values[order][min(int(np.searchsorted(below, part)), len(values) - 1)])


def _bands(patch: Patch, middle: Floats) -> list[tuple[tuple[str, str], NDArray[np.bool_]]]:
    """The stretches of a panel between its levels, and which of its places lie in each."""
    heights = sorted((0.5 * (a[1] + b[1]), name) for name, (a, b) in patch.panel.levels.items())
    names = ["", *(n for _, n in heights), ""]
    stops = [-np.inf, *(y for y, _ in heights), np.inf]
    return [
        ((names[k], names[k + 1]), (middle[:, 1] >= stops[k]) & (middle[:, 1] < stops[k + 1]))
        for k in range(len(stops) - 1)
    ]


def _cups(worn: Worn, reach: Mapping[Side, float]) -> tuple[CupRead, ...]:
    out = []
    for seam in worn.pattern.cup_seams:
        for side in ("left", "right"):
            two = [p for p in worn.sewn.patches if p.side == side and p.panel.name in (seam.a.panel, seam.b.panel)]
            radius = reach.get(seam.side) or reach.get(side)
            if len(two) < 2 or seam.side not in ("both", side) or radius is None:
                continue
            rim, tops = [], []
            for patch in two:
                middle = np.array(worn.pattern.cup_edge(patch.panel).at("bust_point"))  # type: ignore[union-attr]
                if patch.mirrored:
                    middle = middle * np.array([-1.0, 1.0])
                angle = np.linspace(0.0, 2.0 * np.pi, ROUND_CUP, endpoint=False)
                ring = middle + radius * np.stack((np.cos(angle), np.sin(angle)), axis=1)
                at, there = in_space(worn, patch, ring)
                rim.append(at[there])
                tops.append(in_space(worn, patch, middle[None])[0][0])
            around = np.concatenate(rim)
            if len(around) < ROUND_CUP // 3:
                continue
            centre = around.mean(axis=0)
            normal = np.linalg.svd(around - centre, full_matrices=False)[2][2]
            depth = abs(float((np.mean(tops, axis=0) - centre) @ normal))
            out.append(CupRead("both" if worn.sewn.half else side, depth))
    return tuple(out)


def _stay(worn: Worn) -> float:
    """Sum of what holds the level by which it hangs, in N, positive downwards; of both sides."""
    total = sum(
        float((p.factors * (np.einsum("ek,ek->e", p.weights, worn.rest.points[p.vertices, 1]) - p.to)).sum())
        for p in worn.stays
    )
    return (2.0 if worn.sewn.half else 1.0) * total
