"""The docket's and the card's sums, from pattern.json and the order's text by arithmetic of the test's own."""

from __future__ import annotations

import math
import re
import tomllib
from itertools import pairwise
from typing import Any

import pytest

import drawn
from drawn import DRAWN, ORDERS
from printed import words_of

EVERY = pytest.mark.parametrize("name", DRAWN)
# How far the card's rounded figures may lie off, in mm: half of the last digit of cm with one decimal.
CARD = 0.51
# Stated in UNEVEN's text, in mm; the docket counts foam at a quarter of its thickness under the foot.
PLY = {"shell": 0.5, "interfacing": 0.3, "foam": 8.0, "web": 0.1, "lining": 0.2, "lining_interfacing": 0.25}
PRESSED = 1 / 4
# Tape of a casing, in mm; two threads lie along a lockstitch seam and go down and up in every stitch (thread.py).
TAPE = 0.4
STITCH = 2.5


def halves(side: str) -> int:
    return 2 if side == "both" else 1


def length(line: list[list[float]]) -> float:
    return sum(math.dist(a, b) for a, b in pairwise(line))


def role_length(name: str, role: str) -> float:
    """Finished length of all edges of a role on the garment, in mm."""
    panels = drawn.pattern_of(name)["panels"]
    return sum(halves(p["side"]) * length(e["points"]) for p in panels for e in p["edges"] if e["role"] == role)


def stretch(seam: dict[str, Any], *, start: str = "", end: str = "") -> float:
    """Length of a seam between two of its places (from its lower end, to its upper end if not said), in mm."""
    total, on = 0.0, not start
    for i in seam["intervals"]:
        on = on or i["from"] == start
        if end and i["from"] == end:
            break
        total += (i["a_mm"] + i["b_mm"]) / 2 if on else 0.0
    return total


def is_princess(seam: dict[str, Any]) -> bool:
    return seam["a"]["edge"] == "front_princess"


def channels(name: str) -> list[tuple[str, str, int, float]]:
    """(where, side, how many, channel in mm) of every line of bones that these two orders ask for."""
    out = []
    for seam in drawn.pattern_of(name)["seams"]:
        if seam["a"]["edge"] == "centre_front":
            continue
        # Over the cup a bone would flatten what the seam shapes.
        mm = stretch(seam, end="underbust") if is_princess(seam) else stretch(seam)
        out.append((f"{seam['name']} seam", seam["side"], halves(seam["side"]), mm))
    # One on each side of the eyelets of a lacing, one beside hooks.
    beside = 2 if "lacing_gap" in ORDERS[name] else 1
    for panel in drawn.pattern_of(name)["panels"]:
        for edge in panel["edges"]:
            if edge["role"] == "centre_back":
                count = beside * halves(panel["side"])
                out.append(("centre back edge", panel["side"], count, length(edge["points"])))
    return out


@EVERY
def test_bones_and_casings(name: str) -> None:
    told = drawn.docket_of(name)["bones"]
    wanted = channels(name)
    assert [(b["where"], b["side"], b["quantity"]) for b in told] == [w[:3] for w in wanted]
    for b, (_, _, count, mm) in zip(told, wanted, strict=True):
        assert b["channel"] == pytest.approx(mm, abs=0.01)
        assert b["length"] == pytest.approx(mm - 16.0, abs=0.01), "1 cm stays free at the hem, 6 mm at the top"
        assert b["casing"] == pytest.approx(count * mm, abs=0.02)


def test_what_is_bought_of_boning_and_casing() -> None:
    bought = {m["what"]: float(m["quantity"]) for m in drawn.docket_of("demo")["materials"]}
    wanted = channels("demo")
    assert bought["casing"] == pytest.approx(sum(n * mm for _, _, n, mm in wanted) / 1000, abs=1e-4)
    assert bought["boning"] == pytest.approx(sum(n * (mm - 16.0) for _, _, n, mm in wanted) / 1000, abs=1e-4)


@EVERY
def test_the_card_speaks_of_the_same_casings(name: str, tmp_path) -> None:
    words = words_of(drawn.file(name, "card.pdf"), tmp_path)
    (total,) = re.findall(r"Casing in all: ~?([0-9.]+) cm", words)
    wanted = channels(name)
    assert float(total) * 10 == pytest.approx(sum(n * mm for _, _, n, mm in wanted), abs=CARD)
    casings = words[words.index("sew it down along both edges") : words.index("Casing in all")]
    bones = words[words.index("with their tips on they measure") : words.index("Cap or tip both ends")]
    for where, side, count, mm in wanted:
        called = where if side == "both" else f"{side} {where}"
        if where == "centre back edge":
            each = count if side == "both" else 1
            says = re.findall(rf"(?:{side}: |: ){each} channels? of ~?([0-9.]+) cm", casings)
            assert says, called
            assert float(says[0]) * 10 == pytest.approx(mm, abs=CARD), called
        else:
            (says,) = re.findall(rf"{called} ~?([0-9.]+) cm", casings)
            assert float(says) * 10 == pytest.approx(mm, abs=CARD), called
        (cut,) = re.findall(rf"{count} of ~?([0-9.]+) cm \(~?[^)]*\) \({called}\)", bones)
        assert float(cut) * 10 == pytest.approx(mm - 16.0, abs=CARD), called


def over_pads(name: str) -> float:
    """What the seams catch of the pads, in mm: from the underbust to 1 cm below the centre front's end."""
    seams = [s for s in drawn.pattern_of(name)["seams"] if is_princess(s)]
    return sum(halves(s["side"]) * (stretch(s, start="underbust") - 10.0) for s in seams)


def test_thread_counts_every_ply() -> None:
    """Of the order whose cloths all state their thickness."""
    cloth = {layer: c["thickness"] for c in tomllib.loads(ORDERS["uneven"])["cloth"] for layer in c["for"]}
    assert {**cloth, "foam": 8.0} == PLY
    seams = sum(halves(s["side"]) * stretch(s) for s in drawn.pattern_of("uneven")["seams"])
    caught = over_pads("uneven")
    shell, lining = PLY["shell"] + PLY["interfacing"], PLY["lining"] + PLY["lining_interfacing"]
    foam = PLY["foam"] * PRESSED + PLY["web"]
    casing = sum(n * mm for _, _, n, mm in channels("uneven"))
    wanted = {
        "shell seams": (seams - caught, 2 * shell),
        "shell seams over the pad": (caught, 2 * (shell + foam)),
        "lining seams": (seams - caught, 2 * lining),
        "lining seams over the pad": (caught, 2 * (lining + foam)),
        "casings, both edges": (2 * casing, shell + TAPE),
        "top edge": (role_length("uneven", "top"), shell + lining),
        "hem edge": (role_length("uneven", "hem"), shell + lining),
        "centre back edges, 2 rows": (2 * role_length("uneven", "centre_back"), shell + lining),
    }
    thread = drawn.docket_of("uneven")["thread"]
    assert {n["what"]: n["thickness"] for n in thread["lines"]} == pytest.approx({k: t for k, (_, t) in wanted.items()})
    assert {n["what"]: n["sewn"] for n in thread["lines"]} == pytest.approx(
        {k: mm for k, (mm, _) in wanted.items()}, abs=0.2
    )
    total = sum(mm * (2 + 2 * t / STITCH) for mm, t in wanted.values())
    assert thread["total"] == pytest.approx(1.125 * total, rel=1e-4)


def test_thread_counts_no_interfacing_in_a_lining_that_has_none() -> None:
    thread = {n["what"]: n["thickness"] for n in drawn.docket_of("unfused")["thread"]["lines"]}
    assert thread["lining seams"] == pytest.approx(2 * PLY["lining"])
    assert thread["top edge"] == pytest.approx(PLY["shell"] + PLY["interfacing"] + PLY["lining"])


def test_thread_leaves_out_layers_that_are_not_there() -> None:
    """The demo has a lining without interfacing, and pads in the shell alone."""
    thread = {n["what"]: n for n in drawn.docket_of("demo")["thread"]["lines"]}
    assert "lining seams over the pad" not in thread
    caught = over_pads("demo")
    seams = sum(halves(s["side"]) * stretch(s) for s in drawn.pattern_of("demo")["seams"])
    assert thread["shell seams over the pad"]["sewn"] == pytest.approx(caught, abs=0.1)
    assert thread["shell seams"]["sewn"] == pytest.approx(seams - caught, abs=0.1)
    assert thread["lining seams"]["sewn"] == pytest.approx(seams, abs=0.1)
    # 6 mm of foam under the foot, and a film of web, on both sides of the seam.
    more = thread["shell seams over the pad"]["thickness"] - thread["shell seams"]["thickness"]
    assert 2 * 6.0 * PRESSED < more < 2 * 6.0 * PRESSED + 0.5


def test_what_is_to_be_cut() -> None:
    for name in DRAWN:
        pieces = {p["name"]: p for p in drawn.pattern_of(name)["pieces"]}
        cut = drawn.docket_of(name)["cut"]
        assert sorted(c["piece"] for c in cut) == sorted(pieces)
        for c in cut:
            p = pieces[c["piece"]]
            # Two halves of every panel; a pad in each layer that carries pads; one piece where it lies on the fold.
            layers = 2 if p["layer"] in ("foam", "web") and name == "uneven" else 1
            assert c["quantity"] == p["quantity"] == (1 if p["on_fold"] else halves(p["side"])) * layers
            assert c["mirrored_pair"] == (p["side"] == "both" and not p["on_fold"])
