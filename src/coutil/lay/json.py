"""A plan for the cloth as JSON. Lengths in mm; x along the cloth, y across it (see `coutil.lay.model`)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from coutil.lay.model import Block, Lay, LayPlan, Placement
from coutil.pattern.json import finding_json
from coutil.plane import Pt

# Decimals of a millimetre that are written: a micrometre.
DECIMALS = 3


def lay_json(plan: LayPlan, *, not_taken: Sequence[str] = ()) -> dict[str, Any]:
    """The plan as plain data, ready for json.dumps. `not_taken` are the readings without which nothing may be cut."""
    return {
        "format": "coutil-lays",
        "version": 1,
        "unit": "mm",
        "not_taken": list(not_taken),
        "lays": [_lay(n) for n in plan.lays],
        "blocks": [_block(b) for b in plan.blocks],
        "to_buy": {name: _n(v) for name, v in plan.to_buy.items()},
        "findings": [finding_json(f) for f in plan.findings],
    }


def _lay(n: Lay) -> dict[str, Any]:
    return {
        "cloth": n.cloth,
        "layers": list(n.layers),
        "on": n.on,
        "folded": n.folded,
        "steamed": n.steamed,
        "one_way": n.one_way,
        "width_mm": _n(n.width_mm),
        "length_mm": _n(n.length_mm),
        "stock_mm": None if n.stock_mm is None else _n(n.stock_mm),
        "lower_bound_mm": _n(n.lower_bound_mm),
        "gap_mm": _n(n.gap_mm),
        "used": round(n.used, 6),
        "placements": [_placement(p) for p in n.placements],
        "offcuts": [{"x": _n(x), "y": _n(y), "length": _n(length), "width": _n(w)} for x, y, length, w in n.offcuts],
        "seconds": round(n.seconds, 3),
    }


def _placement(p: Placement) -> dict[str, Any]:
    return {
        "piece": p.piece,
        "copy": p.copy,
        "mirrored": p.mirrored,
        "rotation_deg": p.rotation_deg,
        "at": [_n(p.at[0]), _n(p.at[1])],
        "polygon": _points(p.polygon),
        **({} if p.part is None else {"part": list(p.part)}),
    }


def _block(b: Block) -> dict[str, Any]:
    return {
        "name": b.name,
        "layer": b.layer,
        "quantity": b.quantity,
        "mirrored_pair": b.mirrored_pair,
        "on_fold": b.on_fold,
        "pieces": [{"piece": name, "copy": copy} for name, copy in b.pieces],
        "outline": _points(b.outline),
        "shrinkage": {"length": b.shrinkage[0], "width": b.shrinkage[1]},
        "cut_from": [_placement(p) for p in b.cut_from],
    }


def _points(points: Sequence[Pt]) -> list[list[float]]:
    return [[_n(x), _n(y)] for x, y in points]


def _n(v: float) -> float:
    return round(v, DECIMALS) + 0.0
