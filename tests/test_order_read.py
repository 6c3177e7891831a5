"""Reading an order: what is taken, what is refused and in which words."""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path

import pytest

from coutil.order import (
    ALLOWANCE,
    ROLES,
    BoneBuild,
    BoneKind,
    Build,
    Client,
    Ease,
    EyeletKind,
    Hours,
    Kit,
    Lace,
    Lining,
    Maker,
    Money,
    Notions,
    OrderError,
    OwnPanel,
    OwnPattern,
    OwnSeam,
    PadBuild,
    ReadyCup,
    Shelf,
    Style,
    Wire,
    judge_order,
    order_page,
    parse_order,
    parse_own,
    read_order,
    read_own,
    write_order,
)
from coutil.order.keys import TABLES
from coutil.seaming import READY, Opening, Shares, ToldSeam, own_seaming
from order_texts import BODY, problems

ROOT = Path(__file__).parent.parent
DEMO = ROOT / "examples" / "sea-green.toml"


def test_a_body_is_all_that_is_needed() -> None:
    o = parse_order(BODY)
    assert (o.name, o.unit, o.client, o.style, o.build, o.cloth) == ("order", "cm", Client(), Style(), Build(), ())
    assert (o.body.bust, o.body.bust_to_waist) == (960, 185)
    assert o.style.neckline == "sweetheart"
    assert o.style.closing == "lacing"
    assert (o.style.gap, o.style.peak, o.style.hem_point, o.style.ease) == (50, 0, 0, Ease())
    assert o.build.lining is None


def test_defaults_of_the_build_are_those_of_the_trade() -> None:
    # Common practice, no source: 1/2 in allowance, 1 in in, 1/4 in down, 1/8 in caught, 1 cm below the end.
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
underbust_to_waist = 106
upper_bust = 880
high_hip = 880
high_hip_depth = 100
hip = 960
hip_depth = 200
side_length = 205
centre_back_length = 400
front_bust_arc = 530
front_upper_arc = 450
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
seaming = "corset-6"
neckline = "plunge"
plunge = 30
cup_height = 80
peak = 12
upper = 0.25
side_top = 180
back_top = 160
back = "v"
hem = 90
hem_point = 30
hem_point_back = 20
hem_line = "curved"
centre_front = "seam"
centre_back = "seam"
closing = "lacing"
lacing_gap = 60
foam_ease = true
[style.ease]
bust = 5
underbust = -10
waist = -40
high_hip = 10
[[style.opening]]
at = "centre_back"
with = "elastic"
gap = 70
drawn = 25
[[style.opening]]
at = "centre_front"
with = "busk"
[[style.seam]]
name = "front princess"
role = "front"
near = [0.4, 0.3, 0.3]
far = [0.5, 0.4, 0.3]
cup = true
boned = false
[[style.seam]]
name = "side"
role = "side"
near = [0.1, 0.3, 0.4]
far = 0.5
[[style.seam]]
name = "back"
role = "back"
at = 0.5
near = 0.25
far = 0.25
[build]
allowance = 12
layers = ["lace", "shell", "flat_lining", "interfacing", "strength", "foam", "web"]
[build.lace]
allowance = 15
scallop = false
[build.kit]
modesty = false
overlap = 35
guard = 28
underlap = 22
stay = false
stay_less = 12
zip_allowance = 20
gripper = true
loops = false
facing_of = "strength"
[build.bones]
on = ["shell", "strength"]
extra = "always"
[build.allowances]
centre_front = 1
front_princess = 2
side = 3
back_princess = 4
centre_back = 5
side_front = 6
side_back = 7
second_front = 8
back = 9
second_back = 10
front = 11
elastic = 12
top = 13
hem = 14
[build.pad]
top_drop = 9
side_inset = 24
side_dip = 5
front_dip = 7
apart = 11
beyond = 40
catch = 3
thickness = 6
on = ["shell", "lining"]
[build.lining]
fused = true
smaller = true
[maker]
name = "Fen & Daughters"
address = "1 Quay\\n2 Lane"
tax_number = "X 1"
[[bone]]
name = "steel"
kind = "flat_steel"
width = 8
for = ["openings", "lines"]
lengths = [200, "25 cm"]
price = 1.5
[[eyelet]]
name = "two-part"
hole = 4
rim = 9
price = 0.1
[[cup]]
name = "round"
size = "80D"
base = 130
depth = 60
volume = 420
price = 9
used = true
[[wire]]
name = "w"
length = 210
diameter = 120
price = 4
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
pile = true
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
bone_clearance_top = 4
eyelet_spares = 6
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
busk_price = 14
button_price = 0.9
stay_price = 1.5
gripper_price = 2
ribbon_price = "0.4"
"""
    )
    assert (o.name, o.unit, o.client) == ("everything", "mm", Client("Ω. 7", "two\nlines"))
    assert (o.body.underbust, o.body.bust_span, o.body.height) == (780, 196.85, 1690)
    assert o.body.assumed == ()
    assert (o.body.left.front_bust, o.body.left.bust_point) == (270, 99)
    assert o.body.right.front_bust == 265
    assert o.style == Style(
        READY["corset-6"], own_seaming(SEAMS), "plunge", 30, 80, 12, 0.25, 180, 160, "v", 90, 30, 20, "curved",
        "lacing", 60, (Opening("centre_back", "elastic", 70, 25), Opening("centre_front", "busk")), "seam", "seam",
        Ease(5, -10, -40, 10), foam_ease=True,
    )  # fmt: skip
    # Elastic 70 mm wide that is drawn by a quarter: nothing is cut for what it gives.
    assert o.style.gap == 17.5
    assert o.build == Build(
        allowance=12,
        allowances={role: float(i) for i, role in enumerate(ROLES, start=1)},
        pad=PadBuild(9, 24, 5, 7, 11, 40, 3, 6, ("shell", "lining")),
        lining=Lining(True, True),
        layers=("lace", "shell", "flat_lining", "interfacing", "strength", "foam", "web"),
        lace=Lace(15, False),
        kit=Kit(False, 35, 28, 22, False, 12, 20, True, False, "strength"),
        bones=BoneBuild(("shell", "strength"), "always"),
    )
    assert o.maker == Maker("Fen & Daughters", "1 Quay\n2 Lane", "X 1")
    assert o.shelf == Shelf(
        (BoneKind("steel", "flat_steel", 8, ("openings", "lines"), (200, 250), Decimal("1.5")),),
        (EyeletKind("two-part", 4, 9, Decimal("0.1")),),
        (ReadyCup("round", 130, 60, "80D", Decimal(420), Decimal(9), used=True),),
        (Wire("w", 210, 120, Decimal(4)),),
    )
    satin, foam = o.cloth
    assert satin.layers == ("shell",)
    assert (satin.width, satin.on_hand, satin.price_per, satin.sold_by) == (1400, 2743.2, 914.4, 114.3)
    assert (satin.price, satin.currency) == (Decimal("18.5"), "EUR")
    assert satin.remnants == ((300, 200), (100, 400))
    assert (satin.shrink_length, satin.shrink_width) == (2, 1.5)
    assert (foam.price, foam.sheet, foam.layers, foam.price_per) == (Decimal("7.25"), (500, 700), ("foam", "web"), 1000)
    assert (foam.thickness, satin.thickness, foam.pile, satin.pile) == (3, None, True, False)
    assert o.money == Money(
        "EUR", "de_AT", Decimal("38.50"), Decimal("12.5"), Decimal(20), Decimal(19), "VAT", valid_days=14
    )
    assert o.hours == Hours(Decimal("1.25"), *(Decimal(n) for n in range(2, 13)))
    assert o.notions == Notions(
        ("side",), 8, 4, 20, 12, 6, 15, 9, 90, 300, "401", 2, Decimal(15), 500_000,
        *(Decimal(p) for p in ("2.5", "0.8", "0.0825", "1", "6", "0", "3.2", "14", "0.9", "1.5", "2", "0.4")),
    )  # fmt: skip


SEAMS = (
    ToldSeam("front princess", "front", Shares(0.4, 0.3, 0.3), Shares(0.5, 0.4, 0.3), cup=True, boned=False),
    ToldSeam("side", "side", Shares(0.1, 0.3, 0.4), Shares(0.5, 0.5, 0.5)),
    ToldSeam("back", "back", Shares(0.25, 0.25, 0.25), Shares(0.25, 0.25, 0.25), 0.5),
)

OWN = """
[pattern]
file = "bodice.svg"
scale = "1/4 in"
line = "cut"
allowance = "1/2 in"
corner = 25.5
drawing = "eNqzKS5L17cDAAdWAfo="
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
    assert o.pattern == OwnPattern("bodice.svg", 6.35, "cut", 12.7, 25.5, (panel,), (seam,), "eNqzKS5L17cDAAdWAfo=")
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
        ("eNqzKS5L17cDAAdWAfo=", "PHN2Zy8+", '[pattern] drawing = "PHN2Zy8+": is no packed drawing'),
        ("eNqzKS5L17cDAAdWAfo=", "eNqzKS5L", '[pattern] drawing = "eNqzKS5L": is no whole packed drawing'),
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


def test_a_standard_size_and_confirmed_readings_are_read() -> None:
    asked = """[body]
[body.standard]
bust = 92
cup = "C"
as_asked = true
"""
    assert parse_order(asked).body.as_asked
    confirmed = """[body]
bust = 92
underbust = 75
waist = 76
bust_span = 18.9
bust_to_underbust = 7.8
bust_to_waist = 18.3
confirmed = true
"""
    assert parse_order(confirmed).body.not_taken == ()
    assert len(parse_order(confirmed.replace("true", "false")).body.not_taken) == 6


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
