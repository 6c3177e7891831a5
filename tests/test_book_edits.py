"""Saving, coalescing, conflicts, undo and redo, history: on both databases."""

from __future__ import annotations

import random
from datetime import date

import pytest

from book_places import ORDER, order_text
from coutil.book import BookError, Change, ConflictError, MissingError, TextError, text_changes


def changed(v):
    return [str(c) for c in v.changes]


def test_an_order_comes_back_as_it_was_given(book):
    o = book.add_order(ORDER, due=date(2026, 6, 1))
    assert o == book.order(o.id)
    assert (o.text, o.due, o.edit, o.version, o.can_undo, o.can_redo) == (ORDER, date(2026, 6, 1), 1, 1, False, False)
    assert o.name == "moss corset top"


def test_edits_of_different_keys_are_versions_of_their_own(book, clock):
    o = book.add_order(ORDER)
    o = book.save(o.id, order_text(waist=71), based_on=o.edit)
    clock.turn(seconds=5)
    o = book.save(o.id, order_text(waist=71, hem=10), based_on=o.edit)
    h = book.history(o.id)
    assert [changed(v) for v in h] == [["style.hem: 9 → 10"], ["body.waist: 70.5 → 71"], []]
    assert [v.made_at.second for v in h] == [5, 0, 0]
    assert [v.place for v in h] == ["now", "before", "before"]


def test_keystrokes_on_one_key_make_one_version_that_says_the_last(book, clock):
    o = book.add_order(ORDER)
    for typed in (7, 71, 71.2):
        clock.turn(seconds=1)
        # 7 cm would not do as a waist; what is typed on the way may.
        o = book.save(o.id, order_text(waist=max(typed, 60)), based_on=o.edit)
    assert (o.version, o.edit) == (2, 4)
    last = book.history(o.id)[0]
    assert changed(last) == ["body.waist: 70.5 → 71.2"]
    assert (last.made_at.second, last.changed_at.second) == (1, 3)


def test_a_minute_later_a_new_version_begins(book, clock):
    o = book.add_order(ORDER)
    o = book.save(o.id, order_text(waist=71), based_on=o.edit)
    clock.turn(seconds=60)
    o = book.save(o.id, order_text(waist=72), based_on=o.edit)
    assert o.version == 2
    # Counted from the first keystroke, so that endless nudging does not end up in one version.
    clock.turn(seconds=1)
    o = book.save(o.id, order_text(waist=73), based_on=o.edit)
    assert o.version == 3


def test_a_clock_that_is_set_back_joins_nothing(book, clock):
    o = book.add_order(ORDER)
    o = book.save(o.id, order_text(waist=71), based_on=o.edit)
    clock.turn(seconds=-30)
    assert book.save(o.id, order_text(waist=72), based_on=o.edit).version == 3


def test_typing_back_to_the_old_value_keeps_both(book):
    o = book.add_order(ORDER)
    o = book.save(o.id, order_text(waist=71), based_on=o.edit)
    o = book.save(o.id, ORDER, based_on=o.edit)
    assert (o.version, o.text) == (3, ORDER)
    assert book.undo(o.id, based_on=o.edit).text == order_text(waist=71)


def test_after_an_undo_keystrokes_do_not_touch_what_was_undone(book):
    o = book.add_order(ORDER)
    o = book.save(o.id, order_text(waist=71), based_on=o.edit)
    o = book.save(o.id, order_text(waist=71, hem=10), based_on=o.edit)
    o = book.undo(o.id, based_on=o.edit)
    # The same key as the current version's, within the minute: but another version was made from it.
    o = book.save(o.id, order_text(waist=72), based_on=o.edit)
    assert o.version == 4
    assert {v.number: (v.parent, v.place) for v in book.history(o.id)} == {
        1: (None, "before"),
        2: (1, "before"),
        3: (2, "aside"),
        4: (2, "now"),
    }
    assert book.version(o.id, 3).text == order_text(waist=71, hem=10)
    assert book.version(o.id, 2).text == order_text(waist=71)


def test_undo_and_redo_walk_the_versions(book):
    o = book.add_order(ORDER)
    o = book.save(o.id, order_text(waist=71), based_on=o.edit)
    o = book.set_due(o.id, date(2026, 7, 1), based_on=o.edit)
    o = book.undo(o.id, based_on=o.edit)
    assert (o.due, o.text, o.can_redo) == (None, order_text(waist=71), True)
    o = book.undo(o.id, based_on=o.edit)
    assert (o.text, o.can_undo) == (ORDER, False)
    with pytest.raises(BookError, match="nothing to undo"):
        book.undo(o.id, based_on=o.edit)
    o = book.redo(o.id, based_on=o.edit)
    o = book.redo(o.id, based_on=o.edit)
    assert (o.due, o.text, o.can_redo) == (date(2026, 7, 1), order_text(waist=71), False)
    with pytest.raises(BookError, match="nothing to redo"):
        book.redo(o.id, based_on=o.edit)


def test_an_older_version_is_brought_back_as_a_new_one(book):
    o = book.add_order(ORDER)
    o = book.save(o.id, order_text(waist=71), based_on=o.edit)
    o = book.bring_back(o.id, 1, based_on=o.edit)
    assert (o.text, o.version) == (ORDER, 3)
    assert book.history(o.id)[0].how == "brought back"
    with pytest.raises(MissingError, match="no version 9"):
        book.bring_back(o.id, 9, based_on=o.edit)


def test_the_second_window_is_told_and_nothing_is_overwritten(book):
    o = book.add_order(ORDER)
    first = book.save(o.id, order_text(waist=71), based_on=o.edit)
    for write in (
        lambda: book.save(o.id, order_text(hem=10), based_on=o.edit),
        lambda: book.set_due(o.id, date(2026, 7, 1), based_on=o.edit),
        lambda: book.undo(o.id, based_on=o.edit),
        lambda: book.redo(o.id, based_on=o.edit),
        lambda: book.bring_back(o.id, 1, based_on=o.edit),
        lambda: book.keep_typed(o.id, {"body.bust": "9"}, based_on=o.edit),
        lambda: book.remove_order(o.id, based_on=o.edit),
    ):
        with pytest.raises(ConflictError) as told:
            write()
        assert told.value.newer == first
    assert book.order(o.id) == first


def test_a_stale_window_is_told_of_joined_keystrokes_too(book):
    """The version's number stays the same when keystrokes join; the edit's does not."""
    o = book.add_order(ORDER)
    a = book.save(o.id, order_text(waist=71), based_on=o.edit)
    b = book.save(o.id, order_text(waist=72), based_on=a.edit)
    assert a.version == b.version
    with pytest.raises(ConflictError):
        book.save(o.id, order_text(waist=71, hem=10), based_on=a.edit)


def test_a_save_whose_answer_was_lost_may_be_repeated(book):
    o = book.add_order(ORDER)
    done = book.save(o.id, order_text(waist=71), based_on=o.edit)
    assert book.save(o.id, order_text(waist=71), based_on=o.edit) == done


def test_what_is_typed_and_not_usable_is_kept(book):
    o = book.add_order(ORDER)
    typed = {"body.bust": '36 1/ \x00 \ud800 "'}
    o = book.keep_typed(o.id, typed, based_on=o.edit)
    assert book.order(o.id).typed == typed
    o = book.save(o.id, order_text(waist=71), based_on=o.edit)
    assert o.typed == typed
    # Undo takes away what came last to hand: the unusable value, not the waist.
    o = book.undo(o.id, based_on=o.edit)
    assert (o.typed, o.text) == ({}, order_text(waist=71))
    o = book.keep_typed(o.id, typed, based_on=o.edit)
    o = book.save(o.id, order_text(waist=71, bust=97), based_on=o.edit, typed={})
    assert o.typed == {}
    with pytest.raises(BookError, match="at most"):
        book.keep_typed(o.id, {"body.bust": "9" * 20_000}, based_on=o.edit)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "body"),
        ("[body", "not TOML"),
        (ORDER.replace("waist", "wiast"), "wiast"),
        (ORDER + "# \ud800", "surrogate"),
        (ORDER + "# \x00", "not TOML"),
        ("x" * 1_000_001, "larger"),
    ],
)
def test_a_text_that_is_no_order_is_refused_and_nothing_is_lost(book, text, says):
    o = book.add_order(ORDER)
    with pytest.raises(BookError, match=says):
        book.save(o.id, text, based_on=o.edit)
    assert book.order(o.id) == o
    with pytest.raises(BookError, match=says):
        book.add_order(text)
    assert len(book.orders()) == 1


def test_every_problem_of_a_text_is_told(book):
    o = book.add_order(ORDER)
    with pytest.raises(TextError) as told:
        book.save(o.id, order_text(waist=1, hem='"x"'), based_on=o.edit)
    assert len(told.value.problems) == 2
    assert all(f"order {o.id}" in p for p in told.value.problems)


def test_what_is_not_there_is_missing(book):
    for ask in (
        lambda: book.order(7),
        lambda: book.edit_of(7),
        lambda: book.save(7, ORDER, based_on=1),
        lambda: book.history(7),
        lambda: book.remove_order(7, based_on=1),
        lambda: book.client(7),
        lambda: book.tapes(7),
        lambda: book.tape(7),
        lambda: book.erase_client(7),
        lambda: book.add_order(ORDER, client_id=7),
    ):
        with pytest.raises(MissingError):
            ask()


def test_random_edits_agree_with_a_list_of_texts(book, clock):
    """Undo and redo against a plain model: two stacks of (text, due); the book stays sound throughout."""
    rng = random.Random(20260504)
    o = book.add_order(ORDER)
    back, ahead = [], []
    here = (ORDER, None)
    for step in range(250):
        clock.turn(minutes=2)  # no joining, so the model stays plain
        do = rng.choice(["save", "save", "due", "undo", "undo", "redo"])
        if do == "undo" and back:
            ahead.append(here)
            here = back.pop()
            o = book.undo(o.id, based_on=o.edit)
        elif do == "redo" and ahead:
            back.append(here)
            here = ahead.pop()
            o = book.redo(o.id, based_on=o.edit)
        elif do in ("save", "due"):
            new = (
                (order_text(waist=60 + step / 10), here[1]) if do == "save" else (here[0], date(2026, 1, 1 + step % 28))
            )
            if new == here:
                continue
            back.append(here)
            ahead, here = [], new
            if do == "save":
                o = book.save(o.id, new[0], based_on=o.edit)
            else:
                o = book.set_due(o.id, new[1], based_on=o.edit)
        assert (o.text, o.due, o.can_undo, o.can_redo) == (*here, bool(back), bool(ahead))
    assert book.check() == ()


class TestChanges:
    def test_each_key_is_told_once(self):
        after = (
            order_text(waist=71, hem='"4 in"').replace("width = 140", "width = 150").replace("hem_point", "# hem_point")
        )
        assert [str(c) for c in text_changes(ORDER, after)] == [
            "body.waist: 70.5 → 71",
            'style.hem: 9 → "4 in"',
            "cloth 1.width: 140 → 150",
            'style.hem_point = "1 1/4 in" removed',
        ]

    def test_tables_that_come_and_go(self):
        lined = ORDER + "\n[build.lining]\n"
        assert text_changes(ORDER, lined) == (Change("build.lining", None, "{}"),)
        assert text_changes(lined, ORDER) == (Change("build.lining", "{}", None),)
        two = ORDER + '\n[[cloth]]\nname = "net"\nfor = ["lining"]\n'
        assert [c.key for c in text_changes(ORDER, two)] == ["cloth 2", "cloth 2.name", "cloth 2.for"]

    def test_only_remarks(self):
        assert text_changes(ORDER, ORDER + "# more\n") == (Change("remarks", None, None),)
        assert text_changes(ORDER, ORDER) == ()

    def test_true_is_not_one_and_a_text_is_not_a_number(self):
        assert text_changes("a = 1", "a = true") == (Change("a", "1", "true"),)
        assert text_changes("a = 1", 'a = "1"') == (Change("a", "1", '"1"'),)
        assert text_changes("a = 1", "a = 1.0") == (Change("a", "1", "1.0"),)
