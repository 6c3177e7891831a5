"""Random garments on random bodies: every ready seaming with tops, hems, backs and openings drawn at random."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from random import Random

from bodies import plausible
from coutil.body import NEEDED_WITHOUT_BUST, Body, resolve_body
from coutil.order import Style
from coutil.seaming import CLOSED_WITH, GAPPED, READY, Opening, Seaming

NECKLINES = ("plunge", "sweetheart", "straight", "scoop", "v", "pointed")


def garments(log2: int, seaming: Seaming, *, seed: int = 31) -> Iterator[tuple[Body, Style]]:
    """About 2**log2 bodies, each with a style of this seaming; what a style says lies within what its page allows."""
    rng = Random(seed)
    for body, style in plausible(log2, seed=seed):
        made = body if seaming.bust else _without_bust(body)
        yield made, _style(rng, seaming, made, style)


def any_garments(log2: int, *, seed: int = 31) -> Iterator[tuple[Body, Style]]:
    """The same, of the ready seamings in turn."""
    rng, ready = Random(seed), list(READY.values())
    for n, (body, style) in enumerate(plausible(log2, seed=seed)):
        seaming = ready[n % len(ready)]
        made = body if seaming.bust else _without_bust(body)
        yield made, _style(rng, seaming, made, style)


def _without_bust(body: Body) -> Body:
    """The tape of a garment that ends below the bust."""
    taken = ("underbust", "waist", "underbust_to_waist", "high_hip", "high_hip_depth")
    measured = {key: getattr(body, key) for key in taken}
    measured["underbust_to_waist"] = body.bust_to_waist - body.bust_to_underbust
    return resolve_body(measured, needed=NEEDED_WITHOUT_BUST)


def _style(rng: Random, seaming: Seaming, body: Body, base: Style) -> Style:
    depth, hip = body.high_hip_depth, body.hip_depth
    ribs = min(s.bust_to_waist - s.bust_to_underbust for s in (body.left, body.right))
    neckline = rng.choice(NECKLINES)
    hem = rng.choice((None, None, 0.0, 0.6 * depth, depth + 20.0, 0.9 * hip, hip + 40.0))
    if seaming.bust and rng.random() < 0.2:
        hem = -rng.uniform(0.0, ribs - 26.0) if ribs > 30.0 else None
    plunge = None
    if not seaming.bust:
        plunge = rng.choice((None, None, -15.0, 10.0))
    elif neckline == "plunge" and (hem is None or hem >= 0.0):
        plunge = rng.choice((None, None, base.plunge, -0.3 * ribs))
    back = rng.choice(("straight", "straight", "scoop", "v"))
    return replace(
        base,
        seaming=seaming,
        neckline=neckline,
        plunge=plunge,
        cup_height=base.cup_height if seaming.bust and neckline != "straight" else None,
        peak=base.peak if seaming.cup is not None else 0.0,
        upper=rng.choice((0.0, 0.5, 0.5, 1.0)),
        back=back,
        back_top=None if hem is not None and hem < 0.0 else base.back_top if seaming.bust else None,
        hem=hem,
        hem_point=rng.choice((0.0, 0.0, 25.0, 60.0)),
        hem_point_back=rng.choice((0.0, 0.0, 20.0, 50.0)),
        hem_line=rng.choice(("pointed", "curved")),
        lacing_gap=None,
        openings=_openings(rng, seaming),
        centre_front=rng.choice(("fold", "seam")),
        centre_back=rng.choice(("fold", "seam")),
    )


def _openings(rng: Random, seaming: Seaming) -> tuple[Opening, ...]:
    places = [("centre_back",), ("centre_front",), ("centre_back", "centre_front")]
    if seaming.side is not None:
        places += [("side_left",), ("side_right",)]
    out = []
    for at in rng.choice(places):
        closed_with = rng.choice(CLOSED_WITH[at])
        gap = rng.uniform(20.0, 70.0) if closed_with in GAPPED else 0.0
        out.append(Opening(at, closed_with, gap, 30.0 if closed_with == "elastic" else 0.0))
    return tuple(out)
