"""From amounts and rates to the price. Decimal throughout: no binary fraction touches money."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Decimal
from functools import cache
from typing import Final

from coutil.docket.model import Amount, DocketError, Price
from coutil.order import Money, Order
from coutil.words import Key

HUNDRED: Final = Decimal(100)
# Lengths are counted to a hundredth of a mm before they meet money: finer than anything that is sold.
LENGTH_STEP: Final = Decimal("0.01")


@cache
def coin(currency: str) -> Decimal:
    """The smallest amount in which a currency is reckoned: 0.01 for EUR, 1 for JPY, 0.001 for KWD.

    From the digits that CLDR gives for the codes of ISO 4217. Raises DocketError for a code that is not one.
    """
    from babel.numbers import get_currency_precision, is_currency

    if not is_currency(currency):
        raise DocketError("no_currency", Key("money.currency"), code=repr(currency))
    return Decimal(1).scaleb(-get_currency_precision(currency))


def rounded(amount: Decimal, currency: str) -> Decimal:
    """To the currency's smallest coin, halves away from zero, as on invoices."""
    return amount.quantize(coin(currency), rounding=ROUND_HALF_UP)


def metres(mm: float) -> Decimal:
    """A length in mm as decimal metres, to 0.01 mm."""
    return Decimal(repr(float(mm))).quantize(LENGTH_STEP, rounding=ROUND_HALF_UP) / 1000


def line(what: str, quantity: Decimal, unit: str, rate: Decimal | None, currency: str | None) -> Amount:
    """One line of the price; without a rate it has no cost."""
    cost = None if rate is None or currency is None else rounded(quantity * rate, currency)
    return Amount(what, quantity, unit, rate, cost)


def currency_of(order: Order) -> str | None:
    """The one currency of an order's amounts, None if it states none; raises DocketError if there are two."""
    codes = [order.money.currency] if order.money.currency else []
    codes += [c.currency for c in order.cloth if c.currency is not None]
    distinct = list(dict.fromkeys(codes))
    if len(distinct) > 1:
        raise DocketError("two_currencies", Key("money.currency"), codes=tuple(distinct))
    return distinct[0] if distinct else None


def price(
    money: Money, currency: str, materials: Iterable[Amount], hours: Iterable[Amount], absent: Iterable[str] = ()
) -> Price:
    """The price from its lines. `margin` is a part of the price, not of the cost: net = cost / (1 - margin).

    `absent` names what is needed but has no line, because its amount is not known.
    Raises DocketError for rates that are negative, and for a margin of 100 % or more, which no price can reach.
    """
    for name in ("overhead", "margin", "tax"):
        if getattr(money, name) < 0:
            key = Key(f"money.{name}")
            raise DocketError("negative_rate", key, key=key, rate=getattr(money, name))
    if money.margin >= HUNDRED:
        raise DocketError("whole_margin", Key("money.margin"), rate=money.margin)
    lines, work = tuple(materials), tuple(hours)
    for a in (*lines, *work):
        if (a.rate is not None and a.rate < 0) or a.quantity < 0:
            raise DocketError("negative_amount", what=a.what)
    spent = sum((a.cost for a in lines if a.cost is not None), Decimal(0))
    labour = sum((a.cost for a in work if a.cost is not None), Decimal(0))
    overhead = rounded((spent + labour) * money.overhead / HUNDRED, currency)
    cost = spent + labour + overhead
    net = rounded(cost * HUNDRED / (HUNDRED - money.margin), currency)
    tax = rounded(net * money.tax / HUNDRED, currency)
    return Price(
        currency=currency,
        materials=spent,
        labour=labour,
        overhead_percent=money.overhead,
        overhead=overhead,
        cost=cost,
        margin_percent=money.margin,
        margin=net - cost,
        net=net,
        tax_percent=money.tax,
        tax=tax,
        total=net + tax,
        unpriced=(*absent, *(a.what for a in lines if a.cost is None)),
    )
