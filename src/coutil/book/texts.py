"""The texts that the book keeps: checked when they come in, and rewritten where another client takes them over."""

from __future__ import annotations

import tomllib
import unicodedata
from dataclasses import replace
from decimal import Decimal
from typing import Any, Final

from coutil.body import reading_words
from coutil.book.errors import BookError
from coutil.order import Client, Order, OrderError, parse_order, write_order
from coutil.order.keys import TABLES
from coutil.units import LengthError, parse_length
from coutil.words import Key, line

# Bounds of what is kept beside the text while it is typed: more than a page of orders has fields and any field takes.
MOST_TYPED: Final = 200
LONGEST_TYPED: Final = 10_000
# The tables of a body that is not the same on both sides.
_SIDES: Final = ("left", "right")


class TextError(BookError):
    """A text that is no valid order: the refusals of OrderError."""

    @property
    def problems(self) -> tuple[str, ...]:
        """Each in one line."""
        return tuple(line(r) for r in self.refusals)


def read(text: str, source: str) -> Order:
    """The order that a text says; raises TextError, or BookError for a text that no file could hold."""
    try:
        text.encode()
    except UnicodeEncodeError:
        raise BookError("half_a_sign", file=source) from None
    try:
        return parse_order(text, source)
    except OrderError as e:
        raise TextError.of(*e.refusals) from None


def decode(data: bytes, source: str) -> str:
    """The text of a file, exactly, without a byte order mark; raises BookError if it is not UTF-8."""
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as e:
        raise BookError("not_utf8", file=source, byte=e.start + 1) from None


def require_client(label: str, note: str, *, may_be_nameless: bool = False) -> None:
    """BookError unless an order file would take this label and note."""
    if not label.strip() and not may_be_nameless:
        raise BookError("no_label", Key("client.label"))
    for name, value in (("label", label), ("note", note)):
        key = TABLES["client"].key(name)
        if len(value) > key.high:
            raise BookError("client_too_long", Key(f"client.{name}"), key=name, signs=len(value), allowed=key.allowed)
        for sign in value:
            odd = unicodedata.category(sign) in ("Cc", "Cs") or sign in "\u2028\u2029"
            if odd and not (key.lines and sign in "\n\t\r"):
                raise BookError("client_control_sign", Key(f"client.{name}"), key=name, sign=ord(sign))


def with_client(text: str, label: str, note: str | None, *, remarks: bool = True) -> str:
    """The text with another label, and note unless None; all else as it was. Without `remarks` they are left out."""
    order = read(text, "order")
    client = Client(label, order.client.note if note is None else note)
    wanted = replace(order, client=client)
    if wanted == order and remarks:
        return text
    if not remarks:
        return write_order(wanted)
    import tomlkit

    document: Any = tomlkit.parse(text)
    table = document.setdefault("client", tomlkit.table())
    table["label"] = label
    if note is not None:
        table["note"] = note
    return _proved(tomlkit.dumps(document), wanted)


def with_body(text: str, tape: str) -> str:
    """The text with the table [body] of a tape, its lengths as they were typed; all else as it was."""
    order = read(text, "order")
    wanted = replace(order, body=read(tape, "tape").body)
    if wanted == order:
        return text
    import tomlkit

    document: Any = tomlkit.parse(text)
    fresh: Any = tomlkit.parse(write_order(wanted))
    document["body"] = fresh["body"]
    _as_typed(document["body"], tomllib.loads(tape), order.unit)
    return _proved(tomlkit.dumps(document), wanted)


def with_name(text: str, name: str) -> str:
    """The text with another name of the order."""
    order = read(text, "order")
    wanted = replace(order, name=name)
    if wanted == order:
        return text
    import tomlkit

    document: Any = tomlkit.parse(text)
    document["name"] = name
    return _proved(tomlkit.dumps(document), wanted)


def readings(text: str) -> dict[str, float]:
    """What stands in [body] of an order or a tape, in mm: {"waist": 705.0, "left.bust_to_waist": 190.5}."""
    import tomllib

    document = tomllib.loads(text)
    body, unit = document.get("body", {}), document.get("unit", "cm")
    found = {}
    for side, table in (("", body), ("left.", body.get("left", {})), ("right.", body.get("right", {}))):
        for key, value in table.items():
            try:
                found[f"{side}{key}"] = parse_length(value, unit)
            except LengthError:
                # The tables of the sides, and whatever in [body] is no length.
                continue
    return found


def changed_readings(before: str, after: str) -> tuple[str, ...]:
    """The readings that differ between two texts, those of the later one first."""
    old, new = readings(before), readings(after)
    # Both are lengths that were written down and read back: a millionth of a mm is none.
    return tuple(k for k in dict.fromkeys((*new, *old)) if abs(new.get(k, -1e9) - old.get(k, -1e9)) > 1e-6)


def tape_text(text: str, source: str) -> str:
    """The tape in a text: its unit and [body] alone, the lengths as they were typed; read back they are the same.

    Raises BookError where nobody was measured, or where a needed reading was not taken: a tape holds readings.
    """
    order = read(text, source)
    if order.body.as_asked:
        raise BookError("nobody_measured", file=source)
    if order.body.not_taken:
        missing = reading_words(order.body.not_taken)
        raise BookError("not_taken", file=source, readings=missing)
    # A standard size that stood by for readings which are all taken now is no part of the tape.
    order = replace(order, body=replace(order.body, standard=None))
    import tomlkit

    document: Any = tomlkit.parse(write_order(Order(name="tape", body=order.body, unit=order.unit)))
    del document["name"]
    _as_typed(document["body"], tomllib.loads(text), order.unit)
    out: str = tomlkit.dumps(document)
    if read(out, source).body != order.body:
        raise BookError("not_exact", file=source)
    return out


def _as_typed(body: Any, source: dict[str, Any], unit: str) -> None:
    """Put what was typed in the body of `source` into a body that says the same and counts in `unit`."""
    own = source.get("unit", "cm")
    for to, whence in ((body, source["body"]), *((body.get(s, {}), source["body"].get(s, {})) for s in _SIDES)):
        for key, typed in whence.items():
            if key in to and isinstance(typed, str):
                bears = parse_length(typed, own) == parse_length(typed, unit)
                to[key] = str(typed) if bears else f"{typed.strip()} {own}"
            elif key in to and not isinstance(typed, dict) and own != unit:
                to[key] = f"{Decimal(repr(typed)):f} {own}"


def fold(*texts: str) -> str:
    """Texts as they are searched: no case, no accents, one space between words."""
    plain = unicodedata.normalize("NFKD", " ".join(texts).casefold())
    return " ".join("".join(c for c in plain if not unicodedata.combining(c)).split())


def _proved(text: str, wanted: Order) -> str:
    """The edited text if it says what was wanted, else the order written afresh, without its remarks."""
    try:
        if parse_order(text) == wanted:
            return text
    except OrderError:
        pass
    return write_order(wanted)
