"""Whatever stands in a file, reading raises OrderError or gives an order; nothing else, and not slowly."""

from __future__ import annotations

import contextlib
import time
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coutil.order import OrderError, new_order, parse_order, read_order
from coutil.order.keys import TABLES

DEMO = (Path(__file__).parent.parent / "examples" / "sea-green.toml").read_text(encoding="utf-8")
KEYS = sorted({k.name for t in TABLES.values() for k in t.keys} | {n for t in TABLES.values() for n in t.inner})

anything: st.SearchStrategy[Any] = st.recursive(
    st.one_of(
        st.booleans(),
        st.integers(-(2**63), 2**63 - 1),
        st.floats(),
        st.text(st.characters(blacklist_categories=("Cs",)), max_size=12),
        st.sampled_from(["1 cm", "36 1/4 in", "1/0 in", "plunge", "shell", "EUR", "lacing", "cm", "mm", ""]),
        st.dates(),
        st.times(),
    ),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(KEYS), inner, max_size=4),
    max_leaves=8,
)


def outcome(text: str) -> str | None:
    """None for an order, else what was said; anything but OrderError escapes and fails the test."""
    try:
        parse_order(text, "fuzz.toml")
    except OrderError as e:
        refusal = e
    else:
        return None
    assert refusal.problems
    assert all(p.startswith("fuzz.toml: ") and p.isprintable() for p in refusal.problems)
    return str(refusal)


@given(st.text(max_size=300))
def test_any_text(text: str) -> None:
    assert outcome(text) is not None or "bust" in text


@settings(suppress_health_check=[HealthCheck.too_slow])
@given(st.dictionaries(st.sampled_from(KEYS), anything, max_size=8))
def test_any_document(document: dict[str, Any]) -> None:
    outcome(tomlkit.dumps(document))


@settings(max_examples=400, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_any_value_in_any_place_of_a_good_order(data: st.DataObject) -> None:
    document = tomlkit.parse(new_order()).unwrap()
    name = data.draw(st.sampled_from(sorted(TABLES)))
    place: Any = document
    if name == "cloth":
        place = {"name": "a", "for": ["shell"]}
        document["cloth"] = [place]
    elif name:
        for part in name.split("."):
            place = place.setdefault(part, {})
    keys = [k.name for k in TABLES[name].keys] + list(TABLES[name].inner)
    place[data.draw(st.sampled_from(keys))] = data.draw(anything)
    outcome(tomlkit.dumps(document))


@settings(max_examples=300)
@given(st.data())
def test_a_damaged_file(data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(DEMO)))
    cut = data.draw(st.integers(0, 20))
    put = data.draw(st.text(max_size=5))
    outcome(DEMO[:at] + put + DEMO[at + cut :])


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.binary(max_size=200))
def test_any_bytes_in_a_file(tmp_path: Path, data: bytes) -> None:
    f = tmp_path / "bytes.toml"
    f.write_bytes(data)
    with contextlib.suppress(OrderError):
        read_order(f)


@pytest.mark.parametrize(
    "text",
    [
        "\n".join(f"k{i} = 1" for i in range(60000)),
        "[body]\n" + "\n".join(f"k{i} = 1" for i in range(60000)),
        "a = [" + "1," * 300000 + "]",
        'a = "' + "x" * 900000 + '"',
        '[body]\nbust = "' + "1 " * 400000 + '"',
        "[[cloth]]\n" * 50000,
        "[client]\nlabel = '" + "½" * 100000 + "'",
        ".".join("a" * 2000) + " = 1",
        "a = " + "{a=" * 2000,
    ],
    ids=["top keys", "body keys", "list", "text", "length", "cloths", "label", "dots", "tables"],
)
def test_a_hostile_file_is_refused_in_good_time(text: str) -> None:
    start = time.perf_counter()
    assert outcome(text) is not None
    # Generous for a loaded machine; each takes well below a second alone.
    assert time.perf_counter() - start < 5.0
