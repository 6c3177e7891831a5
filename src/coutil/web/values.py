"""Every value that stands in a sentence: what it shows, whence it comes, what may be typed there, what it governs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import Any, Final

from coutil.body import BY_KEY, SIDE_BY_KEY, reading_words, rests_on
from coutil.make import Work
from coutil.order import Cloth, Kit, Order, eased
from coutil.order.house import SHARED
from coutil.order.key import Key
from coutil.seaming import CLOSED_WITH, PLACES, Opening, Seaming, ToldSeam, told_seams
from coutil.web.edits import SEAMING, raw
from coutil.web.governs import Drawn
from coutil.web.handles import plunge_now
from coutil.web.keys import CLOTH, KIT, LINING, LISTS, OPENING, SEAM, Address, address
from coutil.web.lengths import exact, is_bare, is_finer, is_in_inches, near, other, said, shown, stated
from coutil.web.parts import PART_STEPS, part_words, percent
from coutil.web.usual import in_words, usual, why
from coutil.words import has, say

# States of a measurement as the page knows them, where it calls them otherwise.
_STATES: Final = {"taken": "measured", "by_rule": "assumed"}
_EASE: Final = "style.ease"
# Kinds of the order file as the page knows them.
_KINDS: Final = {
    "pair": "text",
    "pairs": "text",
    "decimal": "number",
    "percent": "number",
    "whole": "number",
    "money": "number",
    "part": "number",
}
# What an arrow key adds to a value that is no length, as it is said; the server adds it (coutil.web.edits).
_NUDGES: Final = {"whole": "1", "money": "1"}
# Lengths that the page says without their sign where they lie the other way, by what says which way that is.
_BOTH_WAYS: Final = ("style.plunge", "style.hem")

# Style values that the draft takes from the body where they are left open.
# Tables of the house by the order's.
SHARED_NAMES: Final = {order: house for house, order in SHARED.items()}
_SETTLED: Final = ("cup_height", "side_top", "back_top", "hem")


@dataclass(frozen=True, slots=True)
class Told:
    """What the sheet knows when it describes a value. `work` is None where the order cannot be drafted."""

    doc: Mapping[str, Any]
    order: Order
    work: Work | None
    unit: str
    drawn: Drawn
    # What the checks say about single values, and what was typed and cannot be used.
    remarks: Mapping[str, Mapping[str, str]]
    typed: Mapping[str, str]


def describe(key: str, told: Told) -> dict[str, Any]:
    """One value as the page gets it (docs/web-api.md, 3a)."""
    at = address(key)
    spec = at.spec
    stands = raw(told.doc, at)
    out: dict[str, Any] = {
        "key": key,
        "name": value_name(at),
        "kind": _kind(at),
        "state": _state(at, stands, told),
        "allowed": _allowed(spec),
        "governs": told.drawn.governed(key),
        "remark": told.remarks.get(key),
    }
    reason = _why(at, out["state"], told)
    if reason:
        out["why"] = reason
    needed = at.table == "body" and spec.name in told.order.body.needed
    if stands is not None and (needed or at.table == "body" or not spec.required) and key not in (LINING, KIT, SEAMING):
        out["clears"] = True
    if needed:
        out["needed"] = True
    if key in told.typed:
        out["typed"] = told.typed[key]
    if m := _measurement(at):
        out["how"] = m.how
        out["figure"] = at.spec.name
    if key == LINING:
        lining = told.order.build.lining
        _choice(out, at, told.order, "none" if lining is None else "fused" if lining.fused else "plain")
    elif key == KIT:
        _choice(out, at, told.order, "none" if told.order.build.kit is None else "kit")
    elif spec.kind == "length":
        _length(out, at, stands, told)
    elif spec.kind in ("pair", "pairs"):
        _pairs(out, at, stands, told)
    elif spec.kind in ("choice", "flag"):
        value = _now(at, told.order)
        value = value.name if isinstance(value, Seaming) else value
        _choice(out, at, told.order, "" if value is None else str(value).lower() if spec.kind == "flag" else str(value))
    elif spec.kind == "choices":
        _choices(out, at, tuple(_now(at, told.order)))
    else:
        _typed(out, at, stands, told)
    cloth = _cloth_of(at, told.order)
    if at.table.startswith("body"):
        _nobodys(out, at, told)
    words = in_words(cloth, at.spec.name) if cloth is not None and stands is None else ""
    if words:
        out.pop("also", None)
        out.pop("nudge", None)
        out["text"], out["edit"] = say(words), ""
    return out


def shown_text(key: str, doc: Mapping[str, Any], order: Order, work: Work | None, unit: str) -> str:
    """What the page shows of one value, alone; "" for one of an entry that is not there. Raises UnknownKeyError."""
    at = address(key)
    if at.table in LISTS and _entry(at, order) is None:
        return ""
    return str(describe(key, Told(doc, order, work, unit, Drawn.nothing(), {}, {}))["text"])


@cache
def _allowed(spec: Key) -> str:
    return spec.allowed


def in_mm(key: str, order: Order, work: Work | None) -> float | None:
    """The length that a value has now, stated or assumed; None where nothing tells."""
    at = address(key)
    if at.spec.kind != "length":
        return None
    if at.table == "style" and work is not None:
        if at.spec.name == "plunge":
            return _as_stated(plunge_now(work), order.style.plunge)
        if at.spec.name in _SETTLED and work.draft is not None and not _without_cup(at, order):
            return _as_stated(float(getattr(work.draft.style, at.spec.name)), getattr(order.style, at.spec.name))
    if at.table == _EASE:
        return _as_stated(eased(order.style, order.body, order.cloth)[at.spec.name], _now(at, order))
    if at.key == "style.lacing_gap":
        return order.style.gap
    value = _now(at, order)
    return None if value is None else float(value)


def _without_cup(at: Address, order: Order) -> bool:
    """Whether it is the height of a cup that this garment does not have."""
    return at.spec.name == "cup_height" and not order.style.seaming.bust


def _as_stated(drawn: float | None, stated: float | None) -> float | None:
    """What the draft made of a length, freed of the rounding of its floats where that is what was stated."""
    same = drawn is not None and stated is not None and abs(drawn - stated) < 1e-6
    return stated if same else drawn


def number_now(key: str, order: Order) -> float | None:
    """The figure of a value that is no length, for the arrow keys."""
    value = _now(address(key), order)
    return float(value) if isinstance(value, int | float | Decimal) and not isinstance(value, bool) else None


def _length(out: dict[str, Any], at: Address, stands: Any, told: Told) -> None:
    mm = in_mm(at.key, told.order, told.work)
    own = stands if isinstance(stands, str) and not is_bare(stands) else None
    unit = told.unit if own is None else "in" if is_in_inches(own) else "cm"
    out["nudge"] = "1/16 in" if unit == "in" else "1 mm"
    if mm is None:
        del out["nudge"]
        out["text"] = say("value.none")
        out["edit"] = ""
        return
    # What was typed reads back as itself; what a rule or the draft made is told near enough.
    as_typed = stands is not None and mm == _now(at, told.order)
    edit = own or (exact(mm, unit) if as_typed else near(mm, unit))
    if at.table == _EASE:
        _ease(out, mm, stands, told)
        out["edit"] = edit
        return
    if at.key in _BOTH_WAYS and mm < 0.0:
        plain = said(-mm, unit, at.table)[0] if stands is None else _unsigned(mm, stands, told)
        out["text"] = say(f"value.{at.key}.less", length=plain)
        out["also"] = shown(-mm, other(unit))
        out["edit"] = edit
        return
    if own is None:
        out["text"], unit = said(mm, unit, at.table)
        if as_typed and is_finer(out["text"], mm, told.unit, told.order.unit):
            out["text"], unit = edit, told.unit
    else:
        out["text"] = own
    also = said(mm, other(unit), at.table)[0]
    if also != out["text"]:
        out["also"] = also
    if edit != out["text"]:
        out["edit"] = edit


def _nobodys(out: dict[str, Any], at: Address, told: Told) -> None:
    """What was not taken is shown in brackets.

    What rests on a figure that nobody took is edited from nothing, so that to put it back as it was keeps no reading.
    """
    if out["state"] == "not_taken":
        out["text"] = say("value.not_taken", text=out["text"])
        out.pop("also", None)
    if may_not_nudge(at, told.order, out["state"]):
        out.pop("nudge", None)
        out["edit"] = ""


def may_not_nudge(at: Address, order: Order, state: str) -> bool:
    """Whether an arrow key would make a reading of a figure that nobody took."""
    key = f"{at.table}.{at.spec.name}".removeprefix("body.")
    return state in ("not_taken", "standard", "assumed") and bool(rests_on(order.body, (key,)))


def _ease(out: dict[str, Any], mm: float, stands: Any, told: Told) -> None:
    """More or less than the body, in words; the field shows the figure with its sign."""
    if mm == 0.0:
        out["text"] = say("value.style.ease.none")
        return
    plain = said(abs(mm), told.unit, _EASE)[0] if stands is None else _unsigned(mm, stands, told)
    unit = told.unit if is_bare(str(stands)) or stands is None else "in" if is_in_inches(stands) else "cm"
    out["text"] = say("value.style.ease.more" if mm > 0 else "value.style.ease.less", length=plain)
    out["also"] = shown(mm, other(unit))


def _unsigned(mm: float, stands: Any, told: Told) -> str:
    """A length without its sign, as it was typed where it was."""
    typed = stands.lstrip("+-− ") if isinstance(stands, str) else stands
    return stated(typed, abs(mm), told.unit, told.order.unit)[0]


def _pairs(out: dict[str, Any], at: Address, stands: Any, told: Told) -> None:
    """Widths and lengths of sheets and remnants: "30 × 45 cm; 20 × 60 cm"."""
    value = _now(at, told.order)
    pairs = [] if value is None else [value] if at.spec.kind == "pair" else list(value)
    typed = [None] * len(pairs) if stands is None else [stands] if at.spec.kind == "pair" else list(stands)
    sides = [
        [stated(s, mm, told.unit, told.order.unit) for s, mm in zip(said or (None, None), pair, strict=True)]
        for said, pair in zip(typed, pairs, strict=True)
    ]
    out["text"] = "; ".join(f"{a[0]} × {b[0]}" for a, b in sides) or say("value.none")
    edit = "; ".join(f"{a[1]} × {b[1]}" for a, b in sides)
    if edit != out["text"]:
        out["edit"] = edit


def _choice(out: dict[str, Any], at: Address, order: Order, value: str) -> None:
    options = ("true", "false") if at.spec.kind == "flag" else _open_to(at, order)
    out["choices"] = _options(at.pattern, tuple(options))
    out["allowed"] = f" {say('value.or')} ".join(choice["text"] for choice in out["choices"])
    out["value"] = value
    empty = f"value.{at.pattern}"
    out["text"] = choice_text(at.pattern, value) if value else say(empty if has(empty) else "value.none")


def _open_to(at: Address, order: Order) -> tuple[str, ...]:
    """The choices that an order leaves: a place opens once, a side where it has a seam, and with what suits it."""
    opening = _entry(at, order)
    if not isinstance(opening, Opening):
        return at.spec.choices
    if at.spec.name == "with":
        return CLOSED_WITH[opening.at]
    return tuple(p for p in PLACES if p == opening.at or p in order.style.free_places)


def _choices(out: dict[str, Any], at: Address, values: Sequence[str]) -> None:
    out["choices"] = _options(at.pattern, at.spec.choices)
    out["value"] = list(values)
    words = [choice_text(at.pattern, v) for v in values]
    if not words:
        out["text"] = say(f"value.{at.pattern}")
        return
    out["text"] = f" {say('value.and')} ".join(p for p in (", ".join(words[:-1]), words[-1]) if p)


def _typed(out: dict[str, Any], at: Address, stands: Any, told: Told) -> None:
    value = _now(at, told.order)
    if at.spec.kind == "part":
        text = "" if value is None else percent(value)
        out["text"] = say("value.none") if value is None else text if at.table == SEAM else part_words(value)
        if value is not None:
            out["nudge"] = percent(PART_STEPS.get(at.key, PART_STEPS[""]))
    elif at.spec.kind in ("decimal", "percent", "whole", "money"):
        text = "" if value is None else f"{value:f}" if isinstance(value, Decimal) else f"{value:g}"
        if stands is not None and at.spec.kind == "money":
            text = str(stands)
        out["text"] = text or say("value.none")
        if value is not None:
            out["nudge"] = _NUDGES.get(at.spec.kind, "0.5")
    else:
        text = "" if value is None else str(value)
        empty = f"value.{at.pattern}"
        out["text"] = text or say(empty if has(empty) else "value.none")
    if out["text"] != text:
        out["edit"] = text


@cache
def _options(pattern: str, options: tuple[str, ...]) -> list[dict[str, str]]:
    """The choices of a key; shared, never changed."""
    return [{"value": o, "text": choice_text(pattern, o)} for o in options]


def choice_text(pattern: str, value: str) -> str:
    key = f"choice.{pattern}.{value}"
    return say(key) if has(key) else value


def _kind(at: Address) -> str:
    if at.spec.kind == "text":
        return "lines" if at.spec.lines else "text"
    return _KINDS.get(at.spec.kind, at.spec.kind)


def value_name(at: Address) -> str:
    """What a value is called: a measurement by its name, anything else by what it says in the order file."""
    if has(f"name.{at.pattern}"):
        return say(f"name.{at.pattern}")
    m = _measurement(at)
    return m.name if m else at.spec.says


def _measurement(at: Address) -> Any:
    if at.table == "body":
        return BY_KEY.get(at.spec.name)
    return SIDE_BY_KEY.get(at.spec.name) if at.table in ("body.left", "body.right") else None


def _state(at: Address, stands: Any, told: Told) -> str:
    if at.table == "body" and at.spec.name in BY_KEY:
        # As the page calls them.
        return _STATES.get(told.order.body.state(at.spec.name), told.order.body.state(at.spec.name))
    if at.table in ("body.left", "body.right"):
        return "assumed" if stands is None else "measured"
    if at.key in (LINING, KIT, SEAMING) or at.table in ("", "client"):
        return "stated"
    return "assumed" if stands is None else "stated"


def _why(at: Address, state: str, told: Told) -> str:
    body = told.order.body
    if state in ("not_taken", "standard"):
        return body.reasons.get(at.spec.name, "") or say("value.begun")
    if state != "assumed":
        return ""
    if m := _measurement(at):
        rule = body.reasons.get(at.spec.name, "") if at.table == "body" else m.rule or ""
        rests = rests_on(body, (f"{at.table}.{at.spec.name}".removeprefix("body."),))
        return say("value.rests", rule=rule, names=reading_words(rests)) if rests else rule
    if at.table == "style" and at.spec.name in (*_SETTLED, "plunge"):
        return at.spec.default
    if at.table == _EASE:
        return say("value.usual_ease")
    if (cloth := _cloth_of(at, told.order)) is not None:
        whence = why(told.order, cloth, at.spec.name)
        return say(whence) if whence else ""
    if _in_house(at, told.doc):
        return say("value.house")
    return say("value.usual") if at.table.startswith(("build", "style", "notions", "hours")) else ""


def _in_house(at: Address, doc: Mapping[str, Any]) -> bool:
    """Whether the order takes a value from the house that it was stamped with."""
    table: Any = doc.get("house", {})
    for part in (*SHARED_NAMES.get(at.table, at.table).split("."), at.spec.name):
        table = table.get(part) if isinstance(table, Mapping) else None
    return table is not None


def _now(at: Address, order: Order) -> Any:
    """What an order holds at an address, its defaults and rules filled in; None where nothing is stated."""
    name = at.spec.name
    match at.table:
        case "":
            return getattr(order, name)
        case "client":
            return getattr(order.client, name)
        case "body":
            return getattr(order.body, name)
        case "body.standard":
            return None if order.body.standard is None else getattr(order.body.standard, name)
        case "body.left" | "body.right":
            return getattr(order.body.side("left" if at.table == "body.left" else "right"), name)
        case "style":
            return getattr(order.style, name)
        case "style.ease":
            return getattr(order.style.ease, name)
        case "style.opening":
            opening = _entry(at, order)
            return None if opening is None else getattr(opening, "closed_with" if name == "with" else name)
        case "style.seam":
            return _of_seam(_entry(at, order), name)
        case "build":
            return getattr(order.build, name)
        case "build.allowances":
            return order.build.allowance_for(name)
        case "build.pad":
            return getattr(order.build.pad, name)
        case "build.lining":
            return order.build.lining is not None and getattr(order.build.lining, name)
        case "build.kit":
            return getattr(order.build.kit or Kit(), name)
        case "build.lace" | "build.bones":
            return getattr(getattr(order.build, at.table.removeprefix("build.")), name)
        case "cloth":
            cloth = _cloth_of(at, order)
            if cloth is None:
                return None
            value = getattr(cloth, "layers" if name == "for" else name)
            return usual(order, cloth, name) if value is None else value
        case _:
            return getattr(getattr(order, at.table), name)


def _of_seam(seam: Any, name: str) -> Any:
    """A value of a seam, what an edge takes down to a level among them."""
    edge, _, level = name.partition(".")
    if not isinstance(seam, ToldSeam):
        return None
    return getattr(seam, name) if not level else getattr(seam, edge).of(level)


def _entry(at: Address, order: Order) -> Cloth | Opening | ToldSeam | None:
    """The entry of a list that a value belongs to; None for any other value, and for an entry that is not there."""
    entries: Sequence[Cloth | Opening | ToldSeam] = ()
    if at.table == CLOTH:
        entries = order.cloth
    elif at.table == OPENING:
        entries = order.style.openings
    elif at.table == SEAM and order.style.own is not None:
        entries = told_seams(order.style.own)
    return entries[at.number] if at.number < len(entries) else None


def _cloth_of(at: Address, order: Order) -> Cloth | None:
    """The cloth that a value belongs to; None for any other value, and for a cloth that is not there."""
    entry = _entry(at, order)
    return entry if isinstance(entry, Cloth) else None
