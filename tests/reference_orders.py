"""Random orders for the reference files, as texts of order files. All figures are of our own invention.

Every reading of the tape is taken in each of them, on half of them on both sides. Together they use every neckline,
closing and unit, pads on one layer or on both, allowances by role, foam that is counted in, and all sorts of cloth.
"""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

from bodies import SMALLEST_UNDERBUST

MM = {"cm": 10.0, "mm": 1.0, "in": 25.4}
# In what steps plain numbers are written: half a millimetre and an eighth of an inch.
STEP = {"cm": 0.05, "mm": 0.5, "in": 0.125}
ROLES = ("centre_front", "front_princess", "side", "back_princess", "centre_back", "top", "hem")

Table = dict[str, float | str | bool | list[str] | list[list[float]]]


def order_texts(count: int, seed: int) -> Iterator[str]:
    """`count` texts; whether they can be drafted is for the caller to find out."""
    rng = Random(seed)
    for number in range(count):
        unit = rng.choice(("cm", "cm", "mm", "in"))
        tables = _order(rng, unit)
        head = f'coutil = 1\nname = "reference {seed}-{number}"\nunit = "{unit}"\n'
        yield head + "".join(_written(name, table) for name, table in tables)


def _order(rng: Random, unit: str) -> Iterator[tuple[str, Table]]:
    """The tables of one order, lengths already in its unit."""
    body = _body(rng)
    uneven = rng.random() < 0.5

    def told(table: Table) -> Table:
        return {k: _length(v, unit) if isinstance(v, float) else v for k, v in table.items()}

    yield "client", {"label": rng.choice(("A. B.", "Žofie Ł.", "M. T.", ""))}
    yield "body", told(dict(body))
    if uneven:
        for side in ("left", "right"):
            yield f"body.{side}", told(dict(_side(rng, body)))
    thickness = rng.choice((None, 3.0, 6.0, 10.0))
    yield "style", told(_style(rng, body, thickness))
    if rng.random() < 0.8:
        # Together above, drawn in below, as such garments are worn.
        low = {"bust": -10.0, "underbust": -20.0, "waist": -50.0, "high_hip": -10.0}
        high = {"bust": 20.0, "underbust": 5.0, "waist": 0.0, "high_hip": 30.0}
        yield "style.ease", told({k: rng.uniform(low[k], high[k]) for k in low})
    lining = rng.random() < 0.6
    if rng.random() < 0.6:
        yield "build", told({"allowance": rng.uniform(6.0, 20.0)})
    if rng.random() < 0.6:
        yield "build.allowances", told({role: rng.uniform(4.0, 26.0) for role in ROLES if rng.random() < 0.4})
    yield "build.pad", told(_pad(rng, thickness, lining))
    if lining:
        yield "build.lining", {"fused": rng.random() < 0.5}
    for cloth in _cloths(rng):
        yield "[cloth]", cloth if "sheet" not in cloth and "remnants" not in cloth else _in_mm(cloth, unit)
    if rng.random() < 0.6:
        yield (
            "money",
            {
                "currency": "EUR",
                "locale": rng.choice(("en", "en_IE", "de_AT")),
                "hour": f"{rng.randrange(15, 60)}.50",
                "overhead": float(rng.randrange(0, 40)),
                "margin": float(rng.randrange(0, 40)),
                "tax": float(rng.choice((0, 7, 19, 20))),
            },
        )
        yield "hours", {"sew": float(rng.randrange(2, 9)), "fit": float(rng.randrange(0, 5))}
    yield "notions", _notions(rng)


def _body(rng: Random) -> dict[str, float]:
    """Every reading of a plausible body, in mm; the ranges are those of bodies.py."""
    while True:
        bust = rng.uniform(720, 1500)
        difference = rng.uniform(60, 320)
        underbust = bust - difference
        if underbust >= SMALLEST_UNDERBUST:
            break
    waist = underbust * rng.uniform(0.78, 1.08)
    cup = (42 + 0.20 * difference) * rng.uniform(0.95, 1.35)
    to_waist = cup + rng.uniform(55, 120)
    high_hip = waist * rng.uniform(1.02, 1.28)
    depth = rng.uniform(75, 130)
    height = rng.uniform(1500, 1850)
    return {
        "bust": bust,
        "underbust": underbust,
        "waist": waist,
        "bust_span": rng.uniform(140, 190) + 0.10 * (bust - 720) * rng.uniform(0.4, 1.0),
        "bust_to_underbust": cup,
        "bust_to_waist": to_waist,
        "upper_bust": bust - difference * rng.uniform(0.3, 0.6),
        "high_hip": high_hip,
        "high_hip_depth": depth,
        "hip": high_hip * rng.uniform(1.0, 1.15),
        "hip_depth": min(340.0, depth * rng.uniform(1.8, 2.3)),
        "side_length": to_waist + rng.uniform(5, 40),
        "centre_back_length": height / 4 + rng.uniform(-35, 20),
        "front_bust_arc": underbust / 2 + difference * rng.uniform(0.7, 0.9),
        "front_waist_arc": waist / 2 + rng.uniform(-15, 15),
        "bust_depth": bust / 5 + rng.uniform(60, 110),
        "height": height,
    }


def _side(rng: Random, body: dict[str, float]) -> dict[str, float]:
    """Every reading of one side, a little off the body's own."""
    more = rng.uniform(-9, 9)
    return {
        "bust_to_underbust": body["bust_to_underbust"] + more,
        "bust_to_waist": body["bust_to_waist"] + more,
        "side_length": body["side_length"] + more / 2,
        "front_bust": body["front_bust_arc"] / 2 + rng.uniform(-8, 8),
        "front_waist": body["front_waist_arc"] / 2 + rng.uniform(-8, 8),
        "bust_point": body["bust_span"] / 2 + rng.uniform(-6, 6),
    }


def _style(rng: Random, body: dict[str, float], thickness: float | None) -> Table:
    cup, depth = body["bust_to_underbust"] - 9.0, body["high_hip_depth"]
    out: Table = {
        "neckline": rng.choice(("plunge", "sweetheart", "straight")),
        "closing": rng.choice(("lacing", "zip", "hooks")),
        "peak": rng.choice((0.0, 0.0, 8.0, 25.0)),
        "hem_point": rng.choice((0.0, 25.0, 60.0)),
    }
    if rng.random() < 0.5:
        out["plunge"] = rng.uniform(0.25, 0.95) * cup
    if rng.random() < 0.5:
        out["cup_height"] = max(40.0, rng.uniform(0.55, 1.05) * cup)
    if rng.random() < 0.4:
        out["back_top"] = rng.uniform(60, 160)
    if rng.random() < 0.3:
        out["side_top"] = body["side_length"] - rng.uniform(5, 30)
    if hem := rng.choice((0.0, 0.6 * depth, depth + 45.0)):
        out["hem"] = hem
    if out["closing"] == "lacing" and rng.random() < 0.7:
        out["lacing_gap"] = rng.uniform(20, 70)
    if thickness is not None and rng.random() < 0.5:
        out["foam_ease"] = True
    return out


def _pad(rng: Random, thickness: float | None, lining: bool) -> Table:
    out: Table = {"on": ["shell", "lining"] if lining and rng.random() < 0.4 else ["shell"]}
    if thickness is not None:
        out["thickness"] = thickness
    if rng.random() < 0.5:
        out |= {
            "top_drop": rng.uniform(6, 16),
            "side_inset": rng.uniform(18, 34),
            "side_dip": rng.uniform(4, 9),
            "catch": rng.uniform(0, 5),
        }
    return out


def _cloths(rng: Random) -> Iterator[Table]:
    for layers in (["shell"], ["interfacing", "lining_interfacing"], ["foam"], ["web"], ["lining"]):
        if rng.random() < 0.25:
            continue
        cloth: Table = {"name": f"{layers[0]} of this order", "for": list(layers)}
        if layers[0] in ("foam", "web") and rng.random() < 0.7:
            cloth["sheet"] = [[round(rng.uniform(400, 700)), round(rng.uniform(400, 700))]]
        else:
            cloth["width"] = f"{round(rng.uniform(800, 1600))} mm"
        for key, values in (("selvedge", ("0 mm", "12 mm")), ("gap", ("0 mm", "1.5 mm", "8 mm"))):
            if rng.random() < 0.4:
                cloth[key] = rng.choice(values)
        for key, shares in (("shrink_length", (0.0, 4.0, 10.0)), ("shrink_width", (0.0, 2.5, 6.0))):
            if rng.random() < 0.5:
                cloth[key] = rng.choice(shares)
        if rng.random() < 0.4:
            cloth["direction"] = rng.choice(("one-way", "two-way"))
        if rng.random() < 0.4:
            cloth["laid"] = rng.choice(("single", "folded"))
        if rng.random() < 0.3:
            cloth["thickness"] = f"{rng.uniform(0.2, 1.2):.2f} mm"
        if rng.random() < 0.7:
            cloth |= {"price": f"{rng.randrange(3, 60)}.90", "currency": "EUR", "sold_by": "10 cm"}
        if rng.random() < 0.2:
            cloth["remnants"] = [[round(rng.uniform(150, 600)), round(rng.uniform(200, 700))] for _ in range(2)]
        yield cloth


def _notions(rng: Random) -> Table:
    out: Table = {"stitch": rng.choice(("301", "401"))}
    if rng.random() < 0.5:
        out["bones"] = [r for r in ROLES[:5] if rng.random() < 0.6] or ["side"]
    if rng.random() < 0.5:
        out |= {"bone_clearance": f"{rng.choice((5, 10, 15))} mm", "stitch_length": "3 mm"}
    if rng.random() < 0.5:
        out |= {"eyelet_spacing": f"{rng.choice((20, 25, 30))} mm", "hook_spacing": "15 mm", "wastage": 15.0}
    if rng.random() < 0.5:
        out |= {"bone_price": "4.20", "casing_price": "1.10", "eyelet_price": "0.12", "thread_price": "3.40"}
    return out


def _in_mm(cloth: Table, unit: str) -> Table:
    """Sheets and remnants, drawn in whole mm, as numbers in the order's unit."""
    out = dict(cloth)
    for key in ("sheet", "remnants"):
        if isinstance(pairs := cloth.get(key), list):
            told = [[_length(float(v), unit) for v in pair] for pair in pairs]
            out[key] = told[0] if key == "sheet" else told  # type: ignore[assignment]
    return out


def _length(mm: float, unit: str) -> float:
    return round(round(mm / MM[unit] / STEP[unit]) * STEP[unit], 4)


def _written(name: str, table: Table) -> str:
    if not table:
        return ""
    return f"\n[{name}]\n" + "".join(f"{k} = {_toml(v)}\n" for k, v in table.items())


def _toml(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, list):
        return "[" + ", ".join(map(_toml, value)) + "]"
    return repr(value)
