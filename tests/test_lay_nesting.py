"""The bench for public strip-packing instances, on a small instance of our own invention."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

BENCH = Path(__file__).parent.parent / "bench" / "nesting.py"

# Four squares and four right-angled triangles that pair up into two squares more: they fill 3 by 2 squares of a strip.
INSTANCE = {
    "name": "own",
    "strip_height": 10.2,
    "items": [
        {
            "id": 0,
            "demand": 4,
            "allowed_orientations": [0.0],
            "shape": {"type": "simple_polygon", "data": [[0, 0], [5, 0], [5, 5], [0, 5], [0, 0]]},
        },
        {
            "id": 1,
            "demand": 4,
            "allowed_orientations": [0.0, 180.0],
            "shape": {"type": "simple_polygon", "data": [[0, 0], [5, 0], [0, 5]]},
        },
    ],
}


def run(path: Path, *more: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, str(BENCH), str(path), *more], capture_output=True, text=True, check=False)


def test_an_instance_is_placed_and_checked(tmp_path: Path) -> None:
    file = tmp_path / "own.json"
    file.write_text(json.dumps(INSTANCE))
    done = run(file, "--time", "2")
    assert done.returncode == 0, done.stdout + done.stderr
    name, _, rest = done.stdout.partition(": width ")
    width = float(rest.split(",")[0])
    density = float(rest.split("density ")[1].split("%")[0]) / 100.0
    assert name == "own"
    # 150 of area over a height of 10.2 cannot be shorter than 14.7; a place for each in a row of five pairs is 25.
    assert 14.7 <= width <= 25.0
    assert density == pytest.approx(150.0 / (10.2 * width), rel=1e-3)
    assert "8 shapes" in done.stdout


@pytest.mark.parametrize("text", ["", "{}", '{"strip_height": 3, "items": [{"demand": 1}]}', "[1]"])
def test_a_file_that_is_no_instance_is_said_to_be_none(tmp_path: Path, text: str) -> None:
    file = tmp_path / "bad.json"
    file.write_text(text)
    done = run(file)
    assert done.returncode == 2
    assert "is no strip-packing instance" in done.stderr
    assert "Traceback" not in done.stderr
