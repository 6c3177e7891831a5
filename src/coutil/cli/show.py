"""What the commands print: plain text tables and their JSON. Nothing here decides anything."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Sequence
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

from coutil.body import MEASUREMENTS
from coutil.units import both, plain

if TYPE_CHECKING:
    from coutil.docket import Docket
    from coutil.draft import Step
    from coutil.lay import LayPlan
    from coutil.make import Work
    from coutil.order import Order
    from coutil.pattern import Finding, Pattern
    from coutil.pattern.seams import Interval
    from coutil.trace import Mended

# How a measurement came about, as it is said.
_STATES = {"taken": "taken", "by_rule": "by rule", "not_taken": "not taken", "standard": "standard size"}


def written_files(paths: Iterable[Path]) -> str:
    """One line for each file written, with its size."""
    return "".join(f"wrote {p}  ({p.stat().st_size / 1024:.0f} kB)\n" for p in paths)


def findings(found: Sequence[Finding]) -> str:
    """Findings, the gravest first, with a count on top; what was only assumed is named together in one line."""
    from coutil.make import ASSUMED, findings_text
    from coutil.pattern import KeysRef

    count = {level: sum(1 for f in found if f.level == level) for level in ("stop", "warn", "note")}
    head = ", ".join(f"{n} {level}" for level, n in count.items() if n)
    assumed = [f for f in found if f.code in ASSUMED]
    rest = [f for f in found if f not in assumed]
    text = f"\nFindings: {head or 'none'}\n{findings_text(rest) if rest or not assumed else ''}"
    if assumed:
        keys = [key for f in assumed if isinstance(f.about, KeysRef) for key in f.about.keys]
        names = ", ".join(key.removeprefix("body.") for key in keys)
        text += f"Not given, so by rule: {names}.\nBy which rule, `coutil make` writes to findings.txt.\n"
    return text


def widths(work: Work) -> str:
    """The widths of the panels that go round the body, level by level, and what they add up to; empty if not known."""
    from coutil.pattern import LEVELS, all_round, level_words

    panels = all_round(work.pattern)
    rows = []
    for level in reversed(LEVELS):
        across = [math.dist(*p.levels[level]) if level in p.levels else None for p in panels]
        if all(w is None for w in across):
            continue
        twice = [2.0 if p.side == "both" else 1.0 for p in panels]
        # A pattern that was brought in may not tell a level on every panel; then it has no girth there.
        known = [w * n for w, n in zip(across, twice, strict=True) if w is not None]
        total = both(sum(known)) if len(known) == len(across) else ""
        rows.append((level_words(level), *("" if w is None else plain(w) for w in across), total))
    named = [p.name if p.side == "both" else f"{p.name} {p.side}" for p in panels]
    return _table(("level", *named, "cloth round"), rows)


def walked(pattern: Pattern) -> str:
    """Every seam, interval by interval, both edges and their difference in mm."""
    rows = [
        (
            i.seam if i.side == "both" else f"{i.seam} ({i.side})",
            f"{_place(i.start)} to {_place(i.end)}",
            plain(i.a_mm),
            plain(i.b_mm),
            _signed(i.difference),
        )
        for i in _intervals(pattern)
    ]
    from coutil.pattern import SeamRef

    table = _table(("seam", "from, to", "one edge", "the other", "difference, mm"), rows)
    return table + findings([f for f in pattern.findings if isinstance(f.about, SeamRef) or f.level == "stop"])


def walk_json(pattern: Pattern) -> str:
    rows = [_interval(i) for i in _intervals(pattern)]
    return _json({"intervals": rows, "findings": _finding_rows(pattern.findings)})


def whose(pattern: Pattern) -> str:
    """A line that leads whatever is printed of a body that was not taken, or of a standard size; else nothing."""
    from coutil.sheets.wording import body_line, not_taken_line

    said = not_taken_line(pattern.not_taken) or body_line(pattern.body)
    return f"{said}.\n\n" if said else ""


def lesson_json(steps: Sequence[Step], *, not_taken: Sequence[str] = ()) -> str:
    return _json(
        {
            "unit": "mm",
            "not_taken": list(not_taken),
            "steps": [
                {
                    "number": n,
                    "group": s.group,
                    "panel": s.panel,
                    "side": s.side,
                    "verb": s.verb,
                    "says": s.says,
                    "why": s.why,
                    "figures": {f.name: {"value": round(f.value, 3), "unit": f.unit} for f in s.figures},
                    "points": {name: [round(x, 4), round(y, 4)] for name, (x, y) in s.points},
                }
                for n, s in enumerate(steps, start=1)
            ],
        }
    )


def guide_text() -> str:
    from coutil.body import guide

    return "\n".join(guide()) + "\n"


def guide_json() -> str:
    return _json(
        {
            "measurements": [
                {
                    "key": m.key,
                    "name": m.name,
                    "how": m.how,
                    "standard": m.standard,
                    "required": m.required,
                    "possible_mm": list(m.possible),
                    "usual_mm": list(m.usual),
                    "rule": m.rule,
                }
                for m in MEASUREMENTS
            ]
        }
    )


def body_text(order: Order) -> str:
    """The body's measurements, each with how it came about, and what there is to remark on them."""
    from coutil.body import judge, size_name
    from coutil.check.body import taken_findings
    from coutil.pattern.telling import says

    rows = [(m.key, both(getattr(order.body, m.key)), _STATES[order.body.state(m.key)]) for m in MEASUREMENTS]
    if not order.body.symmetric:
        for name in ("left", "right"):
            side = getattr(order.body, name)
            rows += [(f"{name}.{key}", both(getattr(side, key)), "") for key in side.__slots__]
    remarks = "".join(f"{r.kind.upper():6} {r.text}\n" for r in judge(order.body) if r.kind != "note")
    remarks = "".join(f"{f.level.upper():6} {says(f)}\n" for f in taken_findings(order.body)) + remarks
    size = size_name(order.body.bust, order.body.underbust)
    # A size made of figures that nobody took is no size of the client's.
    named = "" if {"bust", "underbust"} & {*order.body.not_taken} else f"By EN 13402: {size}\n"
    return _table(("measurement", "value", ""), rows) + f"\n{named}{remarks or 'Nothing to remark.'}\n"


def body_json(order: Order) -> str:
    from coutil.body import judge

    body = order.body
    sides = {
        n: {k: round(getattr(getattr(body, n), k), 4) for k in getattr(body, n).__slots__} for n in ("left", "right")
    }
    return _json(
        {
            "unit": "mm",
            "measurements": {m.key: round(getattr(body, m.key), 4) for m in MEASUREMENTS},
            "sides": sides,
            "states": {m.key: body.state(m.key) for m in MEASUREMENTS},
            "assumed": list(body.assumed),
            "not_taken": list(body.not_taken),
            "standard": None
            if body.standard is None
            else {
                "bust": round(body.standard.bust, 4),
                "cup": body.standard.cup,
                "as_asked": body.standard.as_asked,
            },
            "remarks": [{"kind": r.kind, "keys": list(r.keys), "says": r.text} for r in judge(body)],
        }
    )


def body_refused(order: Order) -> bool:
    """Whether the body has measurements that cannot belong together, or lacks some that must be taken."""
    from coutil.body import judge

    return bool(order.body.not_taken) or any(r.kind == "refuse" for r in judge(order.body))


def lays_text(planned: LayPlan) -> str:
    """Every lay: what it is cut from, its length against the least it could be, and how much of the cloth is used."""
    rows = [
        (
            lay.cloth if lay.on == "length" else f"{lay.cloth} ({lay.on})",
            ", ".join(n.replace("_", " ") for n in lay.layers),
            plain(lay.width_mm),
            both(lay.length_mm),
            f"{lay.length_mm / lay.lower_bound_mm:.2f}" if lay.lower_bound_mm else "",
            f"{100 * lay.used:.0f} %",
            str(len(lay.placements)),
        )
        for lay in planned.lays
    ]
    return _table(("cloth", "layers", "usable width", "length", "x least", "used", "placed"), rows)


def lays_json(planned: LayPlan, *, not_taken: Sequence[str] = ()) -> str:
    from coutil.lay import lay_json

    return _json(lay_json(planned, not_taken=not_taken))


def docket_text(docket: Docket) -> str:
    """What to buy and the price, in short; the docket's PDF has it all."""
    from coutil.sheets.amounts import money, number

    def worth(amount: Decimal | None) -> str:
        return "" if amount is None or p is None else money(amount, p.currency, docket.locale)

    p = docket.price
    rows = [
        (a.what, f"{number(a.quantity, docket.locale, decimals=2)} {a.unit}", worth(a.cost))
        for a in (*docket.materials, *docket.hours)
    ]
    text = _table(("material or work", "how much", "cost"), rows)
    if p is not None:
        text += f"\nPrice {worth(p.net)}, with tax {worth(p.total)}\n"
    return text + findings(docket.findings)


def docket_as_json(docket: Docket) -> str:
    from coutil.docket import docket_json

    return _json(docket_json(docket))


def _signed(mm: float) -> str:
    """A difference to a hundredth of a mm with its sign; what rounds to nothing has none."""
    text = f"{mm:+.2f}"
    return text[1:] if text[1:] == "0.00" else text


def mended_text(mended: Mended) -> str:
    """Every interval before and after, and every place that moved."""
    rows = [
        (f"{_place(b.start)} to {_place(b.end)}", _signed(b.difference), _signed(a.difference))
        for b, a in zip(mended.before, mended.after, strict=True)
    ]
    text = _table(("from, to", "difference before, mm", "after"), rows)
    moved = [(f"{m.panel}, {_place(m.edge)}", _place(m.place), f"{m.mm:.2f}") for m in mended.moves]
    text += "\n" + _table(("panel, edge", "place", "moved by, mm"), moved) if moved else "\nNothing moved.\n"
    return text + "".join(f"{remark}\n" for remark in mended.remarks)


def mended_json(mended: Mended) -> str:
    return _json(
        {
            "unit": "mm",
            "before": [_interval(i) for i in mended.before],
            "after": [_interval(i) for i in mended.after],
            "moves": [
                {
                    "panel": m.panel,
                    "side": m.side,
                    "edge": m.edge,
                    "place": m.place,
                    "from": list(m.before),
                    "to": list(m.after),
                    "mm": round(m.mm, 4),
                }
                for m in mended.moves
            ],
            "remarks": list(mended.remarks),
        }
    )


def _interval(i: Interval) -> dict[str, Any]:
    return {
        "seam": i.seam,
        "side": i.side,
        "from": i.start,
        "to": i.end,
        "a_mm": round(i.a_mm, 4),
        "b_mm": round(i.b_mm, 4),
        "difference_mm": round(i.difference, 4),
    }


def _intervals(pattern: Pattern) -> Iterable[Interval]:
    from coutil.check import walk

    return walk(pattern)


def _finding_rows(found: Iterable[Finding]) -> list[dict[str, Any]]:
    from coutil.pattern.json import finding_json

    return [finding_json(f) for f in found]


def _place(mark: str) -> str:
    return mark.replace("_", " ")


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, indent=1) + "\n"


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Columns of text, the first to the left and the others to the right, two spaces apart."""
    wide = [max(len(r[k]) for r in [head, *rows]) for k in range(len(head))]
    lines = []
    for r in [head, *rows]:
        cells = [r[0].ljust(wide[0]), *(c.rjust(w) for c, w in zip(r[1:], wide[1:], strict=True))]
        lines.append("  ".join(cells).rstrip())
    return "\n".join(lines) + "\n"
