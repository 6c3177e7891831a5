"""Write the reference files anew: python tests/write_reference.py [--orders]

Without --orders the orders that are kept stay what they are, and only their results are taken anew; with it the orders
are drawn anew as well, 300 that can be made and 6 that are refused. See tests/test_reference.py for when that is right.
"""

from __future__ import annotations

import json
import lzma
import sys
from collections.abc import Iterator

import reference
from coutil.make import work_out
from coutil.order import OrderError, parse_order
from reference_orders import order_texts

MADE, REFUSED = 300, 6
SEED = 1


def drawn() -> Iterator[str]:
    """The texts of the orders to keep: the first that are made, and the first few that are refused."""
    left = {False: MADE, True: REFUSED}
    for text in order_texts(4 * MADE, SEED):
        if not any(left.values()):
            return
        try:
            work_out(parse_order(text))
        except OrderError:
            refused = True
        else:
            refused = False
        if left[refused]:
            left[refused] -= 1
            yield text
    if any(left.values()):
        sys.exit(f"too few orders: {left[False]} made and {left[True]} refused are missing")


def write(*, orders: bool) -> None:
    out = []
    for text in drawn() if orders else [reference.unpacked(k)["order"] for k in reference.kept()]:
        lines: list[reference.Plain] = []
        result = reference.packed(reference.outcome(text), lines, {})
        out.append(_json({"order": text, "result": result, "lines": lines}))
    _write("orders.jsonl", "\n".join(out))
    demo = reference.DEMO.read_text(encoding="utf-8")
    _write("demo.json", _json({"order": demo, "result": reference.outcome(demo)}))


def _json(value: reference.Plain) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def _write(name: str, text: str) -> None:
    reference.FOLDER.mkdir(exist_ok=True)
    path = reference.FOLDER / f"{name}.xz"
    path.write_bytes(lzma.compress(text.encode(), preset=9 | lzma.PRESET_EXTREME))
    print(f"{path.name}: {len(text) / 1e6:.1f} MB, packed {path.stat().st_size / 1e6:.2f} MB")


if __name__ == "__main__":
    write(orders="--orders" in sys.argv[1:])
