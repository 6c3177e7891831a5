"""Findings are data: what they say comes of their code and arguments, what they are about of a reference."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

import four_panels
from bodies import plausible
from by_hand import with_pads
from checked import STYLE, body
from coutil.check import check, left_out
from coutil.check.page import codes, findings_page
from coutil.layers import layer_up
from coutil.make import Work, work_out
from coutil.order import Build, Lining, Order, OrderError, PadBuild
from coutil.pattern import (
    ClothRef,
    CupRef,
    Edge,
    EdgeRef,
    Finding,
    KeysRef,
    LevelRef,
    MarkRef,
    PadRef,
    Panel,
    PanelRef,
    Pattern,
    SeamRef,
    about_words,
    each_once,
    says,
)
from coutil.pattern.json import finding_json
from coutil.pattern.seams import SEWN_END
from coutil.web.drawing import drawing, part_ids
from coutil.web.governs import Drawn
from coutil.web.margin import anchors_of, in_margin
from coutil.web.places import place_panels
from coutil.words import Key, Length, Told, as_data, catalogue, in_words, tell

ROOT = Path(__file__).parents[1]
SOURCES = "\n".join(p.read_text("utf-8") for p in sorted((ROOT / "src" / "coutil").rglob("*.py")))
PLACE = re.compile(r"\{\^?(@?)([\w.]+)(?::[^{}]*)?\}")

# What panels and the cup seam are called where nothing is called as usual.
RENAMED = {"centre front": "one", "side front": "two", "side back": "three", "centre back": "four"}


def renamed(pattern: Pattern) -> Pattern:
    """The pattern with other names for all panels, for the cup seam and for the edges of it."""

    def role(name: str) -> str:
        return name.replace("front_princess", "front_dart")

    def edges(found: tuple[Edge, ...]) -> tuple[Edge, ...]:
        return tuple(replace(e, name=role(e.name), role=role(e.role)) for e in found)

    def ref(r: EdgeRef) -> EdgeRef:
        return replace(r, panel=RENAMED[r.panel], edge=role(r.edge))

    def panel(p: Panel) -> Panel:
        return replace(p, name=RENAMED[p.name], edges=edges(p.edges))

    return replace(
        pattern,
        panels=tuple(map(panel, pattern.panels)),
        seams=tuple(replace(s, name="dart" if s.cup else s.name, a=ref(s.a), b=ref(s.b)) for s in pattern.seams),
        pads=tuple(replace(p, panel=RENAMED[p.panel], edges=edges(p.edges)) for p in pattern.pads),
    )


def marked(pattern: Pattern, by: float) -> Pattern:
    """The pattern with its bust points so much higher, in mm, on the edges and beside them."""

    def moved(p: Panel) -> Panel:
        edges = tuple(replace(e, marks={m: s + by * (m == "bust_point") for m, s in e.marks.items()}) for e in p.edges)
        on = next((e for e in edges if "bust_point" in e.marks), None)
        points = {m: on.at(m) if on and m == "bust_point" else at for m, at in p.points.items()}
        return replace(p, edges=edges, points=points)

    return replace(pattern, panels=tuple(map(moved, pattern.panels)))


class TestTexts:
    def test_the_page_of_findings_is_fresh(self) -> None:
        # Made anew by: print(findings_page(), end="")
        assert (ROOT / "docs" / "findings.md").read_text("utf-8") == findings_page()

    def test_every_code_is_used_and_every_code_used_has_a_text(self) -> None:
        known = {code for code, _, _ in codes()}
        assert len(known) > 100
        unused = {c for c in known if f'"{c}"' not in SOURCES}
        assert unused == set()
        used = set(re.findall(r'Finding\(\s*"([^"]+)"', SOURCES))
        used |= set(re.findall(r'Remark\(\s*"\w+",\s*"([^"]+)"', SOURCES))
        assert len(used) > 80
        assert used <= known

    def test_places_forms_numbers_and_keys(self) -> None:
        args = {"keys": (Key("left.bust_point"), Key("bust")), "total": Length(500.0, "both"), "share": 61.26}
        args |= {"girth": "bust", "round": Length(816.2, "both")}
        text = tell("found.body.front_impossible", args)
        assert text == (
            "left.bust_point and bust conflict: the front takes 50.0 cm (19 11/16 in), 61 % of the bust "
            "81.6 cm (32 1/8 in)."
        )
        named = tell("found.body.front_impossible", args, lambda key: key.replace(".", " ").replace("_", " "))
        assert named.startswith("Left bust point and ")
        fit = {"level": MarkRef("high_hip"), "girth": Length(900.0, "cm"), "gap": Length(50.0, "cm"), "way": "less"}
        fit |= {"off": Length(3.0, "both"), "whose": "client"}
        fit |= {"client": Length(903.0, "cm"), "loose": False, "open": True}
        assert tell("found.fit.girth", fit) == (
            "At the high hip the pattern measures 90.0 cm all round, the gap of 5.0 cm with it, 0.3 cm (1/8 in) less "
            "than the client's 90.3 cm."
        )
        assert "with it" not in tell("found.fit.girth", {**fit, "open": False})
        assert tell("found.fit.girth", {**fit, "loose": True}).endswith("cut a smaller size.")

    def test_what_is_missing_or_unknown_is_an_error(self) -> None:
        with pytest.raises(KeyError):
            tell("found.walk.mismatch", {})
        with pytest.raises(KeyError):
            tell("found.no.such", {})
        with pytest.raises(KeyError):
            tell("found.true.seam", {"across": "sideways"})

    def test_braces_in_what_is_filled_in_stay(self) -> None:
        odd = Finding("lay.single", "note", ClothRef("silk"), {"odd": ClothRef("{odd} {why}")})
        assert "({odd} {why} is not)" in says(odd)

    @pytest.mark.parametrize(
        ("ref", "words"),
        [
            (PanelRef("side front", "left"), "left side front"),
            (EdgeRef("centre back", "centre_back", "both"), "centre back edge"),
            (SeamRef("side", "right"), "right side seam"),
            (PadRef(), "pad"),
            (PadRef(None, "left"), "left pad"),
            (PadRef("side front", "right"), "right side front pad"),
            (CupRef("left"), "left cup"),
            (LevelRef("high_hip", "girth"), "high hip girth"),
            (LevelRef("waist", "ease"), "waist ease"),
            (KeysRef(("body.bust", "body.left.front_bust")), "body: bust, left.front_bust"),
            (KeysRef(("style.ease.bust", "body.bust")), "style.ease.bust, bust"),
            (MarkRef(SEWN_END), "the end of the centre front"),
        ],
    )
    def test_references_in_words(self, ref: object, words: str) -> None:
        assert (about_words(ref) if not isinstance(ref, MarkRef) else in_words(ref)) == words  # type: ignore


def test_findings_of_random_orders_can_be_said_and_written() -> None:
    """Every argument has its place in the text or chooses a form in it, and all of it is plain JSON."""
    seen = set()
    for order_body, style in plausible(5, seed=3):
        order = Order("random", order_body, style=style, build=Build(pad=PadBuild(thickness=8.0), lining=Lining()))
        try:
            work = work_out(order)
        except OrderError:
            continue
        for f in work.findings:
            seen.add(f.code)
            assert hash(f) == hash(replace(f))
            row = json.loads(json.dumps(finding_json(f), allow_nan=False))
            assert (row["says"], row["code"], row["level"]) == (says(f), f.code, f.level)
            assert "{" not in row["says"]
            texts = [v for k, v in catalogue().items() if k == f"found.{f.code}" or k.startswith(f"found.{f.code}.")]
            places = {m[2] for text in texts for m in PLACE.finditer(text) if not m[1]}
            assert set(f.args) == places, f.code
    assert len(seen) >= 11


def test_arguments_are_data() -> None:
    told = Told("found.part.edge", {"edge": EdgeRef("a", "side", "left")})
    args = {"x": Length(1.23456, "both"), "refs": (MarkRef("waist"), told), "n": Decimal("1.5"), "no": float("inf")}
    assert as_data(args) == {
        "x": {"mm": 1.2346, "form": "both"},
        "refs": [
            {"kind": "mark", "name": "waist"},
            {
                "code": "found.part.edge",
                "args": {"edge": {"kind": "edge", "panel": "a", "edge": "side", "side": "left"}},
            },
        ],
        "n": "1.5",
        "no": "inf",
    }


def test_what_reads_alike_is_told_once_and_where_it_came_first() -> None:
    def off(mm: float) -> Finding:
        return Finding("notch.off_net", "stop", PanelRef("side"), {"name": MarkRef("waist"), "off": Length(mm)})

    a, b, c = off(0.51), off(0.7), off(0.52)
    assert each_once([a, b, c]) == [a, b]


class TestAnyNames:
    """No check asks for a panel or for the cup seam by its usual name."""

    def test_the_whole_check_passes_and_finds_the_same(self) -> None:
        pattern = with_pads(four_panels.build())
        plain = check(pattern, body(pattern), STYLE, Build())
        other = check(renamed(pattern), body(pattern), STYLE, Build())
        assert [f.code for f in other.findings] == [f.code for f in plain.findings]
        assert [(c.depth_mm, c.side) for c in other.cups] == [(c.depth_mm, c.side) for c in plain.cups]
        assert len(other.cups) == 1

    @pytest.mark.parametrize("uneven", [False, True])
    def test_a_bust_point_that_lies_wrong_is_found(self, uneven: bool) -> None:
        pattern = four_panels.uneven(four_panels.build()) if uneven else four_panels.build()
        tape = body(pattern)
        found = check(renamed(marked(pattern, 4.0)), tape, STYLE, Build()).findings
        off = [f for f in found if f.code == "bust_point.off"]
        sides = ("left", "right") if uneven else ("both",)
        assert {f.about for f in off} == {PanelRef(n, s) for n in ("one", "two") for s in sides}  # type: ignore
        assert all("and the front dart edge with it" in says(f) for f in off)

    def test_a_pad_in_the_wrong_place_is_found(self) -> None:
        pattern = renamed(with_pads(four_panels.build(), drop=11.0, inset=20.0))
        found = [f for f in check(pattern, body(four_panels.build()), STYLE, Build()).findings if f.level == "stop"]
        assert [(f.code, f.about) for f in found] == [
            ("pad.start", PadRef("one")),
            ("pad.start", PadRef("two")),
            ("pad.beyond", PadRef("two")),
            ("pad.near", PadRef("two")),
        ]
        assert "below the end of the one, where" in says(found[0])

    def test_pads_and_notches_are_made(self) -> None:
        plain = layer_up(four_panels.build(), Build())
        other = layer_up(renamed(four_panels.build()), Build())
        assert [p.panel for p in other.pads] == [RENAMED[p.panel] for p in plain.pads] == ["one", "two"]
        assert [[(n.name, n.count) for n in p.notches] for p in other.pieces] == [
            [(n.name, n.count) for n in p.notches] for p in plain.pieces
        ]

    def test_without_a_cup_seam_the_rest_is_checked_and_what_is_not_is_told(self) -> None:
        pattern = four_panels.build()
        flat = replace(pattern, seams=tuple(replace(s, cup=False) for s in pattern.seams))
        done = check(flat, body(pattern), STYLE, Build())
        assert done.cups == ()
        assert [f for f in done.findings if f.level == "stop"] == []
        assert {c.name for c in left_out(flat, body(pattern), STYLE, Build())} >= {"bust point", "cup gauge", "foam"}
        assert "bust point" not in {c.name for c in left_out(pattern, body(pattern), STYLE, Build())}


class TestOwn:
    """Rules for patterns that somebody else drew are data of the same table."""

    def test_stops_of_hand_drawn_lines_are_warnings(self) -> None:
        plain = four_panels.build()
        marks = plain.panel("side front", "both").edge("side").marks
        pattern = four_panels.with_edge(plain, "side front", "side", marks={**marks, "waist": marks["waist"] + 1.0})
        tape = body(four_panels.build())
        drafted, own = (
            {f.code: f.level for f in check(pattern, tape, STYLE, Build(), own=o).findings} for o in (False, True)
        )
        assert (drafted["level.mark_off"], own["level.mark_off"]) == ("stop", "warn")
        assert "fit.girth" in own
        assert "fit.girth" not in drafted

    def test_each_kind_of_pattern_has_checks_of_its_own(self) -> None:
        pattern = four_panels.build()
        names = {o: {c.name for c in left_out(pattern, body(pattern), STYLE, Build(), own=o)} for o in (False, True)}
        assert names[True] - names[False] == {"girths", "reach", "reduction"}
        assert names[False] - names[True] == {"fit"}


def test_what_lights_up_comes_from_the_seams_of_the_pattern() -> None:
    """Panels that are not called as usual did not light up."""
    pattern = replace(
        renamed(four_panels.build()),
        findings=(
            Finding("traced_seam.bust_point", "note", SeamRef("side")),
            Finding("cup.flat", "warn", CupRef(), {"edge": MarkRef("x")}),
            Finding("no_pad.crossed", "stop", PadRef("two")),
        ),
    )
    placed = place_panels(pattern)
    order = Order("x", body(four_panels.build()), style=STYLE)
    drawn = drawing(Work(order, None, pattern), "cm", placed)
    rows = in_margin(pattern, Drawn.of(pattern, part_ids(drawn, placed), STYLE), anchors_of(drawn))
    lit = {r["about"]: r["parts"] for r in rows}
    assert lit["side seam"] == ["two/edge/side", "three/edge/side"]
    assert lit["cup"] == ["one/point/bust_point", "one/edge/front_dart"]
    assert lit["two pad"] == ["two"]
    assert {r["about"]: r["spread"] for r in rows} == {"side seam": "checks", "cup": "checks", "two pad": "pads"}
