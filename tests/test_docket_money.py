"""The price, against quotes worked by hand; money is decimal and exact."""

from __future__ import annotations

from dataclasses import fields, replace
from decimal import Decimal

import pytest
from babel.numbers import list_currencies
from hypothesis import given
from hypothesis import strategies as st

from bodice import made, plan
from coutil.docket import Amount, DocketError, make_docket
from coutil.docket.money import coin, line, price
from coutil.order import Money, parse_order
from spoken import spoken, subject

D = Decimal

QUOTE = """
[style]
closing = "hooks"
[build.lining]
[[cloth]]
name = "satin"
for = ["shell"]
price = "24.90"
currency = "EUR"
sold_by = "10 cm"
[[cloth]]
name = "fusible"
for = ["interfacing"]
price = "8.40"
currency = "EUR"
price_per = "1 yd"
sold_by = "1/8 yd"
[[cloth]]
name = "foam"
for = ["foam"]
sheet = ["50 cm", "70 cm"]
price = 6
currency = "EUR"
[[cloth]]
name = "web"
for = ["web"]
price = "0"
currency = "EUR"
[[cloth]]
name = "batiste"
for = ["lining"]
price = "9.35"
currency = "EUR"
sold_by = "25 cm"
[money]
hour = "37.50"
overhead = 12.5
margin = 20
tax = 19
[hours]
measure = 1
pattern = 0.75
cut = 1.25
fuse = 0
pad = 0.5
sew = 3
bone = 1.25
closing = 0.75
lining = 2
fit = 1.5
finish = 1
[notions]
bones = ["side"]
bone_price = "2.80"
casing_price = "1.15"
hook_price = "0.085"
thread_price = "3.90"
"""


def test_a_quote_worked_by_hand() -> None:
    order, pattern = made(QUOTE)
    # What the lays need: 43.3 cm of satin, 66 cm of fusible, 2 sheets, 12 cm of web, 51 cm of batiste.
    needs = {
        "satin": ("shell", 433.0),
        "fusible": ("interfacing", 660.0),
        "web": ("web", 120.0),
        "batiste": ("lining", 510.0),
    }
    d = make_docket(order, pattern, plan(needs, {"foam": ("foam", 2)}))
    # The two lines that hang on the draft are measured here on its own curves, in metres to 0.01 mm.
    side = next(s for s in pattern.seams if s.name == "side")
    a, b = pattern.edges_of(side)
    channel = (a.curve.length + b.curve.length) / 2
    boning = (D(repr(2 * (channel - 16))) / 1000).quantize(D("0.00001")) * D("2.80")
    casing = (D(repr(2 * channel)) / 1000).quantize(D("0.00001")) * D("1.15")
    cents = D("0.01")
    hooks = d.fastening.count * D("0.085")
    assert [(m.what, m.cost) for m in d.materials] == [
        ("satin", D("12.45")),  # 50 cm at 24.90 a metre
        ("fusible", D("6.30")),  # 6 eighths of a yard at 8.40 a yard
        ("web", D("0.00")),  # free: it was left over
        ("batiste", D("7.01")),  # 75 cm at 9.35: 7.0125
        ("foam", D("12.00")),  # 2 sheets at 6
        ("boning", boning.quantize(cents, "ROUND_HALF_UP")),
        ("casing", casing.quantize(cents, "ROUND_HALF_UP")),
        ("hooks and eyes", hooks.quantize(cents, "ROUND_HALF_UP")),
        ("thread", D("3.90")),
    ]
    p = d.price
    assert p is not None
    # 13 hours at 37.50, line by line: 37.50 28.13 46.88 18.75 112.50 46.88 28.13 75.00 56.25 37.50
    assert [h.cost for h in d.hours] == [
        D(c) for c in ("37.50", "28.13", "46.88", "18.75", "112.50", "46.88", "28.13", "75.00", "56.25", "37.50")
    ]
    assert p.labour == D("487.52")
    rest = sum((m.cost for m in d.materials[5:8] if m.cost is not None), D(0))
    assert p.materials == D("41.66") + rest
    assert p.unpriced == ()
    assert p.currency == "EUR"


def test_the_sum_worked_by_hand_to_the_cent() -> None:
    """Every figure by pencil. Materials 12.45 + 6.30 + 4.27 = 23.02; labour 2.25 h and 3.5 h at 41.30."""
    materials = (
        line("satin", D("0.5"), "m", D("24.90"), "EUR"),  # 12.45
        line("fusible", D("0.75"), "yd", D("8.40"), "EUR"),  # 6.30
        line("boning", D("1.525"), "m", D("2.80"), "EUR"),  # 4.27
        line("gift", D(1), "m", None, "EUR"),
    )
    hours = (
        line("cut", D("2.25"), "h", D("41.30"), "EUR"),  # 92.925 -> 92.93
        line("sew", D("3.5"), "h", D("41.30"), "EUR"),  # 144.55
    )
    p = price(Money(overhead=D("12.5"), margin=D(15), tax=D(23)), "EUR", materials, hours)
    assert p.materials == D("23.02")
    assert p.labour == D("237.48")
    assert p.overhead == D("32.56")  # 260.50 * 12.5 % = 32.5625
    assert p.cost == D("293.06")
    assert p.net == D("344.78")  # 293.06 / 0.85 = 344.776...
    assert p.margin == D("51.72")
    assert p.tax == D("79.30")  # 344.78 * 23 % = 79.2994
    assert p.total == D("424.08")
    assert p.unpriced == ("gift",)


def test_halves_round_away_from_zero_and_by_the_currencys_own_coin() -> None:
    # Minor units of ISO 4217: EUR 2, JPY 0, KWD 3.
    assert (coin("EUR"), coin("JPY"), coin("KWD")) == (D("0.01"), D(1), D("0.001"))
    assert line("x", D("0.5"), "m", D("0.01"), "EUR").cost == D("0.01")
    assert line("x", D("1.5"), "m", D(1), "JPY").cost == D(2)
    assert line("x", D("2.5"), "m", D(1), "JPY").cost == D(3)
    assert line("x", D("0.0005"), "m", D(1), "KWD").cost == D("0.001")


def test_every_currency_that_an_order_can_state_is_one_of_iso_4217() -> None:
    for code in ("EUR", "GBP", "USD", "CHF", "JPY", "SEK", "INR", "TND"):
        assert code in list_currencies()
        assert coin(code) > 0
    with pytest.raises(DocketError, match="ISO 4217"):
        coin("QQQ")


AMOUNT = st.decimals(0, 1000, places=3)
PERCENT = st.decimals(0, 90, places=2)


@given(st.lists(st.tuples(AMOUNT, AMOUNT), max_size=8), AMOUNT, PERCENT, PERCENT, PERCENT)
def test_the_lines_always_add_up(lines: list[tuple[D, D]], hour: D, overhead: D, margin: D, tax: D) -> None:
    materials = [line(f"m{k}", q, "m", r, "EUR") for k, (q, r) in enumerate(lines)]
    p = price(Money(overhead=overhead, margin=margin, tax=tax), "EUR", materials, [line("w", D(2), "h", hour, "EUR")])
    assert p.materials == sum((m.cost for m in materials if m.cost is not None), D(0))
    assert p.materials + p.labour + p.overhead == p.cost
    assert p.cost + p.margin == p.net
    assert p.net + p.tax == p.total
    cent = D("0.01")
    for amount in (p.materials, p.labour, p.overhead, p.cost, p.margin, p.net, p.tax, p.total):
        assert amount == amount.quantize(cent)
    # The margin is a part of the price: what is left of it is the cost, to half a cent.
    assert abs(p.net * (100 - margin) / 100 - p.cost) <= D("0.005")


def test_no_float_ever_touches_money() -> None:
    order, pattern = made(QUOTE)
    d = make_docket(order, pattern, plan({"satin": ("shell", 433.0)}))
    assert d.price is not None
    for a in (*d.materials, *d.hours):
        assert isinstance(a.quantity, Decimal)
        assert a.rate is None or isinstance(a.rate, Decimal)
        assert a.cost is None or isinstance(a.cost, Decimal)
    money = [getattr(d.price, f.name) for f in fields(d.price) if f.name not in ("currency", "unpriced")]
    assert all(isinstance(m, Decimal) for m in money)


def test_without_an_hourly_rate_there_is_no_price_but_all_the_rest() -> None:
    order, pattern = made()
    d = make_docket(order, pattern, None)
    assert d.price is None
    assert d.hours
    assert d.bones
    assert any("hour in [money]" in spoken(f) for f in d.findings)


def test_what_is_not_priced_is_named() -> None:
    order, pattern = made('[money]\ncurrency = "EUR"\nhour = 40\n[notions]\nthread_price = 4\n')
    d = make_docket(order, pattern, None)
    assert d.price is not None
    # Without lays no one knows how much cloth it takes, so no layer is in the price.
    layers = ("shell", "interfacing", "foam", "web")
    assert d.price.unpriced == (*layers, "boning", "casing", "eyelets", "cord")
    assert any(f.level == "warn" and "boning, casing, eyelets, cord" in spoken(f) for f in d.findings)


def test_hours_that_the_build_does_not_have_are_not_counted() -> None:
    order, pattern = made("[hours]\nlining = 4\n")
    d = make_docket(order, pattern, None)
    assert "lining" not in {h.what for h in d.hours}
    assert any(subject(f) == "hours.lining" for f in d.findings)
    lined, pattern = made("[hours]\nlining = 4\n[build.lining]\n")
    assert ("lining", D(4)) in {(h.what, h.quantity) for h in make_docket(lined, pattern, None).hours}


def test_two_currencies_and_negative_figures_are_refused() -> None:
    order, pattern = made(QUOTE)
    mixed = replace(order, money=replace(order.money, currency="USD"))
    with pytest.raises(DocketError, match="USD and EUR"):
        make_docket(mixed, pattern, None)
    for name in ("overhead", "margin", "tax"):
        with pytest.raises(DocketError, match=f"money.{name}"):
            price(replace(Money(), **{name: D(-1)}), "EUR", (), ())
    with pytest.raises(DocketError, match="below 100"):
        price(Money(margin=D(100)), "EUR", (), ())
    with pytest.raises(DocketError, match="satin"):
        price(Money(), "EUR", (Amount("satin", D(1), "m", D(-1), D(-1)),), ())


def test_decimals_in_the_file_are_taken_as_they_stand() -> None:
    text = (
        "[body]\nbust = 96\nunderbust = 78\nwaist = 70\nbust_span = 19.5\nbust_to_underbust = 8\nbust_to_waist = 18.5\n"
    )
    o = parse_order(text + '[money]\ncurrency = "EUR"\nhour = 37.1\ntax = 8.1\n')
    assert (o.money.hour, o.money.tax) == (D("37.1"), D("8.1"))
