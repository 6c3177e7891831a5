"""Which lines of the drawing a value governs, and which value comes to hand when a line is touched.

Parts are named "PANEL/kind/name"; on a body whose sides differ the panel bears its side: "left-centre-front/...".
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from coutil.draft.style import SettledStyle
from coutil.order import ROLES, Style

CF, SF, SB, CB = "centre-front", "side-front", "side-back", "centre-back"
_ALL: Final = (CF, SF, SB, CB)


def _each(panels: Iterable[str], *parts: str) -> tuple[str, ...]:
    return tuple(f"{panel}/{part}" for panel in panels for part in parts)


def _level(name: str, panels: Iterable[str] = _ALL) -> tuple[str, ...]:
    return _each(panels, f"level/{name}")


_FRONT_TOP: Final = (f"{CF}/edge/top", f"{SF}/edge/top")
_BACK_EDGE: Final = (f"{CB}/edge/centre_back",)
_ROLE_PANELS: Final = {
    "centre_front": (CF,), "front_princess": (CF, SF), "side": (SF, SB), "back_princess": (SB, CB),
    "centre_back": (CB,), "top": _ALL, "hem": _ALL,
}  # fmt: skip

# By key, the chief part first. A side's own measurement governs that side alone.
GOVERNS: Final[Mapping[str, tuple[str, ...]]] = {
    "body.bust": _level("bust"),
    "body.underbust": _level("underbust"),
    "body.waist": _level("waist"),
    "body.high_hip": _level("high_hip"),
    "body.hip": _level("high_hip"),
    "body.hip_depth": _level("high_hip"),
    "body.high_hip_depth": (*_level("high_hip"), *_each(_ALL, "edge/hem")),
    "body.bust_span": (f"{CF}/point/bust_point", f"{SF}/point/bust_point", f"{CF}/edge/front_princess"),
    "body.bust_to_underbust": (*_level("underbust", (CF, SF)), *_each((CF, SF), "pad/pad_lower")),
    "body.bust_to_waist": (*_level("bust", (CF, SF)), *_each((CF, SF), "edge/front_princess", "point/bust_point")),
    "body.side_length": (f"{SF}/edge/side", f"{SB}/edge/side"),
    "body.front_bust_arc": _level("bust", (CF, SF)),
    "body.front_waist_arc": _level("waist", (CF, SF)),
    "style.neckline": _FRONT_TOP,
    "style.plunge": (f"{CF}/edge/top", f"{CF}/edge/centre_front"),
    "style.cup_height": _each((CF, SF), "edge/front_princess", "edge/top"),
    "style.peak": (f"{SF}/edge/front_princess", f"{SF}/edge/top"),
    "style.side_top": (f"{SF}/edge/side", f"{SB}/edge/side", f"{SF}/edge/top", f"{SB}/edge/top"),
    "style.back_top": (f"{CB}/edge/top", f"{CB}/edge/centre_back", f"{SB}/edge/top"),
    "style.hem": _each((SF, SB, CB, CF), "edge/hem"),
    "style.hem_point": (f"{CF}/edge/hem", f"{SF}/edge/hem"),
    "style.closing": _BACK_EDGE,
    "style.lacing_gap": (*_BACK_EDGE, *_each((CB,), "level/bust", "level/waist")),
    "style.foam_ease": _level("bust", (CF, SF)),
    **{f"style.ease.{level}": _level(level) for level in ("bust", "underbust", "waist", "high_hip")},
    "build.allowance": _each(_ALL, "layer/shell"),
    **{f"build.allowances.{role}": _each(_ROLE_PANELS[role], f"edge/{role}") for role in ROLES},
    "build.pad.top_drop": _each((CF, SF), "pad/pad_top"),
    "build.pad.side_inset": (f"{SF}/pad/pad_lower", f"{SF}/pad/pad_top"),
    "build.pad.side_dip": (f"{SF}/pad/pad_top",),
    "build.pad.catch": _each((CF, SF), "pad/front_princess"),
    "build.pad.thickness": _each((CF, SF), "pad"),
    "build.pad.on": _each((CF, SF), "pad"),
    "build.lining": _each(_ALL, "layer/lining"),
}

# What comes to hand when a part is touched, where it is not the first value that governs it.
_HAND: Final[Mapping[str, str]] = {
    "edge/top": "style.plunge",
    "edge/hem": "style.hem",
    "edge/side": "style.side_top",
    "edge/front_princess": "style.cup_height",
    "edge/back_princess": "build.allowances.back_princess",
    "edge/centre_front": "style.plunge",
    "edge/centre_back": "style.back_top",
    "level/bust": "body.bust",
    "level/underbust": "body.underbust",
    "level/waist": "body.waist",
    "level/high_hip": "body.high_hip",
    "point/bust_point": "body.bust_span",
    "pad/pad_top": "build.pad.top_drop",
    "pad/pad_lower": "build.pad.side_inset",
    "pad/front_princess": "build.pad.catch",
    "pad": "build.pad.thickness",
    "layer/shell": "build.allowance",
    "layer/interfacing": "build.allowance",
    "layer/lining": "build.lining",
    "layer/lining_interfacing": "build.lining",
    "layer/foam": "build.pad.thickness",
    "layer/web": "build.pad.thickness",
}  # fmt: skip


def by_plain(parts: Mapping[str, str]) -> dict[str, list[str]]:
    """The ids of what is drawn, by their ids without the side. `parts` is the other way round."""
    out: dict[str, list[str]] = {}
    for part, plain in parts.items():
        out.setdefault(plain, []).append(part)
    return out


def governed(key: str, drawn: Mapping[str, Sequence[str]]) -> list[str]:
    """The parts of the drawing that a value governs, the chief ones first; `drawn` as `by_plain` gives it."""
    side = next((s for s in ("left", "right") if key.startswith(f"body.{s}.")), None)
    wanted = GOVERNS.get(_side_key(key) if side else key, ())
    return [p for plain in wanted for p in drawn.get(plain, ()) if side is None or p.startswith(side)]


def tells_low(style: Style | SettledStyle) -> bool:
    """Whether the page speaks of the neckline's lowest point.

    A straight neckline needs none; where one was stated it is drawn, and so it must be seen and can be taken back.
    """
    return style.neckline != "straight" or style.plunge is not None


def hand(part: str, style: Style, *, drafted: bool = True) -> str | None:
    """The value that a part brings to hand; `part` without its side.

    Of a pattern that was not drafted no value of style moves a line: an edge brings its allowance.
    """
    panel, _, rest = part.partition("/")
    if not drafted and rest.startswith("edge/"):
        role = rest.removeprefix("edge/")
        return f"build.allowances.{role}" if role in ROLES else None
    if rest == "edge/top" and panel in (SB, CB):
        return "style.back_top" if panel == CB else "style.side_top"
    key = "style.neckline" if (panel, rest) == (SF, "edge/top") else _HAND.get(rest)
    return "style.neckline" if key == "style.plunge" and not tells_low(style) else key


def _side_key(key: str) -> str:
    """The general measurement that a side's own one takes the place of."""
    name = key.rsplit(".", 1)[1]
    return "body." + {"front_bust": "front_bust_arc", "front_waist": "front_waist_arc", "bust_point": "bust_span"}.get(
        name, name
    )
