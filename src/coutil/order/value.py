"""One value of an order file: whether it is what its key allows, and how it is shown in a message."""

from __future__ import annotations

import difflib
import math
import re
from decimal import Decimal, InvalidOperation
from typing import Any, Final

from coutil.order.key import Key
from coutil.order.lists import read_list
from coutil.order.refusal import WrongError
from coutil.order.spot import one_line
from coutil.seaming import Shares
from coutil.units import LengthError, parse_length
from coutil.words import Length, reason

# More offcuts of one cloth than this is a slip.
_MOST_REMNANTS: Final = 200


def read_value(key: Key, value: Any, unit: str) -> Any:
    """The value that stands at a key, as the order holds it: lengths in mm, money as Decimal.

    `unit` is that of a length which is a plain number. Raises WrongError saying what is allowed, and nothing else.
    """
    match key.kind:
        case "length":
            return _length(key, value, unit)
        case "text":
            return _text(key, value)
        case "flag":
            if not isinstance(value, bool):
                raise WrongError("flag", allowed=key.allowed)
            return value
        case "choice":
            if not isinstance(value, str) or value not in key.choices:
                raise _no_choice(key, value, "choice", "choice_near")
            return value
        case "choices":
            return _choices(key, value)
        case "percent":
            if isinstance(value, bool) or not isinstance(value, int | float) or not key.low <= value <= key.high:
                raise WrongError("must_be", allowed=key.allowed)
            return float(value)
        case "part":
            return _part(key, value)
        case "parts":
            return _parts(key, value)
        case "money":
            return _money(key, value)
        case "decimal":
            return _decimal(key, value)
        case "whole":
            if isinstance(value, bool) or not isinstance(value, int) or not key.low <= value <= key.high:
                raise WrongError("must_be", allowed=key.allowed)
            return value
        case "version":
            if isinstance(value, bool) or value != 1 or not isinstance(value, int):
                raise WrongError("version")
            return value
        case "lengths" | "place" | "places" | "roles" | "edge":
            return read_list(key, value, lambda k, v: _length(k, v, unit))
        case "pair":
            return _pair(key, value, unit)
        case "pairs":
            if not isinstance(value, list) or len(value) > _MOST_REMNANTS:
                raise WrongError("must_be", allowed=key.allowed)
            return tuple(_pair(key, v, unit) for v in value)


def _length(key: Key, value: Any, unit: str) -> float:
    try:
        mm = parse_length(value, unit)
    except LengthError as e:
        raise WrongError("length", key.allowed, why=reason("length", e)) from None
    # A millionth of a mm: a limit stated in inches may round to just beyond itself.
    if not key.low - 1e-6 <= mm <= key.high + 1e-6:
        # The unit is the usual slip, so say what was understood.
        raise WrongError("out_of_range", key.allowed, length=Length(mm, "both"))
    return mm + 0.0


def _pair(key: Key, value: Any, unit: str) -> tuple[float, float]:
    if not isinstance(value, list) or len(value) != 2:
        raise WrongError("must_be", allowed=key.allowed)
    return _length(key, value[0], unit), _length(key, value[1], unit)


def _text(key: Key, value: Any) -> str:
    if not isinstance(value, str):
        raise WrongError("no_text", allowed=key.allowed)
    if len(value) > key.high:
        raise WrongError("too_long", key.allowed, signs=len(value))
    for sign in value:
        # Control signs break sheets and terminals; a line end and a tab may stand in a note. U+2028 and U+2029 end
        # lines too.
        if (ord(sign) < 32 or 127 <= ord(sign) < 160 or sign in "\u2028\u2029") and not (
            key.lines and sign in "\n\t\r"
        ):
            raise WrongError("control_sign", key.allowed, sign=ord(sign))
    if key.name == "name" and not value.strip():
        raise WrongError("empty_name")
    return value


def _choices(key: Key, value: Any) -> tuple[str, ...]:
    if not isinstance(value, list) or not (value or key.empty):
        raise WrongError("must_be", allowed=key.allowed)
    for v in value:
        if not isinstance(v, str) or v not in key.choices:
            raise _no_choice(key, v, "holds", "holds_near", value=shown(v))
    if len(set(value)) != len(value):
        raise WrongError("twice")
    return tuple(value)


def _part(key: Key, value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not key.low <= value <= key.high:
        raise WrongError("must_be", allowed=key.allowed)
    return float(value)


def _parts(key: Key, value: Any) -> Shares:
    """One part for all levels, or three: down to the underbust, to the waist, to the high hip."""
    given = value if isinstance(value, list) else [value] * 3
    if len(given) != 3:
        raise WrongError("must_be", allowed=key.allowed)
    return Shares(*(_part(key, v) for v in given))


def _money(key: Key, value: Any) -> Decimal:
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise WrongError("must_be", allowed=key.allowed)
    if isinstance(value, str):
        if not re.fullmatch(r"[0-9]{1,9}(?:[.,][0-9]{1,4})?", value.strip()):
            raise WrongError("must_be", allowed=key.allowed)
        amount = Decimal(value.strip().replace(",", "."))
    else:
        if not 0 <= value <= key.high or not math.isfinite(value):
            raise WrongError("must_be", allowed=key.allowed)
        try:
            # The shortest text of the float is what stands in the file.
            amount = Decimal(repr(value))
        except InvalidOperation:
            raise WrongError("must_be", allowed=key.allowed) from None
    if not 0 <= amount <= Decimal(key.high) or amount != amount.quantize(Decimal("0.0001")):
        raise WrongError("must_be", allowed=key.allowed)
    return amount


def _decimal(key: Key, value: Any) -> Decimal:
    """A number as the decimal that stands in the file, never by way of a binary fraction."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not key.low <= value <= key.high:
        raise WrongError("must_be", allowed=key.allowed)
    amount = Decimal(repr(value))
    if amount != amount.quantize(Decimal("0.01")):
        raise WrongError("must_be", allowed=key.allowed)
    return amount


def _no_choice(key: Key, value: Any, code: str, near: str, /, **args: Any) -> WrongError:
    """The refusal of something that is none of the choices; with `near` for its code where one of them is near."""
    close = difflib.get_close_matches(value[:60].lower(), list(key.choices), n=1) if isinstance(value, str) else []
    if close:
        return WrongError(near, allowed=key.allowed, nearest=close[0], **args)
    return WrongError(code, allowed=key.allowed, **args)


# How what stands in a file is told in one line


def shown(value: Any) -> str:
    """A value as it may be shown in one line of a message: short, printable, whatever it is."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return f"a list of {len(value)}"
    if isinstance(value, str):
        # Quotes stay as they are: this is for reading, and the value stands between its key and a colon.
        return f'"{one_line(value)}"'
    try:
        return one_line(str(value))
    except ValueError:
        return "a number of thousands of digits"
