"""What a spread shows beside its sentences and the drawing (docs/web-api.md, 6)."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from typing import Any

from coutil.docket import Docket, DocketError, make_docket, making_up
from coutil.draft import Step
from coutil.lay.model import LayPlan
from coutil.make import Work
from coutil.plane import Curve
from coutil.sheets.lesson import Group, groups, parts, reasoned, turned_face_up
from coutil.web.checks import girths
from coutil.web.figures import figures
from coutil.web.naming import told
from coutil.web.paths import Place, hull, rounded, union
from coutil.web.refused import words_of
from coutil.web.tables import docket_tables
from coutil.words import say

# White round the drawing of a group of steps, in mm: room for the names of points.
_RIM = 15.0


def spread(name: str, work: Work, unit: str, plan: LayPlan | None) -> dict[str, Any]:
    """The heavy part of one spread; `plan` are the lays of this very pattern, None where there are none."""
    out: dict[str, Any] = {"id": name}
    match name:
        case "tape":
            out["figures"] = _figures()
        case "checks":
            count = Counter(f.level for f in work.pattern.findings)
            out["counts"] = {level: count[level] for level in ("stop", "warn", "note")}
            out["girths"] = girths(work.pattern)
        case "making" | "money":
            made = docket_of(work, plan)
            if isinstance(made, DocketError):
                out["refused"] = words_of(made)
            elif name == "making":
                out["steps"] = _making(work, made)
            else:
                out |= docket_tables(made, unit)
                out["findings"] = told(made.findings)
        case "lesson":
            out["groups"] = list(_lesson(work.lesson))
    return out


def docket_of(work: Work, plan: LayPlan | None) -> Docket | DocketError:
    """The docket, or why there is none."""
    try:
        return make_docket(work.order, work.pattern, plan)
    except DocketError as e:
        return e


@cache
def _figures() -> dict[str, dict[str, Any]]:
    return figures()


def _making(work: Work, docket: Docket) -> list[dict[str, Any]]:
    return [
        {"number": n, "title": s.title, "says": [*s.says, *_must(s.must)], "uses": s.uses}
        for n, s in enumerate(making_up(work.order, work.pattern, docket), 1)
    ]


def _must(says: str) -> Iterator[str]:
    """What must be true before going on, as a sentence of its own."""
    if says:
        yield say("card.sheet.must", must=says)


def _lesson(steps: Sequence[Step]) -> Iterator[dict[str, Any]]:
    """The lesson's groups, each with what it draws and what stood before on that panel."""
    before: dict[tuple[str, str], list[Step]] = {}
    for group in groups(steps):
        earlier = before.setdefault((group.steps[0].panel, group.steps[0].side), [])
        yield {
            "title": group.title,
            "figure": _figure(group, earlier) if group.draws else None,
            "steps": [
                {"number": n, "says": "".join(text for text, _ in parts(s)), "why": why}
                for n, (s, why) in enumerate(reasoned(group.steps), group.first)
            ],
        }
        earlier += group.steps


def _figure(group: Group, before: Sequence[Step]) -> dict[str, Any]:
    place = Place()
    # Face up, as the steps speak of left and right.
    before = [turned_face_up(s) for s in before]
    steps = [turned_face_up(s) for s in group.steps]
    light = [c for s in before for c in (*s.curves, *(s.guides if not s.curves else ()))]
    light += [c for s in steps for c in s.guides]
    strong = [c for s in steps for c in s.curves]
    points = {name: at for s in steps for name, at in s.points}
    spoken = " ".join(s.says for s in steps)
    earlier = {name: at for s in before for name, at in s.points if name not in points and _speaks(spoken, name)}
    boxes = [hull(cs) for cs in (light, strong) if cs]
    boxes += [(x, y, x, y) for x, y in (*points.values(), *earlier.values())]
    x0, y0, x1, y1 = union(boxes)
    return {
        "box": rounded((x0 - _RIM, -y1 - _RIM, x1 + _RIM, -y0 + _RIM)),
        "light": _paths(place, light),
        "strong": _paths(place, strong),
        "points": [
            *({"name": name, "at": place.at(at), "before": True} for name, at in earlier.items()),
            *({"name": name, "at": place.at(at)} for name, at in points.items()),
        ],
    }


def _speaks(said: str, point: str) -> bool:
    """Whether a point is named in what is said: "W1" is not "W1'"."""
    return re.search(rf"(?<!\w){re.escape(point)}(?![\w'])", said) is not None


def _paths(place: Place, curves: Iterable[Curve]) -> list[str]:
    return [place.curve(c) for c in curves]
