"""Attacks by path and by upload on the order book's server, against a real one."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from coutil.book import open_book
from coutil.web.server import Running, running
from web_page import Window, let_in, raw, shows_nothing, status


@pytest.fixture
def page(attacked_page: tuple[Running, Window]) -> tuple[Running, Window]:
    """One server for all attacks of this file."""
    return attacked_page


# --- paths and files


@pytest.mark.parametrize(
    "path",
    [
        "/assets/../../../../etc/passwd",
        "/assets/..%2f..%2f..%2fetc%2fpasswd",
        "/assets/%2e%2e/%2e%2e/door.py",
        "/assets//etc/passwd",
        "/assets/....//....//etc/passwd",
        "/assets/..\\..\\door.py",
        "/assets/%00",
        "/../door.py",
        "//etc/passwd",
        "/static/index.html",
        "/api/orders/o1/file/../../../../etc/passwd",
        "/api/orders/o1/file/..%2f..%2fbook.db",
        "/api/orders/o1/file/%2fetc%2fpasswd",
        "/api/orders/o1/file/order.toml%00.pdf",
        "/api/orders/o1/file/C:%5Cwindows%5Cwin.ini",
        "/api/orders/..%2fbook/export/x",
    ],
)
def test_no_path_reaches_the_file_system(server: Running, window: Window, path: str) -> None:
    head = (
        f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{server.port}\r\nCookie: {window.cookie}\r\nConnection: close\r\n\r\n"
    )
    answer = raw(server, head.encode())
    assert status(answer) in (400, 401, 404), answer[:300]
    assert b"root:" not in answer
    assert b"SQLite" not in answer
    shows_nothing(answer.decode("latin-1"))


def test_an_order_cannot_name_a_file_of_the_machine(window: Window, tmp_path: Path) -> None:
    """An order file may name a pattern file; one that comes through the page never makes the server open it."""
    secret = tmp_path / "secret.svg"
    secret.write_text('<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0L123 0L0 321Z"/></svg>', "utf-8")
    assert window.edit("pattern.file", str(secret)).status_code == 422
    assert window.edit("pattern.drawing", "x").status_code == 422
    text = window.get(f"/api/orders/{window.order}/file/order.toml").text
    own = text.split("[style]")[0] + f'[pattern]\nfile = "{secret}"\n'
    answer = _upload(window, "/api/orders/import", own.encode(), "application/toml")
    assert answer.status_code == 422
    assert "secret.svg" in answer.json()["says"]
    # One that came into the book another way is shown, but nothing is drawn of it.
    with open_book(tmp_path / "other.db") as book, running(book) as server, let_in(server) as other:
        made = other.get(f"/api/orders/o{book.add_order(own).id}").json()
    assert made["drawing"] is None
    assert made["refused"]
    assert "123" not in str(made["refused"])


# --- uploads


def _upload(window: Window, path: str, data: bytes, kind: str) -> httpx.Response:
    return window.client.post(path, content=data, headers={**window.headers, "Content-Type": kind})


def test_uploads_are_bounded_in_size(server: Running, window: Window) -> None:
    answer = _upload(window, "/api/orders/import", b"#" * 1_000_001, "application/toml")
    assert answer.status_code == 413
    assert (
        window.client.post(
            "/api/orders",
            content=b'{"name":"' + b"x" * 70_000 + b'"}',
            headers={**window.headers, "Content-Type": "application/json"},
        ).status_code
        == 413
    )
    common = (
        f"POST /api/book/import HTTP/1.1\r\nHost: 127.0.0.1:{server.port}\r\nCookie: {window.cookie}\r\n"
        f"X-Coutil-Token: {window.token}\r\nOrigin: {server.address}\r\nContent-Type: application/octet-stream\r\n"
    )
    # Told by its header alone, before a byte of it is read.
    assert status(raw(server, f"{common}Content-Length: 99999999999\r\n\r\n".encode())) == 413


def test_an_upload_without_a_length_is_bounded_too(server: Running, window: Window) -> None:
    sent = 0

    def endless() -> Iterator[bytes]:
        nonlocal sent
        for _ in range(400):
            sent += 10_000
            yield b"#" * 10_000

    headers = {**window.headers, "Content-Type": "application/toml"}
    try:
        answer = window.client.post("/api/orders/import", content=endless(), headers=headers)
        assert answer.status_code == 413
    except httpx.WriteError:
        # The server hung up while more was being sent.
        pass
    assert sent < 4_000_000 or window.get("/api/orders").status_code == 200


@pytest.mark.parametrize(
    "kind",
    [
        "text/html",
        "image/png",
        "multipart/form-data; boundary=x",
        "",
        "application/x-www-form-urlencoded",
    ],
)
def test_uploads_of_the_wrong_kind_are_refused(window: Window, kind: str) -> None:
    assert _upload(window, "/api/orders/import", b"coutil = 1", kind).status_code == 415
    assert _upload(window, "/api/book/import", b"coutil = 1", kind).status_code == 415


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\x00" * 1000,
        b"PK\x03\x04 no zip",
        b"\xff\xfe\x00",
        b"[" * 100_000,
        b"a." * 300_000,
        b"coutil = 1\n[body]\nbust = 1e999",
        b"x = " + b"9" * 50_000,
        "\u202e".encode(),
    ],
)
def test_uploads_that_are_not_what_they_say_are_refused(window: Window, data: bytes) -> None:
    before = window.get("/api/orders").json()["total"]
    for path, kind in (("/api/orders/import", "application/toml"), ("/api/book/import", "application/octet-stream")):
        answer = _upload(window, path, data, kind)
        assert answer.status_code in (413, 415, 422), (path, answer.text[:300])
        assert answer.json()["says"]
        shows_nothing(answer.text)
    assert window.get("/api/orders").json()["total"] == before


def test_other_forms_of_a_request_are_not_taken_for_json(window: Window) -> None:
    """A form of another page can send these kinds without asking first."""
    for kind in ("text/plain", "application/x-www-form-urlencoded", "multipart/form-data"):
        answer = window.client.post(
            "/api/clients", content=b'{"label":"x"}', headers={**window.headers, "Content-Type": kind}
        )
        assert answer.status_code == 415


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"[]",
        b"null",
        b"{",
        b'"x"',
        b'{"label": NaN}',
        b"[" * 60_000,
        b'{"a":' * 10_000,
        b"\xff",
        b'{"label": 1}',
        b'{"label": "\\ud800"}',
        b'{"label": {"x": 1}}',
        b"1" * 50_000,
    ],
)
def test_broken_json_is_refused(window: Window, body: bytes) -> None:
    answer = window.client.post(
        "/api/clients", content=body, headers={**window.headers, "Content-Type": "application/json"}
    )
    assert answer.status_code == 400
    shows_nothing(answer.text)
