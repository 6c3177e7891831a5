"""The list of hand-made faults (bench/mutants.py) aims at code and tests that are there."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "bench"))


def test_every_fault_finds_its_place_once_and_its_tests() -> None:
    """Where code has moved, aim the fault anew; it is not taken off the list."""
    from mutants import MUTANTS, misaimed

    assert misaimed() == []
    assert len({m.name for m in MUTANTS}) == len(MUTANTS) > 30
    assert all(m.old != m.new for m in MUTANTS)
    assert not any("test_reference" in t for m in MUTANTS for t in m.tests)
