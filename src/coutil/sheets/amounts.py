"""Money, numbers and dates as a locale writes them. Decimal in, text out; formats by babel, from the CLDR."""

from __future__ import annotations

import datetime
import re
import unicodedata
from decimal import Decimal

from coutil.sheets.fonts import showable


def money(amount: Decimal, currency: str, locale: str) -> str:
    """An amount with its currency sign: 1234.5 EUR is "€1,234.50" in en_IE and "1.234,50 €" in de_DE."""
    from babel.numbers import format_currency

    return _printable(str(format_currency(amount, currency, locale=locale)), amount, currency, locale)


def rate(amount: Decimal, currency: str, locale: str) -> str:
    """A price of one unit: like `money`, but with up to 4 decimals where it has them (0.0825 for one eyelet)."""
    from babel.numbers import format_currency, get_currency_precision

    if amount == amount.quantize(Decimal(1).scaleb(-get_currency_precision(currency))):
        return money(amount, currency, locale)
    fine = amount.quantize(Decimal("0.0001")).normalize()
    said = str(format_currency(fine, currency, locale=locale, decimal_quantization=False))
    return _printable(said, fine, currency, locale)


def _printable(said: str, amount: Decimal, currency: str, locale: str) -> str:
    """What was said if our fonts can print it; else the amount with the ISO 4217 code in place of the sign."""
    # Some locales take the full-width form of a sign, which the house font has in its common form only.
    plain = unicodedata.normalize("NFKC", said)
    # A code needs a space where a sign does not (CLDR, currency spacing, which babel leaves to its caller).
    plain = re.sub(rf"{currency}(?=\d)", f"{currency} ", plain)
    if not showable(plain).missing:
        return plain
    from babel.numbers import format_decimal

    return f"{currency} {format_decimal(amount, locale=locale, decimal_quantization=False)}"


def number(value: Decimal, locale: str, *, decimals: int = 3) -> str:
    """A number with at most `decimals` decimals, none of them a trailing zero."""
    from babel.numbers import format_decimal

    rounded = round(value, decimals)
    plain = rounded.to_integral_value() if rounded == rounded.to_integral_value() else rounded.normalize()
    return str(format_decimal(plain, locale=locale, decimal_quantization=False))


def percent(value: Decimal, locale: str) -> str:
    """A percent that is stated as percent: 12.5 is "12.5 %"."""
    return f"{number(value, locale, decimals=2)} %"


def date(day: datetime.date, locale: str) -> str:
    """A date written out, so that no one takes the month for the day."""
    from babel.dates import format_date

    return str(format_date(day, format="long", locale=locale))
