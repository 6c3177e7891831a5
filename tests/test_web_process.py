"""The page's server as `coutil open` runs it, a process of its own, on a file and on a PostgreSQL server.

A whole piece of work, a kill in the middle of it, and the book opened again.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import httpx
import pytest

from coutil.book import open_book
from printed import words_of
from web_page import Window, handle_of, let_in

# Patience for a server to start, and for lays to be made, in seconds: a machine under load.
PATIENCE = 60.0


@dataclass
class Process:
    """A `coutil open` that runs; `said` is what it printed until its link, the link last."""

    running: subprocess.Popen[str]
    said: list[str]

    def link(self) -> str:
        """The link that it printed; it lets one browser in, once."""
        return self.said[-1].split()[0]

    @property
    def address(self) -> str:
        return self.link().partition("/open/")[0]


@contextmanager
def opened(place: str, home: Path, *more: str) -> Iterator[Process]:
    """`coutil open` for a book, with its notes in a folder of the test's own; killed at the end if it still runs."""
    home.mkdir(exist_ok=True, mode=0o700)
    own = {name: str(home) for name in ("HOME", "XDG_RUNTIME_DIR", "XDG_CACHE_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME")}
    command = [sys.executable, "-m", "coutil", "open", "--book", place, "--no-browser", *more]
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True, env={**os.environ, **own}) as running:
        try:
            yield Process(running, list(until_link(running)))
        finally:
            running.kill()


def until_link(running: subprocess.Popen[str]) -> Iterator[str]:
    assert running.stderr is not None
    for line in running.stderr:
        yield line.strip()
        if "/open/" in line:
            return
    pytest.fail("it ended without a link")


def pdf(window: Window, name: str) -> bytes:
    answer = window.get(f"/api/orders/{window.order}/file/{name}")
    assert answer.status_code == 200, answer.text
    assert answer.content.startswith(b"%PDF-")
    return answer.content


def laid(window: Window) -> dict[str, Any]:
    """Lay the order out, and wait for it."""
    window.seq += 1
    body = {"seconds": 1, "window": window.name, "seq": window.seq}
    assert window.post(f"/api/orders/{window.order}/lays", body).status_code == 200
    until = time.monotonic() + PATIENCE
    while time.monotonic() < until:
        lays: dict[str, Any] = window.get(f"/api/orders/{window.order}/lays").json()["lays"]
        if lays["state"] != "working":
            return lays
        time.sleep(0.1)
    pytest.fail("the lays were not made in time")


def shown(window: Window, *keys: str) -> list[str]:
    values = window.sheet()["values"]
    return [values[key]["text"] for key in keys]


def test_a_whole_piece_of_work_outlives_a_kill(place: str, tmp_path: Path) -> None:
    with opened(place, tmp_path / "home") as first, let_in(first) as window:
        demo = window.order
        made = window.post("/api/orders", {"name": "moss corset top", "client": {"label": "Ægir & Søn"}})
        assert made.status_code == 200, made.text
        window.order = made.json()["order"]["id"]
        window.sheet()
        standard = shown(window, "body.waist")
        assert window.edit("body.waist", "73 cm").status_code == 200
        assert window.edit("style.plunge", "6 1/2 cm").status_code == 200
        low = handle_of(window.sheet(), "hem_point")
        x, y = low["at"]
        assert window.change("drag", handle="hem_point", x=x, y=y + 10, final=True).json()["saved"] is True
        assert shown(window, "style.hem_point") != [low["text"]]

        words = words_of(pdf(window, "pattern-a4.pdf"), tmp_path)
        assert "moss corset top" in words
        assert "Ægir & Søn" in words
        assert "moss corset top" in words_of(pdf(window, "docket.pdf"), tmp_path)

        # Everything back, and one step forward again.
        for _ in range(3):
            assert window.change("undo").status_code == 200
        assert shown(window, "body.waist") == standard
        assert window.change("undo").status_code == 422, "there is nothing before"
        assert window.change("redo").status_code == 200
        assert shown(window, "body.waist") == ["73 cm"]
        assert window.edit("style.hem", "8 cm").status_code == 200
        assert window.edit("body.bust", "ninety").status_code == 422

        # The demo order has cloth to be laid out on.
        window.order = demo
        window.sheet()
        assert laid(window)["state"] == "done"
        assert "sea-green bustier" in words_of(pdf(window, "docket.pdf"), tmp_path)

        window.order = made.json()["order"]["id"]
        versions = window.get(f"/api/orders/{window.order}/versions").json()["versions"]
        before = window.sheet()
        first.running.send_signal(signal.SIGKILL)
        assert first.running.wait(PATIENCE) == -signal.SIGKILL
        with pytest.raises(httpx.TransportError):
            window.get("/api/orders")

    # The note that the killed server left leads nowhere; a new one is started.
    with opened(place, tmp_path / "home") as second, let_in(second) as window:
        found = window.get("/api/orders").json()["orders"]
        assert {o["name"] for o in found} == {"moss corset top", "sea-green bustier"}
        window.order = next(o["id"] for o in found if o["name"] == "moss corset top")
        after = window.sheet()
        for part in ("order", "version", "values", "drawing", "findings"):
            assert after[part] == before[part], part
        assert after["values"]["body.bust"]["typed"] == "ninety", "nothing that was typed is lost"
        assert window.get(f"/api/orders/{window.order}/versions").json()["versions"] == versions
        assert window.change("undo").status_code == 200, "what was typed last"
        assert window.change("undo").status_code == 200, "the hem"
        assert window.change("redo").status_code == 200
        assert shown(window, "body.waist", "style.hem") == ["73 cm", "8 cm"]
        second.running.send_signal(signal.SIGINT)
        assert second.running.stderr is not None
        assert "closed" in second.running.stderr.read()
        assert second.running.wait(PATIENCE) == 0

    with open_book(place) as book:
        assert book.check() == ()
        assert {o.name for o in book.orders()} == {"moss corset top", "sea-green bustier"}


def test_two_servers_on_one_book_see_each_other(place: str, tmp_path: Path) -> None:
    """Two people of a workroom, each with a `coutil open` of her own on the same book."""
    with (
        opened(place, tmp_path / "one") as mine,
        opened(place, tmp_path / "two") as hers,
        let_in(mine, "w-1") as one,
        let_in(hers, "w-2") as two,
    ):
        assert mine.address != hers.address
        assert one.order == two.order
        assert one.edit("style.hem", "7 cm").status_code == 200
        told = two.edit("style.hem", "8 cm")
        assert told.status_code == 409
        assert told.json()["conflict"]["theirs"] == "7 cm"
        two.version = told.json()["version"]
        assert two.edit("style.hem", "8 cm").status_code == 200, "hers after all"
        assert shown(one, "style.hem") == ["8 cm"]
        # Another value goes on top of what the other server wrote since.
        assert two.edit("body.waist", "73 cm").status_code == 200
        assert one.edit("style.plunge", "6 cm").json()["merged"] == ["body.waist"]
        assert shown(two, "style.hem", "body.waist", "style.plunge") == ["8 cm", "73 cm", "6 cm"]
