"""Findings in the margin: which lines and values each is about, and where its line ends on the drawing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from coutil.pattern import (
    About,
    CupRef,
    EdgeRef,
    Finding,
    KeysRef,
    LevelRef,
    PadRef,
    PanelRef,
    Pattern,
    SeamRef,
    Topic,
    about_words,
    gravest_first,
)
from coutil.pattern.model import Side
from coutil.web.garment import plain_id
from coutil.web.governs import Drawn
from coutil.web.keys import UnknownKeyError, address
from coutil.web.naming import finding_said, subject

FOAM: Final = Topic("foam")
PRICE: Final = Topic("price")
DOCKET: Final = Topic("docket")


def in_margin(pattern: Pattern, lit: Drawn, anchors: Mapping[str, Sequence[float]]) -> list[dict[str, Any]]:
    """A pattern's findings as the page gets them, the gravest first (docs/web-api.md, 3c).

    `lit` is what is drawn and what each value governs; `anchors` are the places of the parts on the paper.
    """
    seen: Counter[str] = Counter()
    out = []
    for f in gravest_first(pattern.findings):
        words = about_words(f.about)
        seen[words] += 1
        keys = _keys(f.about)
        about = _parts(f.about, pattern, lit.ids) or [p for key in keys for p in lit.governed(key)]
        at = next((list(anchors[p]) for p in about if p in anchors), None)
        out.append(
            {
                "id": f"{words}#{seen[words]}",
                "level": f.level,
                "about": subject(f.about),
                "says": finding_said(f),
                "at": at,
                "margin": 0.0,
                "parts": about,
                "keys": keys,
                "spread": _spread(f.about, keys),
            }
        )
    for n, row in enumerate(sorted(out, key=_height)):
        row["margin"] = round((n + 0.5) / len(out), 4)
    return out


def remarks(found: Iterable[Finding]) -> dict[str, dict[str, str]]:
    """What is said of a single value, by its key: the gravest. Notes that a value was assumed are left to its state."""
    out: dict[str, dict[str, str]] = {}
    for f in gravest_first(found):
        if f.level != "note":
            for key in _keys(f.about):
                out.setdefault(key, {"level": f.level, "says": finding_said(f)})
    return out


def anchors_of(drawn: Mapping[str, Any]) -> dict[str, Sequence[float]]:
    """A place on the paper for every part of a drawing."""
    out: dict[str, Sequence[float]] = {}
    for panel in drawn["panels"]:
        out[panel["id"]] = panel["title"]["at"]
        for part in (*panel["edges"], *panel["levels"]):
            out[part["id"]] = part["label"]["at"]
        for point in panel["points"]:
            out[point["id"]] = point["at"]
            out[f"{panel['id']}/pad"] = point["at"]
            for edge in panel["pad"]["edges"] if panel["pad"] else ():
                out[edge["id"]] = point["at"]
        for layer in panel["layers"]:
            out[layer["id"]] = panel["title"]["at"]
    return out


def _height(row: Mapping[str, Any]) -> tuple[int, float, float]:
    # What belongs to no place stands below all others.
    return (1, 0.0, 0.0) if row["at"] is None else (0, row["at"][1], row["at"][0])


def _keys(about: About) -> list[str]:
    """The values that a finding is about, as far as the page knows them."""
    names: Sequence[str] = ()
    if isinstance(about, KeysRef):
        names = about.keys
    elif isinstance(about, LevelRef) and about.of == "ease":
        names = (f"style.ease.{about.level}",)
    elif about == FOAM:
        names = ("build.pad.thickness", "style.foam_ease")
    out = []
    for name in names:
        try:
            out.append(address(name).key)
        except UnknownKeyError:
            continue
    return out


def _parts(about: About, pattern: Pattern, drawn: Mapping[str, Sequence[str]]) -> list[str]:
    """The parts of the drawing that a finding is about, the chief ones first; `drawn`: ids by ids without the side."""
    side: Side = "both"
    wanted: list[str] = []
    match about:
        case SeamRef(name, side):
            wanted = [_edge(pattern, ref) for s in pattern.seams if s.name == name for ref in (s.a, s.b)]
        case EdgeRef(side=side):
            wanted = [_edge(pattern, about)]
        case LevelRef(level, "girth"):
            wanted = [plain for plain in drawn if plain.endswith(f"/level/{level}")]
        case CupRef(side):
            for s in pattern.cup_seams[:1]:
                wanted = [f"{plain_id(s.a.panel)}/point/bust_point", _edge(pattern, s.a)]
        case PadRef(None, side):
            wanted = [f"{plain_id(ref.panel)}/pad" for s in pattern.cup_seams for ref in (s.a, s.b)]
        case PadRef(str() as panel, side):
            wanted = [f"{plain_id(panel)}/pad", plain_id(panel)]
        case PanelRef(name, side):
            wanted = [plain_id(name)]
    ids = dict.fromkeys(p for plain in wanted for p in drawn.get(plain, ()))
    return [p for p in ids if side == "both" or p.startswith(f"{side}-")]


def _edge(pattern: Pattern, ref: EdgeRef) -> str:
    return f"{plain_id(ref.panel)}/edge/{ref.edge}"


def _spread(about: About, keys: Sequence[str]) -> str:
    first = keys[0] if keys else ""
    for start, spread in (("body.", "tape"), ("style.", "shape"), ("build.", "pads"), ("hours.", "making")):
        if first.startswith(start):
            return spread
    if isinstance(about, PadRef):
        return "pads"
    return "money" if about in (PRICE, DOCKET) else "checks"
