"""The commands of `coutil book`, as a maker would call them."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from book_places import LABEL, ORDER
from coutil.book import open_book
from coutil.cli.book import book as group


@pytest.fixture
def run(tmp_path, monkeypatch):
    monkeypatch.setenv("COUTIL_BOOK", str(tmp_path / "b.sqlite3"))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "o.toml").write_text(ORDER)

    def call(*arguments, expect=0):
        done = CliRunner().invoke(group, [str(a) for a in arguments])
        assert done.exit_code == expect, (done.output, done.stderr)
        assert "Traceback" not in done.output + done.stderr
        return done.stderr if expect else done.output

    return call


def test_the_whole_round(run, tmp_path):
    assert "moss corset top" in run("import", "o.toml")
    assert run("list", "moss") == f"1  moss corset top  for {LABEL} (client 1)\n"
    assert run("list", "nothing") == "No orders.\n"
    assert "sound" in run("check")
    file = json.loads(run("backup", "--json"))["file"]
    assert str(tmp_path / "backups") in file
    run("export", "out.toml", "--order", 1)
    assert (tmp_path / "out.toml").read_text() == ORDER
    run("export", "client.zip", "--client", 1)
    run("export", "book.zip")
    out = run("erase", 1, "--yes")
    assert "1 orders, 1 versions" in out
    assert "Backups" in out
    assert run("list") == "No orders.\n"
    assert "put back" in run("restore", file, "--yes")
    assert len(json.loads(run("list", "--json"))) == 1
    assert "2 were there already" in run("import", "book.zip")
    run("wipe")


def test_refusals_are_one_clear_line_and_exit_2(run, tmp_path):
    assert "no book there yet" in run("list", expect=2)
    assert "no book there yet" in run("check", expect=2)
    assert not (tmp_path / "b.sqlite3").exists()
    run("import", "o.toml")
    (tmp_path / "x").write_text("x")
    for arguments, says in (
        (("import", "missing"), "cannot be read"),
        (("import", "x"), "not TOML"),
        (("import", "o.toml", "--client", 9), "no client 9"),
        (("export", "o.toml", "--order", 1), "--force"),
        (("export", "new.toml", "--order", 9), "no order 9"),
        (("export", "new.toml", "--order", 1, "--client", 1), "not both"),
        (("restore", "x", "--yes"), "not a file of a whole book"),
        (("erase", 9, "--yes"), "no client 9"),
        (("check", "--book", "x"), "not a book"),
        (("check", "--book", "mysql://h/d"), "cannot be kept in mysql"),
    ):
        error = run(*arguments, expect=2)
        assert says in error
        assert len([line for line in error.splitlines() if line.startswith("Error")]) == 1


def test_an_unsound_book_exits_1(run, tmp_path):
    import sqlite3

    run("import", "o.toml")
    with sqlite3.connect(tmp_path / "b.sqlite3") as c:
        c.execute("UPDATE orders SET current = 5")
    c.close()
    done = CliRunner().invoke(group, ["check"])
    assert done.exit_code == 1
    assert done.output == "order 1: its current version 5 is missing\n"


def test_erasing_and_restoring_ask_first(run, tmp_path):
    run("import", "o.toml")
    done = CliRunner().invoke(group, ["erase", "1"], input="n\n")
    assert done.exit_code == 1
    assert f"Erase {LABEL} with 1 orders" in done.stderr
    with open_book(tmp_path / "b.sqlite3") as b:
        assert len(b.orders()) == 1
