"""The placing engine at arm's length: what goes in is checked, whatever comes out or does not is told plainly."""

from __future__ import annotations

import json
import math
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from coutil.lay import engine
from coutil.lay.engine import EngineError, Item, Placed, extent, pack

SQUARE = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))


def squares(n: int = 3) -> list[Item]:
    return [Item("square", SQUARE, n, (0.0, 180.0))]


def test_three_squares_side_by_side() -> None:
    made = pack(squares(), 305.0, seconds=1.0, seed=1, enough=101.0)
    assert made.width == pytest.approx(100.0, abs=1.0)
    assert [p.id for p in made.placed] == ["square"] * 3


def test_one_seed_gives_one_layout() -> None:
    items = [Item(f"{k}", ((0.0, 0.0), (90.0 + 13 * k, 0.0), (40.0, 60.0 + 7 * k)), 3, (0.0, 180.0)) for k in range(4)]
    # The first layout only: how far the search comes in a given time depends on the machine.
    first, second = (pack(items, 300.0, seconds=1.0, seed=7, enough=1e6) for _ in range(2))
    assert first == second


@pytest.mark.parametrize(
    ("items", "says"),
    [
        ([], "nothing to place"),
        ([Item("a", ((0.0, 0.0), (math.nan, 0.0), (1.0, 1.0)), 1)], "a: its outline has points that are not numbers"),
        ([Item("a", ((0.0, 0.0), (math.inf, 0.0), (1.0, 1.0)), 1)], "not numbers"),
        ([Item("a", ((0.0, 0.0), (9.0, 0.0), (0.0, 0.0)), 1)], "fewer than three"),
        ([Item("a", ((0.0, 0.0), (9.0, 9.0), (9.0, 0.0), (0.0, 9.0)), 1)], "unsound"),
        ([Item("a", ((0.0, 0.0), (9.0, 0.0), (18.0, 0.0)), 1)], "unsound|no area"),
        ([Item("a", SQUARE, 0)], "asked for 0 of a"),
        ([Item("a", SQUARE, 1), Item("a", SQUARE, 1)], "two shapes of one name"),
        ([Item("a", tuple((2 * x, 4 * y) for x, y in SQUARE), 1)], r"400\.0 mm across, the strip only 300\.0 mm"),
    ],
)
def test_bad_shapes_are_refused_by_name_before_the_engine_sees_them(items: list[Item], says: str) -> None:
    with pytest.raises(EngineError, match=says):
        pack(items, 300.0, seconds=0.2, seed=1)


@pytest.mark.parametrize("height", [0.0, -3.0, math.nan, math.inf])
def test_a_strip_without_width_is_refused(height: float) -> None:
    with pytest.raises(EngineError, match="cannot place on a width"):
        pack(squares(), height, seconds=0.2, seed=1)


def script(monkeypatch: pytest.MonkeyPatch, folder: Path, text: str) -> None:
    path = folder / "stand_in.py"
    path.write_text(text, encoding="utf-8")
    monkeypatch.setattr(engine, "WORKER", path)


def test_a_missing_engine_is_named(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    real = engine.WORKER
    script(
        monkeypatch,
        tmp_path,
        f"import runpy, sys\nsys.modules['spyrrow'] = None\nrunpy.run_path({str(real)!r}, run_name='__main__')\n",
    )
    with pytest.raises(EngineError, match="is not installed: it comes with the Python package spyrrow"):
        pack(squares(), 400.0, seconds=0.2, seed=1)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("import os; os._exit(7)", r"ended by itself without a layout \(exit code 7\)"),
        ("import os; os.abort()", "ended by itself without a layout"),
        ("print('hello')", "no layout: 'hello'"),
        ("print('{\"width\": 3}')", "no layout"),
        ('print(\'{"failed": "PanicException: item too large", "missing": false}\')', "gave up: PanicException"),
        ("print('[1, 2]')", "no layout"),
    ],
)
def test_an_engine_that_fails_is_an_error(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, text: str, says: str
) -> None:
    script(monkeypatch, tmp_path, text)
    with pytest.raises(EngineError, match=says):
        pack(squares(), 400.0, seconds=0.2, seed=1)


def test_an_engine_that_hangs_is_ended(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    script(monkeypatch, tmp_path, "import time; time.sleep(60)")
    monkeypatch.setattr(engine, "PATIENCE", 0.3)
    started = time.monotonic()
    with pytest.raises(EngineError, match="found no layout within"):
        pack(squares(), 400.0, seconds=0.1, seed=1)
    assert time.monotonic() - started < 5.0


def test_an_engine_that_dies_late_leaves_its_best_layout(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    script(
        monkeypatch,
        tmp_path,
        "import os\n"
        "for w in (300, 200, 250):\n"
        '    print(\'{"width": %d, "placed": [["square", %d, 0, 0]], "final": false}\' % (w, w), flush=True)\n'
        "os._exit(3)\n",
    )
    heard: list[float] = []
    made = pack(squares(1), 400.0, seconds=5.0, seed=1, report=heard.append)
    assert made.width == 200.0
    assert heard == [300.0, 200.0]


def test_a_stop_keeps_the_best_layout(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    script(
        monkeypatch,
        tmp_path,
        "import time\n"
        'print(\'{"width": 300, "placed": [["square", 0, 0, 0]], "final": false}\', flush=True)\n'
        "time.sleep(60)\n",
    )
    halt = threading.Event()
    started = time.monotonic()
    made = pack(squares(1), 400.0, seconds=50.0, seed=1, halt=halt, report=lambda _: halt.set())
    assert made.width == 300.0
    assert time.monotonic() - started < 5.0


def test_turns_are_exact_for_quarters_and_right_in_between() -> None:
    assert Placed("a", 5.0, 0.0, 180.0).of([(1.0, 2.0)]) == ((4.0, -2.0),)
    assert Placed("a", 0.0, 0.0, 90.0).of([(1.0, 2.0)]) == ((-2.0, 1.0),)
    (x, y), *_ = Placed("a", 0.0, 0.0, 30.0).of([(2.0, 0.0)])
    assert (x, y) == pytest.approx((math.sqrt(3.0), 1.0))
    assert extent(SQUARE, 45.0) == pytest.approx((100 * math.sqrt(2), 100 * math.sqrt(2)))


def test_the_engine_ends_with_its_parent() -> None:
    job = {
        "height": 900.0,
        "seconds": 50,
        "seed": 1,
        "items": [{"id": "a", "points": [[0, 0], [90, 0], [30, 70]], "demand": 40, "turns": [0.0, 180.0]}],
    }
    process = subprocess.Popen(
        [sys.executable, "-P", str(engine.WORKER)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert process.stdin
    assert process.stdout
    process.stdin.write(json.dumps(job) + "\n")
    process.stdin.flush()
    assert json.loads(process.stdout.readline())["final"] is False
    process.stdin.close()
    started = time.monotonic()
    process.stdout.read()
    process.stdout.close()
    assert process.wait() == 1
    assert time.monotonic() - started < 10.0
