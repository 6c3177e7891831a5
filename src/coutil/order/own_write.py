"""The table [pattern] as it stands in a file."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from coutil.order.own import OwnPanel, OwnPattern, OwnSeam


def own_table(own: OwnPattern, length: Callable[[float], float | int | str]) -> dict[str, Any]:
    """What differs from the defaults, ready to be written; `length` writes one length in the file's unit."""

    def places(found: tuple[tuple[float, float], ...]) -> list[list[Any]]:
        return [[length(x), length(y)] for x, y in found]

    out: dict[str, Any] = {"file": own.file}
    for key in ("scale", "allowance"):
        if getattr(own, key) is not None:
            out[key] = length(getattr(own, key))
    if own.line is not None:
        out["line"] = own.line
    if own.corner != OwnPattern("").corner:
        out["corner"] = int(own.corner) if own.corner == int(own.corner) else own.corner
    panels = []
    for p in own.panels:
        row: dict[str, Any] = {"outline": p.outline}
        blank = OwnPanel("")
        row |= {k: getattr(p, k) for k in ("name", "side", "fold") if getattr(p, k) != getattr(blank, k)}
        if p.roles:
            row["roles"] = list(p.roles)
        if p.allowances:
            row["allowances"] = [length(v) for v in p.allowances]
        if p.corners:
            row["corners"] = places(p.corners)
        if p.bust_point is not None:
            row["bust_point"] = places((p.bust_point,))[0]
        row |= {k: length(v) for k, v in p.levels.items()}
        if p.grain:
            row["grain"] = places(p.grain)
        panels.append(row)
    if panels:
        out["panels"] = panels
    if own.drawing:
        out["drawing"] = own.drawing
    if own.seams:
        out["seams"] = [_seam(s, length) for s in own.seams]
    return out


def _seam(s: OwnSeam, length: Callable[[float], float | int | str]) -> dict[str, Any]:
    row: dict[str, Any] = {"name": s.name, "a": list(s.a), "b": list(s.b)}
    return row | {k: length(getattr(s, k)) for k in ("ease", "peak") if getattr(s, k)}
