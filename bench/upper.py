"""How much of its stand-off the shaping above the bust closes: python bench/upper.py

Eleven garments tried on with `[style] upper` at 0, 0.5 and 1 (as `coutil worn` does), a row of Markdown for each: the
stand-off at the top of the cup seam in mm, * where a limit keeps the draft from taking in what is asked for, and what
parts of it a half and all close. About ten minutes on one core.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from coutil.draft import draft
from coutil.order import Order, Style, parse_order
from coutil.seaming import READY
from coutil.worn.from_order import order_form, reaches, wear_order
from coutil.worn.mend import cup_top
from coutil.worn.reading import read
from coutil.worn.wear import Stand, stand_of

DEMO = Path(__file__).parent.parent / "examples" / "sea-green.toml"
KEYS = ("bust", "underbust", "waist", "bust_span", "bust_to_underbust", "bust_to_waist", "high_hip", "high_hip_depth")
# Tapes of our own invention, in cm, in the order of KEYS.
TAPES = {
    "small": (82, 72, 64, 16.5, 6.5, 17, 84, 10),
    "medium": (92, 76, 70, 18.5, 7.5, 18, 90, 10),
    "slim and full": (98, 72, 64, 19, 9, 18.5, 86, 10),
    "full": (108, 84, 78, 21, 9.5, 19, 100, 10),
    "very full": (124, 96, 92, 23.5, 11, 20, 114, 10),
}
GARMENTS = (
    *(("demo", s) for s in ("princess-4", "side-panel-4", "corset-7")),
    *((t, "princess-4") for t in TAPES),
    *(("small", "corset-7"), ("full", "side-panel-4"), ("full", "corset-7")),
)
UPPER = (0.0, 0.5, 1.0)


def order_of(tape: str, seaming: str) -> Order:
    if tape == "demo":
        order = parse_order(DEMO.read_text(encoding="utf-8"))
        return replace(order, style=replace(order.style, seaming=READY[seaming]))
    told = "\n".join(f"{k} = {v}" for k, v in zip(KEYS, TAPES[tape], strict=True))
    body = parse_order(f'coutil = 1\nname = "{tape}"\nunit = "cm"\n[body]\n{told}\n').body
    return Order(tape, body, style=Style(seaming=READY[seaming]))


def rows() -> Iterator[str]:
    stands: dict[str, Stand] = {}
    for tape, seaming in GARMENTS:
        order = order_of(tape, seaming)
        off, held = [], []
        for upper in UPPER:
            made = draft(order.body, replace(order.style, upper=upper), order.name)
            if tape not in stands:
                stands[tape] = stand_of(order_form(order, made.pattern))
            worn = wear_order(order, made.pattern, stand=stands[tape])
            off.append(cup_top(made.pattern, read(worn, reaches(order, made.pattern))))
            held.append(made.upper is not None and made.upper.short > 0.0)
        body = order.body
        girths = f"{body.bust / 10:g} / {body.underbust / 10:g}"
        figures = " | ".join(f"{mm:.0f}{'*' if h else ''}" for mm, h in zip(off, held, strict=True))
        closed = " | ".join(f"{1.0 - mm / off[0]:.2f}" for mm in off[1:])
        yield f"| {tape} | {girths} | {seaming} | {figures} | {closed} |"


def main() -> None:
    print("| body | bust / underbust, cm | seaming | `upper` 0 | 0.5 | 1 | closed by 0.5 | by 1 |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    for row in rows():
        print(row, flush=True)


if __name__ == "__main__":
    main()
