"""The book as a whole: export, import, backup, restore, check; a client exported and erased. On both databases."""

from __future__ import annotations

import json
import random
import zipfile
from datetime import date
from pathlib import Path

import pytest

from book_places import LABEL, ORDER, order_text
from coutil.book import BookError, DamagedError, MissingError, open_book, restore_book
from coutil.book.rows import all_rows
from coutil.order import parse_order

OTHER = "R. Abendroth"


def fill(book, clock):
    """Two clients, tapes, orders with versions before, after and aside; their numbers."""
    a = book.add_order(ORDER, due=date(2026, 6, 1))
    book.tape_of(a.id, taken_on=date(2026, 2, 1), note="with shoes")
    for waist in (71, 72, 73):
        clock.turn(minutes=2)
        a = book.save(a.id, order_text(waist=waist), based_on=a.edit)
    a = book.undo(a.id, based_on=a.edit)
    a = book.undo(a.id, based_on=a.edit)
    a = book.save(a.id, order_text(waist=71, hem=11), based_on=a.edit)
    a = book.undo(a.id, based_on=a.edit)
    a = book.keep_typed(a.id, {"body.bust": "38 1/"}, based_on=a.edit)
    b = book.add_order(ORDER.replace(LABEL, OTHER))
    book.set_setting("unit", "in")
    return a, b


def rows(book):
    with book._reading() as c:
        return all_rows(c)


class TestWholeFile:
    @pytest.mark.parametrize("to", ["sqlite", "postgresql"])
    def test_a_book_moves_whole_to_the_other_database(self, book, clock, to, tmp_path, postgres):
        fill(book, clock)
        file = book.export_book(tmp_path / "book.zip")
        there = str(tmp_path / "moved.sqlite3") if to == "sqlite" else postgres.fresh("moved")
        with open_book(there) as moved:
            done = moved.restore(file)
            assert (done.clients, done.orders, done.versions, done.before) == (2, 2, 6, None)
            mine, hers = rows(book), rows(moved)
            for table in ("clients", "orders"):
                # Counted on, so that no window takes a restored order for the one it shows.
                assert [{**r, "edit": r["edit"] + 1} for r in mine[table]] == hers[table]
            for table in ("tapes", "versions", "settings"):
                assert mine[table] == hers[table]
            assert moved.check() == ()
            # The numbers go on behind those put back.
            new = moved.add_order(ORDER)
            assert new.id > max(r["id"] for r in hers["orders"])
            o = moved.order(hers["orders"][0]["id"])
            moved.redo(o.id, based_on=o.edit)
        if to == "postgresql":
            postgres.drop("moved")

    def test_an_import_adds_and_never_doubles(self, book, clock, tmp_path):
        a, _b = fill(book, clock)
        file = book.export_book(tmp_path / "book.zip")
        before = rows(book)
        again = book.import_book(file)
        assert (again.clients, again.tapes, again.orders, again.there_already) == (0, 0, 0, 5)
        assert rows(book) == before

        # The book went on; the older file brings nothing back.
        book.save(a.id, order_text(waist=74), based_on=a.edit)
        assert book.import_book(file).orders == 0

        with open_book(tmp_path / "second.sqlite3") as second:
            second.add_order(ORDER)
            come = second.import_book(file)
            assert (come.clients, come.tapes, come.orders, come.versions) == (2, 1, 2, 6)
            assert len(second.orders()) == 3
            assert second.check() == ()
            assert second.setting("unit") is None
            # Here it goes on otherwise: both are kept.
            mine = next(o for o in second.orders("moss") if o.uid == a.uid)
            now = second.order(mine.id)
            second.save(mine.id, order_text(waist=80), based_on=now.edit)
            other = second.export_book(tmp_path / "second.zip")
        come = book.import_book(other)
        # The one that is only there, and the one that differs.
        assert come.orders == 2
        assert any("went on otherwise" in n for n in come.notes)
        assert sorted(book.order(o.id).text for o in book.orders() if "waist = 74" in book.order(o.id).text)
        assert book.check() == ()

    def test_a_file_that_is_there_is_not_overwritten(self, book, tmp_path):
        file = tmp_path / "book.zip"
        file.write_text("precious")
        with pytest.raises(BookError, match="there already"):
            book.export_book(file)
        assert file.read_text() == "precious"
        assert [p.name for p in tmp_path.iterdir() if p.suffix == ".zip" or p.name.startswith(".coutil")] == [
            "book.zip"
        ]
        book.export_book(file, force=True)
        assert zipfile.is_zipfile(file)

    def test_spoilt_files_are_refused_whole(self, book, clock, tmp_path):
        """2000 files, each with a few bytes changed, cut, or doubled: refused with BookError, or read whole."""
        fill(book, clock)
        good = book.export_book(tmp_path / "book.zip").read_bytes()
        before = rows(book)
        rng = random.Random(20260504)
        bad = tmp_path / "bad.zip"
        refused = 0
        # Reading is the same for both databases; each gets half.
        for _ in range(1000):
            data = bytearray(good)
            match rng.randrange(4):
                case 0:
                    for _ in range(rng.randint(1, 8)):
                        data[rng.randrange(len(data))] = rng.randrange(256)
                case 1:
                    del data[rng.randrange(len(data)) :]
                case 2:
                    at = rng.randrange(len(data))
                    del data[at : at + rng.randint(1, 40)]
                case 3:
                    at = rng.randrange(len(data))
                    data[at:at] = data[at : at + rng.randint(1, 400)]
            bad.write_bytes(bytes(data))
            try:
                book.import_book(bad)
            except BookError:
                refused += 1
        assert refused > 800
        # What was not refused was undamaged where it counts, and so was there already.
        assert rows(book) == before

    @pytest.mark.parametrize(
        ("table", "spoil", "says"),
        [
            ("orders", {"current": 99}, "current version 99 is missing"),
            ("orders", {"client_id": 99}, "client 99"),
            ("orders", {"name": "other"}, "name in the list differs"),
            ("orders", {"typed": "[]"}, "typed"),
            ("orders", {"edit": 1}, "edits"),
            ("orders", {"id": "1"}, "id is not"),
            ("orders", {"id": True}, "id is not"),
            ("orders", {"due": "2026-13-01"}, "due is not"),
            ("orders", {"extra": 1}, "columns"),
            ("versions", {"text": "[body"}, "cannot be read"),
            ("versions", {"parent": 4}, "version"),
            ("versions", {"changes": '[["a","1","2"]]'}, "what changed"),
            ("versions", {"changes": "x"}, "what changed"),
            ("versions", {"how": "magic"}, "how it came to be"),
            ("versions", {"made_at": "yesterday"}, "not a time"),
            ("versions", {"text": "\0"}, "text is not"),
            ("clients", {"label": "a\nb"}, "control sign"),
            ("clients", {"find": "x"}, "found by"),
            ("clients", {"uid": "../../etc"}, "uid is not"),
            ("tapes", {"text": ""}, "cannot be read"),
            ("clients", {"edit": 2**40}, "edit is not"),
        ],
    )
    def test_an_unsound_book_with_right_checksums_is_refused(self, tmp_path, clock, table, spoil, says):
        """Checksums can be made by anyone; what counts is what stands in the rows. The same judge serves `check`."""
        from coutil.book.packing import pack

        with open_book(tmp_path / "b.sqlite3", clock=clock) as book:
            fill(book, clock)
            spoilt = rows(book)
            spoilt[table][0] |= spoil
            file = pack(spoilt, tmp_path / "bad.zip", clock(), force=False)
            with pytest.raises(BookError, match=says):
                book.restore(file)
            with pytest.raises(BookError, match=says):
                book.import_book(file)
            assert book.check() == ()

    def test_foreign_newer_and_huge_zips(self, book, tmp_path):
        file = tmp_path / "x.zip"

        def zipped(**entries):
            with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as z:
                for name, text in entries.items():
                    z.writestr(name.replace("_json", ".json"), text)
            return file

        for content, says in (
            ({"readme": "x"}, "not a file of a whole book"),
            ({"manifest_json": "{}"}, "not a book of coutil"),
            ({"manifest_json": "[" * 100_000}, "not a file of a whole book"),
            ({"manifest_json": " " * 10_000_000}, "not a file of a whole book"),
            ({"manifest_json": json.dumps({"format": "coutil-book", "version": 3})}, "newer coutil"),
            ({"manifest_json": json.dumps({"format": "coutil-book", "version": "x"})}, "version"),
            ({"manifest_json": json.dumps({"format": "coutil-book", "version": 1, "files": {}})}, "does not list"),
        ):
            with pytest.raises(BookError, match=says):
                book.import_book(zipped(**content))
        with pytest.raises(BookError, match="cannot be read"):
            book.import_book(tmp_path / "nothing.zip")


class TestBackup:
    def test_a_backup_is_named_by_the_time_and_put_back(self, book, clock, tmp_path):
        a, _b = fill(book, clock)
        (tmp_path / "stick").mkdir()
        file = book.backup(tmp_path / "stick")
        assert file.name.startswith("coutil-book-2026-05-0")
        assert book.backup(tmp_path / "stick").name == f"{file.stem}-2.zip"
        assert file.stat().st_mode & 0o077 == 0
        kept = book.order(a.id)
        changed = book.save(a.id, order_text(waist=90), based_on=a.edit)
        done = book.restore(file)
        now = book.order(a.id)
        assert (now.text, now.due, now.typed, now.version) == (kept.text, kept.due, kept.typed, kept.version)
        # A window that still shows the order as it was before cannot overwrite it.
        assert now.edit > changed.edit
        assert book.check() == ()
        # What was there before can be put back too.
        assert done.before is not None
        book.restore(done.before)
        assert book.order(a.id).text == changed.text

    def test_without_a_folder_it_goes_beside_the_book(self, tmp_path, clock):
        with open_book(tmp_path / "data" / "b.sqlite3", clock=clock) as book:
            book.add_order(ORDER)
            assert book.backup().parent == tmp_path / "data" / "backups"

    def test_a_damaged_book_is_moved_aside(self, tmp_path, clock):
        place = tmp_path / "b.sqlite3"
        with open_book(place, clock=clock) as book:
            a, _b = fill(book, clock)
            file = book.backup(tmp_path / "backup.zip")
            book.wipe()
        data = bytearray(place.read_bytes())
        data[4096:] = b"\xa5" * (len(data) - 4096)
        place.write_bytes(data)
        with pytest.raises(DamagedError):
            open_book(place)
        # A bad backup changes nothing.
        bad = tmp_path / "bad.zip"
        bad.write_bytes(file.read_bytes()[:-99])
        with pytest.raises(BookError):
            restore_book(bad, place)
        assert place.read_bytes() == data
        done = restore_book(file, place)
        assert done.before is not None
        assert done.before.read_bytes() == data
        with open_book(place) as book:
            assert book.order(a.id).text == a.text
            assert book.check() == ()

    def test_a_foreign_file_is_not_replaced_by_a_backup(self, tmp_path, clock):
        with open_book(tmp_path / "b.sqlite3", clock=clock) as book:
            file = book.backup(tmp_path / "backup.zip")
        foreign = tmp_path / "letter.txt"
        foreign.write_text("Dear aunt")
        with pytest.raises(BookError, match="not a book"):
            restore_book(file, foreign)
        assert foreign.read_text() == "Dear aunt"


class TestCheck:
    @pytest.mark.parametrize(
        ("statement", "says"),
        [
            ("UPDATE orders SET current = 77 WHERE id = 1", "current version 77 is missing"),
            ("UPDATE orders SET name = 'x' WHERE id = 1", "name in the list differs"),
            ("UPDATE orders SET due = '2027-01-01' WHERE id = 1", "due date in the list differs"),
            ("UPDATE orders SET edit = 0 WHERE id = 1", "edit"),
            ("UPDATE versions SET text = 'x' WHERE order_id = 1 AND number = 2", "cannot be read"),
            ("UPDATE versions SET parent = NULL WHERE order_id = 1 AND number = 3", "only the first"),
            ("UPDATE versions SET changes = '[]' WHERE order_id = 1 AND number = 2", "what changed"),
            ("UPDATE versions SET number = 9 WHERE order_id = 1 AND number = 4", "gap"),
            ("UPDATE versions SET tape_on = '2026-03-01' WHERE order_id = 1 AND number = 2", "a day without its tape"),
            ("UPDATE tapes SET text = ''", "tape 1: its text"),
            ("UPDATE clients SET find = '' WHERE id = 1", "client 1"),
        ],
    )
    def test_every_kind_of_damage_is_found(self, book, clock, place, statement, says):
        from sqlalchemy import create_engine

        from coutil.book.address import address_of

        fill(book, clock)
        assert book.check() == ()
        engine = create_engine(address_of(place).url)
        with engine.begin() as c:
            c.exec_driver_sql(statement)
        engine.dispose()
        assert any(says in str(f) for f in book.check())

    def test_a_broken_reference_and_a_damaged_page(self, tmp_path, clock):
        import sqlite3

        place = tmp_path / "b.sqlite3"
        with open_book(place, clock=clock) as book:
            fill(book, clock)
            # Without foreign_keys, as any other program would open it.
            raw = sqlite3.connect(place)
            raw.execute("DELETE FROM clients WHERE id = 1")
            raw.commit()
            raw.close()
            assert any("refers to clients" in str(f) for f in book.check())

    def test_nonsense_in_a_page_is_told_not_raised(self, tmp_path, clock):
        place = tmp_path / "b.sqlite3"
        with open_book(place, clock=clock) as book:
            fill(book, clock)
            book.wipe()
        data = bytearray(place.read_bytes())
        data[-4096:] = b"\xa5" * 4096
        place.write_bytes(data)
        with open_book(place, clock=clock) as book:
            assert book.check() != ()


class TestOneClient:
    def test_all_about_a_client_in_one_file(self, book, clock, tmp_path):
        a, b = fill(book, clock)
        file = book.export_client(a.client_id, tmp_path / "client.zip")
        with zipfile.ZipFile(file) as z:
            about = json.loads(z.read("client.json"))
            texts = {n: z.read(n).decode() for n in z.namelist() if n.endswith(".toml")}
        assert about["client"]["label"] == LABEL
        assert [o["id"] for o in about["orders"]] == [a.id]
        assert [v["text"] for v in about["orders"][0]["versions"]] == [v.text for v in reversed(book.history(a.id))]
        assert about["orders"][0]["typed_and_not_usable"] == {"body.bust": "38 1/"}
        assert about["tapes"][0]["note"] == "with shoes"
        assert texts[f"orders/{a.id}-moss-corset-top.toml"] == a.text
        for text in texts.values():
            parse_order(text)
        assert OTHER not in json.dumps(about)
        with pytest.raises(BookError, match="there already"):
            book.export_client(b.client_id, file)

    def test_names_in_the_zip_lead_nowhere(self, book, tmp_path):
        o = book.add_order(order_text(name='"../../../etc/passwd"'))
        file = book.export_client(o.client_id, tmp_path / "client.zip")
        with zipfile.ZipFile(file) as z:
            assert sorted(z.namelist()) == ["client.json", f"orders/{o.id}-etc-passwd.toml"]

    def test_an_order_file_goes_out_and_comes_in_as_it_is(self, book, tmp_path):
        o = book.add_order(ORDER)
        file = book.export_order(o.id, tmp_path / "o.toml")
        assert file.read_bytes() == ORDER.encode()
        assert book.import_order(file).text == ORDER
        nameless = tmp_path / "heather bodice.toml"
        nameless.write_text(ORDER.replace('name = "moss corset top"\n', ""))
        assert book.import_order(nameless).name == "heather bodice"
        for data, says in ((b"\xff\xfe", "UTF-8"), (b"x" * 1_000_001, "larger"), (b"", "body")):
            file.write_bytes(data)
            with pytest.raises(BookError, match=says):
                book.import_order(file)
        # With a byte order mark and the line ends of other systems.
        file.write_bytes(b"\xef\xbb\xbf" + ORDER.replace("\n", "\r\n").encode())
        o = book.import_order(file)
        assert book.export_order(o.id, file, force=True).read_bytes() == ORDER.replace("\n", "\r\n").encode()

    def test_nothing_of_an_erased_client_is_left_in_the_files(self, book, clock, place, postgres):
        """The raw files of the database are searched for words of the client: label, notes, name, what was typed."""
        words = [w.encode() for w in (LABEL, "Tuesdays", "moss corset top", "with shoes", "38 1/", LABEL.lower())]
        a, b = fill(book, clock)
        # Some bulk, so that rows spread over pages, and some of it deleted already.
        for n in range(40):
            o = book.add_order(order_text(waist=60 + n / 2), client_id=a.client_id)
            if n % 3 == 0:
                book.remove_order(o.id, based_on=o.edit)
        if "://" in place:
            # The server keeps samples of columns for its planner; not of these.
            postgres.sql("ANALYZE", place.rpartition("/")[2])
        there = _raw(place, postgres)
        assert all(any(w in data for data in there.values()) for w in words)

        done = book.erase_client(a.client_id)
        assert (done.label, done.tapes, done.mentions) == (LABEL, 1, ())
        assert done.orders == 27
        assert done.versions == 26 + 5
        left = {
            (name, w)
            for name, data in _raw(place, postgres).items()
            for w in words
            if w in data and w not in b.text.encode()
        }
        assert left == set()
        assert [o.id for o in book.orders()] == [b.id]
        assert book.check() == ()
        with pytest.raises(MissingError):
            book.client(a.client_id)
        # Numbers are not given out again.
        assert book.add_order(ORDER).client_id > max(a.client_id, b.client_id)

    def test_orders_of_others_that_name_the_client_are_told(self, book):
        a = book.add_order(ORDER)
        b = book.add_order(ORDER.replace(LABEL, OTHER).replace("Prefers Tuesdays.", f"Sister of {LABEL}."))
        book.add_order(ORDER.replace(LABEL, f"{LABEL}son"))
        assert [line.id for line in book.erase_client(a.client_id).mentions] == [b.id]

    def test_a_reader_in_the_way_is_told_of_and_wiping_made_good(self, tmp_path, clock):
        import sqlite3

        place = tmp_path / "b.sqlite3"
        with open_book(place, clock=clock, patience=0.3) as book:
            a, _b = fill(book, clock)
            reader = sqlite3.connect(place, isolation_level=None)
            reader.execute("BEGIN")
            reader.execute("SELECT * FROM clients").fetchall()
            with pytest.raises(BookError, match="coutil book wipe"):
                book.erase_client(a.client_id)
            reader.execute("COMMIT")
            reader.close()
            book.wipe()
            assert all(LABEL.encode() not in p.read_bytes() for p in tmp_path.iterdir() if p.is_file())


def _raw(place, postgres) -> dict[str, bytes]:
    """The files that hold the book: all of SQLite's; the server's but for its write-ahead log, which is not ours."""
    if "://" not in place:
        return {p.name: p.read_bytes() for p in Path(place).parent.iterdir() if p.is_file()}
    # Lets the server write what it has in memory, and drop what it has renounced.
    postgres.sql("CHECKPOINT")
    data = postgres.folder / "data"
    # Other tests keep books in other databases of this server; theirs are not searched.
    ((own,),) = postgres.sql(f"SELECT oid FROM pg_database WHERE datname = '{place.rpartition('/')[2]}'")
    others = {p for p in (data / "base").iterdir() if p.name != str(own)}
    return {
        str(p): p.read_bytes()
        for p in data.rglob("*")
        if p.is_file() and "pg_wal" not in p.parts and not others & set(p.parents)
    }


def test_settings_are_kept(book):
    assert book.setting("unit") is None
    book.set_setting("unit", "in")
    book.set_setting("unit", "cm")
    assert book.setting("unit") == "cm"
    book.set_setting("unit", None)
    assert book.setting("unit") is None
    with pytest.raises(BookError, match="longer"):
        book.set_setting("unit", "x" * 20_000)
