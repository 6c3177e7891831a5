"""The whole job on orders that differ: what an order asks for is in what comes out."""

import json
import math
import re
from dataclasses import replace
from pathlib import Path

import pytest

from bodies import plausible
from coutil.body import standard_body
from coutil.make import documents, findings_text, lay_out, work_out
from coutil.order import Build, Client, Ease, Lining, Order, OrderError, PadBuild, Style, read_order
from coutil.pattern import Finding, Topic, gravest_first
from coutil.pattern.json import as_json
from spoken import spoken, subject

ROOT = Path(__file__).parent.parent
DEMO = read_order(ROOT / "examples" / "sea-green.toml")
PAD = PadBuild(thickness=8.0)


def bust_round(pattern) -> float:
    """Cloth round the bust level, in mm."""
    halves = {"both": 2.0}
    return sum(halves.get(p.side, 1.0) * math.dist(*p.levels["bust"]) for p in pattern.panels)


def test_random_orders_are_worked_out_or_refused_by_name():
    worked = stopped = refused = 0
    for body, style in plausible(9, seed=5):
        order = Order("random", body, style=style, build=Build(pad=PAD, lining=Lining(fused=True)))
        try:
            work = work_out(order)
        except OrderError:
            refused += 1
            continue
        worked += 1
        stops = [f for f in work.pattern.findings if f.level == "stop"]
        # A body that cannot be, and a garment that squeezes, are remarks on the order and not on the draft.
        stopped += any(not f.code.startswith(("body.", "reduction.")) for f in stops)
    assert worked > 400
    assert refused <= 0.02 * (worked + refused)
    assert stopped <= 0.01 * worked


def test_a_plunge_that_was_left_open_is_told_by_where_the_draft_put_it():
    """It was "drawn as the neckline's own place for it", which says nothing; stated, that figure draws the same."""
    for neckline in ("plunge", "sweetheart", "straight"):
        order = Order("open", standard_body(960.0), style=Style(neckline=neckline))
        work = work_out(order)
        says = next(spoken(f) for f in work.pattern.findings if subject(f) == "style.plunge")
        told = re.search(r"drawn as ≈?([0-9.]+) cm", says)
        assert told is not None, says
        stated = work_out(replace(order, style=Style(neckline=neckline, plunge=10.0 * float(told[1]))))
        low = [w.pattern.panels[0].edge("centre_front").upward().end[1] for w in (work, stated)]
        assert low[0] == pytest.approx(low[1], abs=0.5)


def test_the_switch_adds_what_the_foam_takes_up_to_the_front_and_only_at_the_bust():
    plain = work_out(Order("foam", standard_body(1000.0, "D"), build=Build(pad=PAD)))
    added = work_out(Order("foam", standard_body(1000.0, "D"), style=Style(foam_ease=True), build=Build(pad=PAD)))
    assert added.foam > 5.0
    assert bust_round(added.pattern) - bust_round(plain.pattern) == pytest.approx(added.foam, abs=0.01)
    for part, levels in (("front", ("underbust", "waist")), ("back", ("bust", "underbust", "waist"))):
        for level in levels:
            one, two = (
                sum(math.dist(*p.levels[level]) for p in w.pattern.panels if part in p.name) for w in (plain, added)
            )
            assert one == pytest.approx(two, abs=1e-6), (part, level)
    told = next(f for f in added.findings if subject(f) == "foam")
    assert "has been added" in spoken(told)
    assert not added.stopped


def test_without_a_thickness_the_switch_does_nothing():
    one = work_out(Order("foam", standard_body(1000.0, "D"), style=Style(foam_ease=True)))
    assert one.foam == 0.0


@pytest.mark.parametrize(("on", "each"), [(("shell",), 2), (("shell", "lining"), 4)])
def test_a_pad_is_cut_for_every_layer_that_carries_one(on, each):
    build = Build(pad=PadBuild(on=on), lining=Lining())
    pieces = work_out(Order("pads", standard_body(960.0), build=build)).pattern.pieces
    foam = [p for p in pieces if p.layer == "foam"]
    assert [p.quantity for p in foam] == [each, each]
    for p in pieces:
        assert bool(p.placement) == (p.layer in on and "front" in p.panel), p.name


def test_the_demo_tells_what_was_assumed_and_stops_at_nothing():
    work = work_out(DEMO)
    assert not work.stopped
    says = findings_text(work.findings)
    for key in ("style.cup_height", "upper_bust", "front_bust_arc"):
        assert key in says
    assert "\nNOTE  body: bust\n" not in says


def test_documents_are_told_apart_and_complete_with_lays():
    work = lay_out(work_out(DEMO), seconds=1.0)
    made = list(documents(work, papers=("a4",)))
    names = [d.name for d in made]
    assert len(set(names)) == len(names)
    assert names[-1] == "findings.txt"
    assert all(d.data for d in made)
    lays = json.loads(next(d.data for d in made if d.name == "lays.json"))["lays"]
    assert {layer for lay in lays for layer in lay["layers"]} == set(work.layers)


@pytest.mark.parametrize("label", ["Ж. Ш.", "מ. כ.", "م. ش.", "म. श.", "Θ. Π.", "山田", "<b>&'\"", "🪡", ""])
def test_a_label_in_any_script_is_printed_or_said_not_to_be(label):
    order = replace(DEMO, client=Client(label))
    made = {d.name: d.data for d in documents(work_out(order), papers=("a4",))}
    says = made["findings.txt"].decode()
    from coutil.sheets.fonts import showable

    assert ("label" in says) == bool(showable(label).missing), says


def test_an_uneven_body_is_cut_side_by_side():
    body = DEMO.body
    uneven = replace(body, left=replace(body.left, bust_to_underbust=body.left.bust_to_underbust + 9.0))
    work = work_out(replace(DEMO, body=uneven, style=replace(DEMO.style, ease=Ease())))
    assert {p.side for p in work.pattern.panels} == {"left", "right"}
    assert all(p.quantity == 1 and not p.mirrored_pair and not p.on_fold for p in work.pattern.pieces)
    assert not work.stopped
    assert len(as_json(work.pattern)["cup"]) == 2


def test_the_gravest_finding_comes_first():
    made = [Finding("price.none", level, Topic("price")) for level in ("note", "stop", "warn")]
    assert [f.level for f in gravest_first(made)] == ["stop", "warn", "note"]
