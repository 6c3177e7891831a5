"""A pattern worn: girths are taken up truly, both sides agree, meshes agree, files hold what they say."""

from __future__ import annotations

import base64
import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

import order_texts
from bodies import plausible
from coutil.cli import coutil
from coutil.draft import draft
from coutil.order import Ease, Order, Style, parse_order, with_upper
from coutil.pattern import says
from coutil.seaming import READY
from coutil.worn import WornError
from coutil.worn.apart import Trying
from coutil.worn.export import gltf_text, obj_text, solids
from coutil.worn.from_order import reaches, wear_order, wearing_of
from coutil.worn.mend import cup_top, mend_top
from coutil.worn.reading import Reading, read
from coutil.worn.settle import StoppedError
from coutil.worn.told import findings, reading_json
from coutil.worn.wear import FLESH, HARD, Worn

TEXT = 'coutil = 1\nname = "green bodice"\n' + order_texts.BODY
DEMO = Path(__file__).parent.parent / "examples" / "sea-green.toml"
NO_EASE = Ease(bust=0.0, underbust=0.0, waist=0.0, high_hip=0.0)


@cache
def worn(
    seaming: str = "princess-4", *, fine: bool = False, eased: bool = False, upper: float = 0.5
) -> tuple[Worn, Reading]:
    order = parse_order(TEXT)
    style = replace(order.style, seaming=READY[seaming], upper=upper, ease=order.style.ease if eased else NO_EASE)
    order = replace(order, style=style)
    pattern = draft(order.body, order.style, order.name).pattern
    found = wear_order(order, pattern, fine=fine)
    return found, read(found, reaches(order, pattern))


@pytest.mark.parametrize("seaming", ["princess-4", "side-panel-4", "underbust-4", "belt-3"])
def test_girths_are_taken_up_truly_on_a_hard_form(seaming: str) -> None:
    found, reading = worn(seaming)
    assert reading.settled
    assert found.wearing.hard == HARD
    body = found.stand.form
    assert len(reading.levels) >= 1
    for level, told in reading.levels.items():
        tape = {"underbust": 780.0, "waist": 700.0}.get(level)
        if tape is not None:
            assert told.flat_mm == pytest.approx(tape, rel=0.005), level
        assert told.girth_mm == pytest.approx(told.flat_mm, rel=0.015), level
    assert body.symmetric


def test_a_bodice_that_is_smaller_than_her_is_tried_on_flesh() -> None:
    found, reading = worn(eased=True)
    assert found.wearing.hard == FLESH
    assert "flesh" in reading.assumed
    assert reading.levels["waist"].flat_mm < 690.0
    # It is stretched, but less than it would be on a form that does not give.
    assert 0.0 < reading.levels["waist"].strain < 0.03


def test_fine_and_coarse_agree() -> None:
    _, coarse = worn()
    _, fine = worn(fine=True)
    assert fine.settled
    assert (coarse.mesh_mm, fine.mesh_mm) == (12.0, 6.0)
    for line, places in coarse.stand_off_mm.items():
        for place, mm in places.items():
            assert fine.stand_off_mm[line][place] == pytest.approx(mm, abs=3.0), (line, place)
    assert fine.cups[0].depth_mm == pytest.approx(coarse.cups[0].depth_mm, abs=2.0)


def test_both_halves_say_what_one_says() -> None:
    """The same even body with its sides told apart by a hair: left, right and the half agree."""
    order = parse_order(TEXT)
    order = replace(order, style=replace(order.style, ease=NO_EASE))
    left = replace(order.body.left, bust_to_waist=order.body.left.bust_to_waist + 1e-6)
    uneven = replace(order, body=replace(order.body, left=left))
    pattern = draft(uneven.body, uneven.style, "").pattern
    whole = wear_order(uneven, pattern)
    assert not whole.sewn.half
    told = read(whole, reaches(uneven, pattern))
    assert told.settled
    _, half = worn()
    for place in ("front princess", "side"):
        here = [told.stand_off_mm["top"][f"{place}, {side}"] for side in ("left", "right")]
        assert here[0] == pytest.approx(here[1], abs=0.5)
        assert here[0] == pytest.approx(half.stand_off_mm["top"][place], abs=1.0)
    assert told.levels["waist"].girth_mm == pytest.approx(half.levels["waist"].girth_mm, abs=1.0)


def test_taking_in_above_the_bust_lets_the_top_stand_off_less() -> None:
    off = [worn(upper=u)[1].stand_off_mm["top"]["front princess"] for u in (0.0, 0.5, 1.0)]
    assert off[0] > off[1] + 3.0
    assert off[1] >= off[2] - 0.5


def test_a_half_closes_about_half_of_what_the_demo_stands_off() -> None:
    order = parse_order(DEMO.read_text(encoding="utf-8"))
    off = {}
    for upper in (0.0, 0.5):
        pattern = draft(order.body, replace(order.style, upper=upper), order.name).pattern
        reading = read(wear_order(order, pattern), reaches(order, pattern))
        off[upper] = cup_top(pattern, reading)
    assert 0.4 * off[0.0] < off[0.5] < 0.6 * off[0.0]


@pytest.mark.parametrize("k", range(4))
def test_random_bodies_and_seamings_settle(k: int) -> None:
    body, _ = list(plausible(4))[3 * k]
    name = list(READY)[(3 * k + 1) % len(READY)]
    order = Order("random", body, style=Style(seaming=READY[name]))
    pattern = draft(body, order.style, "").pattern
    found = wear_order(order, pattern)
    assert found.settled
    reading = read(found, reaches(order, pattern))
    for level, told in reading.levels.items():
        assert told.girth_mm == pytest.approx(told.flat_mm, rel=0.05), level


def test_what_holds_the_cloth_adds_up() -> None:
    """At rest the form's push, the stay's pull and the middle plane's hold leave nothing."""
    found, _ = worn()
    _, normal, force = found.contact.forces(found.rest.points)
    push = (normal * force[:, None]).sum(axis=0)
    stay = sum(
        float((p.factors * (np.einsum("ek,ek->e", p.weights, found.rest.points[p.vertices, 1]) - p.to)).sum())
        for p in found.stays
    )
    assert push[1] == pytest.approx(stay, abs=0.05)
    assert push[2] == pytest.approx(0.0, abs=0.05)
    # Half a girth's tension pulls it against the plane, which the push to the side holds.
    assert push[0] > 1.0


class TestSaid:
    def test_a_reading_that_did_not_settle_tells_no_figure(self) -> None:
        found, _ = worn()
        broken = replace(found, rest=replace(found.rest, settled=False, residual=0.3))
        reading = read(broken, {"both": 80.0})
        data = reading_json(reading)
        assert data["settled"] is False
        assert data["levels"] == data["stand_off_mm"] == data["pressure_kpa"] == data["strain"] == {}
        assert [f.code for f in findings(reading)] == ["worn.unsettled"]
        assert "0.3 N" in says(findings(reading)[0])
        assert [m.name for m in solids(broken)] == ["form"]

    def test_findings_name_place_amount_and_remedy_and_that_a_toile_decides(self) -> None:
        found, reading = worn(eased=True, upper=0.0)
        told = {f.code: says(f) for f in findings(reading, found.pattern.cups)}
        assert "a toile decides" in told["worn.computed"]
        assert "front princess" in told["worn.top_off"]
        assert "upper" in told["worn.top_off"]
        tight = replace(reading, regions=tuple(replace(r, pressure_kpa=6.0) for r in reading.regions))
        pressed = [f for f in findings(tight) if f.code == "worn.presses"]
        assert pressed[0].level == "warn"
        assert "numbness" in says(pressed[0])


class TestFiles:
    def test_obj_holds_form_and_panels_in_mm(self) -> None:
        found, _ = worn()
        text = obj_text(solids(found), note="a toile decides")
        lines = text.splitlines()
        points = np.array([[float(v) for v in q.split()[1:]] for q in lines if q.startswith("v ")])
        faces = np.array([[int(v) for v in q.split()[1:]] for q in lines if q.startswith("f ")])
        assert faces.min() == 1
        assert faces.max() == len(points)
        assert 250.0 < np.ptp(points[:, 0]) < 500.0
        assert sum(q.startswith("o ") for q in lines) == 1 + 8

    def test_gltf_holds_them_in_metres_and_its_own_buffer(self) -> None:
        found, _ = worn()
        made = json.loads(gltf_text(solids(found), note="a toile decides"))
        assert made["asset"]["version"] == "2.0"
        raw = base64.b64decode(made["buffers"][0]["uri"].partition(",")[2])
        assert len(raw) == made["buffers"][0]["byteLength"]
        for mesh in made["meshes"]:
            primitive = mesh["primitives"][0]
            at = made["accessors"][primitive["attributes"]["POSITION"]]
            index = made["accessors"][primitive["indices"]]
            view = made["bufferViews"][at["bufferView"]]
            points = np.frombuffer(raw, "<f4", at["count"] * 3, view["byteOffset"]).reshape(-1, 3)
            assert np.allclose(points.min(axis=0), at["min"])
            assert np.abs(points).max() < 1.0
            view = made["bufferViews"][index["bufferView"]]
            assert np.frombuffer(raw, "<u4", index["count"], view["byteOffset"]).max() == at["count"] - 1

    def test_panels_look_outwards(self) -> None:
        found, _ = worn()
        for mesh in solids(found)[1:]:
            a, b, c = (mesh.points[mesh.faces[:, k]] for k in range(3))
            out = np.cross(b - a, c - a)
            away = (a + b + c) / 3.0
            assert (out * away * np.array([1.0, 0.0, 1.0])).sum() > 0.0, mesh.name


class TestMend:
    def test_finds_the_value_that_leaves_so_much(self) -> None:
        made = mend_top(lambda u: 40.0 - 30.0 * u - 6.0 * u * u, 0.5, 15.0)
        assert made.met
        assert made.after_mm == pytest.approx(15.0, abs=0.5)
        assert made.before_mm == pytest.approx(23.5)
        looser = mend_top(lambda u: 40.0 - 30.0 * u, 1.0, 25.0)
        assert looser.upper == pytest.approx(0.5, abs=0.03)

    def test_says_how_far_it_goes(self) -> None:
        made = mend_top(lambda u: 40.0 - 10.0 * u, 0.5, 15.0)
        assert (made.upper, made.met) == (1.0, False)
        assert made.after_mm == pytest.approx(30.0)

    def test_a_pattern_without_a_cup_is_refused(self) -> None:
        found, reading = worn("underbust-4")
        with pytest.raises(WornError, match="no seam over the bust point"):
            cup_top(found.pattern, reading)

    def test_the_value_is_written_and_all_else_kept(self) -> None:
        text = TEXT + "\n[style]\n# mine\npeak = 1  # a little\n"
        out = with_upper(text, 0.7312)
        assert parse_order(out).style.upper == 0.731
        assert out.replace("upper = 0.731\n", "") == text
        assert parse_order(with_upper(TEXT, 1.0)).style.upper == 1.0


class TestApart:
    def test_in_a_process_of_its_own_with_progress(self) -> None:
        order = parse_order(TEXT)
        pattern = draft(order.body, order.style, order.name).pattern
        heard: list[tuple[float, str]] = []
        with Trying() as trying:
            tried = trying.on(order, pattern, told=lambda done, part: heard.append((done, part)))
            with pytest.raises(StoppedError):
                trying.on(order, pattern, fine=True, stop=lambda: True)
            again = trying.on(order, pattern)
        assert tried.reading.settled
        assert again.reading.stand_off_mm == tried.reading.stand_off_mm
        done = [d for d, _ in heard]
        assert done == sorted(done)
        assert {p for _, p in heard} == {"form", "coarse"}


class TestCommand:
    def test_json_and_mesh(self, tmp_path: Path) -> None:
        path, mesh = tmp_path / "o.toml", tmp_path / "w.obj"
        path.write_text(TEXT)
        ran = CliRunner().invoke(coutil, ["worn", str(path), "--json", "--mesh", str(mesh)])
        assert ran.exit_code == 0, ran.output
        said = json.loads(ran.stdout)
        assert said["settled"] is True
        assert set(said["levels"]["waist"]) == {"girth_mm", "flat_mm", "strain"}
        assert list(said["stand_off_mm"]) == ["top", "hem"]
        assert said["cup"][0]["side"] == "both"
        assert any("friction" in a for a in said["assumed"])
        assert mesh.read_text().startswith("# Computed")

    def test_options_that_belong_together(self, tmp_path: Path) -> None:
        path = tmp_path / "o.toml"
        path.write_text(TEXT)
        for args in (["--mend", "top"], ["--leave", "15mm"], ["--mesh", str(tmp_path / "w.stl")]):
            ran = CliRunner().invoke(coutil, ["worn", str(path), *args])
            assert ran.exit_code == 2


def test_a_front_opening_and_a_back_one_both_stay_open() -> None:
    text = TEXT + '\n[[style.opening]]\nat = "centre_front"\nwith = "lacing"\ngap = 2\n'
    text += '\n[[style.opening]]\nat = "centre_back"\nwith = "lacing"\ngap = 4\n'
    order = parse_order(text)
    pattern = draft(order.body, order.style, order.name).pattern
    assert dict(wearing_of(order, pattern).gaps) == {"centre_front": 20.0, "centre_back": 40.0}
    found = wear_order(order, pattern)
    assert found.settled
    assert set(found.sewn.held.values()) == {10.0, 20.0}


def test_an_elastic_panel_is_drawn_and_the_cloth_is_not() -> None:
    order = parse_order(TEXT + '\n[[style.opening]]\nat = "centre_back"\nwith = "elastic"\n')
    pattern = draft(order.body, order.style, order.name).pattern
    assert not wearing_of(order, pattern).gaps
    found = wear_order(order, pattern)
    assert found.settled
    reading = read(found, reaches(order, pattern))
    material = {p.name: p.material for p in pattern.panels}
    drawn = [r.across for r in reading.regions if material[r.panel] == "elastic" and r.band == ("waist", "underbust")]
    cloth = [r.across for r in reading.regions if material[r.panel] == "cloth" and r.band == ("waist", "underbust")]
    assert min(drawn) > 0.1
    assert max(cloth) < 0.03
