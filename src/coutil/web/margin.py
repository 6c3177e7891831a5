"""Findings in the margin: which lines and values each is about, and where its line ends on the drawing."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from coutil.pattern import Finding, gravest_first
from coutil.web.governs import Drawn
from coutil.web.keys import UnknownKeyError, address
from coutil.web.naming import said, subject

_LEVELS: Final = ("bust", "underbust", "waist", "high hip")
# Edge roles by the seam's name, as findings say it.
_SEAMS: Final = {
    "front princess": ("edge/front_princess", ("centre-front", "side-front")),
    "side": ("edge/side", ("side-front", "side-back")),
    "back princess": ("edge/back_princess", ("side-back", "centre-back")),
    "centre front": ("edge/centre_front", ("centre-front",)),
    "centre back": ("edge/centre_back", ("centre-back",)),
}
_KEY: Final = re.compile(r"[a-z_]+(?:\.[a-z_]+)*")


def in_margin(found: Iterable[Finding], lit: Drawn, anchors: Mapping[str, Sequence[float]]) -> list[dict[str, Any]]:
    """Findings as the page gets them, the gravest first (docs/web-api.md, 3c).

    `lit` is what is drawn and what each value governs; `anchors` are the places of the parts on the paper.
    """
    seen: Counter[str] = Counter()
    out = []
    for f in gravest_first(found):
        seen[f.about] += 1
        keys = _keys(f.about)
        about = _parts(f.about, lit.ids) or [p for key in keys for p in lit.governed(key)]
        at = next((list(anchors[p]) for p in about if p in anchors), None)
        out.append(
            {
                "id": f"{f.about}#{seen[f.about]}",
                "level": f.level,
                "about": subject(f.about),
                "says": said(f.says),
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
                out.setdefault(key, {"level": f.level, "says": said(f.says)})
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


def _keys(about: str) -> list[str]:
    """The values that a finding names: "style.peak", "body: bust, left.front_bust", "waist ease"."""
    if about.startswith("body: "):
        names = [f"body.{k}" for k in about.removeprefix("body: ").split(", ")]
    elif about.endswith(" ease"):
        names = [f"style.ease.{about.removesuffix(' ease').replace(' ', '_')}"]
    elif about == "foam":
        names = ["build.pad.thickness", "style.foam_ease"]
    else:
        names = [k if "." in k else f"body.{k}" for k in about.split(", ") if _KEY.fullmatch(k)]
    out = []
    for name in names:
        try:
            out.append(address(name).key)
        except UnknownKeyError:
            continue
    return out


def _parts(about: str, drawn: Mapping[str, Sequence[str]]) -> list[str]:
    side, rest = _side(about)
    wanted: list[str] = []
    if rest.endswith(" seam"):
        role, panels = _SEAMS.get(rest.removesuffix(" seam"), ("", ()))
        wanted = [f"{panel}/{role}" for panel in panels]
    elif rest.endswith(" girth") and rest.removesuffix(" girth") in _LEVELS:
        level = rest.removesuffix(" girth").replace(" ", "_")
        wanted = [plain for plain in drawn if plain.endswith(f"/level/{level}")]
    elif rest == "cup":
        wanted = ["centre-front/point/bust_point", "centre-front/edge/front_princess"]
    elif rest == "pad":
        wanted = ["centre-front/pad", "side-front/pad"]
    elif rest.endswith(" pad"):
        panel = rest.removesuffix(" pad").replace(" ", "-")
        wanted = [f"{panel}/pad", panel]
    else:
        wanted = [rest.replace(" ", "-")]
    return [p for plain in wanted for p in drawn.get(plain, ()) if side is None or p.startswith(side)]


def _side(about: str) -> tuple[str | None, str]:
    for side in ("left", "right"):
        if about.startswith(f"{side} "):
            return side, about.removeprefix(f"{side} ")
    return None, about


def _spread(about: str, keys: Sequence[str]) -> str:
    first = keys[0] if keys else ""
    for start, spread in (("body.", "tape"), ("style.", "shape"), ("build.", "pads"), ("hours.", "making")):
        if first.startswith(start):
            return spread
    if about.endswith("pad"):
        return "pads"
    return "money" if about in ("price", "docket") else "checks"
