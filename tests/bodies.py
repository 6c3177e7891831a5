"""Random plausible bodies and styles for the tests and benches: a Sobol set with a fixed seed.

Bust 72 to 150 cm, bust minus underbust 6 to 32 cm, even and uneven sides, every neckline, hem and closing. The ranges
of the other measurements are wide rules of thumb of our own (invented data).
"""

from __future__ import annotations

from collections.abc import Iterator

from scipy.stats import qmc

from coutil.body import Body, resolve_body
from coutil.order import Ease, Style

# An underbust below 56 cm belongs to no adult in the standards' tables; such corners of the range are left out.
SMALLEST_UNDERBUST = 560.0


def plausible(log2: int, seed: int = 20) -> Iterator[tuple[Body, Style]]:
    """About 2**log2 bodies with a style each; impossible corners of the box are skipped."""
    for v in qmc.Sobol(24, seed=seed).random_base2(log2).tolist():
        made = _body(v)
        if made is not None:
            yield made, _style(v, made)


def _between(share: float, low: float, high: float) -> float:
    return low + share * (high - low)


def _body(v: list[float]) -> Body | None:
    bust = _between(v[0], 720, 1500)
    difference = _between(v[1], 60, 320)
    underbust = bust - difference
    if underbust < SMALLEST_UNDERBUST:
        return None
    waist = underbust * _between(v[2], 0.78, 1.08)
    to_underbust = (42 + 0.20 * difference) * _between(v[3], 0.95, 1.35)
    measured = {
        "bust": bust,
        "underbust": underbust,
        "waist": waist,
        "bust_span": _between(v[4], 140, 190) + 0.10 * (bust - 720) * _between(v[5], 0.4, 1.0),
        "bust_to_underbust": to_underbust,
        "bust_to_waist": to_underbust + _between(v[6], 55, 120),
        "high_hip": waist * _between(v[7], 1.02, 1.28),
        "high_hip_depth": _between(v[8], 75, 130),
    }
    if v[9] > 0.7:
        measured["upper_bust"] = bust - difference * _between(v[10], 0.3, 0.6)
    if v[9] < 0.3:
        measured["front_bust_arc"] = underbust / 2 + difference * _between(v[10], 0.7, 0.9)
    left: dict[str, float] = {}
    if v[11] > 0.5:  # an uneven body: one side a little longer, fuller, wider
        more = _between(v[12], -18, 18)
        left = {"bust_to_underbust": to_underbust + more, "bust_to_waist": measured["bust_to_waist"] + more}
        if v[12] > 0.3:
            front = measured.get("front_bust_arc", underbust / 2 + 0.8 * difference) / 2
            left["front_bust"] = front + _between(v[13], -12, 12)
        if v[12] > 0.6:
            left["bust_point"] = measured["bust_span"] / 2 + _between(v[14], -8, 8)
            left["front_waist"] = waist / 4 + _between(v[14], -10, 10)
    return resolve_body(measured, left or None)


def _style(v: list[float], body: Body) -> Style:
    cup = min(body.left.bust_to_underbust, body.right.bust_to_underbust)
    depth = body.high_hip_depth
    closing = ("lacing", "zip", "hooks")[int(v[15] * 3)]
    neckline = ("plunge", "sweetheart", "straight")[int(v[16] * 3)]
    return Style(
        neckline=neckline,
        plunge=_between(v[17], 0.25, 0.95) * cup if v[17] > 0.5 else None,
        cup_height=max(40.0, _between(v[18], 0.55, 1.05) * cup) if v[18] > 0.5 else None,
        peak=(0.0, 0.0, 8.0, 25.0)[int(v[19] * 4)],
        back_top=_between(v[20], 60, 160) if v[20] > 0.6 else None,
        hem=(None, 0.6 * depth, depth + 45.0)[int(v[21] * 3)],
        hem_point=(0.0, 25.0, 60.0)[int(v[22] * 3)],
        closing=closing,
        lacing_gap=_between(v[23], 20, 70) if closing == "lacing" else None,
        ease=Ease(
            bust=_between(v[14], -10, 20),
            underbust=_between(v[13], -20, 5),
            waist=_between(v[10], -50, 0),
            high_hip=0.0,
        ),
    )
