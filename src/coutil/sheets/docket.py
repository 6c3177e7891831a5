"""The docket that is pinned to the work, and the quote for the client: two PDFs from one docket."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from coutil.docket import Amount, Bone, Buy, CutLine, Docket, DocketError, Fastening, FuseLine, Price
from coutil.docket.kit import STAY_HOOKS
from coutil.docket.model import BackKit
from coutil.layers.openings import place_words
from coutil.order.keys import TABLES
from coutil.pattern import about_words, says
from coutil.pattern.model import Layer
from coutil.sheets import typeset
from coutil.sheets.amounts import date, money, number, percent, rate
from coutil.sheets.fonts import PRINTED_ABOUT
from coutil.sheets.wording import LAYER_WORDS, body_line, cautions, how_many, not_taken_line, owner_words, turned_lining
from coutil.units import TELL, both, millimetres, plain, stepped, width
from coutil.words import Key, capital, say

# A square to tick, drawn: no letter of the house font is one.
TICK = "box(width: 8pt, height: 8pt, stroke: 0.6pt)"


def docket_pdf(docket: Docket, *, paper: str = "A4") -> bytes:
    """The docket with all its workings, as PDF; the same docket gives the same bytes. ValueError for unknown paper."""
    title = say("docket.sheet.title", order=docket.order)
    body = [
        # A little closer than the other sheets, so that a common order takes two pages: one leaf to pin up.
        "#set text(size: 9pt)\n#set table(inset: (x: 4pt, y: 2.3pt))",
        f"#heading(level: 1, {typeset.quoted(title)})",
        *([f"#strong({typeset.quoted(say('docket.sheet.client', client=docket.client))})"] if docket.client else []),
        *([f"#strong({typeset.quoted(body_line(docket.body))})"] if docket.body else []),
        typeset.words(f"{docket.garment}."),
        *_findings(docket),
        _head("cut"),
        _cut(docket),
        _whole(_fuse(docket.fuse)),
        _whole(_buy(docket.buy)),
        _whole((_head("bones"), _bones(docket))),
        _whole((_head("closing"), typeset.table("(auto, 1fr)", [*_fastening(docket), *_kit(docket.kit)]))),
        _whole((_head("thread"), _thread(docket))),
        *_money(docket),
        _whole((_head("care"), typeset.bullets(cautions(_layers(docket))))),
    ]
    warn, footer = not_taken_line(docket.not_taken), _footer(say("docket.sheet.footer"), docket)
    return typeset.typeset("\n\n".join(body), title=title, paper=paper, footer=footer, warn=warn)


def quote_pdf(docket: Docket, *, issued: datetime.date | None = None, paper: str = "A4") -> bytes:
    """The client's quote, without the workings, as PDF. Without `issued` the date is left to be written by hand.

    Raises DocketError where the docket has no price, ValueError for unknown paper.
    """
    price = docket.price
    if price is None:
        raise DocketError("no_price", Key("money.hour"), Key("money.currency"))
    which = "estimate" if price.unpriced else "quote"
    kind = say(f"quote.{which}")
    when = date(issued, docket.locale) if issued else "____________________"
    blank = "____________________"
    rows = [
        (say("quote.date"), when),
        (say("quote.client"), docket.client or blank),
        (say("quote.order"), docket.order),
    ]
    rows += [(say("quote.body"), body_line(docket.body))] if docket.body else []
    sums = [(say("quote.price" if price.tax_percent else "quote.total"), price.net)]
    if price.tax_percent:
        sums += [
            (f"{docket.tax_name} {percent(price.tax_percent, docket.locale)}", price.tax),
            (say("quote.total"), price.total),
        ]
    body = [
        "#set text(size: 11pt)",
        *_maker(docket),
        f"#heading(level: 1, {typeset.quoted(kind)})",
        "#v(4mm)",
        f"#grid(columns: (28mm, 1fr), row-gutter: 4mm, {_pairs(rows)})",
        "#v(6mm)",
        f"#text(size: 12pt, {typeset.quoted(f'{docket.garment}. {_included(docket)}')})",
        "#v(6mm)",
        f"#line(length: 100%, stroke: 0.4pt)\n#grid(columns: (1fr, auto), row-gutter: 4mm, "
        f"{_sums(sums, price, docket.locale)})\n"
        "#line(length: 100%, stroke: 0.4pt)",
        "#v(6mm)",
        typeset.words(_validity(which, docket, issued)),
        *(_estimate(price)),
        "#v(22mm)",
        f"#grid(columns: (1fr, 1fr), column-gutter: 12mm, {_signature('maker')}, {_signature('signer')})",
    ]
    warn = not_taken_line(docket.not_taken)
    title = f"{kind}: {docket.order}"
    return typeset.typeset("\n\n".join(body), title=title, paper=paper, footer=docket.order, warn=warn)


def _maker(docket: Docket) -> Iterator[str]:
    """Who makes it, on top of the quote, where the house or the order says."""
    maker = docket.maker
    rows = [maker.name, *maker.address.splitlines()]
    rows += [say("quote.tax_number", number=maker.tax_number)] if maker.tax_number else []
    lines = ", ".join(typeset.cell(r) for r in rows if r)
    if lines:
        yield f"#align(right, stack(spacing: 1.5mm, {lines}))"


def _head(title: str) -> str:
    """A heading of the docket by its name in the catalogue."""
    return f"#heading(level: 2, {typeset.quoted(say(f'docket.head.{title}'))})"


def _whole(parts: Iterable[str]) -> str:
    """What must not be torn apart by the end of a page."""
    inner = "\n\n".join(parts)
    return f"#block(breakable: false, width: 100%, above: 9pt)[{inner}]" if inner else ""


def _footer(kind: str, docket: Docket) -> str:
    return " · ".join(s for s in (kind, docket.order, owner_words(docket.client, docket.body)) if s)


def _layers(docket: Docket) -> set[Layer]:
    return {n.layer for n in docket.cut}


def _findings(docket: Docket) -> Iterator[str]:
    """What to know before cutting, in a frame on top: it must not be overlooked."""
    rows = [f"{f.level}, {about_words(f.about)}: {says(f)}" for f in docket.findings if f.level != "note"]
    if rows:
        lines = ", ".join(typeset.cell(r) for r in rows)
        yield f"#block(width: 100%, stroke: 1pt, inset: 6pt, list({lines}))"
    notes = [f"{about_words(f.about)}: {says(f)}" for f in docket.findings if f.level == "note"]
    if notes:
        yield f"#fine(list({', '.join(typeset.cell(n) for n in notes)}))"


def _cut(docket: Docket) -> str:
    """A table for each layer, a row to tick for each piece; a layer's name never stands alone at the foot of a page."""
    blocks = any(n.block for n in docket.cut)
    columns = "(16pt, 1fr, 46mm, 72mm)" if blocks else "(16pt, 1fr, 60mm)"
    head = ["", *(say(f"docket.cut.{h}") for h in ("piece", "cut", *(("from",) if blocks else ())))]
    parts = [_together(_table(columns, head, ()))]
    for layer in dict.fromkeys(n.layer for n in docket.cut):
        lines = [n for n in docket.cut if n.layer == layer]
        total = sum(n.quantity for n in lines)
        title = say("docket.cut.layers" if total > 1 else "docket.cut.layer", layer=LAYER_WORDS[layer], count=total)
        rows = [f"table.cell(colspan: {len(head)}, fill: luma(225), {typeset.cell(title, strong=True)})"]
        for n in lines:
            name = n.piece.rsplit(", ", 1)[0]
            cells = [TICK, typeset.cell(name), typeset.cell(_cut_how(n))]
            # A block of one piece bears its name; one that is shared must be named.
            block = "" if n.block is None else say("docket.cut.block") if n.block.startswith(n.piece) else n.block
            rows.append(", ".join([*cells, typeset.cell(block)] if blocks else cells))
        parts.append(_together(f"#table(columns: {columns}, {', '.join(rows)})"))
    return "\n".join(parts)


def _together(table: str) -> str:
    """A table that is not torn apart by the end of a page, right below what stands before it."""
    return f"#block(breakable: false, width: 100%, above: 0pt, below: 0pt)[{table}]"


def _cut_how(n: CutLine) -> str:
    how = how_many(n.quantity, n.mirrored_pair, n.on_fold)
    return say("sheet.face_down", how=how) if turned_lining(n.layer, n.side) else how


def _fuse(lines: Sequence[FuseLine]) -> Iterator[str]:
    if not lines:
        return
    yield _head("fuse")
    # Cloth and interfacing of a block are cut alike: one row for both.
    alike: dict[tuple[object, ...], list[FuseLine]] = {}
    for n in lines:
        panels = tuple(name.rsplit(", ", 1)[0] for name in n.pieces)
        key = (panels, round(n.length, 1), round(n.width, 1), n.quantity, n.on_fold)
        alike.setdefault(key, []).append(n)
    rows = []
    for group in alike.values():
        n = group[0]
        names = say("docket.fuse.with").join(name.rsplit(", ", 1)[0] for name in n.pieces)
        layers = ", ".join(LAYER_WORDS[m.layer] for m in group)
        how = how_many(n.quantity, n.mirrored_pair, n.on_fold)
        how = say("docket.fuse.of_each", how=how) if len(group) > 1 else how
        rows.append((names, layers, both(n.length), both(n.width), how))
    head = _heads("fuse", "block", "from", "along", "across", "cut")
    yield typeset.table("(1fr, auto, auto, auto, auto)", rows, head=head)
    if any(n.layer == "lining" and not n.mirrored_pair and not n.on_fold for n in lines):
        yield f"#fine[{typeset.words(say('docket.fuse.lining_turned'))}]"


def _buy(lines: Sequence[Buy]) -> Iterator[str]:
    if not lines:
        return
    yield _head("buy")
    rows = []
    for n in lines:
        layers = ", ".join(say(f"cloth_layer.{x}") for x in n.layers)
        if n.unit == "sheet":
            count = round(n.buy)
            rows.append((n.cloth, layers, "", _sheets(count)))
        else:
            need = both(n.needed) if n.needed > 0 else say("docket.buy.nothing")
            bought = (
                say("docket.buy.sold_by", length=both(n.buy), by=both(n.sold_by))
                if n.buy
                else say("docket.buy.nothing")
            )
            rows.append((n.cloth, layers, need, bought))
    yield typeset.table("(1fr, auto, auto, auto)", rows, head=_heads("buy", "cloth", "for", "needed", "buy"))
    yield f"#fine[{typeset.words(say('docket.buy.counted_in'))}]"


def _bones(docket: Docket) -> str:
    if not docket.bones:
        return typeset.words(say("docket.bones.none"))
    rows = [
        (f"{b.quantity} ×", both(b.length), _kind(b), both(b.channel), f"{_where(b)}: {b.says}") for b in docket.bones
    ]
    first = docket.bones[0]
    table = typeset.table(
        "(auto, auto, auto, auto, 1fr)",
        rows,
        head=("", *_heads("bones", "bone", "kind", "channel", "where")),
    )
    sums = say(
        "docket.bones.sums",
        boning=both(docket.bone_total),
        casing=both(docket.casing),
        clear=both(first.clearance),
        top=both(first.clearance_top),
        tips=sum(b.tips for b in docket.bones),
        about=PRINTED_ABOUT,
        tell=f"{TELL:g}",
    )
    return f"{table}\n\n#fine[{typeset.words(sums)}]"


def _kind(bone: Bone) -> str:
    return say("docket.bones.of", kind=bone.kind, width=width(bone.width))


def _where(bone: Bone) -> str:
    return bone.where if bone.side == "both" else f"{bone.where}, {bone.side}"


def _kit(kit: BackKit) -> Iterator[tuple[str, str]]:
    if kit.stay:
        says = say("docket.kit.stay_is", stay=both(kit.stay), cut=both(kit.stay_cut), hooks=STAY_HOOKS)
        yield say("docket.kit.stay"), says
    if kit.gripper:
        yield say("docket.kit.gripper"), both(kit.gripper)
    if kit.ribbon:
        yield say("docket.kit.loops"), both(kit.ribbon)


def _fastening(docket: Docket) -> Iterator[tuple[str, str]]:
    """What closes each opening; where there are several, each with where it lies."""
    several = len(docket.fastenings) > 1
    spares = sum(int(m.quantity) for m in docket.materials if m.what == "eyelets")
    spares -= sum(2 * f.count for f in docket.fastenings if f.kind == "lacing")
    for f in docket.fastenings:
        yield from _closes(f, spares, several=several)


def _closes(f: Fastening, spares: int, *, several: bool) -> Iterator[tuple[str, str]]:
    if f.kind == "none":
        yield say("docket.closes.none"), f.says
        return
    edge = (
        both(f.edges[0])
        if max(f.edges) - min(f.edges) < 0.05
        else say("docket.closes.and").join(both(e) for e in f.edges)
    )
    at = capital(place_words(f.at))
    yield say("docket.closes.edge_at", at=at) if several else say("docket.closes.edge"), edge
    if f.kind in ("zip", "busk", "elastic"):
        yield say(f"docket.closes.{f.kind}"), f"{both(f.zip)}: {f.says}"
        return
    if f.kind in ("hooks", "buttons"):
        step = stepped(f.spacing)
        yield say(f"docket.closes.{f.kind}"), say("docket.closes.hooks_are", count=f.count, step=step, says=f.says)
        return
    says = say(
        "docket.closes.eyelets_are",
        all=2 * f.count,
        each=f.count,
        step=stepped(f.spacing),
        inset=stepped(f.inset),
        spares=spares,
    )
    yield say("docket.closes.eyelets"), says
    yield say("docket.closes.cord"), f"{both(f.cord)} = {f.says}"


def _thread(docket: Docket) -> str:
    t = docket.thread
    rows = [
        (n.what, n.stitch, plain(n.sewn), millimetres(n.thickness), f"{n.ratio:.2f}", f"{n.thread / 1000:.1f} m")
        for n in t.lines
    ]
    head = _heads("threads", "sewing", "stitch", "seam", "thickness", "ratio", "thread")
    table = typeset.table("(1fr, auto, auto, auto, auto, auto)", rows, head=head, align="(left, left) + (right,) * 4")
    says = say(
        "docket.threads.spools" if t.spools > 1 else "docket.threads.spool",
        wastage=t.wastage,
        metres=f"{t.total / 1000:.1f}",
        spools=t.spools,
        stitch=millimetres(t.lines[0].stitch_length) if t.lines else "-",
    )
    return f"{table}\n\n#fine[{typeset.words(says)}]"


def _money(docket: Docket) -> Iterator[str]:
    price = docket.price
    if price is None:
        hours = sum((a.quantity for a in docket.hours), Decimal(0))
        yield _head("hours")
        yield _table_hours(docket)
        yield typeset.words(say("docket.money.no_price", hours=hours))
        return
    yield _head("money")
    yield _amounts(docket.materials, docket, price, _heads("money", "material", "amount", "price", "cost"))
    yield _amounts(docket.hours, docket, price, _heads("money", "work", "hours", "an_hour", "cost"))
    yield _whole((_head("price"), _workings(docket, price)))


def _table_hours(docket: Docket) -> str:
    rows = [(_work(a.what), f"{number(a.quantity, docket.locale)} h") for a in docket.hours]
    return typeset.table("(1fr, auto)", rows, head=_heads("money", "work", "hours"), align="(left, right)")


def _amounts(lines: Iterable[Amount], docket: Docket, price: Price, head: tuple[str, ...]) -> str:
    rows = []
    for a in lines:
        unit = {"each": "", "h": " h"}.get(a.unit, f" {a.unit}")
        what = _work(a.what) if a.unit == "h" else a.what
        rows.append(
            (
                what,
                f"{number(a.quantity, docket.locale)}{unit}",
                say("docket.money.not_stated") if a.rate is None else rate(a.rate, price.currency, docket.locale),
                "—" if a.cost is None else money(a.cost, price.currency, docket.locale),
            )
        )
    return typeset.table("(1fr, 26mm, 28mm, 28mm)", rows, head=head, align="(left,) + (right,) * 3")


def _work(name: str) -> str:
    return TABLES["hours"].key(name).says


def _workings(docket: Docket, p: Price) -> str:
    def said(amount: Decimal) -> str:
        return money(amount, p.currency, docket.locale)

    loc = docket.locale
    rows = [
        (say("docket.money.materials"), said(p.materials)),
        (say("docket.money.labour"), said(p.labour)),
        (say("docket.money.overhead", part=percent(p.overhead_percent, loc)), said(p.overhead)),
        (say("docket.money.cost"), said(p.cost)),
        (say("docket.money.margin", part=percent(p.margin_percent, loc)), said(p.margin)),
        (say("docket.money.net"), said(p.net)),
        (say("docket.money.tax", name=docket.tax_name, part=percent(p.tax_percent, loc)), said(p.tax)),
    ]
    lines = [", ".join(map(typeset.cell, r)) for r in rows]
    lines.append(f"{typeset.cell(say('docket.money.total'), strong=True)}, {typeset.cell(said(p.total), strong=True)}")
    note = say("docket.money.rounded", currency=p.currency)
    table = f"#table(columns: (1fr, 40mm), align: (left, right), {', '.join(lines)})"
    return f"{table}\n\n#fine[{typeset.words(note)}]"


def _heads(table: str, *names: str) -> tuple[str, ...]:
    """The heads of a table's columns, by their names in the catalogue."""
    return tuple(say(f"docket.{table}.{name}") for name in names)


def _sheets(count: int) -> str:
    if not count:
        return say("docket.buy.nothing")
    return say("docket.buy.sheets" if count != 1 else "docket.buy.sheet", count=count)


def _table(columns: str, head: Sequence[str], rows: Iterable[str]) -> str:
    heads = ", ".join(typeset.cell(h, strong=True) for h in head)
    lines = ",\n".join(rows)
    return f"#table(columns: {columns}, table.header({heads}),\n{lines})"


def _pairs(rows: Iterable[tuple[str, str]]) -> str:
    return ", ".join(f"{typeset.cell(a)}, {typeset.cell(b, strong=True)}" for a, b in rows)


def _sums(rows: Sequence[tuple[str, Decimal]], price: Price, locale: str) -> str:
    out = []
    for k, (name, amount) in enumerate(rows):
        strong = k == len(rows) - 1
        said = money(amount, price.currency, locale)
        out.append(f"{typeset.cell(name, strong=strong)}, align(right, {typeset.cell(said, strong=strong)})")
    return ", ".join(out)


def _included(docket: Docket) -> str:
    fittings = any(a.what == "fit" for a in docket.hours)
    return say("quote.with_fittings" if fittings else "quote.included")


def _validity(kind: str, docket: Docket, issued: datetime.date | None) -> str:
    if issued is None:
        return say(f"quote.{kind}_days", days=docket.valid_days)
    until = issued + datetime.timedelta(days=docket.valid_days)
    return say(f"quote.{kind}_until", until=date(until, docket.locale))


def _estimate(price: Price) -> Iterator[str]:
    if price.unpriced:
        yield f"#strong({typeset.quoted(say('quote.unpriced'))})"


def _signature(who: str) -> str:
    says = typeset.cell(say("quote.signature", who=say(f"quote.{who}")))
    return f"block(width: 100%, {{ line(length: 100%, stroke: 0.4pt); fine({says}) }})"
