"""The pattern that an order names, and the file that tells what a drawing's panels are."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import lru_cache
from pathlib import Path, PurePosixPath

from coutil.order import (
    Order,
    OrderError,
    OwnPanel,
    OwnPattern,
    OwnSeam,
    PackedError,
    packed,
    parse_order,
    parse_own,
    read_own,
    unpacked,
    with_own,
)
from coutil.order.own import Place
from coutil.order.own_write import own_table
from coutil.pattern import Pattern
from coutil.seaming import edge_kind
from coutil.trace.build import pattern_of
from coutil.trace.findings import STRAIGHT_CENTRE
from coutil.trace.model import Traced, TraceError
from coutil.trace.read import read_drawing, trace_drawing
from coutil.trace.sides import bow
from coutil.trace.tell import Telling, ToldPanel, tell
from coutil.units import both
from coutil.words import in_words


def pattern_from_order(order: Order, folder: str | Path) -> Pattern:
    """The pattern of an order with [pattern]; file names are taken from `folder`, where the order lies.

    Its findings tell how it was read and what was proposed. Raises TraceError where the file cannot be read or what is
    said of it does not fit, and ValueError for an order without [pattern].
    """
    if order.pattern is None:
        raise ValueError("the order names no pattern")
    if order.pattern.drawing:
        return _carried_pattern(order.pattern, order.name)
    own, base = resolved(order.pattern, Path(folder))
    return pattern_of(traced_of(own, base), own, order.name)


@lru_cache(maxsize=8)
def _carried_pattern(own: OwnPattern, name: str) -> Pattern:
    """The pattern that an order carries. It depends on nothing else of the order, so an open one is told apart once."""
    return pattern_of(traced_of(own, Path()), own, name)


def carrying(text: str, fetch: Callable[[str], bytes]) -> str:
    """The text of an order with the drawing in it that it names, so that it needs no file beside it.

    `fetch` gives the bytes of a file by the name that the order, or the description named there, has for it. A text
    without [pattern], or one that carries its drawing already, stays as it is. Raises TraceError where what is named
    cannot be carried, and OrderError for a text that is no order; what `fetch` raises goes through.
    """
    own = parse_order(text).pattern
    if own is None or own.drawing:
        return text
    if own.names_description:
        try:
            said = parse_own(fetch(own.file).decode("utf-8-sig"), own.file)
        except UnicodeDecodeError:
            raise TraceError("not_utf8", file=own.file) from None
        except OrderError as e:
            raise TraceError.of(*e.refusals) from None
        # Beside the description: its drawing's name counts from there.
        own = replace(said, file=(PurePosixPath(own.file).parent / said.file).as_posix())
    return with_own(text, own if own.drawing else carried(own, fetch(own.file)))


def carried(own: OwnPattern, data: bytes) -> OwnPattern:
    """The pattern with the bytes of its drawing in it; raises TraceError for what is no drawing or too large."""
    trace_drawing(data, own.file, scale=own.scale, corner=own.corner)
    try:
        return replace(own, drawing=packed(data))
    except PackedError as e:
        raise TraceError.of(*e.led(own.file)) from None


def resolved(own: OwnPattern, folder: Path) -> tuple[OwnPattern, Path]:
    """What is said of the drawing, and the folder from which its name counts; follows a .toml file once."""
    if not own.names_description:
        return own, folder
    beside = folder / own.file
    try:
        return read_own(beside), beside.parent
    except OrderError as e:
        raise TraceError.of(*e.refusals) from None


def traced_of(own: OwnPattern, folder: Path) -> Traced:
    """The drawing's shapes, read with the scale and the corners that were said; from the order, if it carries them."""
    if own.drawing:
        return trace_drawing(unpacked(own.drawing), own.file, scale=own.scale, corner=own.corner)
    return read_drawing(folder / own.file, scale=own.scale, corner=own.corner)


def proposed(traced: Traced, own: OwnPattern, *, askew: bool = False) -> OwnPattern:
    """What was said, with everything that was proposed said as well: the file that a person then corrects.

    With `askew` the panels may lie at any angle, as in a photograph: a straight centre is then proposed for the grain.
    """
    telling = tell(traced, own)
    panels = tuple(_said(p.work.said, telling, k, askew=askew) for k, p in enumerate(telling.panels))
    seams = tuple(
        OwnSeam(s.name, s.a, s.b, s.ease, round(s.peak, 3))
        for s in telling.seams
        if s.a != s.b and s.side in ("both", "left")
    )
    line = own.line
    if line is None:
        told = {p.work.line for p in telling.panels}
        line = told.pop() if len(told) == 1 else None
    return replace(own, line=line, panels=panels, seams=own.seams or seams)


def _said(said: OwnPanel, telling: Telling, k: int, *, askew: bool) -> OwnPanel:
    p = telling.panels[k]
    roles = [""] * len(p.work.sides)
    for e in p.edges:
        for side in e.sides:
            roles[side] = e.role
    fold = p.edge(p.fold).role if p.fold else None
    if askew and not said.grain:
        said = replace(said, grain=_along_centre(p))
    return replace(said, outline=p.work.shape.name, name=p.name, side=p.side, fold=fold, roles=tuple(roles))


def _along_centre(p: ToldPanel) -> tuple[Place, ...]:
    """Two places on a line through the middle of a panel that runs along its centre, if that is straight; else none."""
    sides = p.work.shape.net or p.work.shape.sides
    centre = [e for e in p.edges if edge_kind(e.role) == "centre" and len(e.sides) == 1]
    if p.work.shape.grain is not None or len(sides) != len(p.work.sides) or not centre:
        return ()
    edge = sides[centre[0].sides[0]]
    if bow(edge) > STRAIGHT_CENTRE:
        return ()
    points = [q for c in sides for q in c.points(tolerance=0.5)]
    low, high = (tuple(f(q[k] for q in points) for k in (0, 1)) for f in (min, max))
    x, y = (high[0] - low[0]) / 2.0, (high[1] - low[1]) / 2.0
    dx, dy = (edge.end[0] - edge.start[0]) / 4.0, (edge.end[1] - edge.start[1]) / 4.0
    ends = sorted(((x - dx, y - dy), (x + dx, y + dy)), key=lambda q: q[1])
    return tuple((round(max(u, 0.0), 2), round(max(v, 0.0), 2)) for u, v in ends)


def own_text(own: OwnPattern, *, unit: str = "cm") -> str:
    """The file of its own that says `own`: `coutil.order.read_own` of it gives the same. Lengths in `unit`."""
    import tomlkit

    from coutil.units import plain_number

    def length(mm: float) -> float | int | str:
        # To a millionth of a mm: binary fractions that a change of unit leaves would show.
        number = plain_number(round(mm, 6), unit)
        return int(number) if isinstance(number, float) and number == int(number) else number

    doc = tomlkit.document()
    doc.add("unit", tomlkit.item(unit))
    doc.add(tomlkit.nl())
    doc.add("pattern", tomlkit.item(own_table(own, length)))
    return tomlkit.dumps(doc)


def report(traced: Traced, own: OwnPattern) -> str:
    """What was found, for the eye: each panel with its sides, their lengths and roles, and how sure that is."""
    return "\n".join(_report(traced, tell(traced, own), own)) + "\n"


def _report(traced: Traced, telling: Telling, own: OwnPattern) -> Iterator[str]:
    yield f"{traced.source}: {len(traced.shapes)} outlines; {traced.scale}"
    for note in (*traced.notes, *(f"passed over: {in_words(p)}" for p in telling.passed)):
        yield f"  {note}"
    for doubt in telling.doubts:
        yield f"  {in_words(doubt)}"
    for p in telling.panels:
        w = p.work
        side = "" if p.side == "both" else f", {p.side}"
        line = ("net" if w.shape.net else own.line or w.line) or "not known whether net or cut"
        yield f"\n{p.name}{side}  (outline {w.shape.name!r}, {line}; {100 * p.sure:.0f} % sure)"
        role = {k: e.name for e in p.edges for k in e.sides}
        for k, c in enumerate(w.sides):
            on = "  on the fold" if role[k] == p.fold else ""
            yield f"  side {k + 1}  {role[k].replace('_', ' '):16} {both(c.length)}{on}"
        marks = [*(n.replace("_", " ") for n in w.levels), *(n.replace("_", " ") for n in w.points)]
        grain = ["grain"] if w.grain else []
        notches = [f"{len(w.notches)} notch{'es' if len(w.notches) > 1 else ''}"] if w.notches else []
        yield f"  marks: {', '.join([*marks, *grain, *notches]) or 'none'}; roles {100 * p.sure_edges:.0f} % sure"
    if telling.seams:
        yield ""
    for s in telling.seams:
        if s.a == s.b:
            continue
        word = "longer" if s.longer > 0 else "shorter"
        off = "equal" if abs(s.longer) < 0.05 else f"{s.a[0]} {abs(s.longer):.1f} mm {word}"
        peak = f", peak {both(s.peak)}" if s.peak else ""
        ends = " with ".join(f"{panel} ({edge.replace('_', ' ')})" for panel, edge in (s.a, s.b))
        yield f"seam {s.name}: {ends}: {off}{peak}; {100 * s.sure:.0f} % sure"
