"""One change to the text of an order. Pure: text in, text out; remarks and spelling of everything else stay."""

from __future__ import annotations

import re
import threading
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from coutil.body import BY_KEY, DEFAULT_STANDARD, REQUIRED, Body, began_with, missing_readings
from coutil.order import parse_order
from coutil.units import LengthError, plain_number
from coutil.web.keys import KIT, KITS, LINING, LININGS, LISTS, OPENING, SHARES, Address, UnknownKeyError, address
from coutil.web.lengths import is_bare, is_in_inches, stepped, typed, written
from coutil.web.listed import added, fitted, removed, share_now, share_out, with_seaming
from coutil.web.outlines import ALLOWANCE, LINE, unanswered
from coutil.web.parts import PART_STEPS, part_typed
from coutil.web.recount import order_unit, spell_out
from coutil.words import Told, in_words, reason, say

# No value that is typed is longer than this; a note may hold 4000 signs.
_LONGEST: Final = 5000
# So many texts that were just written are kept as read: typing changes one text over and over, and reading one with
# all its remarks takes longer than anything else here.
_READ: Final = 16
# Between width and length, between two pieces of cloth, and the unit at the end of a length.
_TIMES: Final = re.compile(r"\s*[×*]\s*|\s*x\s*|\s+by\s+", re.IGNORECASE)
_BETWEEN: Final = re.compile(r"\s*[;\n]\s*|\s+and\s+")
_UNIT: Final = re.compile(r"[^0-9\s/.,+-]+$")
SEAMING: Final = "style.seaming"
# What an arrow key adds to a number that is no length.
_NUMBER_STEPS: Final = {"decimal": 0.5, "percent": 0.5, "whole": 1, "money": 1}


class _Read:
    """Texts as they were read, for one taker each: who takes one may change it, and no other thread sees it then."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._lock = threading.Lock()
        self._docs: dict[str, Any] = {}

    def take(self, text: str) -> Any | None:
        with self._lock:
            return self._docs.pop(text, None)

    def keep(self, text: str, doc: Any) -> None:
        """Keep it in place of the one that was kept longest."""
        with self._lock:
            self._docs[text] = doc
            while len(self._docs) > self._most:
                del self._docs[next(iter(self._docs))]


_read: Final = _Read(_READ)


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a value was refused: the key beside which it is said, what is wrong, what is allowed ("" if `says` tells).

    `because` is what the draft says of this one value, as data.
    """

    key: str
    says: str
    allowed: str = ""
    because: Told | None = None


class RefusedError(ValueError):
    """A change that cannot be made; the order stays as it was."""

    def __init__(self, *refusals: Refusal) -> None:
        self.refusals = refusals
        super().__init__("; ".join(f"{r.key}: {r.says}" for r in refusals))


@dataclass(frozen=True, slots=True)
class Edit:
    """What the page asks for: exactly one of `text` (a list for choices), `nudge`, `add`, `remove` and `back`.

    `beside` holds what else the same question asked, by its key: all of it is taken, or nothing. `hand` is the book's
    version upon which the value was taken in hand; a refusal, and `back`, go back to what it had there. None where
    nothing is typed in a hand.
    """

    key: str
    text: str | tuple[str, ...] | None = None
    nudge: int = 0
    add: bool = False
    remove: bool = False
    beside: tuple[tuple[str, str], ...] = ()
    back: bool = False
    hand: int | None = None

    @property
    def said(self) -> dict[str, str]:
        """All that was typed, by key."""
        own = {self.key: self.text} if isinstance(self.text, str) else {}
        return {**own, **dict(self.beside)}


def edited(text: str, edit: Edit, unit: str, *, now: float | None = None) -> str:
    """The order's text with the change. `unit` is the person's; `now` the value in mm where it is to be nudged.

    Raises RefusedError for a key that is not there or a text that cannot stand there. Whether the order as a whole is
    sound is for `coutil.web.refused.parsed` to say.
    """
    import tomlkit

    before = text
    text = _uncommented(text, edit)
    # Taken out while it is changed: if the change is refused half way, it is read anew next time.
    doc = _read.take(text)
    if doc is None:
        doc = tomlkit.parse(text)
    if edit.add or edit.remove:
        order = parse_order(before, "order")
        done = added(doc, edit.key, order, order_unit(doc)) if edit.add else removed(doc, edit.key, order)
        if not done:
            raise RefusedError(Refusal(edit.key[:80], say("refused.not_here")))
    else:
        try:
            at = address(edit.key)
        except UnknownKeyError:
            raise RefusedError(Refusal(edit.key[:80], say("refused.no_key"))) from None
        if edit.key == LINING:
            _lining(doc, edit)
        elif edit.key == KIT:
            _kit(doc, edit)
        elif at.table.startswith("body") and not edit.nudge:
            _reading(doc, at, _value(doc, at, edit.text, unit), parse_order(before, "order").body)
        elif edit.nudge:
            put(doc, at, _nudged(doc, at, edit.nudge, unit, now))
        elif at.key == SEAMING:
            value = _value(doc, at, edit.text, unit)
            put(doc, at, value)
            with_seaming(doc, value, parse_order(before, "order"), order_unit(doc))
        else:
            counted = order_unit(doc)
            if edit.beside:
                _answer(doc, edit, unit)
            put(doc, at, _value(doc, at, edit.text, unit))
            if at.table == OPENING:
                fitted(doc, at)
            if order_unit(doc) != counted:
                # What was typed says what it said: it takes the unit that it was typed in along.
                spell_out(doc, counted)
    made = tomlkit.dumps(doc)
    _read.keep(made, doc)
    return made


def put(doc: Any, at: Address, value: Any) -> None:
    """Set (or, with None, take away) the value at an address, its tables made as needed."""
    import tomlkit

    if at.is_share:
        if value is None or raw(doc, at) is None or not share_out(doc, at, value):
            raise RefusedError(Refusal(at.key, say("refused.no_share"), at.spec.allowed))
        return
    table = doc
    for part in at.path[:-1]:
        if isinstance(part, int):
            if not 0 <= part < len(table):
                raise RefusedError(Refusal(at.key, say("refused.no_key")))
            table = table[part]
            continue
        if part not in table:
            if value is None:
                return
            if ".".join(str(p) for p in at.path[: at.path.index(part) + 1]) in LISTS:
                raise RefusedError(Refusal(at.key, say("refused.no_key")))
            table[part] = tomlkit.table()
        table = table[part]
    name = at.path[-1]
    if value is None:
        if at.spec.required:
            raise RefusedError(Refusal(at.key, say("refused.needed"), at.spec.allowed))
        table.pop(name, None)
    else:
        # Assigning keeps a remark that stands behind the value.
        table[name] = value


def raw(doc: Mapping[str, Any], at: Address) -> Any:
    """What stands at an address, or None."""
    value: Any = doc
    for part in at.path[:-2] if at.is_share else at.path:
        try:
            value = value[part]
        except (KeyError, IndexError, TypeError):
            return None
    return share_now(value, at) if at.is_share else value


def value_from(text: str, other: str, key: str) -> str:
    """The order's text with one value as `other`, another text of the order, has it."""
    import tomllib

    import tomlkit

    at = address(key)
    doc = tomlkit.parse(text)
    then = tomllib.loads(other)
    if at.is_share:
        # What one edge takes the others gave way for: they come back along with it.
        seams, before = (d.get("style", {}).get("seam", []) for d in (doc, then))
        for seam, was in zip(seams, before, strict=len(seams) == len(before)):
            seam.update({edge: was[edge] for edge in SHARES if edge in was})
    else:
        put(doc, at, raw(then, at))
    return tomlkit.dumps(doc)


def changed_keys(before: str, after: str) -> frozenset[str]:
    """The keys whose values differ between two texts; an entry that came or went counts as its list ("cloth")."""
    a, b = _flat(tomllib.loads(before)), _flat(tomllib.loads(after))
    return frozenset(k for k in a.keys() | b.keys() if a.get(k) != b.get(k))


def _flat(table: Mapping[str, Any], before: str = "") -> dict[str, Any]:
    out: dict[str, Any] = {}
    for key, value in table.items():
        full = f"{before}{key}"
        if isinstance(value, dict):
            out |= {full: True} if full in (LINING, KIT) else {}
            out |= _flat(value, f"{full}.")
        elif full in LISTS and isinstance(value, list):
            out[full] = len(value)
            for n, entry in enumerate(value):
                out |= _flat(entry, f"{full}.{n}.")
        else:
            out[full] = value
    return out


def _value(doc: Mapping[str, Any], at: Address, text: str | tuple[str, ...] | None, unit: str) -> Any:
    """What is written for what she typed; None takes it away."""
    spec = at.spec
    if spec.kind == "choices":
        if not isinstance(text, tuple):
            raise RefusedError(Refusal(at.key, say("refused.list"), spec.allowed))
        return list(text) if text or spec.empty else None
    if not isinstance(text, str) or len(text) > _LONGEST:
        raise RefusedError(Refusal(at.key, say("refused.not_here"), spec.allowed))
    plain = text.strip()
    if not plain and spec.kind != "text":
        return None
    match spec.kind:
        case "length":
            try:
                return typed(plain, unit, order_unit(doc))
            except LengthError as e:
                raise RefusedError(Refusal(at.key, in_words(reason("length", e)), spec.allowed)) from None
        case "pair":
            return _pair(at, plain, unit, order_unit(doc))
        case "pairs":
            parts = [p for p in _BETWEEN.split(plain) if p.strip()]
            return [_pair(at, p, unit, order_unit(doc)) for p in parts] or None
        case "flag":
            if plain not in ("true", "false"):
                raise RefusedError(Refusal(at.key, say("refused.choice"), spec.allowed))
            return plain == "true"
        case "decimal" | "percent" | "whole":
            return _number(at, plain)
        case "part":
            part = part_typed(plain)
            if part is None or not at.spec.low <= part <= at.spec.high:
                raise RefusedError(Refusal(at.key, say("refused.part"), say("part.allowed")))
            return part
        case "money":
            return plain.replace(",", ".") if re.fullmatch(r"[0-9]+,[0-9]{1,2}", plain) else plain
        case "text":
            return (text if spec.lines else plain) or None
    return plain


def _pair(at: Address, text: str, unit: str, order_unit: str) -> list[str | float | int]:
    """Width and length, as "30 × 45 cm": a unit at the end counts for both."""
    sides = [p.strip() for p in _TIMES.split(text)]
    if len(sides) != 2:
        raise RefusedError(Refusal(at.key, say("refused.pair"), at.spec.allowed))
    if is_bare(sides[0]) and (own := _UNIT.search(sides[1])):
        sides[0] = f"{sides[0]} {own[0]}"
    try:
        return [typed(p, unit, order_unit) for p in sides]
    except LengthError as e:
        raise RefusedError(Refusal(at.key, in_words(reason("length", e)), at.spec.allowed)) from None


def _number(at: Address, text: str) -> int | float:
    plain = text.removesuffix("%").strip().replace(",", ".")
    if not re.fullmatch(r"-?[0-9]{1,9}(\.[0-9]{0,6})?", plain):
        raise RefusedError(Refusal(at.key, say("refused.number"), at.spec.allowed))
    return float(plain) if "." in plain else int(plain)


def _nudged(doc: Mapping[str, Any], at: Address, steps: int, unit: str, now: float | None) -> Any:
    stands = raw(doc, at)
    if at.spec.kind == "length":
        if now is None:
            raise RefusedError(Refusal(at.key, say("refused.not_here")))
        # A value that was typed in inches goes on in inches.
        own = "in" if isinstance(stands, str) and is_in_inches(stands) else unit
        if isinstance(stands, str) and not is_in_inches(stands):
            own = "cm"
        return written(stepped(now, steps, own), own, order_unit(doc))
    if at.spec.kind == "part" and (stands is not None or now is not None):
        step = steps * PART_STEPS.get(at.key, PART_STEPS[""])
        part = float(stands if stands is not None else now)  # type: ignore[arg-type]
        return min(max(round(part + step, 4), at.spec.low), at.spec.high)
    if at.spec.kind in _NUMBER_STEPS and (stands is not None or now is not None):
        try:
            value = float(stands if stands is not None else now)  # type: ignore[arg-type]
        except (TypeError, ValueError):
            raise RefusedError(Refusal(at.key, say("refused.number"))) from None
        value = round(value + steps * _NUMBER_STEPS[at.spec.kind], 4)
        number = int(value) if value == int(value) else value
        return str(number) if at.spec.kind == "money" else number
    raise RefusedError(Refusal(at.key, say("refused.not_here")))


def _answer(doc: Any, edit: Edit, unit: str) -> None:
    """What lies between the lines of a drawing, said together with what its outlines are."""
    text = dict(edit.beside).get(ALLOWANCE, "").strip()
    wrong = [Refusal(key, says) for key, says in unanswered(doc, edit.text, text)]
    if wrong or edit.key != LINE or len(edit.beside) != 1:
        raise RefusedError(*(wrong or [Refusal(edit.key, say("refused.not_here"))]))
    at = address(ALLOWANCE)
    put(doc, at, _value(doc, at, text, unit))


def _reading(doc: Any, at: Address, value: Any, before: Body) -> None:
    """A reading put in or taken out, or what is said of readings.

    One that is taken out is not taken again, and a standard size stands in its place. The first that is put in beside
    the figures with which a new order once began takes them out: they are nobody's. A size that was asked for as such
    is one no more once a reading is put in.
    """
    import tomlkit

    if value is False and at.spec.kind == "flag":
        # What is not so needs no word.
        value = None
    if at.table == "body.standard" or at.spec.name == "confirmed":
        put(doc, at, value)
        return
    body, standard = doc["body"], before.standard
    needed = at.table == "body" and at.spec.name in before.needed
    if before.not_taken and not before.drawn and needed:
        standard = began_with(before.measured()) or standard
        for key in REQUIRED:
            body.pop(key, None)
    if value is None and at.table == "body":
        # Another garment may need what this one can do without.
        body.pop(at.spec.name, None)
    else:
        put(doc, at, value)
    if missing_readings(body, before.needed) and "standard" not in body:
        size = standard or DEFAULT_STANDARD
        table = tomlkit.table()
        table.update({"bust": plain_number(size.bust, order_unit(doc)), "cup": size.cup})
        body["standard"] = table
    if value is not None and "standard" in body:
        body["standard"].pop("as_asked", None)


def _uncommented(text: str, edit: Edit) -> str:
    """The text, with the line "# bust =" of a new order made ready for what is put in there now."""
    name = edit.key.removeprefix("body.")
    if name not in BY_KEY or edit.key == name or not isinstance(edit.text, str) or not edit.text.strip():
        return text
    line = re.compile(rf"^# {name} =$", re.MULTILINE)
    if line.search(text) is None or name in tomllib.loads(text).get("body", {}):
        return text
    # Any figure: it is written over before anybody reads it.
    return line.sub(f"{name} = 0", text, count=1)


def _lining(doc: Any, edit: Edit) -> None:
    import tomlkit

    if edit.text not in LININGS:
        raise RefusedError(Refusal(edit.key, say("refused.choice"), address(LINING).spec.allowed))
    if edit.text == "none":
        if "build" in doc:
            doc["build"].pop("lining", None)
        return
    if "build" not in doc:
        doc["build"] = tomlkit.table()
    if "lining" not in doc["build"]:
        doc["build"]["lining"] = tomlkit.table()
    doc["build"]["lining"]["fused"] = edit.text == "fused"


def _kit(doc: Any, edit: Edit) -> None:
    """Put the back kit in, with what is usual of it, or take it out."""
    import tomlkit

    if edit.text not in KITS:
        raise RefusedError(Refusal(edit.key, say("refused.choice"), address(KIT).spec.allowed))
    if edit.text == "none":
        if "build" in doc:
            doc["build"].pop("kit", None)
        return
    if "build" not in doc:
        doc["build"] = tomlkit.table()
    if "kit" not in doc["build"]:
        doc["build"]["kit"] = tomlkit.table()
