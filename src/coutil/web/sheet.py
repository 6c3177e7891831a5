"""The sheet: one open order as the page shows it (docs/web-api.md, 3). Assembles what is worked out elsewhere."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from coutil.body import standard_words
from coutil.book import OrderEntry
from coutil.lay.model import LayPlan
from coutil.make import Work, whose_body
from coutil.order import Order
from coutil.pattern import Pattern
from coutil.sheets.wording import cautions
from coutil.web.checks import cups, walked
from coutil.web.downloads import offered
from coutil.web.drawing import drawing, part_ids
from coutil.web.edits import Refusal
from coutil.web.governs import Drawn
from coutil.web.handles import plunge_now
from coutil.web.margin import anchors_of, in_margin, remarks
from coutil.web.places import place_panels
from coutil.web.readings import tape_in_order
from coutil.web.sentences import keys_in, spreads
from coutil.web.spreads import spread
from coutil.web.values import Told, describe
from coutil.words import say


@dataclass(frozen=True, slots=True)
class Opened:
    """An order as it stands, worked out. `work` is None where it cannot be drafted; `refused` then says why."""

    entry: OrderEntry
    doc: Mapping[str, Any]
    order: Order
    work: Work | None
    refused: tuple[Refusal, ...] = ()
    undo: str | None = None
    redo: str | None = None


def sheet(now: Opened, unit: str, wanted: str, lays: Mapping[str, Any], plan: LayPlan | None) -> dict[str, Any]:
    """The whole sheet; `wanted` names the spread whose heavy part comes along ("" for none)."""
    work = now.work
    lit = Drawn.nothing()
    drawn: dict[str, Any] | None = None
    findings: list[dict[str, Any]] = []
    if work is not None:
        placed = place_panels(work.pattern)
        drawn = drawing(work, unit, placed)
        lit = Drawn.of(work.pattern, part_ids(drawn, placed), now.order.style)
        findings = in_margin(work.pattern, lit, anchors_of(drawn))
    else:
        findings = in_margin(Pattern("", (), (), findings=whose_body(now.order)), lit, {})
    # What was not taken is told by the values themselves and by the verdict, not beside each of them once more.
    own = whose_body(now.order)
    worst = next((level for level in ("stop", "warn", "note") if any(f["level"] == level for f in findings)), "")
    body = now.doc.get("body", {})
    heavy = None if work is None or not wanted else spread(wanted, work, unit, plan)
    told = spreads(
        now.order,
        uneven="left" in body or "right" in body,
        worst="stop" if work is None else worst,
        steps=_steps_in(heavy),
        drawn=work is not None,
        low=None if work is None else plunge_now(work),
        padded=work is None or work.draft is not None or any("bust_point" in p.points for p in work.pattern.panels),
    )
    about = Told(
        now.doc,
        now.order,
        work,
        unit,
        lit,
        {} if work is None else remarks(f for f in work.pattern.findings if f not in own),
        now.entry.typed,
    )
    out: dict[str, Any] = {
        "order": order_line(now.entry),
        "tape": tape_in_order(now.entry.tape),
        "version": now.entry.edit,
        "step": now.entry.version,
        "undo": now.undo,
        "redo": now.redo,
        "unit": unit,
        "spreads": told,
        "values": {key: describe(key, about) for key in keys_in(told)},
        "drawing": drawn,
        "findings": findings,
        "cups": [] if work is None else cups(work.pattern.cups, unit),
        "walk": [] if work is None else walked(work.pattern, placed),
        "lays": lays,
        "spread": heavy,
        "files": offered(now.entry.id, work),
        "body": _body(now.order),
        "cautions": list(cautions(() if work is None else work.layers)),
    }
    if now.refused:
        out["refused"] = refusals(now.refused)
    return out


def _body(order: Order) -> dict[str, Any]:
    """Whose body it is: the readings that are not taken, in words, and the standard size that was asked for as such."""
    body = order.body
    asked = standard_words(body.standard) if body.as_asked and body.standard is not None else ""
    return {"not_taken": [key.replace("_", " ") for key in body.not_taken], "standard": asked}


def _steps_in(heavy: Mapping[str, Any] | None) -> int | None:
    """How many steps the lesson has, where it is what comes along."""
    if heavy is None or "groups" not in heavy:
        return None
    return sum(len(group["steps"]) for group in heavy["groups"])


def refusals(found: tuple[Refusal, ...]) -> list[dict[str, str]]:
    return [{"key": r.key, "says": _whole(r)} for r in found]


def _whole(refusal: Refusal) -> str:
    if not refusal.allowed:
        return refusal.says
    return say("refused.takes", says=refusal.says, allowed=refusal.allowed)


def order_line(entry: Any) -> dict[str, Any]:
    """One order of the list; `entry` is an OrderEntry or an OrderLine of the book."""
    return {
        "id": f"o{entry.id}",
        "name": entry.name,
        "client": {"id": f"c{entry.client_id}", "label": entry.client_label},
        "due": entry.due.isoformat() if entry.due else None,
        "changed": entry.changed_at.isoformat().replace("+00:00", "Z"),
        "version": entry.edit,
    }
