"""Docket and quote as printed: every figure is there, and the client sees no workings."""

from __future__ import annotations

import datetime
import re
import subprocess
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from babel.numbers import format_currency

from bodice import BODY, LINED_PADDED, UNEVEN, made, plan
from coutil.docket import Docket, DocketError, make_docket
from coutil.sheets.amounts import date, money, number, percent, rate
from coutil.sheets.card import card_pdf
from coutil.sheets.docket import docket_pdf, quote_pdf
from coutil.sheets.wording import quantity
from coutil.units import both
from printed import words_of

D = Decimal
PRICED = """
[client]
label = "Ольга"
[build.lining]
[[cloth]]
name = "satin"
for = ["shell", "interfacing", "foam", "web", "lining"]
price = 20
currency = "EUR"
[money]
locale = "en_IE"
hour = 40
overhead = 10
margin = 20
tax = 23
tax_name = "VAT"
valid_days = 14
[notions]
bone_price = 2
casing_price = 1
eyelet_price = "0.0825"
cord_price = 1
thread_price = 3
"""


def priced(text: str = PRICED) -> Docket:
    order, pattern = made(text)
    layers = tuple(dict.fromkeys(p.layer for p in pattern.pieces))
    lays = plan({"satin": ("shell", 730.0)})
    d = make_docket(order, pattern, replace(lays, lays=tuple(replace(n, layers=layers) for n in lays.lays)))
    assert d.price is not None
    return d


def printed(pdf: bytes, where: Path) -> str:
    # A figure that is rounded is printed with "~" before it (coutil.sheets.fonts).
    return words_of(pdf, where, "-layout").replace("~", "")


def test_the_docket_prints_all_that_it_holds(tmp_path: Path) -> None:
    d = priced()
    text = printed(docket_pdf(d), tmp_path)
    assert "For Ольга" in text
    assert len(re.findall("centre back ", text)) >= 3
    for b in d.bones:
        assert f"{b.quantity} × {both(b.length).replace('≈', '')}" in text
    for n in d.thread.lines:
        assert f"{n.what} {n.stitch}" in text
    assert "80.0 cm" in text  # 73 cm, sold by 10 cm
    p = d.price
    assert p is not None
    for amount in (p.materials, p.labour, p.overhead, p.cost, p.margin, p.net, p.tax, p.total):
        assert format_currency(amount, "EUR", locale="en_IE") in text
    assert "€0.0825" in text
    assert "margin, 20 % of the price before tax" in text
    assert "Cap the tips" in text


def test_the_lining_of_one_side_is_told_to_be_cut_face_down(tmp_path: Path) -> None:
    """Its right side looks at the body, so cut like the shell it fits neither side of an uneven body."""
    for body, often in ((BODY, 0), (UNEVEN, 16)):
        order, pattern = made("[build.lining]\nfused = true\n", body)
        d = make_docket(order, pattern, None)
        # Eight panels of lining and eight of its interfacing.
        assert printed(docket_pdf(d), tmp_path).count("pattern face down") == often
        assert sum("pattern face down" in quantity(p) for p in pattern.pieces) == often


def test_the_quote_shows_the_price_and_none_of_the_workings(tmp_path: Path) -> None:
    d = priced()
    assert d.price is not None
    text = printed(quote_pdf(d, issued=datetime.date(2026, 2, 20)), tmp_path)
    for says in (
        "Quote",
        "Ольга",
        "green bodice",
        "20 February 2026",
        "until 6 March 2026",
        "VAT 23 %",
        d.garment[:30],
    ):
        assert says in text
    assert text.count("€") == 3
    for amount in (d.price.net, d.price.tax, d.price.total):
        assert format_currency(amount, "EUR", locale="en_IE") in text
    for secret in ("margin", "overhead", "hour", "thread", "eyelets", "Estimate", "satin"):
        assert secret not in text, secret
    assert format_currency(d.price.cost, "EUR", locale="en_IE") not in text


def test_without_tax_there_is_one_sum(tmp_path: Path) -> None:
    d = priced(PRICED.replace("tax = 23\n", ""))
    text = printed(quote_pdf(d), tmp_path)
    assert text.count("€") == 1
    assert "VAT" not in text
    assert "for 14 days from its date" in text


def test_an_incomplete_price_is_called_an_estimate(tmp_path: Path) -> None:
    order, pattern = made(PRICED)
    text = printed(quote_pdf(make_docket(order, pattern, None)), tmp_path)
    assert "Estimate" in text
    assert "not all materials are priced" in text


def test_no_quote_without_a_price() -> None:
    order, pattern = made()
    d = make_docket(order, pattern, None)
    with pytest.raises(DocketError, match=r"hour and currency in \[money\]"):
        quote_pdf(d)
    # The docket is made all the same.
    assert docket_pdf(d).startswith(b"%PDF")


def test_the_docket_warns_on_top(tmp_path: Path) -> None:
    order, pattern = made()
    text = printed(docket_pdf(make_docket(order, pattern, None)), tmp_path)
    assert text.index("No lays were made") < text.index("Cut")
    assert "No price is worked out" in text


def test_sheets_are_repeatable_and_refuse_unknown_paper() -> None:
    d = priced()
    assert docket_pdf(d) == docket_pdf(d)
    assert quote_pdf(d) == quote_pdf(d)
    with pytest.raises(ValueError, match="B7"):
        docket_pdf(d, paper="B7")


# Amounts, against what the CLDR says of each locale (by babel).


def test_amounts_are_written_as_the_locale_does() -> None:
    assert money(D("1234.5"), "EUR", "en_IE") == "€1,234.50"
    assert money(D("1234.5"), "EUR", "de_DE") == "1.234,50 €"
    assert money(D("1234"), "JPY", "ja_JP") == "¥1,234"
    assert money(D("1.5"), "KWD", "en") == "KWD 1.500"
    assert rate(D("0.0825"), "EUR", "en_IE") == "€0.0825"
    assert rate(D("0.10"), "EUR", "en_IE") == "€0.10"
    assert number(D("2.27612"), "de_DE") == "2,276"
    assert number(D("20.000"), "en") == "20"
    assert percent(D("12.50"), "de_DE") == "12,5 %"
    assert date(datetime.date(2026, 3, 4), "en_GB") == "4 March 2026"
    assert date(datetime.date(2026, 3, 4), "de_AT") == "4. März 2026"


@pytest.mark.parametrize("code", ["EUR", "GBP", "USD", "CHF", "JPY", "INR", "UAH", "ILS", "GEL", "KZT", "BTN"])
@pytest.mark.parametrize("locale", ["en", "de_CH", "ar_EG", "hi_IN", "uk_UA"])
def test_every_amount_can_be_printed(code: str, locale: str) -> None:
    from coutil.sheets.fonts import showable

    assert showable(money(D("1234.56"), code, locale)).missing == ()


def test_a_layers_name_never_stands_alone_at_the_foot_of_a_page(tmp_path: Path) -> None:
    """The docket of an uneven body, lined and fused, takes more than a page: each layer begins with its pieces."""
    order, pattern = made("[build.kit]\n[build.lining]\nfused = true\n", UNEVEN)
    for paper in ("A4", "Letter"):
        pdf = docket_pdf(make_docket(order, pattern, None), paper=paper)
        path = tmp_path / f"{paper}.pdf"
        path.write_bytes(pdf)
        said = subprocess.run(["pdftotext", "-layout", str(path), "-"], capture_output=True, check=True).stdout.decode()
        pages = [[row.strip() for row in page.splitlines() if row.strip()] for page in said.split("\f")]
        assert len([p for p in pages if p]) > 1
        for rows in pages:
            for k, row in enumerate(rows):
                if re.fullmatch(r"[a-z ]+: \d+ pieces?", row):
                    assert re.match(r"(left|right|centre) ", rows[k + 1]), (row, rows[k + 1])


@pytest.mark.parametrize("text", ["[build.kit]\n", LINED_PADDED, f"{LINED_PADDED}[build.kit]\n"])
def test_a_step_of_the_card_stays_on_its_page(text: str, tmp_path: Path) -> None:
    """Every page after the first begins with a part's name or a step's number, whatever the paper."""
    order, pattern = made(text)
    for paper in ("A4", "Letter"):
        path = tmp_path / f"{paper}.pdf"
        path.write_bytes(card_pdf(order, pattern, make_docket(order, pattern, None), paper=paper))
        said = subprocess.run(["pdftotext", "-layout", str(path), "-"], capture_output=True, check=True).stdout.decode()
        firsts = [page.strip().splitlines()[0].strip() for page in said.split("\f") if page.strip()]
        assert len(firsts) > 1
        for first in firsts[1:]:
            assert re.match(r"\d+\. ", first) or first.isupper(), (paper, first)
