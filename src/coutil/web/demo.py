"""The demo order that a first visit opens: in the wheel beside this file, in a checkout among the examples."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path


def demo_text() -> str:
    packed = files("coutil.web") / "demo.toml"
    if packed.is_file():
        return packed.read_text("utf-8")
    return (Path(__file__).parents[3] / "examples" / "sea-green.toml").read_text("utf-8")
