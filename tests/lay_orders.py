"""Random orders with random cloth, for the tests and the bench of lays. All figures are of our own invention."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from random import Random

from bodies import plausible
from coutil.draft import DraftError, draft
from coutil.lay import LayPlan, plan, verify
from coutil.layers import LayerError, layer_up
from coutil.order import Build, Cloth, Lining, Order, PadBuild
from coutil.pattern import Pattern
from spoken import subject

GROUPS = (("shell",), ("interfacing", "lining_interfacing"), ("foam",), ("web",), ("lining",))


@dataclass(frozen=True)
class Case:
    """An order with its pattern, and how it is to be laid."""

    order: Order
    pattern: Pattern
    margin: float
    tilt: float
    share: bool

    def planned(self, seconds: float, **more: object) -> LayPlan:
        return plan(
            self.pattern,
            self.order,
            seconds=seconds,
            margin=self.margin,
            tilt=self.tilt,
            share=self.share,
            **more,  # type: ignore[arg-type]
        )

    def faults(self, made: LayPlan) -> list[str]:
        """What `verify` says, without the counts of cloths that the plan itself says it could not lay."""
        out = verify(made, self.pattern, self.order, margin=self.margin, tilt=self.tilt)
        stopped = {subject(f) for f in made.findings if f.level == "stop"}
        laid = {lay.cloth for lay in made.lays}
        names = {b.name for b in made.blocks} | {p.name for p in self.pattern.pieces}
        missing = {name for name in names if self._cloth(made, name) in stopped - laid}
        return [f for f in out if not any(f.startswith(f"{name}, copy") and "0 laid" in f for name in missing)]

    def _cloth(self, made: LayPlan, name: str) -> str:
        layer = next(x.layer for x in (*made.blocks, *self.pattern.pieces) if x.name == name)
        named = [c.name for c in self.order.cloth if layer in c.layers]
        return named[0] if named else layer


def cases(count: int, seed: int = 5) -> Iterator[Case]:
    """`count` random orders that can be drafted."""
    rng = Random(seed)
    made = 0
    log2 = max(4, (count * 3).bit_length())
    for body, style in plausible(log2, seed=seed):
        if made == count:
            return
        pad = PadBuild(on=rng.choice((("shell",), ("shell", "lining"))))
        build = Build(pad=pad, lining=rng.choice((None, Lining(), Lining(fused=True))))
        try:
            pattern = layer_up(draft(body, style).pattern, build)
        except (DraftError, LayerError):
            continue
        made += 1
        order = Order("random", body, style=style, build=build, cloth=tuple(_cloths(rng)))
        yield Case(order, pattern, rng.choice((6.35, 12.7, 25.4)), rng.choice((0.0, 0.0, 0.0, 3.0)), rng.random() < 0.7)


def _cloths(rng: Random) -> Iterator[Cloth]:
    for layers in GROUPS:
        if rng.random() < 0.2:
            continue
        sheets = layers[0] in ("foam", "web") and rng.random() < 0.7
        # One cloth in fifteen is too narrow for most pieces.
        narrow = rng.random() < 1 / 15
        yield Cloth(
            name=f"{layers[0]} of this order",
            layers=layers,
            width=None if sheets else 180.0 if narrow else rng.uniform(800.0, 1600.0),
            selvedge=rng.choice((None, 0.0, 12.0)),
            on_hand=rng.choice((None, 300.0)),
            direction=rng.choice((None, "one-way", "two-way")),
            laid=rng.choice((None, "single", "folded")),
            gap=rng.choice((None, 0.0, 1.5, 8.0)),
            shrink_length=rng.choice((None, 0.0, 4.0, 10.0)),
            shrink_width=rng.choice((None, 0.0, 2.5, 6.0)),
            sheet=(rng.uniform(400.0, 700.0), rng.uniform(400.0, 700.0)) if sheets else None,
            remnants=tuple(
                (rng.uniform(150.0, 600.0), rng.uniform(200.0, 700.0)) for _ in range(rng.choice((0, 0, 2)))
            ),
        )
