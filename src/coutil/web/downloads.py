"""Files of an order that the page offers: each under one fixed name, made when it is asked for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from coutil.docket import Docket, DocketError
from coutil.lay.model import LayPlan
from coutil.make import ROLL_WIDTH, Work, findings_text, lesson_of
from coutil.units import leading
from coutil.web.spreads import docket_of
from coutil.words import say

_TYPES: Final = {
    "pdf": "application/pdf",
    "svg": "image/svg+xml",
    "dxf": "image/vnd.dxf",
    "json": "application/json",
    "txt": "text/plain; charset=utf-8",
    "toml": "application/toml",
}


@dataclass(frozen=True, slots=True)
class Made:
    """A file ready to be sent."""

    name: str
    data: bytes

    @property
    def media(self) -> str:
        return _TYPES[self.name.rsplit(".", 1)[1]]


@dataclass(frozen=True, slots=True)
class _Kind:
    name: str
    text: str
    spreads: tuple[str, ...]
    make: Callable[[Work, LayPlan | None], bytes]


def offered(order_id: int, work: Work | None) -> list[dict[str, Any]]:
    """The files that an order can give, for the sheet (docs/web-api.md, 7); its own file even if it cannot be drawn."""
    out = []
    for kind in KINDS.values():
        if not _is_given(kind.name, work):
            continue
        ending = kind.name.rsplit(".", 1)[1]
        out.append(
            {
                "id": kind.name.replace(".", "-"),
                "href": f"/api/orders/o{order_id}/file/{kind.name}",
                "name": kind.name,
                "text": say(f"file.{kind.text}"),
                "kind": ending.upper(),
                "spreads": list(kind.spreads),
                "print": ending == "pdf",
            }
        )
    return out


def _is_given(name: str, work: Work | None) -> bool:
    if name == ORDER_FILE or work is None:
        return name == ORDER_FILE
    if name.startswith(("pattern-", "pieces")):
        return bool(work.pattern.pieces)
    if name == "lesson.pdf":
        return bool(work.lesson)
    return name != "quote.pdf" or work.order.money.hour is not None


def make_file(name: str, work: Work, plan: LayPlan | None, text: str) -> Made | None:
    """The file of that name, None if there is none such. Raises DocketError where the docket refuses."""
    if name == ORDER_FILE:
        return Made(name, text.encode())
    kind = KINDS.get(name)
    if kind is None:
        return None
    with leading(work.order.told_in):
        return Made(name, kind.make(work, plan))


def _pattern(paper: str) -> Callable[[Work, LayPlan | None], bytes]:
    def make(work: Work, plan: LayPlan | None) -> bytes:
        from coutil import sheets

        label, name = work.order.client.label, work.order.name
        width = ROLL_WIDTH if paper == "roll" else None
        return sheets.pattern_pdf(work.pattern, paper, label=label, order_name=name, roll_width=width).data

    return make


def _panels(work: Work, plan: LayPlan | None) -> bytes:
    from coutil import sheets

    return sheets.panels_svg(work.pattern, work.order.name).encode()


def _pieces(work: Work, plan: LayPlan | None) -> bytes:
    from coutil import sheets

    name = work.order.name
    return sheets.pieces_svg(work.pattern, name, label=work.order.client.label, order_name=name).encode()


def _dxf(work: Work, plan: LayPlan | None) -> bytes:
    from coutil.sheets.dxf import pattern_dxf

    return pattern_dxf(work.pattern, order=work.order.name, client=work.order.client.label)


def _json(work: Work, plan: LayPlan | None) -> bytes:
    from coutil.pattern.json import dumps

    return dumps(work.pattern).encode()


def _lesson(work: Work, plan: LayPlan | None) -> bytes:
    return lesson_of(work)


def _findings(work: Work, plan: LayPlan | None) -> bytes:
    return findings_text(work.pattern.findings).encode()


def _docket(work: Work, plan: LayPlan | None) -> bytes:
    from coutil.sheets.docket import docket_pdf

    return docket_pdf(_made(work, plan))


def _quote(work: Work, plan: LayPlan | None) -> bytes:
    from coutil.sheets.docket import quote_pdf

    return quote_pdf(_made(work, plan))


def _card(work: Work, plan: LayPlan | None) -> bytes:
    from coutil.sheets.card import card_pdf

    return card_pdf(work.order, work.pattern, _made(work, plan))


def _made(work: Work, plan: LayPlan | None) -> Docket:
    docket = docket_of(work, plan)
    if isinstance(docket, DocketError):
        raise docket
    return docket


ORDER_FILE: Final = "order.toml"
_ALL: Final = ("tape", "shape", "pads", "checks", "cloth", "making", "money", "lesson")
KINDS: Final[dict[str, _Kind]] = {
    k.name: k
    for k in (
        _Kind("pattern-a4.pdf", "pattern-a4", ("shape", "pads"), _pattern("a4")),
        _Kind("pattern-letter.pdf", "pattern-letter", ("shape", "pads"), _pattern("letter")),
        _Kind("pattern-a3.pdf", "pattern-a3", ("shape", "pads"), _pattern("a3")),
        _Kind("pattern-a0.pdf", "pattern-a0", ("shape", "pads"), _pattern("a0")),
        _Kind("pattern-roll.pdf", "pattern-roll", ("shape", "pads"), _pattern("roll")),
        _Kind("panels.svg", "panels", ("shape",), _panels),
        _Kind("pieces.svg", "pieces", ("pads",), _pieces),
        _Kind("pieces.dxf", "pieces", ("pads", "cloth"), _dxf),
        _Kind("pattern.json", "pattern-json", ("checks",), _json),
        _Kind("findings.txt", "findings", ("checks",), _findings),
        _Kind("card.pdf", "card", ("making",), _card),
        _Kind("docket.pdf", "docket", ("money", "cloth"), _docket),
        _Kind("quote.pdf", "quote", ("money",), _quote),
        _Kind("lesson.pdf", "lesson", ("lesson",), _lesson),
        _Kind(ORDER_FILE, "order", _ALL, lambda work, plan: b""),
    )
}
