"""A torso with breasts from the tape: the sections that a taut tape reads the body's girths on.

The tape goes taut from bust point to bust point and does not see the hollow between; so each girth is that of the
convex section. What the tape does not tell is assumed, and told (`Made.assumed`): how deep a body is to its width, that
it stands upright without arms, that the breast is a mound over a round root. The mound's root begins at the underbust,
its way from there to the bust point is `bust_to_underbust`; how steep it is follows from the bust girth. Where no mound
gives that girth the steepest (or flattest) likely one is taken and the torso under it is made to measure instead.

Heights, mounds and the torso under them hang on one another; they are found together (Powell's hybrid method).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import root  # type: ignore[import-untyped]

from coutil.body import Body, BodySide
from coutil.worn.breast import Mound, apex, raised, way_up
from coutil.worn.refusal import WornError
from coutil.worn.sections import ANGLES, ROUND, Floats, Section, Torso, section, taut, taut_front

# Depth to width of each level: between 0.71 and 0.76 (found by trial, no source).
RATIO = {"hip": 0.76, "high_hip": 0.74, "waist": 0.74, "underbust": 0.73, "upper_bust": 0.71}
# How far a mound stands out for each mm of its radius: from nearly flat (judgement, no source) to the half sphere that
# coutil.body.breast takes a breast for.
FLATTEST, STEEPEST = 0.15, 1.0
# The armpit lies at least this far above the bust points, and the high hip above the hip, in mm, whatever the lengths.
ARMPIT_OVER_BUST, HIGH_HIP_OVER_HIP = 10.0, 10.0
# All lengths agree with the tape within this, in mm, or the form is refused.
AGREES = 1e-3
# Steps in which a way up or down the body is measured: right to 0.01 mm by trial.
STEPS = 16


@dataclass(frozen=True, slots=True)
class Made:
    """A torso with mounds (left, right), the heights of its levels in mm, and what had to be assumed, by code.

    `tilt` is by how much the bust level rises for each mm to the left: it passes through both bust points.
    """

    torso: Torso
    mounds: tuple[Mound, ...]
    levels: dict[str, float]
    tilt: float
    assumed: tuple[str, ...]


def from_tape(body: Body, *, bust: bool = True) -> Made:
    """The torso of a body; without `bust` it has no breasts and ends at the underbust, for garments that end there.

    Raises WornError where no torso has these measurements.
    """
    # The front above the breasts may be less than the mounds leave room for: then it is not held to.
    for front in (True, False) if bust else (True,):
        for full in (0.5, 1.0):
            maker = _Maker(body, bust, front)
            found = root(maker.miss, maker.start(full), tol=1e-10)
            if np.abs(maker.miss(found.x)).max() * _UNIT < AGREES:
                return maker.made(found.x)
    raise WornError("no_form")


def bust_ring(torso: Torso, mounds: tuple[Mound, ...], height: float, tilt: float) -> Floats:
    """Points (ROUND, 2) of the plane through both bust points: along its slope from side to side, and forward."""
    y = np.full((1, ROUND), height)
    ring = raised(torso, mounds, y)
    for _ in range(2 if tilt else 0):
        y = height + tilt * ring[..., 0]
        ring = raised(torso, mounds, y)
    out: Floats = ring[0] * np.array([math.hypot(1.0, tilt), 1.0])
    return out


# Unknowns are counted in this many mm, so that lengths and angles are of one size.
_UNIT = 100.0


class _Maker:
    """The unknowns, and by how much each reading of the tape is missed.

    In order: heights of hip, high hip, underbust; with a bust also of bust and armpit, girth and front of the armpit's
    section, how full the breasts are, and for each side that differs the mound's angle and radius.
    """

    def __init__(self, body: Body, bust: bool, front: bool) -> None:
        self.body, self.bust, self.front = body, bust, front
        self.sides: tuple[BodySide, ...] = (body.left,) if body.symmetric else (body.left, body.right)
        both = (body.left, body.right)
        self.tall = min(s.bust_to_waist - s.bust_to_underbust for s in both)
        self.armpit = sum(s.side_length for s in both) / 2.0
        belly = [s.front_waist - body.waist / 4.0 for s in both]
        girths = {"hip": body.hip, "high_hip": body.high_hip, "waist": body.waist}
        self.fixed = {k: _section(g, (g / 4.0 + belly[0], g / 4.0 + belly[1]), RATIO[k]) for k, g in girths.items()}
        self.fixed["underbust"] = _section(body.underbust, (body.underbust / 4.0,) * 2, RATIO["underbust"])

    def start(self, full: float) -> Floats:
        """Where the search begins; `full` is how full the breasts are then."""
        b = self.body
        v = [-b.hip_depth, -b.high_hip_depth, self.tall]
        if self.bust:
            reach = max(s.bust_to_underbust for s in self.sides)
            v += [self.tall + 0.8 * reach, max(self.armpit, self.tall + 0.8 * reach + 20.0)]
            v += [b.upper_bust, b.front_upper_arc, full * _UNIT]
            for s in self.sides:
                v += [min(s.bust_point / (b.underbust / 6.0), 1.2) * _UNIT, 0.8 * s.bust_to_underbust]
        return np.array(v) / _UNIT

    def torso(self, v: Floats) -> Torso:
        """The sections at their heights; unknowns that put them out of order are put in order."""
        hip, high_hip, underbust = (float(x) for x in v[:3] * _UNIT)
        fixed = self.fixed
        high_hip = min(high_hip, -5.0)
        at = {min(hip, high_hip - 5.0): fixed["hip"], high_hip: fixed["high_hip"], 0.0: fixed["waist"]}
        underbust = max(underbust, 5.0)
        at[underbust] = fixed["underbust"]
        if self.bust:
            bust, armpit, upper, front = (float(x) for x in v[3:7] * _UNIT)
            bust = max(bust, underbust + 5.0)
            armpit = max(armpit, bust + 5.0)
            upper = max(upper, 0.5 * self.body.upper_bust)
            at[armpit] = _section(upper, (front / 2.0, front / 2.0), RATIO["upper_bust"])
            _, under = _fullness(float(v[7]))
            at[bust] = Torso(at).at(bust).scaled(under)
        return Torso(at)

    def mounds(self, v: Floats) -> tuple[Mound, ...]:
        """Left and right."""
        steep, _ = _fullness(float(v[7]))
        out = []
        for k in range(2):
            angle, radius = v[8 + 2 * (k % len(self.sides)) :][:2]
            r = max(float(radius) * _UNIT, 5.0)
            root_at = float(v[2]) * _UNIT + self._above((self.body.left, self.body.right)[k])
            out.append(Mound(float(angle) * (1.0, -1.0)[k], root_at + r, r, steep * r))
        return tuple(out)

    def _above(self, side: BodySide) -> float:
        """How far the lower end of a side's root lies above the underbust: by as much as its ribs are longer."""
        return side.bust_to_waist - side.bust_to_underbust - self.tall

    def miss(self, v: Floats) -> Floats:
        torso, b = self.torso(v), self.body
        hip, high_hip, underbust = (float(x) for x in v[:3] * _UNIT)

        def side(y: Floats) -> Floats:
            axes = torso.axes(y)
            return (axes[..., 0] + axes[..., 1]) / 2.0

        out = [
            max(_way(side, hip) + b.hip_depth, hip - high_hip + HIGH_HIP_OVER_HIP),
            _way(side, high_hip) + b.high_hip_depth,
            _way(lambda y: torso.axes(y)[..., 2], underbust) - self.tall,
        ]
        if self.bust:
            out += self._breasts(v, torso, side)
        return np.array(out) / _UNIT

    def _breasts(self, v: Floats, torso: Torso, side: Callable[[Floats], Floats]) -> list[float]:
        b, bust, armpit = self.body, float(v[3]) * _UNIT, float(v[4]) * _UNIT
        mounds = self.mounds(v)
        tilt, height = _plane(torso, mounds)
        ring = raised(torso, mounds, np.full((1, ROUND), armpit))[0]
        front = (taut_front(ring) if self.front else float(v[6]) * _UNIT) - b.front_upper_arc
        out = [
            height - bust,
            min(_way(side, armpit) - self.armpit, armpit - height - ARMPIT_OVER_BUST),
            taut(ring) - b.upper_bust,
            front,
            taut(bust_ring(torso, mounds, height, tilt)) - b.bust,
        ]
        for s, m in zip(self.sides, mounds, strict=False):
            root_at = m.height - m.radius
            across = abs(apex(torso, m)[0])
            out += [across - s.bust_point, way_up(torso, m, root_at) - s.bust_to_underbust]
        return out

    def made(self, v: Floats) -> Made:
        torso = self.torso(v)
        levels = dict(zip(("hip", "high_hip", "waist"), (v[0] * _UNIT, v[1] * _UNIT, 0.0), strict=True))
        levels["underbust"] = v[2] * _UNIT
        mounds: tuple[Mound, ...] = ()
        tilt = 0.0
        if self.bust:
            levels |= {"bust": v[3] * _UNIT, "upper_bust": v[4] * _UNIT}
            mounds = self.mounds(v)
            tilt, _ = _plane(torso, mounds)
        return Made(torso, mounds, {k: float(y) for k, y in levels.items()}, tilt, self._told(v))

    def _told(self, v: Floats) -> tuple[str, ...]:
        out = ["depth", "upright"]
        if self.bust:
            out += ["mound"] if self.body.symmetric else ["mound", "both_alike"]
            out += [] if self.front else ["front_off"]
            out += ["steepest"] if v[7] > 1.0 else ["flattest"] if v[7] < 0.0 else []
        for key in ("upper_bust", "front_upper_arc", "side_length", "high_hip"):
            if key in self.body.assumed and (self.bust or key == "high_hip"):
                out.append(f"rule.{key}")
        return tuple(out)


def _section(girth: float, fronts: tuple[float, float], ratio: float) -> Section:
    """A section whose polygon, and not only its curve, has the girth."""
    found = section(girth, fronts, ratio)
    ring, _ = Torso({0.0: found, 1.0: found}).points(ANGLES, np.zeros(ROUND))
    return found.scaled(girth / taut(ring))


def _fullness(full: float) -> tuple[float, float]:
    """How steep the mounds are, and the girth of the torso under them over what lies between its neighbours.

    From 0 to 1 the mounds grow from flattest to steepest; beyond, the torso gives. One growing unknown, so that a small
    change of the tape makes a small change of the form.
    """
    steep = FLATTEST + (STEEPEST - FLATTEST) * min(max(full, 0.0), 1.0)
    return steep, math.exp(min(full, 0.0) + max(full - 1.0, 0.0))


def _plane(torso: Torso, mounds: tuple[Mound, ...]) -> tuple[float, float]:
    """Slope to the left and height at the middle of the plane through both bust points."""
    (x0, y0, _), (x1, y1, _) = (apex(torso, m) for m in mounds)
    tilt = (y0 - y1) / max(x0 - x1, 1.0)
    return tilt, y0 - tilt * x0


def _way(outline: Callable[[Floats], Floats], height: float) -> float:
    """Length in mm of the way from the waist to a height, along an outline x(y)."""
    y = np.linspace(0.0, height, STEPS + 1)
    return float(np.hypot(np.diff(y), np.diff(outline(y))).sum()) * math.copysign(1.0, height)
