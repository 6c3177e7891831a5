"""Reading an order: what is taken, what is refused and in which words."""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path

import pytest

from coutil.body import MEASUREMENTS
from coutil.order import (
    ALLOWANCE,
    ROLES,
    Build,
    Client,
    Ease,
    Hours,
    Lining,
    Money,
    Notions,
    OrderError,
    OwnPanel,
    OwnPattern,
    OwnSeam,
    PadBuild,
    Style,
    judge_order,
    order_page,
    parse_order,
    parse_own,
    read_order,
    read_own,
    write_order,
)
from coutil.order.keys import TABLES
from coutil.order.read import LARGEST

ROOT = Path(__file__).parent.parent
DEMO = ROOT / "examples" / "sea-green.toml"
BODY = """[body]
bust = 96
underbust = 78
waist = 70
bust_span = 19.5
bust_to_underbust = 8
bust_to_waist = 18.5
"""


def problems(text: str, *, after_body: bool = True) -> tuple[str, ...]:
    with pytest.raises(OrderError) as e:
        parse_order(BODY + text if after_body else text, "mt.toml")
    assert str(e.value) == "\n".join(e.value.problems)
    assert all("\n" not in p and p.startswith("mt.toml: ") for p in e.value.problems)
    return e.value.problems


def test_a_body_is_all_that_is_needed() -> None:
    o = parse_order(BODY)
    assert (o.name, o.unit, o.client, o.style, o.build, o.cloth) == ("order", "cm", Client(), Style(), Build(), ())
    assert (o.body.bust, o.body.bust_to_waist) == (960, 185)
    assert o.style.neckline == "sweetheart"
    assert o.style.closing == "lacing"
    assert (o.style.gap, o.style.peak, o.style.hem_point, o.style.ease) == (50, 0, 0, Ease())
    assert o.build.lining is None


def test_defaults_of_the_build_are_those_of_the_trade() -> None:
    # DESIGN 4, common practice, no source: 1/2 in allowance, 1 in in, 1/4 in down, 1/8 in caught, 1 cm below the end.
    assert ALLOWANCE == 12.7
    assert PadBuild() == PadBuild(top_drop=10.0, side_inset=25.4, side_dip=6.35, catch=3.175, thickness=None)
    # 1/2 - 1/8 = 3/8 in: where the placement line lies.
    assert ALLOWANCE - PadBuild().catch == pytest.approx(9.525, abs=1e-12)


def test_the_demo_order() -> None:
    o = read_order(DEMO)
    assert o.client.label == "M. T."
    assert o.name == "sea-green bustier"
    assert (o.body.bust, o.body.underbust) == (960, 780)
    assert o.style.closing == "lacing"
    assert o.style.ease == Ease(0, -10, -38.1, 10)
    assert o.build.pad.thickness == 6
    assert o.build.lining == Lining(fused=False)
    assert o.build.allowance_for("hem") == 15.875
    assert o.build.allowance_for("side") == 12.7
    assert [r.text for r in judge_order(o) if r.kind != "note"] == []


def test_every_key_of_every_table() -> None:
    o = parse_order(
        """
coutil = 1
name = "everything"
unit = "mm"
[client]
label = "Ω. 7"
note = "two\\nlines"
[body]
bust = 960
underbust = "78 cm"
waist = 700
bust_span = "7 3/4 in"
bust_to_underbust = 80
bust_to_waist = 185
upper_bust = 880
high_hip = 880
high_hip_depth = 100
hip = 960
hip_depth = 200
side_length = 205
centre_back_length = 400
front_bust_arc = 530
front_waist_arc = 360
bust_depth = 270
height = 1690
[body.left]
bust_to_underbust = 84
bust_to_waist = 189
side_length = 206
front_bust = 270
front_waist = 182
bust_point = 99
[style]
neckline = "plunge"
plunge = 30
cup_height = 80
peak = 12
side_top = 180
back_top = 160
hem = 90
hem_point = 30
closing = "lacing"
lacing_gap = 60
foam_ease = true
[style.ease]
bust = 5
underbust = -10
waist = -40
high_hip = 10
[build]
allowance = 12
[build.allowances]
centre_front = 1
front_princess = 2
side = 3
back_princess = 4
centre_back = 5
top = 6
hem = 7
[build.pad]
top_drop = 9
side_inset = 24
side_dip = 5
catch = 3
thickness = 6
on = ["shell", "lining"]
[build.lining]
fused = true
[[cloth]]
name = "satin"
for = ["shell"]
width = "140 cm"
selvedge = 10
on_hand = "3 yd"
price = 18.5
currency = "EUR"
price_per = "1 yd"
sold_by = "1/8 yd"
direction = "one-way"
laid = "folded"
gap = 3
shrink_length = 2
shrink_width = 1.5
remnants = [[300, "20 cm"], [100, 400]]
[[cloth]]
name = "foam"
for = ["foam", "web"]
price = "7,25"
currency = "EUR"
sheet = [500, 700]
thickness = "3 mm"
[money]
currency = "EUR"
locale = "de_AT"
hour = "38,50"
overhead = 12.5
margin = 20
tax = 19
tax_name = "VAT"
valid_days = 14
[hours]
measure = 1.25
pattern = 2
cut = 3
fuse = 4
pad = 5
sew = 6
bone = 7
closing = 8
lining = 9
fit = 10
finish = 11
other = 12
[notions]
bones = ["side"]
bone_clearance = 8
eyelet_spacing = 20
eyelet_inset = 12
hook_spacing = 15
closing_inset = 9
cord_open = 90
cord_tail = 300
stitch = "401"
stitch_length = 2
wastage = 15
thread_spool = "500 m"
bone_price = 2.5
casing_price = 0.8
eyelet_price = "0.0825"
cord_price = 1
zip_price = 6
hook_price = 0
thread_price = 3.2
"""
    )
    assert (o.name, o.unit, o.client) == ("everything", "mm", Client("Ω. 7", "two\nlines"))
    assert (o.body.underbust, o.body.bust_span, o.body.height) == (780, 196.85, 1690)
    assert o.body.assumed == ()
    assert (o.body.left.front_bust, o.body.left.bust_point) == (270, 99)
    assert o.body.right.front_bust == 265
    assert o.style == Style(
        "plunge", 30, 80, 12, 180, 160, 90, 30, "lacing", 60, ease=Ease(5, -10, -40, 10), foam_ease=True
    )
    assert o.style.gap == 60
    assert o.build == Build(
        allowance=12,
        allowances={role: float(i) for i, role in enumerate(ROLES, start=1)},
        pad=PadBuild(9, 24, 5, 3, 6, ("shell", "lining")),
        lining=Lining(True),
    )
    satin, foam = o.cloth
    assert satin.layers == ("shell",)
    assert (satin.width, satin.on_hand, satin.price_per, satin.sold_by) == (1400, 2743.2, 914.4, 114.3)
    assert (satin.price, satin.currency) == (Decimal("18.5"), "EUR")
    assert satin.remnants == ((300, 200), (100, 400))
    assert (satin.shrink_length, satin.shrink_width) == (2, 1.5)
    assert (foam.price, foam.sheet, foam.layers, foam.price_per) == (Decimal("7.25"), (500, 700), ("foam", "web"), 1000)
    assert (foam.thickness, satin.thickness) == (3, None)
    assert o.money == Money(
        "EUR", "de_AT", Decimal("38.50"), Decimal("12.5"), Decimal(20), Decimal(19), "VAT", valid_days=14
    )
    assert o.hours == Hours(Decimal("1.25"), *(Decimal(n) for n in range(2, 13)))
    assert o.notions == Notions(
        ("side",), 8, 20, 12, 15, 9, 90, 300, "401", 2, Decimal(15), 500_000,
        *(Decimal(p) for p in ("2.5", "0.8", "0.0825", "1", "6", "0", "3.2")),
    )  # fmt: skip


OWN = """
[pattern]
file = "bodice.svg"
scale = "1/4 in"
line = "cut"
allowance = "1/2 in"
corner = 25.5
[[pattern.panels]]
outline = "piece 3"
name = "side front"
side = "left"
fold = "centre_front"
roles = ["hem", "side", "top", "front_princess"]
allowances = [2, 1, 1, "1/2 in"]
corners = [[5, 20]]
bust_point = [3, "7 in"]
bust = 18
underbust = 11
waist = 10
high_hip = 0
grain = [[8, 2], [8, 20]]
[[pattern.seams]]
name = "side"
a = ["side front", "side"]
b = ["side back", "side"]
ease = 0.3
peak = 1.2
"""


def test_a_pattern_of_ones_own() -> None:
    o = parse_order(BODY + OWN)
    panel = OwnPanel(
        "piece 3",
        "side front",
        "left",
        "centre_front",
        ("hem", "side", "top", "front_princess"),
        (20, 10, 10, 12.7),
        ((50, 200),),
        (30, pytest.approx(177.8)),
        {"bust": 180, "underbust": 110, "waist": 100, "high_hip": 0},
        ((80, 20), (80, 200)),
    )
    seam = OwnSeam("side", ("side front", "side"), ("side back", "side"), 3, 12)
    assert o.pattern == OwnPattern("bodice.svg", 6.35, "cut", 12.7, 25.5, (panel,), (seam,))
    assert parse_own('unit = "cm"\n' + OWN) == o.pattern
    assert parse_order(write_order(o)) == o
    assert parse_order(BODY).pattern is None
    # The docket needs to know how it closes; that is no shape.
    assert parse_order(BODY + '[style]\nclosing = "zip"\n' + OWN).style.closing == "zip"


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("[pattern]", '[style]\nneckline = "plunge"\n[pattern]', "[style] neckline: there is a [pattern]"),
        ("bodice.svg", "bodice.toml", "[pattern] scale: say this in the .toml file"),
        ("25.5", '"sharp"', '[pattern] corner = "sharp": must be a number from 1 to 170'),
        ("25.5", "0", "[pattern] corner = 0: must be a number from 1 to 170"),
        ('"1/4 in"', "0", "[pattern] scale = 0"),
        ('"hem", "side"', '"hem", "edge"', "[[pattern.panels]] no. 1 roles = a list of 4: must be a list of"),
        ("[[8, 2], [8, 20]]", "[[8, 2]]", "[[pattern.panels]] no. 1 grain = a list of 1: two places"),
        ("[3, ", "[3, 4, ", "[[pattern.panels]] no. 1 bust_point = a list of 3: must be a list of two lengths"),
        ("[[5, 20]]", "[5, 20]", "[[pattern.panels]] no. 1 corners = a list of 2: must be a list of places"),
        ('["side front", "side"]', '"side front"', '[[pattern.seams]] no. 1 a = "side front": must be a list of two'),
        ("ease = 0.3", "ease = 9", "[[pattern.seams]] no. 1 ease = 9: that is 9.0 cm"),
        ('outline = "piece 3"', "", "[[pattern.panels]] no. 1 outline: missing"),
        ("waist = 10", "wrist = 10", "[[pattern.panels]] no. 1 wrist = 10: no such key; the nearest is waist"),
        ("[[pattern.seams]]", "[pattern.seams]", "[pattern] seams = a table: write each under a header"),
    ],
)
def test_a_pattern_of_ones_own_refused(old: str, new: str, says: str) -> None:
    assert old in OWN
    assert any(p.startswith(f"mt.toml: {says}") for p in problems(OWN.replace(old, new, 1)))


def test_a_pattern_file_beside_a_drawing(tmp_path: Path) -> None:
    f = tmp_path / "bodice.toml"
    f.write_text('unit = "mm"\n[pattern]\nfile = "bodice.dxf"\nallowance = 10\n', encoding="utf-8")
    assert read_own(f) == OwnPattern("bodice.dxf", allowance=10)
    for text, says in (
        ("", "[pattern]: this table is missing"),
        ("[body]\nbust = 90\n" + OWN, "body: a pattern file holds unit and [pattern] only"),
        ('[pattern]\nfile = "other.toml"', "name the SVG or DXF file here"),
        ("[pattern]\nfile = 3", "must be one line of text"),
        ("pattern = 3", "this is a table"),
    ):
        f.write_text(text, encoding="utf-8")
        with pytest.raises(OrderError, match=re.escape(says)):
            read_own(f)


def test_no_key_is_left_untested_above() -> None:
    source = Path(__file__).read_text(encoding="utf-8")
    for table in TABLES.values():
        for key in table.keys:
            assert f"\n{key.name} = " in source, f"[{table.name}] {key.name}"


def test_the_page_is_fresh_and_tells_every_key() -> None:
    page = order_page()
    assert (ROOT / "docs" / "order-file.md").read_text(encoding="utf-8") == page, (
        "docs/order-file.md is stale: write coutil.order.order_page() to it"
    )
    for table in TABLES.values():
        assert table.name in page
        for key in table.keys:
            assert f"| `{key.name}` | {key.says} | {key.allowed} |" in page


def test_a_gap_is_the_lacings_alone() -> None:
    o = parse_order(BODY + '[style]\nclosing = "zip"\nlacing_gap = 4')
    assert o.style.gap == 0
    assert any("style.lacing_gap" in r.keys for r in judge_order(o))


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        # File, table, key, value, what is allowed: each of them in the one line.
        ('[style]\nneckline = "plung"', ["[style] neckline", '"plung"', '"sweetheart"', 'nearest is "plunge"']),
        ("[style]\nplung = 3", ["[style] plung = 3", "no such key", "nearest is plunge", "known here: neckline"]),
        ("[style]\nhip = 90", ["[style] hip = 90", "there is one in [body]"]),
        ("[style]\npeak = -1", ["[style] peak = -1", "that is -1.0 cm", "from 0.0 cm", "10.0 cm"]),
        ("[style]\nhem = true", ["[style] hem = true", "a length is a number or a text", "from 0.0 cm"]),
        ('[style]\nhem = "9 ells"', ['[style] hem = "9 ells"', "'ells' is not known", "from 0.0 cm"]),
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
        ("[build.pad]\non = []", ["[build.pad] on = a list of 0", '"shell"']),
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
