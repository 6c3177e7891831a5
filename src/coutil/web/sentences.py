"""The left page: which sentences stand in which spread, in what order, and when. Their words are in the catalogue."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from coutil.body import reading_words, standard_words
from coutil.order import ROLES, Order
from coutil.seaming import ELASTIC, PRINCESS_4
from coutil.web.shape import shape
from coutil.web.telling import act, listing, plain, section
from coutil.words import has, say

SPREADS: Final = ("tape", "shape", "pads", "checks", "cloth", "making", "money", "lesson")


def spreads(
    order: Order,
    *,
    uneven: bool,
    worst: str,
    steps: int | None,
    padded: bool = True,
    drawn: bool = True,
    low: float | None = None,
) -> list[dict[str, Any]]:
    """All spreads with their sections and sentences (docs/web-api.md, 3a).

    `uneven`: the order says something of one side alone; `worst`: the gravest finding ("stop", "warn", "note" or "");
    `padded`: whether a pad can be made at all; `drawn`: whether the order could be drafted; `low`: how far the top at
    the centre front lies above the underbust, in mm, None where it is not drawn; `steps`: how many the
    lesson has, None where it does not lie open: composing it only to count would cost every edit.
    """
    sections = {
        "tape": _tape(order, uneven),
        "shape": shape(order, drawn=drawn, low=low),
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
        for part in spread["sections"]:
            for sentence in part["sentences"]:
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
        return section("checks.all", ["checks.not_taken"], missing=reading_words(body.not_taken))
    if body.as_asked and body.standard is not None:
        return section("checks.all", [verdict, "checks.asked"], size=standard_words(body.standard))
    return section("checks.all", [verdict])


def _standard(order: Order) -> list[dict[str, Any]]:
    """What stands in the place of readings, and how to say that it is meant, or that the readings are hers."""
    body = order.body
    if body.as_asked:
        told = section("tape.standard", ["tape.asked"])
        act(told, {"key": "body.standard.as_asked", "text": "false"}, say("action.not_asked"))
    elif body.drawn:
        told = section("tape.standard", ["tape.standard"])
        if not body.measured() and not any(body.measured_sides()):
            act(told, {"key": "body.standard.as_asked", "text": "true"}, say("action.asked"))
    elif body.not_taken:
        told = section("tape.standard", ["tape.begun"])
        act(told, {"key": "body.confirmed", "text": "true"}, say("action.hers"))
    else:
        return []
    return [told]


def _tape(order: Order, uneven: bool) -> list[dict[str, Any]]:
    """What the garment needs goes first; what only others use lies folded behind it."""
    round_, down, front = ["tape.bust"], ["tape.span", "tape.down", "tape.side"], ["tape.fronts"]
    more = ["tape.upper", "tape.ribs", "tape.back", "tape.height", "tape.unit"]
    unused: list[dict[str, Any]] = []
    if "bust" not in order.body.needed:
        round_, down, front = ["tape.low"], ["tape.ribs", "tape.side"], ["tape.fronts.low"]
        more = [name for name in more if name not in (*down, "tape.upper")]
        unused = [section("tape.unused", ["tape.bust.unused", "tape.span", "tape.down", "tape.upper"], folded=True)]
    return [
        section("tape.who", ["tape.who", "tape.note"]),
        *_standard(order),
        section("tape.round", [*round_, "tape.waist", "tape.hip"]),
        section("tape.lengths", down),
        section("tape.front", front),
        section("tape.left", ["tape.left.down", "tape.left.across"], folded=not uneven),
        section("tape.right", ["tape.right.down", "tape.right.across"], folded=not uneven),
        section("tape.more", more, folded=True),
        *unused,
    ]


def _pads(order: Order, padded: bool) -> list[dict[str, Any]]:
    build = order.build
    cupless = order.pattern is None and order.style.seaming.cup is None
    foam = [
        section("pads.place", ["pads.where", "pads.front", "pads.beyond"]),
        section("pads.foam", ["pads.foam"]),
    ]
    if cupless or not padded:
        foam = [section("pads.place", ["pads.no_cup" if cupless else "pads.none"])]
    layers = ["pads.layers", *(["pads.lace"] if "lace" in build.layers else [])]
    lining = ["pads.lining", *(["pads.smaller"] if build.lining is not None else [])]
    kit = ["pads.kit", *(["pads.kit.closing", "pads.kit.stay", "pads.kit.more"] if build.kit is not None else [])]
    allowances = section("pads.allowances", ["pads.allowance"])
    allowances["sentences"] += _allowances(order)
    return [
        *foam,
        section("pads.layers", layers),
        section("pads.lining", lining),
        section("pads.kit", kit),
        allowances,
    ]


def _allowances(order: Order) -> Iterator[dict[str, Any]]:
    """The allowance of every seam by its name, then those of top, hem and centres."""
    seaming = PRINCESS_4 if order.pattern is not None else order.style.seaming
    seams = [(seam.spoken, f"build.allowances.{seam.role}") for seam in seaming.seams if seam.role in ROLES]
    if any(opening.closed_with == "elastic" for opening in order.style.opens):
        seams.append((say("edge.seam", name=ELASTIC), f"build.allowances.{ELASTIC}"))
    if seams:
        yield listing("pads.allowances.seams", seams)
    yield plain("pads.allowances.ends")
    yield plain("pads.allowances.centres")


def _cloth(order: Order) -> list[dict[str, Any]]:
    out = []
    for n, cloth in enumerate(order.cloth):
        ids = ["cloth.name", "cloth.size", "cloth.laid", "cloth.price", "cloth.shrink", "cloth.pieces"]
        told = section("cloth.one", ids, number=n, name=cloth.name)
        told["id"] = f"cloth.{n}"
        act(told, {"key": f"cloth.{n}", "remove": True}, say("action.cloth.remove"))
        out.append(told)
    if not out:
        out.append(section("cloth.all", ["cloth.none"]))
    act(out[-1], {"key": "cloth", "add": True}, say("action.cloth.add"))
    return out


def _making(order: Order) -> list[dict[str, Any]]:
    told = {"lacing": ["making.eyelets", "making.cord"], "hooks": ["making.hooks"]}
    closing = [sentence for kind in closings(order) for sentence in told.get(kind, ())]
    return [
        section("making.bones", ["making.bones", "making.lines"]),
        *([section("making.closing", closing)] if closing else []),
        section("making.thread", ["making.stitch"]),
        section("making.hours", ["making.hours.first", "making.hours.then", "making.hours.last"]),
    ]


def _money(order: Order) -> list[dict[str, Any]]:
    notions = [f"money.{kind}" for kind in closings(order) if has(f"sentence.money.{kind}")]
    kit = ["money.kit"] if order.build.kit is not None else []
    return [
        section("money.rates", ["money.hour", "money.on", "money.quote"]),
        section("money.notions", ["money.bones", *notions, "money.openings", *kit]),
        section("money.maker", ["money.maker"], folded=True),
    ]


def closings(order: Order) -> tuple[str, ...]:
    """What the garment is closed with, each once."""
    return tuple(dict.fromkeys(opening.closed_with for opening in order.style.opens))


def _lesson(steps: int | None, *, drafted: bool) -> dict[str, Any]:
    if not drafted:
        return section("lesson.all", ["lesson.own"])
    if steps is None:
        return section("lesson.all", ["lesson.all"])
    return section("lesson.all", ["lesson.counted"], count=steps)
