"""The desk: orders lying open, edited one change at a time, each saved in the book before it is answered.

Every method may be called from any thread; changes to one order wait for each other. Nothing here knows of the network.
"""

from __future__ import annotations

import threading
import tomllib
from collections import OrderedDict
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from typing import Any, Final

from coutil.body import reading_words
from coutil.book import Book, BookError, ConflictError, Hand, OrderEntry
from coutil.layers.words import LayerError
from coutil.make import Work, work_out
from coutil.order import Order, OrderError
from coutil.units import LengthError, leading, parse_length
from coutil.web.changes import book_key, conflicting, told_version
from coutil.web.drags import DragError, dragged
from coutil.web.edits import SEAMING, Edit, Refusal, RefusedError, changed_keys, edited, raw, value_from
from coutil.web.keys import UnknownKeyError, address
from coutil.web.lays import Lays
from coutil.web.naming import named
from coutil.web.refused import judged, parsed, undraftable, words_of
from coutil.web.reseamed import with_place
from coutil.web.sheet import Opened, refusals, sheet
from coutil.web.values import in_mm, may_not_nudge, number_now, shown_text
from coutil.words import Length, RefusingError, say, tell

# Orders kept open in memory, and texts remembered of each so that an older window's change can be put on top: a
# maker's table holds no more.
_OPEN: Final = 16
_REMEMBERED: Final = 200
# How often a change is tried again when another process saves in between.
_TRIES: Final = 3
# The one value that belongs to the client and not to the order.
_LABEL: Final = "client.label"


@dataclass(frozen=True, slots=True)
class Asked:
    """What every change of an order brings along (docs/web-api.md, 4)."""

    order_id: int
    base: int
    seq: int
    window: str
    unit: str
    spread: str


@dataclass(slots=True)
class _Place:
    """One order on the desk."""

    lock: threading.Lock = field(default_factory=threading.Lock)
    now: Opened | None = None
    # The order's text at each edit that this server has seen.
    texts: OrderedDict[int, str] = field(default_factory=OrderedDict)


class Desk:
    """`changed` is called after every change that was kept: order id, edit, window, what, keys."""

    def __init__(self, book: Book, changed: Callable[[int, int, str, str, list[str]], None], lays: Lays) -> None:
        self.book = book
        self.lays = lays
        self._changed = changed
        self._guard = threading.Lock()
        self._places: OrderedDict[int, _Place] = OrderedDict()
        self._newest: dict[tuple[str, int, str], int] = {}

    def sheet(self, order_id: int, unit: str, spread: str) -> dict[str, Any]:
        """The sheet of an order; MissingError if it is not in the book."""
        with self._held(order_id) as place:
            return self._sheet(self._open(order_id, place), unit, spread)

    def opened(self, order_id: int) -> Opened:
        with self._held(order_id) as place:
            return self._open(order_id, place)

    def edit(self, asked: Asked, edit: Edit, *, preview: bool = False) -> dict[str, Any]:
        """One value changed; the answer as docs/web-api.md says, with its HTTP status under "status"."""
        self._announce(asked, edit.key)
        with self._held(asked.order_id) as place:
            for _ in range(_TRIES):
                now = self._open(asked.order_id, place)
                if self._overtaken(asked, edit.key):
                    return self._answer(asked, superseded=True)
                merged = self._merge(asked, edit.key, now, place)
                if merged is None or any(self._merge(asked, key, now, place) is None for key, _ in edit.beside):
                    if not self._is_so(edit, now, asked.unit):
                        return self._conflict(asked, edit, now, place)
                    merged = []
                try:
                    if edit.back:
                        return self._take_back(asked, edit, now, place, merged)
                    return self._apply(asked, edit, now, place, merged, preview)
                except ConflictError:
                    place.now = None
            return self._conflict(asked, edit, self._open(asked.order_id, place), place)

    def drag(self, asked: Asked, handle: str, to: tuple[float, float], *, final: bool) -> dict[str, Any]:
        """A point of the drawing pulled to a place on the paper."""
        self._announce(asked, f"handle {handle}")
        with self._held(asked.order_id) as place:
            now = self._open(asked.order_id, place)
            if self._overtaken(asked, f"handle {handle}"):
                return self._answer(asked, superseded=True)
            if now.work is None:
                return self._refused(asked, now, (Refusal("", say("refused.no_handle")),))
            try:
                result = dragged(now.work, now.entry.text, now.doc, handle, to, asked.unit)
            except DragError as e:
                return self._refused(asked, now, e.refusals)
            for key in result.keys:
                if self._merge(asked, key, now, place) is None:
                    return self._conflict(asked, Edit(key, text=result.values[key]), now, place)
            made = replace(now, doc=tomllib.loads(result.text), order=result.work.order, work=result.work, refused=())
            if final:
                typed = {k: v for k, v in now.entry.typed.items() if k not in result.keys}
                try:
                    entry = self.book.save(asked.order_id, result.text, based_on=now.entry.edit, typed=typed)
                except ConflictError:
                    place.now = None
                    newer = self._open(asked.order_id, place)
                    return self._conflict(asked, Edit(result.keys[0], text=""), newer, place)
                made = self._keep(place, entry, made, result.text)
                self._tell(asked, made, result.keys)
            return self._answer(
                asked, saved=final, merged=[], values=result.values, sheet=self._sheet(made, asked.unit, asked.spread)
            )

    def step(
        self, asked: Asked, step: Callable[[int, int], OrderEntry], keys: list[str] | None = None
    ) -> dict[str, Any]:
        """Undo, redo or bring back: `step` gets the order's id and the edit that it is based on."""
        with self._held(asked.order_id) as place:
            now = self._open(asked.order_id, place)
            if asked.base != now.entry.edit:
                return self._conflict(asked, None, now, place)
            try:
                entry = step(asked.order_id, now.entry.edit)
            except ConflictError:
                place.now = None
                return self._conflict(asked, None, self._open(asked.order_id, place), place)
            except BookError as e:
                return self._refused(asked, now, (Refusal("", words_of(e)),))
            made = self._keep(place, entry, None)
            self._tell(asked, made, sorted(changed_keys(now.entry.text, entry.text)))
            return self._answer(asked, saved=True, merged=[], sheet=self._sheet(made, asked.unit, asked.spread))

    def forget(self, order_id: int) -> None:
        """Take an order off the desk, as after it was erased."""
        self.lays.stop(order_id)
        with self._guard:
            self._places.pop(order_id, None)

    def refresh(self, order_id: int) -> int:
        """The edit at which the book has the order now; cheap, to see what other programs did."""
        return self.book.edit_of(order_id)

    # --- one change

    def _apply(
        self, asked: Asked, edit: Edit, now: Opened, place: _Place, merged: list[str], preview: bool
    ) -> dict[str, Any]:
        if edit.key == _LABEL and isinstance(edit.text, str) and not preview:
            return self._rename(asked, edit, now, place, merged)
        try:
            if edit.nudge and _is_nobodys(edit.key, now):
                raise RefusedError(Refusal(edit.key, say("refused.not_taken")))
            text = edited(now.entry.text, edit, asked.unit, now=self._value_now(edit, now))
            idle: tuple[str, ...] = ()
            if edit.key == SEAMING:
                text, idle = with_place(text, lambda made: self._work(made, edit.key, now.order), asked.unit)
            order, work = self._work(text, edit.key, now.order)
        except RefusedError as e:
            found = _within_reach(e.refusals, edit, now, asked.unit)
            if preview:
                return self._refused(asked, now, found)
            # What cannot be used yet is kept all the same, so that nothing that was typed is lost.
            typed = {**now.entry.typed, **{k: v for k, v in edit.said.items() if v.strip()}}
            # A step of the arrow keys that leads too far leaves the steps before it: they are no beginning of anything.
            now = self._back(asked, edit if edit.text is not None else Edit(edit.key), now, place, typed)
            return self._refused(asked, now, found, sheet=self._sheet(now, asked.unit, asked.spread))
        keys = [edit.key, *(key for key, _ in edit.beside)]
        refused = () if work is not None else self._why(order)
        if not preview:
            typed = {k: v for k, v in now.entry.typed.items() if k not in keys}
            typed |= {key: _stands(key, now.doc, now.order, now.work, asked.unit) for key in idle}
            for key, said in tuple(typed.items()):
                if key in idle:
                    continue
                # What was refused because of the value that is right now, a girth too large for the other, say.
                try:
                    again = edited(text, Edit(key, text=said), asked.unit)
                    order, work = self._work(again, key, order)
                except RefusedError:
                    continue
                text = again
                refused = () if work is not None else self._why(order)
                keys.append(key)
                del typed[key]
        made = replace(now, doc=tomllib.loads(text), order=order, work=work, refused=refused)
        if not preview:
            entry = self.book.save(asked.order_id, text, based_on=now.entry.edit, typed=typed, hand=_hand(edit))
            made = self._keep(place, entry, made, text)
            if entry.edit != now.entry.edit:
                self._tell(asked, made, keys)
        return self._answer(
            asked,
            saved=not preview,
            merged=merged,
            accepted=keys[1:],
            sheet=self._sheet(made, asked.unit, asked.spread),
        )

    def _take_back(self, asked: Asked, edit: Edit, now: Opened, place: _Place, merged: list[str]) -> dict[str, Any]:
        """Escape: the value as it was taken in hand, and nothing typed there any more."""
        if edit.key == _LABEL:
            label = self._label_before(asked, edit)
            if label is not None:
                return self._rename(asked, Edit(edit.key, text=label), now, place, merged)
        typed = {k: v for k, v in now.entry.typed.items() if k != edit.key}
        made = self._back(asked, edit, now, place, typed)
        return self._answer(asked, saved=True, merged=merged, sheet=self._sheet(made, asked.unit, asked.spread))

    def _back(self, asked: Asked, edit: Edit, now: Opened, place: _Place, typed: dict[str, str]) -> Opened:
        """The order with the value as it was before the hand, and `typed` kept beside it, in one transaction.

        A value that an older version has may not fit what another window has done meanwhile: then what can be drafted
        stays. Values that went in along with a beginning that is taken back are typed and unused again.
        """
        text, made = now.entry.text, now
        hand = _hand(edit)
        before = None if hand is None else self.book.before_hand(asked.order_id, hand)
        if before is not None:
            gone: frozenset[str] = frozenset()
            try:
                text = before.text if before.whole else value_from(now.entry.text, before.text, edit.key)
                gone = changed_keys(text, now.entry.text)
                order, work = self._work(text, edit.key, now.order)
                made = replace(now, doc=tomllib.loads(text), order=order, work=work, refused=())
            except RefusedError:
                text, gone = now.entry.text, frozenset()
            for key in gone - {edit.key}:
                if said := _stands(key, now.doc, now.order, now.work, asked.unit):
                    typed.setdefault(key, said)
        if text == now.entry.text:
            entry = self.book.keep_typed(asked.order_id, typed, based_on=now.entry.edit)
            made = self._keep(place, entry, now, text)
            if entry.edit != now.entry.edit:
                # Windows show it too, but nothing of the order has changed: there is nothing to say.
                self._changed(asked.order_id, entry.edit, asked.window, "", [edit.key])
            return made
        entry = self.book.save(asked.order_id, text, based_on=now.entry.edit, typed=typed, hand=hand)
        made = self._keep(place, entry, made, text)
        self._tell(asked, made, [edit.key])
        return made

    def _is_so(self, edit: Edit, now: Opened, unit: str) -> bool:
        """Whether the order says already what an edit wants: then it is sent again, and no conflict."""
        if edit.back and edit.key not in now.entry.typed:
            hand = _hand(edit)
            return hand is None or self.book.before_hand(now.entry.id, hand) is None
        if not isinstance(edit.text, str | tuple):
            return False
        try:
            return edited(now.entry.text, edit, unit) == now.entry.text
        except RefusedError:
            return now.entry.typed.get(edit.key) == edit.text

    def _rename(self, asked: Asked, edit: Edit, now: Opened, place: _Place, merged: list[str]) -> dict[str, Any]:
        """The client's label belongs to the client: it changes in all her orders."""
        client = self.book.client(now.entry.client_id)
        try:
            self.book.change_client(client.id, based_on=client.edit, label=str(edit.text).strip())
        except ConflictError:
            raise
        except BookError as e:
            found = (Refusal(edit.key, words_of(e)),)
            label = self._label_before(asked, edit)
            if label is not None and label != client.label:
                self.book.change_client(client.id, based_on=client.edit, label=label)
                now = self._keep(place, self.book.order(asked.order_id), None)
                self._tell(asked, now, [edit.key])
            return self._refused(asked, now, found, sheet=self._sheet(now, asked.unit, asked.spread))
        made = self._keep(place, self.book.order(asked.order_id), None)
        self._tell(asked, made, [edit.key])
        return self._answer(asked, saved=True, merged=merged, sheet=self._sheet(made, asked.unit, asked.spread))

    def _label_before(self, asked: Asked, edit: Edit) -> str | None:
        """The client's label as it was taken in hand, None if the hand has changed nothing."""
        hand = _hand(edit)
        before = None if hand is None else self.book.before_hand(asked.order_id, hand)
        return None if before is None else str(tomllib.loads(before.text).get("client", {}).get("label", ""))

    @staticmethod
    def _value_now(edit: Edit, now: Opened) -> float | None:
        if not edit.nudge:
            return None
        try:
            value = in_mm(edit.key, now.order, now.work)
            return number_now(edit.key, now.order) if value is None else value
        except UnknownKeyError:
            return None

    @staticmethod
    def _work(text: str, key: str, before: Order) -> tuple[Order, Work | None]:
        """Read and work out a changed text. What stood in the way before the change is no reason to refuse it.

        No work where readings of the client and a standard size's make no body that can be drawn: what she reads off
        the tape is never refused for a stranger's figures.
        """
        order = parsed(text, key)
        if _is_elsewhere(order):
            raise RefusedError(Refusal(key, say("refused.own_pattern")))
        impossible = judged(order, key)
        if impossible and not judged(before, key):
            raise RefusedError(*impossible)
        try:
            return order, work_out(order)
        except (OrderError, LayerError) as e:
            if order.body.not_taken and key.startswith("body."):
                return order, None
            raise RefusedError(*undraftable(e, key)) from None

    @staticmethod
    def _why(order: Order) -> tuple[Refusal, ...]:
        """Why a changed order was kept although it cannot be drawn."""
        try:
            work_out(order)
        except (OrderError, LayerError) as e:
            return _undrawn(order, e)
        return ()

    # --- conflicts and order of answers

    def _announce(self, asked: Asked, what: str) -> None:
        key = (asked.window, asked.order_id, what)
        with self._guard:
            if len(self._newest) > 10_000:
                self._newest.clear()
            self._newest[key] = max(asked.seq, self._newest.get(key, asked.seq))

    def _overtaken(self, asked: Asked, what: str) -> bool:
        with self._guard:
            return self._newest.get((asked.window, asked.order_id, what), asked.seq) > asked.seq

    @staticmethod
    def _merge(asked: Asked, key: str, now: Opened, place: _Place) -> list[str] | None:
        """The keys that others changed since the window's base; None if `key` is among them, or the base forgotten."""
        if asked.base == now.entry.edit:
            return []
        before = place.texts.get(asked.base)
        if before is None:
            return None
        keys = changed_keys(before, now.entry.text)
        return None if conflicting(key, keys) else sorted(keys)

    def _conflict(self, asked: Asked, edit: Edit | None, now: Opened, place: _Place) -> dict[str, Any]:
        said = None
        if edit is not None:
            theirs = _stands(edit.key, now.doc, now.order, now.work, asked.unit)
            said = {"key": edit.key, "yours": edit.text or "", "theirs": theirs, "was": ""}
            before = place.texts.get(asked.base)
            if before is not None:
                said["was"] = _stood(edit.key, before, asked.unit)
        made = self._sheet(now, asked.unit, asked.spread)
        return self._answer(asked, status=409, error="conflict", version=now.entry.edit, conflict=said, sheet=made)

    def _refused(self, asked: Asked, now: Opened, found: tuple[Refusal, ...], **rest: Any) -> dict[str, Any]:
        return self._answer(asked, status=422, error="refused", version=now.entry.edit, refused=refusals(found), **rest)

    @staticmethod
    def _answer(asked: Asked, *, status: int = 200, **rest: Any) -> dict[str, Any]:
        return {"status": status, "seq": asked.seq, "window": asked.window, **rest}

    def _tell(self, asked: Asked, made: Opened, keys: list[str]) -> None:
        self._changed(asked.order_id, made.entry.edit, asked.window, made.undo or "", keys)

    # --- what lies open

    @contextmanager
    def _held(self, order_id: int) -> Iterator[_Place]:
        with self._guard:
            place = self._places.setdefault(order_id, _Place())
            self._places.move_to_end(order_id)
            while len(self._places) > _OPEN:
                self._places.popitem(last=False)
        with place.lock:
            yield place

    def _open(self, order_id: int, place: _Place) -> Opened:
        """The order as the book has it now."""
        if place.now is not None and place.now.entry.edit == self.book.edit_of(order_id):
            return place.now
        try:
            return self._keep(place, self.book.order(order_id), None)
        except BookError:
            with self._guard:
                self._places.pop(order_id, None)
            raise

    def _keep(self, place: _Place, entry: OrderEntry, made: Opened | None, text: str = "") -> Opened:
        """Remember an order as it was saved; `made`, worked out of `text`, is used if that is what was saved."""
        if made is None or text != entry.text:
            made = self._read(entry)
        undo = told_version(self.book, entry) if entry.can_undo or entry.typed else None
        redo = say("undo.redo") if entry.can_redo else None
        made = replace(made, entry=entry, undo=undo, redo=redo)
        place.now = made
        place.texts[entry.edit] = entry.text
        while len(place.texts) > _REMEMBERED:
            place.texts.popitem(last=False)
        return made

    def _read(self, entry: OrderEntry) -> Opened:
        doc = tomllib.loads(entry.text)
        order = parsed(entry.text)
        if _is_elsewhere(order):
            return Opened(entry, doc, order, None, (Refusal("", say("refused.own_pattern")),))
        try:
            return Opened(entry, doc, order, work_out(order))
        except (OrderError, LayerError) as e:
            return Opened(entry, doc, order, None, _undrawn(order, e))

    def _sheet(self, now: Opened, unit: str, spread: str) -> dict[str, Any]:
        lays, plan = self.lays.told(now.entry.id, now.entry.text, unit)
        with leading(unit):
            return sheet(now, unit, spread, lays, plan)


def _undrawn(order: Order, e: RefusingError) -> tuple[Refusal, ...]:
    """Why an order cannot be drawn; where a standard size stands in it, that this is what does not go together."""
    why = tuple(undraftable(e, ""))
    if order.pattern is not None or not order.body.not_taken or not any(r.key.startswith("body.") for r in why):
        # The body has no part in it.
        return why
    return (Refusal("", say("refused.mixed", names=reading_words(order.body.not_taken))), *why)


def _is_nobodys(key: str, now: Opened) -> bool:
    """Whether the value of a key rests on a figure that nobody took."""
    try:
        at = address(key)
    except UnknownKeyError:
        return False
    if not at.table.startswith("body"):
        return False
    stands = raw(now.doc, at) is not None and at.spec.name not in now.order.body.not_taken
    return may_not_nudge(at, now.order, "measured" if stands else "not_taken")


def _is_elsewhere(order: Order) -> bool:
    """Whether its pattern is a file on some disk: none is read because a page asks for it."""
    return order.pattern is not None and not order.pattern.drawing


def _hand(edit: Edit) -> Hand | None:
    """The hand as the book knows it; none for a key that no order has."""
    try:
        return None if edit.hand is None else Hand(book_key(address(edit.key).key), edit.hand)
    except UnknownKeyError:
        return None


def _within_reach(found: tuple[Refusal, ...], edit: Edit, now: Opened, unit: str) -> tuple[Refusal, ...]:
    """Refusals of a length that no order may have, told by what this very order may have where that is less.

    The draft is asked at the nearest length that any order may have; what it says names the length it was given.
    """
    if len(found) != 1 or not found[0].allowed or not isinstance(edit.text, str):
        return found
    try:
        spec, given = address(edit.key).spec, parse_length(edit.text, unit)
    except (UnknownKeyError, LengthError):
        return found
    if spec.kind != "length" or spec.low <= given <= spec.high:
        return found
    nearest = spec.low if given < spec.low else spec.high
    try:
        Desk._work(edited(now.entry.text, Edit(edit.key, text=f"{nearest} mm"), unit), edit.key, now.order)
    except RefusedError as e:
        because = e.refusals[0].because
        if e.refusals[0].key == edit.key and because is not None and "given" in because.args:
            said = tell(because.code, {**because.args, "given": Length(given, "both")}, named)
            return (Refusal(edit.key, said),)
    return found


def _stands(key: str, doc: Mapping[str, Any], order: Order, work: Work | None, unit: str) -> str:
    """A value as the page shows it; "" for what is no value (a list of cloths)."""
    try:
        return shown_text(key, doc, order, work, unit)
    except UnknownKeyError:
        return ""


def _stood(key: str, text: str, unit: str) -> str:
    """A value as the page showed it when the order was `text`."""
    try:
        order = parsed(text)
    except RefusedError:
        return ""
    try:
        work = None if _is_elsewhere(order) else work_out(order)
    except (OrderError, LayerError):
        work = None
    return _stands(key, tomllib.loads(text), order, work, unit)
