"""Read an order file and check it.

Nothing that stands in a file raises anything but OrderError, and every problem is told in one line of its own:
file, table, key, value, what is allowed.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from coutil.body import NEEDED_WITHOUT_BUST, REQUIRED, Body, BodyError, Standard, missing_readings, order_body
from coutil.order.costs import Hours
from coutil.order.house import House, house_of, under
from coutil.order.model import Client, Ease, Order, Style, Unit
from coutil.order.own import OwnPanel, OwnPattern, OwnSeam
from coutil.order.packed import unpacked
from coutil.order.read_made import MadeReading
from coutil.order.refusal import OrderError, PackedError
from coutil.order.spot import one_line
from coutil.seaming import (
    CLOSED_WITH,
    ELASTIC_DRAWN,
    ELASTIC_WIDTH,
    GAPPED,
    LACING_GAP,
    OWN,
    PRINCESS_4,
    READY,
    Opening,
    Seaming,
    SeamingError,
    ToldSeam,
    own_seaming,
)
from coutil.units import unit_of
from coutil.words import Refusal

# An order is a page of text; more than this many bytes is another file by mistake.
LARGEST: Final = 1_000_000
# A line with more points than this is no line of an order (the longest list has 400 decimals): to read a key takes
# more than the square of its parts, so that a file below LARGEST could hold the reader for hours.
_MOST_POINTS: Final = 1000
# What [style] may say beside a [pattern].
BESIDE_OWN: Final = ("closing", "lacing_gap")
# A path is told whole, since its end is what tells the file; longer ones than common systems allow are cut.
LONGEST_PATH: Final = 4096


def read_order(path: str | Path, *, house: House | None = None) -> Order:
    """Read and check an order file; raises OrderError and nothing else. Without a name the order has the file's.

    `house` as in `parse_order`.
    """
    return parse_order(_read_text(path), str(path), name=Path(path).stem, house=house)


def read_house(path: str | Path) -> House:
    """Read and check a house file; raises OrderError and nothing else."""
    return parse_house(_read_text(path), str(path))


def parse_house(text: str, source: str = "house") -> House:
    """Check the text of a house file; raises OrderError and nothing else."""
    where, document = _parsed(text, source)
    return house_of(document, where)


def read_own(path: str | Path) -> OwnPattern:
    """Read the file beside a drawing that tells its panels: the table [pattern] of an order, on its own.

    Raises OrderError and nothing else.
    """
    return parse_own(_read_text(path), str(path))


def _read_text(path: str | Path) -> str:
    p = Path(path)
    try:
        with p.open("rb") as f:
            data = f.read(LARGEST + 1)
    except (OSError, ValueError) as e:
        if isinstance(e, OSError) and e.strerror:
            raise _no_file(path, "unreadable", reason=e.strerror) from None
        raise _no_file(path, "no_file_name") from None
    if len(data) > LARGEST:
        raise _no_file(path, "too_many_bytes", most=LARGEST)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as e:
        raise _no_file(path, "not_utf8", byte=e.start + 1) from None
    return text


def _no_file(source: str | Path, code: str, **args: Any) -> OrderError:
    """A file that is refused as a whole."""
    return OrderError.of(Refusal(f"{OrderError.room}.{code}", args, source=(one_line(str(source), LONGEST_PATH),)))


def parse_order(text: str, source: str = "order", *, name: str | None = None, house: House | None = None) -> Order:
    """Check the text of an order. `source` is what the messages call it, `name` the order's own name if it has none.

    What the order leaves out is the `house`'s, where that tells it; an order that bears the stamp of a house, a table
    [house], keeps to that one. Raises OrderError and nothing else.
    """
    where, document = _parsed(text, source)
    if "house" in document:
        house = house_of(document.pop("house"), where, stamped=True)
    return _Reader(where).order(document if house is None else under(document, house), name)


def parse_own(text: str, source: str = "pattern file") -> OwnPattern:
    """Check the text of a file beside a drawing, as `read_own` does. Raises OrderError and nothing else."""
    where, document = _parsed(text, source)
    return _Reader(where).own_file(document)


def tables_of(text: str, source: str = "order") -> frozenset[str]:
    """What stands at the top of a file, to tell an order from a pattern file. Raises OrderError for what is no TOML."""
    return frozenset(_parsed(text, source)[1])


def _parsed(text: str, source: str) -> tuple[str, dict[str, Any]]:
    """What messages call a file, and what stands in it."""
    where = one_line(source, LONGEST_PATH)
    if len(text) > LARGEST:
        raise _no_file(where, "too_many_signs", most=LARGEST)
    for number, line in enumerate(text.split("\n"), start=1):
        if line.count(".") > _MOST_POINTS:
            raise _no_file(where, "too_many_points", line=number, most=_MOST_POINTS)
    try:
        return where, tomllib.loads(text)
    except RecursionError:
        raise _no_file(where, "too_deep") from None
    except ValueError as e:
        # TOMLDecodeError, or what Python says of a number with thousands of digits.
        raise _no_file(where, "not_toml", why=one_line(str(e))) from None


class _Reader(MadeReading):
    """One reading of an order or of a pattern file."""

    def order(self, document: Mapping[str, Any], name: str | None) -> Order:
        self.counted_in(document)
        top = self.table("", document)
        client = Client(**self.table("client", self.inner("", document, "client")))
        style_in = self.inner("", document, "style")
        style = self.style(style_in)
        body = self.body(document, REQUIRED if style.seaming.bust else NEEDED_WITHOUT_BUST)
        own = self.own(document, style_in)
        build = self.build(document, style)
        cloth = self.cloths(document)
        shelf = self.shelf(document)
        money, notions = self.money(document, cloth, shelf)
        maker = self.maker(document)
        hours = Hours(**self.table("hours", self.inner("", document, "hours")))
        if self.problems or body is None:
            raise self.error()
        return Order(
            name=top.get("name") or _fallback_name(name),
            unit=top.get("unit", "cm"),
            typed_in=self.typed_in(document),
            client=client,
            body=body,
            style=style,
            pattern=own,
            build=build,
            cloth=cloth,
            money=money,
            hours=hours,
            notions=notions,
            maker=maker,
            shelf=shelf,
        )

    def typed_in(self, document: Mapping[str, Any]) -> Unit:
        """The unit of most of the body's readings: the file's, unless more of them bear the other."""
        body = self.inner("", document, "body")
        inner = [body, *(self.inner("body", body, side) for side in ("left", "right") if side in body)]
        own = [unit_of(v) for table in inner for v in table.values() if isinstance(v, str)]
        plain = sum(isinstance(v, int | float) and not isinstance(v, bool) for table in inner for v in table.values())
        inches = sum(u == "in" for u in own) + plain * (self.unit == "in")
        metric = sum(u not in ("in", None) for u in own) + plain * (self.unit != "in")
        if inches == metric:
            return "in" if self.unit == "in" else "cm"
        return "in" if inches > metric else "cm"

    def body(self, document: Mapping[str, Any], needed: tuple[str, ...]) -> Body | None:
        before = len(self.problems)
        if "body" not in document:
            self.problem("body", None, None, "no_body")
            return None
        given = self.inner("", document, "body")
        standard = self.standard(given)
        missing = () if "standard" in given else missing_readings(given, needed)
        measured = self.table("body", given, needed=missing)
        confirmed = measured.pop("confirmed", False)
        left = self.table("body.left", self.inner("body", given, "left"))
        right = self.table("body.right", self.inner("body", given, "right"))
        if standard is not None and standard.as_asked and (measured or left or right):
            stand = [*measured, *(f"{n}.{k}" for n, said in (("left", left), ("right", right)) for k in said)]
            self.problem("body.standard", "as_asked", True, "asked_beside_readings", readings=", ".join(stand))
        if len(self.problems) > before:
            return None
        try:
            return order_body(measured, left, right, standard=standard, confirmed=confirmed, needed=needed)
        except BodyError as e:
            self.problem("body.standard", "cup", None if standard is None else standard.cup, "body", why=e.refusal.told)
            return None

    def standard(self, body: Mapping[str, Any]) -> Standard | None:
        """The standard size that stands in for what was not taken; None without one, or with a problem told."""
        if "standard" not in body:
            return None
        before = len(self.problems)
        got = self.table("body.standard", self.inner("body", body, "standard"))
        return None if len(self.problems) > before else Standard(**got)

    def own_file(self, document: Mapping[str, Any]) -> OwnPattern:
        """A file of its own with the table [pattern] and, before it, the unit of plain numbers."""
        self.counted_in(document)
        known = {k: document[k] for k in ("coutil", "name", "unit", "pattern") if k in document}
        self.table("", known)
        for key in document:
            if key not in known:
                self.problem("", key, None, "not_in_a_pattern_file")
        if "pattern" not in document:
            self.problem("pattern", None, None, "no_pattern")
        own = self.own(document, {})
        if own is not None and own.names_description:
            self.problem("pattern", "file", own.file, "name_the_drawing")
        if self.problems or own is None:
            raise self.error()
        return own

    def style(self, given: Mapping[str, Any]) -> Style:
        got = self.table("style", given)
        own = self.own_seaming(given)
        named = got.pop("seaming", PRINCESS_4.name)
        if named == OWN and own is None and "seam" not in given:
            self.problem("style", "seaming", named, "no_own_seam")
        seaming = READY.get(named) or own or PRINCESS_4
        openings = [
            opening
            for number, entry in enumerate(self.listed("style", given, "opening"), start=1)
            if (opening := self.opening(entry, number)) is not None
        ]
        for number, opening in enumerate(openings, start=1):
            if opening.at in [o.at for o in openings[: number - 1]]:
                self.problem(f"style.opening {number}", "at", opening.at, "opens_twice")
        return Style(
            **got,
            seaming=seaming,
            own=own,
            openings=tuple(openings),
            ease=Ease(**self.table("style.ease", self.inner("style", given, "ease"))),
        )

    def own_seaming(self, style: Mapping[str, Any]) -> Seaming | None:
        """The maker's own seaming; None without one, or with a problem told."""
        before, told = len(self.problems), []
        for number, entry in enumerate(self.listed("style", style, "seam"), start=1):
            got = self.table("style.seam", entry, f"style.seam {number}")
            if len(self.problems) == before:
                told.append(ToldSeam(**got))
        if not told or len(self.problems) > before:
            return None
        try:
            return own_seaming(told)
        except SeamingError as e:
            self.problem("style", "seam", style["seam"], "seaming", why=e.refusal.told)
            return None

    def opening(self, given: Mapping[str, Any], number: int) -> Opening | None:
        before, header = len(self.problems), f"style.opening {number}"
        got = self.table("style.opening", given, header)
        if len(self.problems) > before:
            return None
        at, closed_with = got["at"], got["with"]
        if closed_with not in CLOSED_WITH[at]:
            self.problem(header, "with", closed_with, "cannot_close", at=at, allowed=CLOSED_WITH[at])
        for key, closings in (("gap", GAPPED), ("drawn", ("elastic",))):
            if key in got and closed_with not in closings:
                self.problem(header, key, given[key], "not_of_this_closing", closings=closings)
        if len(self.problems) > before:
            return None
        usual = {"lacing": (LACING_GAP, 0.0), "elastic": (ELASTIC_WIDTH, ELASTIC_DRAWN)}
        gap, drawn = usual.get(closed_with, (0.0, 0.0))
        return Opening(at, closed_with, got.get("gap", gap), got.get("drawn", drawn))

    def own(self, document: Mapping[str, Any], style: Mapping[str, Any]) -> OwnPattern | None:
        """The pattern that exists already, or None; a style beside it may tell the closing only."""
        if "pattern" not in document:
            return None
        for key in style:
            if key not in BESIDE_OWN:
                self.problem("style", key, None, "has_a_shape")
        given = self.inner("", document, "pattern")
        got = self.table("pattern", given)
        if "corner" in got:
            got["corner"] = float(got["corner"])
        named = OwnPattern(got.get("file", "")).names_description
        if "drawing" in got:
            try:
                unpacked(got["drawing"])
            except PackedError as e:
                self.wrong("pattern", "drawing", got["drawing"], e.refusal)
        if named and len(given) > 1:
            other = next(k for k in given if k != "file")
            self.problem("pattern", other, None, "not_in_both")
        panels = [self.own_panel(p, n) for n, p in enumerate(self.listed("pattern", given, "panels"), start=1)]
        seams = [
            self.table("pattern.seams", s, f"pattern.seams {n}")
            for n, s in enumerate(self.listed("pattern", given, "seams"), start=1)
        ]
        if self.problems:
            return None
        return OwnPattern(**got, panels=tuple(p for p in panels if p), seams=tuple(OwnSeam(**s) for s in seams))

    def own_panel(self, given: Mapping[str, Any], number: int) -> OwnPanel | None:
        before = len(self.problems)
        header = f"pattern.panels {number}"
        got = self.table("pattern.panels", given, header)
        if "grain" in got and len(got["grain"]) != 2:
            self.problem(header, "grain", given["grain"], "two_places")
        if len(self.problems) > before:
            return None
        levels: dict[str, float] = {k: got.pop(k) for k in ("bust", "underbust", "waist", "high_hip") if k in got}
        return OwnPanel(**got, levels=levels)


def _fallback_name(name: str | None) -> str:
    plain = "".join(c for c in (name or "") if c.isprintable()).strip()[:120]
    return plain or "order"
