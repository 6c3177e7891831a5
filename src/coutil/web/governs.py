"""Which lines of the drawing a value governs, and which value comes to hand when a line is touched.

Parts are named "PANEL/kind/name"; on a body whose sides differ the panel bears its side: "left-centre-front/...".
Which panels there are, and where they lie, is the pattern's to say (coutil.web.garment).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from coutil.order import ROLES, Style
from coutil.pattern import Pattern
from coutil.seaming import LEVELS, OWN
from coutil.seaming.roles import CENTRE_BACK, CENTRE_FRONT, HEM, SIDE, TOP
from coutil.web.garment import Garment, plain_id
from coutil.web.keys import OPENING, SEAM, SHARED, SHARES

Parts = tuple[str, ...]


def _each(panels: Iterable[str], *parts: str) -> Parts:
    return tuple(f"{panel}/{part}" for panel in panels for part in parts)


def _beside(g: Garment, *parts: str) -> Parts:
    """Of each panel beside the bust point its edge on the cup seam and these parts."""
    return tuple(p for panel, edge in zip(g.cup, g.cup_edges, strict=True) for p in (edge, *_each((panel,), *parts)))


def _governing(g: Garment, style: Style) -> dict[str, Parts]:
    """By key, the chief part first. A side's own measurement governs that side alone."""
    level = {name: _each(g.panels, f"level/{name}") for name in LEVELS}
    front = {name: _each(g.front, f"level/{name}") for name in LEVELS}
    tops, hems = g.edges(TOP), g.edges(HEM)
    side_front = tuple(p for p in g.sides if p in g.front)
    inner, outer = ((g.inner,), (g.outer,)) if g.outer else ((), ())
    from_side = (*side_front, *g.back)
    sewn = tuple(edge.replace("/edge/", "/pad/") for edge in g.cup_edges)
    return {
        "body.bust": level["bust"],
        "body.underbust": level["underbust"],
        "body.waist": level["waist"],
        "body.high_hip": level["high_hip"],
        "body.hip": (*level["hip"], *level["high_hip"]),
        "body.hip_depth": (*level["hip"], *level["high_hip"]),
        "body.high_hip_depth": (*level["high_hip"], *hems),
        "body.bust_span": (*_each(g.cup, "point/bust_point"), *g.cup_edges[:1]),
        "body.bust_to_underbust": (*front["underbust"], *_each(g.cup, "pad/pad_lower")),
        "body.bust_to_waist": (*front["bust"], *_beside(g, "point/bust_point")),
        "body.underbust_to_waist": level["underbust"],
        "body.upper_bust": (*g.edges(TOP, g.front), *g.cup_edges),
        "body.front_upper_arc": (*g.edges(TOP, g.front), *g.cup_edges),
        "body.side_length": (*g.edges(SIDE), *(() if g.edges(SIDE) else g.edges(TOP, g.sides))),
        "body.front_bust_arc": front["bust"],
        "body.front_waist_arc": front["waist"],
        "style.seaming": g.panels,
        "style.neckline": g.edges(TOP, g.front),
        "style.upper": (*g.edges(TOP, g.cup), *g.cup_edges),
        "style.back": (*reversed(g.edges(TOP, g.back)),),
        "style.plunge": (*g.edges(TOP, g.middle), *g.edges(CENTRE_FRONT)),
        "style.cup_height": _beside(g, "edge/top"),
        "style.peak": (*g.cup_edges[1:], *g.edges(TOP, outer)),
        "style.side_top": (*g.edges(SIDE), *g.edges(TOP, g.sides)),
        "style.back_top": (
            *g.edges(TOP, g.spine),
            *g.edges(CENTRE_BACK),
            *(e for e in reversed(g.edges(TOP, g.back)) if e not in g.edges(TOP, g.spine)),
        ),
        "style.hem": (*g.edges(HEM, from_side), *(e for e in hems if e not in g.edges(HEM, from_side))),
        "style.hem_point": g.edges(HEM, g.front),
        "style.hem_point_back": (*reversed(g.edges(HEM, g.back)),),
        "style.hem_line": hems,
        "style.centre_front": g.edges(CENTRE_FRONT),
        "style.centre_back": g.edges(CENTRE_BACK),
        **_opening(g, style),
        **_seams(g, style),
        "style.closing": g.edges(CENTRE_BACK),
        "style.lacing_gap": (*g.edges(CENTRE_BACK), *_each(g.spine, "level/bust", "level/waist")),
        "style.foam_ease": front["bust"],
        **{f"style.ease.{name}": level[name] for name in ("bust", "underbust", "waist", "high_hip")},
        "build.allowance": _each(g.panels, "layer/shell"),
        **{
            f"build.allowances.{role}": tops if role == TOP else hems if role == HEM else g.edges(role)
            for role in ROLES
        },
        "build.pad.top_drop": _each(g.cup, "pad/pad_top"),
        "build.pad.side_inset": _each(outer, "pad/pad_lower", "pad/pad_top"),
        "build.pad.side_dip": _each(outer, "pad/pad_top"),
        "build.pad.front_dip": _each(inner, "pad/pad_top"),
        "build.pad.apart": _each(inner, "pad/pad_centre_front", "pad/pad_lower"),
        "build.pad.beyond": _each(outer, "pad/pad_lower"),
        "build.pad.catch": sewn,
        "build.pad.thickness": _each(g.cup, "pad"),
        "build.pad.on": _each(g.cup, "pad"),
        "build.lining.smaller": _each(g.cup, "layer/lining"),
        "build.lining": _each(g.panels, "layer/lining"),
    }


def _opening(g: Garment, style: Style) -> dict[str, Parts]:
    """What is said of each opening governs the line that it opens."""
    out: dict[str, Parts] = {}
    for n, opening in enumerate(style.openings):
        parts = g.edges(opening.at if opening.at in (CENTRE_FRONT, CENTRE_BACK) else SIDE)
        out |= {f"{OPENING}.{n}.{name}": parts for name in ("at", "with", "gap", "drawn")}
    return out


def _seams(g: Garment, style: Style) -> dict[str, Parts]:
    """What is said of each seam of one's own, while that is the seaming."""
    out: dict[str, Parts] = {}
    if style.seaming.name != OWN:
        return out
    beside = pairwise(style.seaming.panels)
    for n, (seam, panels) in enumerate(zip(style.seaming.seams, beside, strict=True)):
        both = g.edges(seam.role)
        out |= {f"{SEAM}.{n}.{name}": both for name in ("name", "role", "at", "cup", "boned")}
        for edge, panel in zip(SHARES, panels, strict=True):
            parts = g.edges(seam.role, (plain_id(panel.name),))
            out |= {f"{SEAM}.{n}.{edge}.{level}": parts for level in SHARED}
    return out


@dataclass(frozen=True, slots=True)
class Drawn:
    """What is drawn of a pattern: its parts' ids by their ids without the side, and what each value governs."""

    ids: Mapping[str, Sequence[str]]
    governing: Mapping[str, Parts]

    @classmethod
    def of(cls, pattern: Pattern, parts: Mapping[str, str], style: Style) -> Drawn:
        """`parts` gives to every id that is drawn the same without the side."""
        ids: dict[str, list[str]] = {}
        for part, plain in parts.items():
            ids.setdefault(plain, []).append(part)
        return cls(ids, _governing(Garment.of(pattern), style))

    @classmethod
    def nothing(cls) -> Drawn:
        """Of an order that cannot be drafted."""
        return cls({}, {})

    def governed(self, key: str) -> list[str]:
        """The parts of the drawing that a value governs, the chief ones first."""
        side = next((s for s in ("left", "right") if key.startswith(f"body.{s}.")), None)
        wanted = self.governing.get(_side_key(key) if side else key, ())
        return [p for plain in wanted for p in self.ids.get(plain, ()) if side is None or p.startswith(side)]


# What comes to hand when a part is touched, where it is not told by the edge's role.
_HAND: Final[Mapping[str, str]] = {
    "level/bust": "body.bust",
    "level/underbust": "body.underbust",
    "level/waist": "body.waist",
    "level/high_hip": "body.high_hip",
    "level/hip": "body.hip",
    "point/bust_point": "body.bust_span",
    "pad/pad_top": "build.pad.top_drop",
    "pad/pad_lower": "build.pad.side_inset",
    "pad": "build.pad.thickness",
    "layer/shell": "build.allowance",
    "layer/interfacing": "build.allowance",
    "layer/lining": "build.lining",
    "layer/lining_interfacing": "build.lining",
    "layer/foam": "build.pad.thickness",
    "layer/web": "build.pad.thickness",
}  # fmt: skip


def tells_low(style: Style) -> bool:
    """Whether the page speaks of the top's lowest point at the centre front.

    A straight neckline needs none; where one was stated it is drawn, and so it must be seen and can be taken back. A
    garment that ends below the bust has no neckline, only a height there.
    """
    return not style.seaming.bust or style.neckline != "straight" or style.plunge is not None


def hand(part: str, garment: Garment, style: Style, *, drafted: bool = True) -> str | None:
    """The value that a part brings to hand; `part` without its side.

    Of a pattern that was not drafted no value of style moves a line: an edge brings its allowance.
    """
    panel, _, rest = part.partition("/")
    role = garment.roles.get(part)
    if role is None:
        sewn = part.replace("/pad/", "/edge/") in garment.cup_edges
        return "build.pad.catch" if sewn else _HAND.get(rest)
    if not drafted:
        return f"build.allowances.{role}" if role in ROLES else None
    if part in garment.cup_edges:
        return "style.cup_height"
    if role == TOP:
        return _top(panel, garment, style)
    if role == CENTRE_FRONT:
        return "style.plunge" if tells_low(style) else "style.neckline"
    placed = _placed(style).get(role)
    if placed is not None:
        return placed
    fixed = {HEM: "style.hem", SIDE: "style.side_top", CENTRE_BACK: "style.back_top"}
    return fixed.get(role, f"build.allowances.{role}" if role in ROLES else "build.allowance")


def _placed(style: Style) -> dict[str, str]:
    """The places of one's own seams by the role of their edges, of those that have one."""
    if style.seaming.name != OWN:
        return {}
    return {s.role: f"{SEAM}.{n}.at" for n, s in enumerate(style.seaming.seams) if s.at is not None}


def _top(panel: str, garment: Garment, style: Style) -> str:
    if panel in garment.back:
        return "style.back_top" if panel in garment.spine else "style.side_top"
    if panel in garment.middle and tells_low(style):
        return "style.plunge"
    # Where there is no neckline, or the panel lies under the arm, the side's height is what moves it.
    beyond = not style.seaming.bust or (panel in garment.sides and not garment.edges(SIDE))
    return "style.side_top" if beyond else "style.neckline"


def _side_key(key: str) -> str:
    """The general measurement that a side's own one takes the place of."""
    name = key.rsplit(".", 1)[1]
    return "body." + {"front_bust": "front_bust_arc", "front_waist": "front_waist_arc", "bust_point": "bust_span"}.get(
        name, name
    )
