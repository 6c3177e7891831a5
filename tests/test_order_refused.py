"""An order that is refused: by which name, and in which words."""

from __future__ import annotations

from pathlib import Path

import pytest

from coutil.body import MEASUREMENTS
from coutil.order import (
    OrderError,
    judge_order,
    parse_order,
    read_order,
)
from coutil.order.read import LARGEST
from order_texts import BODY, problems

ROOT = Path(__file__).parent.parent
DEMO = ROOT / "examples" / "sea-green.toml"


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        # File, table, key, value, what is allowed: each of them in the one line.
        ('[style]\nneckline = "plung"', ["[style] neckline", '"plung"', '"sweetheart"', 'nearest is "plunge"']),
        ("[style]\nplung = 3", ["[style] plung = 3", "no such key", "nearest is plunge", "known here: seaming"]),
        ("[style]\nhip = 90", ["[style] hip = 90", "there is one in [body]"]),
        ("[style]\npeak = -1", ["[style] peak = -1", "that is -1.0 cm", "from 0.0 cm", "10.0 cm"]),
        ("[style]\nhem = true", ["[style] hem = true", "a length is a number or a text", "from -20.0 cm"]),
        ('[style]\nhem = "9 ells"', ['[style] hem = "9 ells"', "'ells' is not known", "from -20.0 cm"]),
        ("[style]\nhem = nan", ["[style] hem = nan", "finite"]),
        ("[style]\nhem = -inf", ["[style] hem = -inf", "finite"]),
        ("[style]\nhem = [1]", ["[style] hem = a list of 1"]),
        ("[style]\nhem = 1979-05-27", ["[style] hem = 1979-05-27"]),
        ("[style]\nfoam_ease = 1", ["[style] foam_ease = 1", "true or false"]),
        ("[style]\nfoam_ease = true", ["[style] foam_ease = true", "thickness", "[build.pad]"]),
        ("style = 3", ["[body] style = 3", "nearest is"]),
        ("[style.ease]\nwaist = -90", ["[style.ease] waist = -90", "that is -90.0 cm", "from -25.0 cm"]),
        ("[style.ease.waist]\na = 1", ["[style.ease] waist = a table"]),
        ("[build.allowances]\npad_rim = 1", ["[build.allowances] pad_rim = 1", "centre_front", "hem"]),
        ('[build]\nlayers = []', ["[build] layers = a list of 0", '"shell"']),
        ('[build]\nlayers = ["lace", "strength"]', ["[build] layers = a list of 2", "without it there is nothing"]),
        ('[build.bones]\non = ["strength"]', ["[build.bones] on", '"strength" layer must be named']),
        ("[build.lining]\nsmaller = true", ["[build.lining] smaller = true", "needs thickness"]),
        ('[[bone]]\nname = "b"\nkind = "flat_steel"', ["[[bone]] no. 1 width", "its width"]),
        ('[[bone]]\nname = "b"\nkind = "steel"\nwidth = "7 mm"', ["[[bone]] no. 1 kind", '"flat_steel"']),
        ("[bone]\nwidth = 3", ["bone = a table", "[[bone]]"]),
        ('[[eyelet]]\nname = "e"\nprice = 1', ["[[eyelet]] no. 1 price", "needs a currency"]),
        ('[house]\ncoutil_house = 2', ["coutil_house = 2", "version 1"]),
        ('[house]\nbody = 3', ["[house.] body", "a house file holds"]),
        ('[house.rates]\nhuor = 3', ["[house.rates] huor", "hour"]),
        ('[house.ease.glue]\nwaist = 1', ["[house.ease] glue", "lacing"]),
        ("[[house]]\nunit = 3", ["[house]"]),
        ('[build.pad]\non = ["shel"]', ["[build.pad] on", '"shel"', 'nearest is "shell"']),
        ('[build.pad]\non = ["shell", "shell"]', ["[build.pad] on", "twice"]),
        ('[build.pad]\non = ["lining"]', ["[build.pad] on", "[build.lining]"]),
        ('[build.lining]\nfused = "no"', ['[build.lining] fused = "no"', "true or false"]),
        ("[build]\nlining = true", ["[build] lining = true", "[build.lining]"]),
        ("[client]\nlabel = 7", ["[client] label = 7", "quotes"]),
        ('[client]\nlabel = "a\\u0000b"', ["[client] label", "a\\x00b", "U+0000"]),
        ('[client]\nlabel = "two\\nlines"', ["[client] label", "U+000A"]),
        ('[client]\nlabel = "two\\u2028lines"', ["[client] label", "U+2028"]),
        (f'[client]\nlabel = "{"x" * 121}"', ["[client] label", "xxx...", "121 signs", "at most 120"]),
        ('[body.left]\nbust = 9', ["[body.left] bust = 9", "nearest is"]),
        ("[body.left]\nbust_point = 40", ["[body.left] bust_point = 40", "that is 40.0 cm"]),
        ('[[cloth]]\nfor = ["shell"]', ["[[cloth]] no. 1 name", "missing"]),
        ('[[cloth]]\nname = "a"', ["[[cloth]] no. 1 for", "missing", '"web"']),
        ('[[cloth]]\nname = " "\nfor = ["shell"]', ["[[cloth]] no. 1 name", "empty"]),
        ('[cloth]\nname = "a"', ["cloth = a table", "[[cloth]]"]),
        ("[money]\nhour = -5", ["[money] hour = -5", "an amount from 0"]),
        ("[money]\nhour = 40", ["[money] hour = 40", "needs a currency"]),
        ("[notions]\nbone_price = 2", ["[notions] bone_price = 2", "needs a currency"]),
        ('[money]\ncurrency = "EUX"', ["[money] currency", '"EUX"', "ISO 4217"]),
        ('[money]\ncurrency = "eur"', ["[money] currency", '"eur"', "three capitals"]),
        ('[money]\nlocale = "xx_QQ"', ["[money] locale", '"xx_QQ"', "en_GB"]),
        ('[money]\nlocale = ""', ["[money] locale", "en_GB"]),
        ("[money]\nmargin = 96", ["[money] margin = 96", "from 0 to 95"]),
        ("[money]\ntax = 7.125", ["[money] tax = 7.125", "at most 2 decimals"]),
        ("[money]\ntax = nan", ["[money] tax = nan", "from 0 to 100"]),
        ("[money]\nvalid_days = 2.5", ["[money] valid_days = 2.5", "a whole number from 1"]),
        ('[money]\ntax_name = " "', ["[money] tax_name", "empty"]),
        ("[money]\nhours = 3", ["[money] hours = 3", "nearest is hour"]),
        ("[hours]\nsewing = 3", ["[hours] sewing = 3", "nearest is sew"]),
        ("[hours]\nsew = -3", ["[hours] sew = -3", "from 0 to 1000"]),
        ('[notions]\nstitch = "504"', ["[notions] stitch", '"504"', '"401"']),
        ('[notions]\nbones = ["hem"]', ["[notions] bones", '"hem"', '"side"']),
        (
            '[[cloth]]\nname = "a"\nfor = ["shell"]\nprice = 1\ncurrency = "USD"\n[money]\ncurrency = "EUR"',
            ["[cloth] currency", '"USD"', "counts in EUR"],
        ),
        ('[[cloth]]\nname = "a"\nfor = ["shell"]\nprice = -1', ["price = -1", "from 0"]),
        ('[[cloth]]\nname = "a"\nfor = ["shell"]\nprice = 1', ["price = 1", "currency"]),
        ('[[cloth]]\nname = "a"\nfor = ["shell"]\nprice = "1 EUR"', ['price = "1 EUR"', '"18.50"']),
        ('[[cloth]]\nname = "a"\nfor = ["shell"]\nprice = 0.00001\ncurrency = "EUR"', ["price = 1e-05", "4 decimals"]),
        ('[[cloth]]\nname = "a"\nfor = ["shell"]\ncurrency = "eur"', ['currency = "eur"', "ISO 4217"]),
        ('[[cloth]]\nname = "a"\nfor = ["shell"]\nshrink_width = 90', ["shrink_width = 90", "from 0 to 25"]),
        ('[[cloth]]\nname = "a"\nfor = ["shell"]\nshrink_width = nan', ["shrink_width = nan", "from 0 to 25"]),
        ('[[cloth]]\nname = "a"\nfor = ["shell"]\nsheet = [50]', ["sheet = a list of 1", "width and length"]),
        ('[[cloth]]\nname = "a"\nfor = ["shell"]\nremnants = [50, 60]',
         ["remnants = a list of 2", "pairs [width, length]"]),
        ('[[cloth]]\nname = "a"\nfor = ["shell"]\nwidth = 30\nselvedge = 10\n[[cloth]]\nname = "b"\nfor = ["web"]\n'
         "width = 10\nselvedge = 5", ["no. 2 selvedge = 5", "half the width 10.0 cm"]),
    ],
)  # fmt: skip
def test_a_refusal_names_place_value_and_what_is_allowed(text: str, parts: list[str]) -> None:
    first = problems(text)[0]
    for part in parts:
        assert part in first


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("", ["[body]", "missing"]),
        ("body = 3", ["body = 3", "[body]"]),
        ("coutil = 2\n" + BODY, ["coutil = 2", "version 1"]),
        ("coutil = true\n" + BODY, ["coutil = true", "version 1"]),
        ("coutil = 1.0\n" + BODY, ["coutil = 1.0", "version 1"]),
        ('unit = "ft"\n' + BODY, ['unit = "ft"', '"cm" or "mm" or "in"']),
        ("unit = 1\n" + BODY, ["unit = 1", '"cm"']),
        ("Name = 1\n" + BODY, ["Name = 1", "nearest is name"]),
        ('"a\\nb" = 1\n' + BODY, ['"a\\nb" = 1', "no such key"]),
        ("[boddy]\nbust = 90", ["boddy = a table", "nearest is body"]),
        ("a = [", ["not TOML"]),
        ("a = 1\na = 2", ["not TOML"]),
        ("[[[[", ["not TOML"]),
        ("a = " + "[" * 30000, ["nested too deeply"]),
        ("a = " + "9" * 5000, ["not TOML", "digits"]),
        ("a = 0x" + "f" * 9000 + "\n" + BODY, ["a = a number of thousands of digits"]),
        (BODY.replace("96", "0x" + "f" * 9000), ["[body] bust = a number of thousands of digits", "finite"]),
        (BODY.replace("96", "1e999"), ["[body] bust = inf", "finite"]),
        (BODY.replace("96", "12"), ["[body] bust = 12", "that is 12.0 cm", "from 55.0 cm", "190.0 cm (74 13/16 in)"]),
        (BODY.replace("96", '"96 in"'), ['[body] bust = "96 in"', "that is", "190.0 cm"]),
        (BODY.replace("bust = 96\n", "bst = 96\n"), ["[body] bst = 96", "nearest is bust"]),
        (BODY.replace("bust_span = 19.5\n", ""), ["[body] bust_span", "missing", "from 8.0 cm"]),
        ("x" * (LARGEST + 1), ["larger than"]),
    ],
)
def test_a_file_that_is_no_order(text: str, parts: list[str]) -> None:
    first = problems(text, after_body=False)[0]
    for part in parts:
        assert part in first


def test_all_problems_are_told_the_first_as_the_main_one() -> None:
    told = problems("[style]\npeak = -1\nhem = 99\n[build]\nallowance = 0.5\nallowanc = 2")
    assert len(told) == 3
    assert "peak" in told[0]
    assert "hem" in told[1]
    assert "allowanc = 2" in told[2]


def test_many_problems_are_counted() -> None:
    told = problems("[style]\n" + "\n".join(f"x{i} = 1" for i in range(20000)))
    assert len(told) == 21
    assert told[-1] == "mt.toml: and 19980 more problems"


def test_relations_are_the_judgements_business_not_the_readers() -> None:
    # An underbust above the bust is still an order: `coutil body` must be able to read it and say what is wrong.
    o = parse_order(BODY.replace("78", "98"))
    assert any(r.kind == "refuse" and {"underbust", "bust"} <= set(r.keys) for r in judge_order(o))


def test_ease_that_leaves_no_cup_is_refused() -> None:
    o = parse_order(BODY + "[style.ease]\nbust = -10\nunderbust = 9")
    assert any(r.kind == "refuse" and "style.ease.bust" in r.keys for r in judge_order(o))


def test_a_sliver_of_allowance_is_remarked_on_and_a_plunge_under_any_neckline_is_not() -> None:
    for neckline in ("plunge", "sweetheart", "straight"):
        o = parse_order(BODY + f'[style]\nneckline = "{neckline}"\nplunge = 3\n[build.allowances]\nside = "1/8 in"')
        keys = {r.keys[0] for r in judge_order(o) if "." in r.keys[0]}
        assert keys == {"build.allowances.side"}


@pytest.mark.parametrize("m", MEASUREMENTS, ids=lambda m: m.key)
def test_both_ends_of_a_range_are_allowed_and_nothing_beyond(m: object) -> None:
    from coutil.body import Measurement

    assert isinstance(m, Measurement)
    for end, step in ((m.possible[0], -0.01), (m.possible[1], 0.01)):
        lines = [x for x in BODY.splitlines() if not x.startswith(f"{m.key} ")]
        at = "\n".join(lines) + f'\n{m.key} = "{end} mm"'
        assert getattr(parse_order(at).body, m.key) == end
        with pytest.raises(OrderError, match=m.key):
            parse_order("\n".join(lines) + f'\n{m.key} = "{end + step} mm"')


# Files


def test_a_file_gives_its_name_where_the_order_has_none(tmp_path: Path) -> None:
    f = tmp_path / "blue one.toml"
    f.write_text(BODY, encoding="utf-8")
    assert read_order(f).name == "blue one"
    f.write_text('name = "own"\n' + BODY, encoding="utf-8")
    assert read_order(str(f)).name == "own"


def test_a_byte_order_mark_and_windows_line_ends_are_no_problem(tmp_path: Path) -> None:
    f = tmp_path / "a.toml"
    f.write_bytes(b"\xef\xbb\xbf" + BODY.replace("\n", "\r\n").encode())
    assert read_order(f).body.bust == 960


def test_what_cannot_be_read_as_a_file(tmp_path: Path) -> None:
    with pytest.raises(OrderError, match="cannot be read: No such file"):
        read_order(tmp_path / "none.toml")
    with pytest.raises(OrderError, match="cannot be read"):
        read_order(tmp_path)
    with pytest.raises(OrderError, match="not a file name"):
        read_order("a\0b")
    latin = tmp_path / "latin.toml"
    latin.write_bytes(b'name = "caf\xe9"')
    with pytest.raises(OrderError, match="UTF-8"):
        read_order(latin)
    big = tmp_path / "big.toml"
    big.write_bytes(b"#" * (LARGEST + 1))
    with pytest.raises(OrderError, match="larger than"):
        read_order(big)
