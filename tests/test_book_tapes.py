"""Tapes, the orders that begin with them, their days, their end: on both databases."""

from __future__ import annotations

import json
import zipfile
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import create_engine

from book_places import LABEL, ORDER, order_text
from coutil.book import BookError, ConflictError, MissingError, TapeInOrder, open_book
from coutil.book.address import address_of
from coutil.order import parse_order
from test_book_whole import _raw

# The clock of the tests stands at 4 May 2026.
EARLY, MARCH, MAY = date(2026, 1, 5), date(2026, 3, 1), date(2026, 5, 4)


def tape_text(waist: float = 72, more: str = "") -> str:
    return (
        f'unit = "cm"\n[body]\nbust = 101\nunderbust = 84\nwaist = {waist}\nbust_span = 20\n'
        f"bust_to_underbust = 8.5\nbust_to_waist = 19\n{more}"
    )


def waist_of(entry) -> float:
    return parse_order(entry.text).body.waist


class TestBeginning:
    def test_a_new_order_begins_with_the_newest_tape(self, book):
        c = book.add_client("Q.")
        book.add_tape(c.id, tape_text(70), taken_on=EARLY)
        newest = book.add_tape(c.id, tape_text(73), taken_on=MARCH)
        # Kept last, but of an older day.
        book.add_tape(c.id, tape_text(71), taken_on=date(2026, 2, 1))
        o = book.begin_order(ORDER, client_id=c.id)
        assert parse_order(o.text).body == parse_order(newest.text).body
        assert (o.client_id, o.name, o.tape) == (c.id, "moss corset top", TapeInOrder(MARCH, kept=True))
        assert "# over the high hip" in o.text
        (first,) = book.history(o.id)
        assert (first.how, first.tape_on) == ("made", MARCH)
        assert book.client(c.id).taken_on == MARCH
        assert book.check() == ()

    def test_of_one_day_the_tape_kept_last_counts(self, book, clock, tmp_path):
        """By when it was kept, not by its number: one that came in with a file may have been kept before."""
        c = book.add_client("Q.")
        book.add_tape(c.id, tape_text(70), taken_on=MARCH)
        file = book.export_book(tmp_path / "before.zip")
        for tape in book.tapes(c.id):
            book.erase_tape(tape.id)
        clock.turn(hours=1)
        late = book.add_tape(c.id, tape_text(71), taken_on=MARCH)
        book.import_book(file)
        early, of_later_number = (
            sorted(book.tapes(c.id), key=lambda t: t.made_at)[0],
            max(book.tapes(c.id), key=lambda t: t.id),
        )
        assert early == of_later_number
        assert book.tapes(c.id) == (late, early)
        assert waist_of(book.begin_order(ORDER, client_id=c.id)) == 710

    def test_without_a_tape_it_begins_as_its_text(self, book):
        c = book.add_client(LABEL)
        o = book.begin_order(ORDER, client_id=c.id)
        assert (o.text, o.tape) == (ORDER, None)
        assert book.history(o.id)[0].tape_on is None
        assert book.client(c.id).taken_on is None

    def test_another_clients_tape_is_never_taken(self, book):
        book.add_tape(book.add_client(LABEL).id, tape_text(70), taken_on=MARCH)
        other = book.add_client(LABEL)
        assert book.begin_order(ORDER, client_id=other.id).text == ORDER
        with pytest.raises(MissingError):
            book.begin_order(ORDER, client_id=999)

    def test_a_new_client_is_made_with_the_order_or_not_at_all(self, book):
        book.add_client("Q.")
        o = book.begin_order(ORDER, new_client="Q.")
        assert [c.label for c in book.clients()] == ["Q.", "Q."]
        assert book.client(o.client_id).orders == 1
        for label, text in (("", ORDER), ("R.", "no order"), ("x" * 500, ORDER)):
            with pytest.raises(BookError):
                book.begin_order(text, new_client=label)
        assert len(book.clients()) == 2
        assert len(book.orders()) == 1


class TestWhatAnOrderSays:
    def test_the_day_goes_along_with_the_versions(self, book, clock):
        c = book.add_client(LABEL)
        t = book.add_tape(c.id, tape_text(73), taken_on=MARCH)
        o = book.add_order(ORDER, client_id=c.id)
        assert o.tape is None
        o = book.use_tape(o.id, t.id, based_on=o.edit)
        assert o.tape == TapeInOrder(MARCH, kept=True)
        clock.turn(minutes=2)
        o = book.save(o.id, o.text.replace("hem = 9 ", "hem = 8 "), based_on=o.edit)
        assert o.tape == TapeInOrder(MARCH, kept=True)
        clock.turn(minutes=2)
        o = book.save(o.id, o.text.replace("waist = 73", "waist = 74"), based_on=o.edit)
        assert o.tape == TapeInOrder(MARCH, kept=True, changed=("waist",))
        o = book.bring_back(o.id, 1, based_on=o.edit)
        assert o.tape is None
        o = book.undo(o.id, based_on=o.edit)
        assert o.tape == TapeInOrder(MARCH, kept=True, changed=("waist",))
        o = book.bring_back(o.id, 2, based_on=o.edit)
        assert o.tape == TapeInOrder(MARCH, kept=True)
        assert [v.tape_on for v in reversed(book.history(o.id))] == [None, MARCH, MARCH, MARCH, None, MARCH]
        assert book.check() == ()

    def test_the_same_figures_from_a_later_tape_are_a_version(self, book):
        c = book.add_client(LABEL)
        book.add_tape(c.id, tape_text(), taken_on=EARLY)
        o = book.begin_order(ORDER, client_id=c.id)
        later = book.add_tape(c.id, tape_text(), taken_on=MARCH)
        now = book.use_tape(o.id, later.id, based_on=o.edit)
        assert (now.text, now.tape, now.version) == (o.text, TapeInOrder(MARCH, kept=True), 2)
        assert book.use_tape(o.id, later.id, based_on=now.edit) == now
        assert book.undo(o.id, based_on=now.edit).tape == TapeInOrder(EARLY, kept=True)
        assert book.check() == ()

    def test_readings_are_compared_as_lengths_and_by_side(self, book):
        c = book.add_client(LABEL)
        book.add_tape(c.id, tape_text(more="[body.left]\nbust_to_waist = 19.5\n"), taken_on=MARCH)
        o = book.begin_order(ORDER, client_id=c.id)
        inches = book.save(o.id, o.text.replace("bust = 101", 'bust = "1010 mm"'), based_on=o.edit)
        assert inches.tape == TapeInOrder(MARCH, kept=True)
        fuller = book.save(o.id, inches.text.replace("19.5", "20"), based_on=inches.edit)
        assert fuller.tape.changed == ("left.bust_to_waist",)

    def test_copies_say_it_too(self, book):
        c, other = book.add_client("Q."), book.add_client("R.")
        book.add_tape(c.id, tape_text(), taken_on=EARLY)
        book.add_tape(other.id, tape_text(75), taken_on=MARCH)
        o = book.begin_order(ORDER, client_id=c.id)
        assert book.copy_order(o.id, c.id).tape == TapeInOrder(EARLY, kept=True)
        assert book.copy_order(o.id, other.id).tape == TapeInOrder(MARCH, kept=True)
        # Somebody else's figures are nobody's tape.
        assert book.copy_order(o.id, other.id, keep_body=True).tape is None

    def test_another_clients_figures_are_not_kept_as_hers(self, book):
        c, other = book.add_client("Q."), book.add_client("R.")
        o = book.add_order(ORDER, client_id=c.id)
        lent = book.copy_order(o.id, other.id, keep_body=True)
        assert book.history(lent.id)[0].how == "copied with readings"
        second = book.copy_order(lent.id, other.id, name="once more")
        for order in (lent, second):
            with pytest.raises(BookError, match="another client's order"):
                book.tape_of(order.id, taken_on=MARCH)
            # A word of the style makes them no more hers.
            styled = book.save(order.id, order.text.replace("hem = 9", "hem = 10"), based_on=order.edit)
            with pytest.raises(BookError, match="another client's order"):
                book.tape_of(order.id, taken_on=MARCH)
            measured = book.save(order.id, styled.text.replace("\nbust = 96", "\nbust = 97"), based_on=styled.edit)
            assert order.text != styled.text != measured.text
            assert book.tape_of(order.id, taken_on=MARCH).client_id == other.id
        assert len(book.tapes(other.id)) == 2
        assert book.check() == ()
        # For herself they are hers, as they were.
        again = book.copy_order(o.id, c.id, name="for herself")
        assert (book.history(again.id)[0].how, book.tape_of(again.id, taken_on=MARCH).client_id) == ("copied", c.id)


class TestDayAndNote:
    def test_both_can_be_changed_and_the_orders_say_the_new_day(self, book, clock):
        c = book.add_client("Q.")
        t = book.add_tape(c.id, tape_text(), taken_on=MAY)
        o = book.begin_order(ORDER, client_id=c.id)
        noted = book.change_tape(t.id, note="after lunch")
        assert (noted.taken_on, noted.note, noted.text) == (MAY, "after lunch", t.text)
        assert book.order(o.id) == o
        dated = book.change_tape(t.id, taken_on=MARCH)
        assert (dated.taken_on, dated.note) == (MARCH, "after lunch")
        now = book.order(o.id)
        assert (now.tape, now.text, now.version) == (TapeInOrder(MARCH, kept=True), o.text, o.version)
        # Counted as an edit: a window that still says the old day looks again.
        assert now.edit == o.edit + 1
        assert book.history(o.id)[0].tape_on == MARCH
        assert book.check() == ()
        with pytest.raises(MissingError):
            book.change_tape(99, note="x")

    @pytest.mark.parametrize(("day", "says"), [(date(2026, 5, 6), "still to come"), (date(202, 6, 3), "before 1900")])
    def test_days_on_which_nobody_was_measured_are_refused(self, book, day, says):
        c = book.add_client("Q.")
        t = book.add_tape(c.id, tape_text(), taken_on=MAY)
        with pytest.raises(BookError, match=says):
            book.add_tape(c.id, tape_text(), taken_on=day)
        with pytest.raises(BookError, match=says):
            book.change_tape(t.id, taken_on=day, note="lost too")
        assert book.tapes(c.id) == (t,)

    def test_notes_that_no_file_would_take_are_refused(self, book):
        t = book.add_tape(book.add_client("Q.").id, tape_text(), taken_on=MAY)
        with pytest.raises(BookError, match="control sign"):
            book.change_tape(t.id, note="a\0b")


class TestErasing:
    def test_nothing_of_an_erased_tape_is_left_in_the_files(self, book, place, postgres):
        """The raw files of the database are searched for its note and for a figure that it alone holds."""
        c = book.add_client("Q.")
        words = (b"Zinnwald-Lunchtime", b"83.8642")
        for n in range(30):
            book.add_tape(c.id, tape_text(70 + n / 2), taken_on=EARLY)
        t = book.add_tape(c.id, tape_text(83.8642), taken_on=MARCH, note="Zinnwald-Lunchtime")
        if "://" in place:
            postgres.sql("ANALYZE", place.rpartition("/")[2])
        there = _raw(place, postgres)
        assert all(any(w in data for data in there.values()) for w in words)
        done = book.erase_tape(t.id)
        assert (done.taken_on, done.orders) == (MARCH, ())
        assert any("Backups" in says for says in done.left)
        assert {(name, w) for name, data in _raw(place, postgres).items() for w in words if w in data} == set()
        assert len(book.tapes(c.id)) == 30
        assert book.check() == ()
        with pytest.raises(MissingError):
            book.erase_tape(t.id)

    def test_what_orders_hold_of_it_stays(self, book):
        c = book.add_client("Q.")
        t = book.add_tape(c.id, tape_text(), taken_on=MARCH, note="after lunch")
        o, free = book.begin_order(ORDER, client_id=c.id), book.add_order(ORDER, client_id=c.id)
        assert [line.id for line in book.orders_from(t.id)] == [o.id]
        assert [line.id for line in book.erase_tape(t.id).orders] == [o.id]
        now = book.order(o.id)
        assert (now.text, now.tape, now.edit) == (o.text, TapeInOrder(MARCH, kept=False), o.edit + 1)
        assert book.order(free.id) == free
        assert book.begin_order(ORDER, client_id=c.id).tape is None
        assert book.check() == ()

    def test_a_client_is_erased_with_the_days_that_orders_hold(self, book, place, postgres):
        c = book.add_client("Q.")
        t = book.add_tape(c.id, tape_text(), taken_on=MARCH)
        book.begin_order(ORDER, client_id=c.id)
        book.erase_client(c.id)
        assert all(t.uid.encode() not in data for data in _raw(place, postgres).values())


def to_first_form(place: str) -> None:
    """Take a book back to the form that it had before versions named tapes."""
    engine = create_engine(address_of(place).url)
    with engine.begin() as c:
        for column in ("tape_uid", "tape_on"):
            c.exec_driver_sql(f"ALTER TABLE versions DROP COLUMN {column}")
        c.exec_driver_sql("UPDATE coutil_schema SET version_num = '0001'")
    engine.dispose()


class TestOlderForms:
    def test_a_book_of_the_first_form_is_brought_up_to_date(self, place, clock):
        with open_book(place, clock=clock) as book:
            o = book.add_order(ORDER)
            book.tape_of(o.id, taken_on=MARCH)
            o = book.save(o.id, order_text(waist=71), based_on=o.edit)
        to_first_form(place)
        with open_book(place, clock=clock) as book:
            assert book.order(o.id) == o
            assert book.check() == ()
            again = book.begin_order(ORDER, client_id=o.client_id)
            assert again.tape == TapeInOrder(MARCH, kept=True)
            with pytest.raises(ConflictError):
                book.save(o.id, ORDER, based_on=o.edit + 7)

    def test_a_file_of_the_first_version_comes_in(self, book, tmp_path):
        o = book.add_order(ORDER)
        file = book.export_book(tmp_path / "now.zip")
        old = tmp_path / "old.zip"
        as_first_version(file, old)
        rows = json.loads(zipfile.ZipFile(old).read("versions.jsonl"))
        assert "tape_on" not in rows
        book.restore(old)
        assert book.order(o.id).text == ORDER
        assert book.check() == ()

    def test_the_day_goes_out_and_comes_in(self, book, tmp_path):
        c = book.add_client("Q.")
        book.add_tape(c.id, tape_text(), taken_on=MARCH)
        o = book.begin_order(ORDER, client_id=c.id)
        with open_book(tmp_path / "other.sqlite3") as other:
            other.import_book(book.export_book(tmp_path / "book.zip"))
            (line,) = other.orders()
            assert other.order(line.id).tape == o.tape
            assert other.check() == ()
        with zipfile.ZipFile(book.export_client(c.id, tmp_path / "client.zip")) as z:
            told = json.loads(z.read("client.json"))
        assert [v["tape_on"] for v in told["orders"][0]["versions"]] == ["2026-03-01"]


def as_first_version(file: Path, old: Path) -> None:
    """The file of a whole book as version 1 wrote it."""
    import hashlib

    with zipfile.ZipFile(file) as z, zipfile.ZipFile(old, "w") as out:
        manifest = json.loads(z.read("manifest.json"))
        for name in manifest["files"]:
            data = z.read(name)
            if name == "versions.jsonl":
                rows = [json.loads(line) for line in data.decode().splitlines()]
                data = "".join(
                    json.dumps({k: v for k, v in r.items() if not k.startswith("tape_")}) + "\n" for r in rows
                ).encode()
                manifest["files"][name] |= {"bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}
            out.writestr(name, data)
        out.writestr("manifest.json", json.dumps(manifest | {"version": 1}))
