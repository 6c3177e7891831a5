"""Clients, tapes, lists and search, copies to other clients: on both databases."""

from __future__ import annotations

from datetime import date

import pytest

from book_places import LABEL, ORDER, order_text
from coutil.book import BookError, ConflictError, MissingError, TapeChange, tape_changes
from coutil.order import parse_order

OTHER = "R. Abendroth"
TAPE = """
unit = "in"
[body]
bust = "36 1/4 in"
underbust = 30
waist = 27.5
bust_span = 7.5
bust_to_underbust = 3.25
bust_to_waist = 7.25
[body.left]
bust_to_waist = 7.5
"""


def test_a_label_is_enough(book):
    c = book.add_client("7")
    assert (c.label, c.note, c.edit, c.orders, c.tapes) == ("7", "", 1, 0, 0)
    assert book.client(c.id) == c
    assert book.clients() == (c,)


@pytest.mark.parametrize("label", ["", "  ", "x" * 500, "a\nb", "a\x00b", "a\u2028b", "\ud800"])
def test_labels_that_no_order_would_take_are_refused(book, label):
    with pytest.raises(BookError):
        book.add_client(label)
    assert book.clients() == ()


def test_hostile_labels_are_only_labels(book):
    for label in ("'; DROP TABLE clients; --", "<script>alert(1)</script>", "%", "_", "Ω 裁縫 👗", '"""'):
        c = book.add_client(label)
        o = book.add_order(ORDER, client_id=c.id)
        assert parse_order(o.text).client.label == label
        assert o.client_label == label
        assert book.clients(label) == (book.client(c.id),)
    assert book.check() == ()


def test_an_order_finds_its_client_by_label_or_makes_one(book):
    a = book.add_order(ORDER)
    b = book.add_order(ORDER)
    assert a.client_id == b.client_id
    assert book.client(a.client_id).orders == 2
    # Without a label there is nothing to know her by: each gets a client of its own.
    nameless = ORDER.replace(f'label = "{LABEL}"', "")
    x, y = book.add_order(nameless), book.add_order(nameless)
    assert len({a.client_id, x.client_id, y.client_id}) == 3


def test_two_of_one_label_are_not_guessed_between(book):
    first, second = book.add_client(LABEL), book.add_client(LABEL)
    with pytest.raises(BookError, match=f"{first.id}, {second.id}"):
        book.add_order(ORDER)
    assert book.add_order(ORDER, client_id=second.id).client_id == second.id


def test_renaming_a_client_renames_her_in_her_orders(book):
    a, b = book.add_order(ORDER), book.add_order(order_text(waist=72))
    stranger = book.add_order(ORDER.replace(LABEL, OTHER))
    c = book.change_client(a.client_id, based_on=1, label="Q. A.", note="moved")
    assert (c.label, c.note, c.edit) == ("Q. A.", "moved", 2)
    for before in (a, b):
        now = book.order(before.id)
        assert now.text == before.text.replace(LABEL, "Q. A.")
        assert book.history(before.id)[0].how == "renamed"
    assert book.order(stranger.id) == stranger
    with pytest.raises(ConflictError) as told:
        book.change_client(a.client_id, based_on=1, label="other")
    assert told.value.newer == c
    assert book.check() == ()


def test_search_finds_by_label_name_and_notes_without_case_or_accents(book):
    zoe = book.add_client("Zoë Ångström", note="Allergic to wool.")
    o = book.add_order(order_text(name='"Crème bustier"', note='"Wants 100% silk_"'), client_id=zoe.id)
    p = book.add_order(ORDER)

    def found(words):
        return {line.id for line in book.orders(words)}

    assert found("zoe") == found("CREME") == found("creme angstrom") == found("wool") == {o.id}
    assert found("100%") == found("silk_") == {o.id}
    # Signs of the database's patterns are signs like any other.
    assert found("%") == found("_") == {o.id}
    assert found("tuesdays") == {p.id}
    assert found("") == found("  ") == {o.id, p.id}
    assert found("zoe moss") == set()


def test_search_follows_edits(book):
    o = book.add_order(ORDER)
    o = book.save(o.id, order_text(name='"sorrel bustier"'), based_on=o.edit)
    assert [line.name for line in book.orders("sorrel")] == ["sorrel bustier"]
    assert book.orders("moss") == ()
    book.undo(o.id, based_on=o.edit)
    assert [line.id for line in book.orders("moss")] == [o.id]


def test_what_is_due_comes_first(book, clock):
    days = [date(2026, 6, 3), None, date(2026, 6, 1), date(2026, 9, 1)]
    made = []
    for day in days:
        clock.turn(minutes=1)
        made.append(book.add_order(ORDER, due=day).id)
    assert [line.id for line in book.orders(due_by=date(2026, 6, 30))] == [made[2], made[0]]
    assert [line.id for line in book.orders()] == made[::-1]


class TestTapes:
    def test_a_tape_keeps_exactly_what_was_measured(self, book):
        c = book.add_client(OTHER)
        t = book.add_tape(c.id, TAPE, taken_on=date(2026, 3, 1), note="after lunch")
        assert book.tape(t.id) == t
        assert parse_order(t.text).body == parse_order(TAPE).body
        assert (t.taken_on, t.note) == (date(2026, 3, 1), "after lunch")

    def test_only_the_measurements_of_an_order_are_kept(self, book):
        o = book.add_order(ORDER)
        t = book.tape_of(o.id, taken_on=date(2026, 3, 1))
        assert parse_order(t.text).body == parse_order(ORDER).body
        for word in (LABEL, "moss", "hem", "shoes"):
            assert word not in t.text

    def test_the_newest_comes_first(self, book):
        c = book.add_client(OTHER)
        old, new, mid = (book.add_tape(c.id, TAPE, taken_on=date(2026, m, 1)) for m in (1, 3, 2))
        assert book.tapes(c.id) == (new, mid, old)
        book.erase_tape(mid.id)
        assert book.tapes(c.id) == (new, old)
        with pytest.raises(MissingError):
            book.erase_tape(mid.id)

    def test_half_a_tape_is_refused(self, book):
        c = book.add_client(OTHER)
        with pytest.raises(BookError, match="waist"):
            book.add_tape(c.id, TAPE.replace("waist = 27.5", ""), taken_on=date(2026, 3, 1))

    def test_differences_are_told_in_mm(self, book):
        c = book.add_client(OTHER)
        a = book.add_tape(c.id, TAPE, taken_on=date(2026, 1, 1))
        other = TAPE.replace("waist = 27.5", 'waist = "71 cm"').replace("[body.left]\nbust_to_waist = 7.5\n", "")
        b = book.add_tape(c.id, other, taken_on=date(2026, 2, 1))
        assert tape_changes(a, b) == (
            TapeChange("waist", "", 698.5, 710.0),
            TapeChange("bust_to_waist", "left", 190.5, None),
        )

    def test_an_order_takes_a_tape_over(self, book):
        o = book.add_order(ORDER)
        t = book.add_tape(o.client_id, TAPE, taken_on=date(2026, 3, 1))
        now = book.use_tape(o.id, t.id, based_on=o.edit)
        order = parse_order(now.text)
        assert order.body == parse_order(TAPE).body
        assert order.unit == "cm"
        assert "# Second fitting" in now.text
        assert "# over the high hip" in now.text
        assert book.history(o.id)[0].how == "tape"
        assert book.use_tape(o.id, t.id, based_on=now.edit) == now
        with pytest.raises(ConflictError):
            book.use_tape(o.id, t.id, based_on=o.edit)

    def test_nobody_elses(self, book):
        o = book.add_order(ORDER)
        stranger = book.add_client(OTHER)
        t = book.add_tape(stranger.id, TAPE, taken_on=date(2026, 3, 1))
        with pytest.raises(MissingError):
            book.use_tape(o.id, t.id, based_on=o.edit)
        with pytest.raises(MissingError):
            book.copy_order(o.id, o.client_id, tape_id=t.id)


class TestCopies:
    def test_a_copy_bears_nothing_of_the_first_client(self, book):
        o = book.add_order(ORDER, due=date(2026, 6, 1))
        c = book.add_client(OTHER, note="Tall.")
        book.add_tape(c.id, TAPE, taken_on=date(2026, 3, 1))
        copy = book.copy_order(o.id, c.id)
        order = parse_order(copy.text)
        assert (order.client.label, order.client.note) == (OTHER, "Tall.")
        assert order.body == parse_order(TAPE).body
        assert (order.style, order.build, order.cloth) == tuple(
            getattr(parse_order(ORDER), k) for k in ("style", "build", "cloth")
        )
        for word in (LABEL, "Tuesdays", "shoes"):
            assert word not in copy.text
        assert (copy.due, copy.version, book.history(copy.id)[0].how) == (None, 1, "copied")
        assert book.order(o.id) == o

    def test_the_newest_tape_counts(self, book):
        o = book.add_order(ORDER)
        c = book.add_client(OTHER)
        old = book.add_tape(c.id, TAPE, taken_on=date(2026, 1, 1))
        book.add_tape(c.id, TAPE.replace("waist = 27.5", "waist = 28"), taken_on=date(2026, 2, 1))
        assert parse_order(book.copy_order(o.id, c.id).text).body.waist == 711.2
        assert parse_order(book.copy_order(o.id, c.id, tape_id=old.id).text).body.waist == 698.5

    def test_nobody_is_given_another_body_unasked(self, book):
        o = book.add_order(ORDER)
        c = book.add_client(OTHER)
        with pytest.raises(BookError, match="no tape"):
            book.copy_order(o.id, c.id)
        assert len(book.orders()) == 1
        assert parse_order(book.copy_order(o.id, c.id, keep_body=True).text).body == parse_order(ORDER).body

    def test_a_second_one_for_the_same_client(self, book):
        o = book.add_order(ORDER)
        copy = book.copy_order(o.id, o.client_id, name="moss, again")
        assert copy.text == ORDER.replace("moss corset top", "moss, again")
        assert book.check() == ()
