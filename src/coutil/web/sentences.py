"""The left page: which sentences stand in which spread, in what order, and when. Their words are in the catalogue."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from typing import Any, Final

from coutil.body import reading_words, standard_words
from coutil.order import Order
from coutil.web.governs import tells_low
from coutil.web.outlines import ASKED
from coutil.words import catalogue, say

SPREADS: Final = ("tape", "shape", "pads", "checks", "cloth", "making", "money", "lesson")
# {key} in a sentence; N in a key stands for the number of the cloth.
_PLACE: Final = re.compile(r"\{([a-z_.0-9N]+)\}")


def spreads(
    order: Order, *, uneven: bool, worst: str, steps: int | None, padded: bool = True, drawn: bool = True
) -> list[dict[str, Any]]:
    """All spreads with their sections and sentences (docs/web-api.md, 3a).

    `uneven`: the order says something of one side alone; `worst`: the gravest finding ("stop", "warn", "note" or "");
    `padded`: whether a pad can be made at all; `drawn`: whether the order could be drafted; `steps`: how many the
    lesson has, None where it does not lie open: composing it only to count would cost every edit.
    """
    sections = {
        "tape": _tape(order, uneven),
        "shape": _shape(order, drawn=drawn),
        "pads": _pads(order, padded),
        "checks": [_checks(order, worst)],
        "cloth": _cloth(order),
        "making": _making(order),
        "money": _money(order),
        "lesson": [_lesson(steps, drafted=order.pattern is None)],
    }
    return [{"id": s, "title": say(f"spread.{s}"), "sections": sections[s]} for s in SPREADS]


def keys_in(told: list[dict[str, Any]]) -> Iterator[str]:
    """Every key that stands in a sentence, once."""
    seen = set()
    for spread in told:
        for section in spread["sections"]:
            for sentence in section["sentences"]:
                for run in sentence["runs"]:
                    key = run.get("value")
                    if key and key not in seen:
                        seen.add(key)
                        yield key
                for key in sentence.get("asks", ()):
                    if key not in seen:
                        seen.add(key)
                        yield key


def _checks(order: Order, worst: str) -> dict[str, Any]:
    """The verdict; what was not taken goes before all else, and a size that was asked for is named."""
    body = order.body
    verdict = f"checks.{worst if worst in ('stop', 'warn') else 'clear'}"
    if body.not_taken:
        return _section("checks.all", ["checks.not_taken"], missing=reading_words(body.not_taken))
    if body.as_asked and body.standard is not None:
        return _section("checks.all", [verdict, "checks.asked"], size=standard_words(body.standard))
    return _section("checks.all", [verdict])


def _standard(order: Order) -> list[dict[str, Any]]:
    """What stands in the place of readings, and how to say that it is meant, or that the readings are hers."""
    body = order.body
    if body.as_asked:
        section = _section("tape.standard", ["tape.asked"])
        _act(section, {"edit": {"key": "body.standard.as_asked", "text": "false"}, "text": say("action.not_asked")})
    elif body.drawn:
        section = _section("tape.standard", ["tape.standard"])
        if not body.measured() and not any(body.measured_sides()):
            _act(section, {"edit": {"key": "body.standard.as_asked", "text": "true"}, "text": say("action.asked")})
    elif body.not_taken:
        section = _section("tape.standard", ["tape.begun"])
        _act(section, {"edit": {"key": "body.confirmed", "text": "true"}, "text": say("action.hers")})
    else:
        return []
    return [section]


def _tape(order: Order, uneven: bool) -> list[dict[str, Any]]:
    return [
        _section("tape.who", ["tape.who", "tape.note"]),
        *_standard(order),
        _section("tape.round", ["tape.bust", "tape.waist", "tape.hip"]),
        _section("tape.lengths", ["tape.span", "tape.down", "tape.side"]),
        _section("tape.front", ["tape.fronts"]),
        _section("tape.left", ["tape.left.down", "tape.left.across"], folded=not uneven),
        _section("tape.right", ["tape.right.down", "tape.right.across"], folded=not uneven),
        _section("tape.more", ["tape.upper", "tape.ribs", "tape.back", "tape.height", "tape.unit"], folded=True),
    ]


def _shape(order: Order, *, drawn: bool) -> list[dict[str, Any]]:
    closing = "shape.lacing" if order.style.closing == "lacing" else "shape.closing"
    if order.pattern is not None:
        own = ["shape.own", "shape.own.change"] if order.pattern.drawing else ["shape.own.elsewhere"]
        section = _section("shape.own", own, file=order.pattern.file)
        if order.pattern.drawing:
            line = "said" if order.pattern.line is not None else "told" if drawn else "unsaid"
            section["sentences"].insert(1, {**_plain(f"shape.own.{line}"), "asks": list(ASKED)})
        return [section, _section("shape.closing", [closing])]
    neckline = "shape.neckline.low" if tells_low(order.style) else "shape.neckline"
    fit = ["shape.ease", *(["shape.foam"] if order.build.pad.thickness is not None else [])]
    return [
        _section("shape.top", [neckline, "shape.cup", "shape.sides"]),
        _section("shape.hem", ["shape.hem"]),
        _section("shape.closing", [closing]),
        _section("shape.ease", fit),
    ]


def _pads(order: Order, padded: bool) -> list[dict[str, Any]]:
    build = order.build
    foam = [
        _section("pads.place", ["pads.where", "pads.front", "pads.beyond"]),
        _section("pads.foam", ["pads.foam"]),
    ]
    layers = ["pads.layers", *(["pads.lace"] if "lace" in build.layers else [])]
    lining = ["pads.lining", *(["pads.smaller"] if build.lining is not None else [])]
    kit = ["pads.kit", *(["pads.kit.closing", "pads.kit.stay", "pads.kit.more"] if build.kit is not None else [])]
    return [
        *(foam if padded else [_section("pads.place", ["pads.none"])]),
        _section("pads.layers", layers),
        _section("pads.lining", lining),
        _section("pads.kit", kit),
        _section(
            "pads.allowances",
            ["pads.allowance", "pads.allowances.front", "pads.allowances.ends", "pads.allowances.centres"],
        ),
    ]


def _cloth(order: Order) -> list[dict[str, Any]]:
    add = {"edit": {"key": "cloth", "add": True}, "text": say("action.cloth.add")}
    out = []
    for n, cloth in enumerate(order.cloth):
        ids = ["cloth.name", "cloth.size", "cloth.laid", "cloth.price", "cloth.shrink", "cloth.pieces"]
        section = _section("cloth.one", ids, number=n, name=cloth.name)
        section["id"] = f"cloth.{n}"
        remove = {"edit": {"key": f"cloth.{n}", "remove": True}, "text": say("action.cloth.remove")}
        _act(section, remove)
        out.append(section)
    if not out:
        out.append(_section("cloth.all", ["cloth.none"]))
    _act(out[-1], add)
    return out


def _act(section: dict[str, Any], action: dict[str, Any]) -> None:
    """Put a button behind a section's last sentence."""
    last = section["sentences"][-1]
    section["sentences"][-1] = {**last, "actions": [*last.get("actions", ()), action]}


def _making(order: Order) -> list[dict[str, Any]]:
    closing = {"lacing": ["making.eyelets", "making.cord"], "hooks": ["making.hooks"], "zip": []}[order.style.closing]
    return [
        _section("making.bones", ["making.bones", "making.lines"]),
        *([_section("making.closing", closing)] if closing else []),
        _section("making.thread", ["making.stitch"]),
        _section("making.hours", ["making.hours.first", "making.hours.then", "making.hours.last"]),
    ]


def _money(order: Order) -> list[dict[str, Any]]:
    kit = ["money.kit"] if order.build.kit is not None else []
    return [
        _section("money.rates", ["money.hour", "money.on", "money.quote"]),
        _section("money.notions", ["money.bones", f"money.{order.style.closing}", "money.openings", *kit]),
        _section("money.maker", ["money.maker"], folded=True),
    ]


def _lesson(steps: int | None, *, drafted: bool) -> dict[str, Any]:
    if not drafted:
        return _section("lesson.all", ["lesson.own"])
    if steps is None:
        return _section("lesson.all", ["lesson.all"])
    return _section("lesson.all", ["lesson.counted"], count=steps)


def _section(
    section: str, sentences: list[str], *, folded: bool = False, number: int | None = None, **fill: object
) -> dict[str, Any]:
    return {
        "id": section,
        "title": say(f"section.{section}", **fill),
        "folded": folded,
        "sentences": [_sentence(s, number, fill) for s in sentences],
    }


def _sentence(name: str, number: int | None, fill: dict[str, object]) -> dict[str, Any]:
    if number is None and not fill:
        return _plain(name)
    runs: list[dict[str, str]] = []
    for text, key in _runs(name):
        if key is None:
            runs.append({"text": text})
        elif key in fill:
            runs.append({"text": str(fill[key])})
        else:
            runs.append({"value": key if number is None else key.replace(".N.", f".{number}.")})
    return {"id": name if number is None else f"{name}.{number}", "runs": runs}


@cache
def _plain(name: str) -> dict[str, Any]:
    """A sentence in which nothing is to be filled; shared, never changed."""
    return {"id": name, "runs": [{"text": text} if key is None else {"value": key} for text, key in _runs(name)]}


@cache
def _runs(name: str) -> tuple[tuple[str, str | None], ...]:
    """A sentence cut into texts and keys."""
    text = catalogue()[f"sentence.{name}"]
    out: list[tuple[str, str | None]] = []
    at = 0
    for match in _PLACE.finditer(text):
        if match.start() > at:
            out.append((text[at : match.start()], None))
        out.append(("", match[1]))
        at = match.end()
    if at < len(text):
        out.append((text[at:], None))
    return tuple(out)
