"""Attacks on the order book's server, against a real one: who may ask, and what a browser may do with the answers."""

from __future__ import annotations

import html
from pathlib import Path

import httpx
import pytest

from coutil.web.server import Running, running
from web_page import Window, raw, status


@pytest.fixture
def page(attacked_page: tuple[Running, Window]) -> tuple[Running, Window]:
    """One server for all attacks of this file."""
    return attacked_page


def _as(window: Window, **headers: str) -> dict[str, str]:
    """The headers of a request that is right but for these."""
    return {**window.headers, **{k.replace("_", "-"): v for k, v in headers.items()}}


# --- who may ask


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        "evil.example:{port}",
        "127.0.0.1",
        "127.0.0.1:1",
        "127.0.0.1.evil.example:{port}",
        "localhost.evil.example:{port}",
        "",
        "[::1",
        "127.0.0.1:{port}:{port}",
        "127.0.0.1:0{port}",
        "a@127.0.0.1:{port}",
        "10.0.0.1:{port}",
    ],
)
def test_a_foreign_host_is_refused(server: Running, window: Window, host: str) -> None:
    """A name that is rebound to this machine brings its own name along, cookie and token or not."""
    given = host.format(port=server.port)
    for path in ("/", "/api/orders", "/api/session", "/open/x"):
        answer = raw(
            server,
            f"GET {path} HTTP/1.1\r\nHost: {given}\r\nCookie: {window.cookie}\r\nConnection: close\r\n\r\n".encode(),
        )
        assert status(answer) in (400, 403), (path, answer[:200])
        assert window.token.encode() not in answer
        assert b"bustier" not in answer


def test_the_right_host_is_answered_by_each_of_its_names(server: Running) -> None:
    for name in ("127.0.0.1", "localhost", "LOCALHOST", "[::1]"):
        answer = raw(server, f"GET / HTTP/1.1\r\nHost: {name}:{server.port}\r\nConnection: close\r\n\r\n".encode())
        assert status(answer) == 401, name


def test_two_hosts_are_refused(server: Running) -> None:
    good = f"127.0.0.1:{server.port}"
    answer = raw(server, f"GET / HTTP/1.1\r\nHost: {good}\r\nHost: evil.example\r\nConnection: close\r\n\r\n".encode())
    assert status(answer) == 400


@pytest.mark.parametrize(
    "origin",
    [
        "http://evil.example",
        "null",
        "http://127.0.0.1",
        "http://127.0.0.1:1",
        "https://127.0.0.1:{port}",
        "http://localhost:{port}",
        "http://127.0.0.1:{port}.evil.example",
        "",
    ],
)
def test_a_foreign_origin_is_refused(server: Running, window: Window, origin: str) -> None:
    headers = _as(window, Origin=origin.format(port=server.port))
    before = window.sheet()["version"]
    body = {"key": "style.plunge", "text": "5 cm", "base_version": before, "seq": 1, "window": "w"}
    answer = window.client.post(f"/api/orders/{window.order}/edit", json=body, headers=headers)
    assert answer.status_code == 403
    assert window.client.get("/api/orders", headers=headers).status_code == 403
    assert window.sheet()["version"] == before


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_a_browser_that_says_it_comes_from_elsewhere_is_refused(window: Window, site: str) -> None:
    for path in ("/", "/api/orders", "/api/book/export"):
        assert window.client.get(path, headers={"Sec-Fetch-Site": site}).status_code == 403


@pytest.mark.parametrize("token", [None, "", "x", "wrong-token-of-the-same-length-as-the-right-"])
def test_nothing_is_changed_without_the_token(window: Window, token: str | None) -> None:
    headers = {k: v for k, v in window.headers.items() if k != "X-Coutil-Token"}
    if token is not None:
        headers["X-Coutil-Token"] = token
    before = window.sheet()["version"]
    order, calls = (
        window.order,
        ("edit", "drag", "undo", "redo", "restore", "lays", "lays/stop", "erase", "copy", "about", "tape"),
    )
    for path in (
        *(f"/api/orders/{order}/{c}" for c in calls),
        "/api/orders",
        "/api/clients",
        "/api/clients/c1/erase",
        "/api/clients/c1",
        "/api/settings",
        "/api/orders/import",
        "/api/book/import",
    ):
        answer = window.client.post(path, json={}, headers=headers)
        assert answer.status_code == 403, path
        assert answer.json()["error"] == "no_token"
    assert window.sheet()["version"] == before


def test_nothing_is_read_without_the_session(server: Running, window: Window) -> None:
    with httpx.Client(base_url=server.address) as stranger:
        for path in (
            "/api/session",
            "/api/orders",
            f"/api/orders/{window.order}",
            "/api/clients/c1",
            "/api/book/export",
            "/api/clients/c1/export",
            "/api/events",
            f"/api/orders/{window.order}/file/order.toml",
        ):
            answer = stranger.get(path)
            assert answer.status_code == 401, path
            assert "bustier" not in answer.text
        stranger.cookies.set(f"coutil-{server.port}", "guessed")
        assert stranger.get("/api/orders").status_code == 401
        # The token alone lets nobody in.
        assert stranger.post("/api/orders", json={}, headers=window.headers).status_code == 401


def test_a_link_works_once(server: Running) -> None:
    link = server.link()
    with httpx.Client() as first, httpx.Client() as second:
        answer = first.get(link)
        assert answer.status_code == 303
        cookie = answer.headers["set-cookie"].lower()
        assert "httponly" in cookie
        assert "samesite=strict" in cookie
        assert second.get(link).status_code == 403
        assert not second.cookies
        assert second.get(f"{server.address}/open/{'x' * 43}").status_code == 403


def test_other_methods_are_refused(window: Window) -> None:
    for method in ("PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "PROPFIND"):
        answer = window.client.request(method, "/api/orders", headers=window.headers)
        assert answer.status_code == 405, method
        assert "access-control-allow-origin" not in answer.headers


# --- what a browser may do with the answers


def test_every_answer_forbids_foreign_content(server: Running, window: Window) -> None:
    with httpx.Client(base_url=server.address) as stranger:
        answers = [stranger.get("/"), stranger.get("/assets/x"), stranger.get("/api/orders"), stranger.get("/nowhere")]
    answers += [
        window.get("/"),
        window.get("/api/orders"),
        window.get("/api/nowhere"),
        window.post("/api/orders/o999/edit"),
    ]
    for answer in answers:
        policy = dict(p.split(" ", 1) for p in answer.headers["content-security-policy"].split("; "))
        assert policy["default-src"] == "'none'"
        assert policy["script-src"] == "'self'"
        assert policy["style-src"] == "'self'"
        assert policy["connect-src"] == "'self'"
        assert policy["frame-ancestors"] == "'none'"
        assert policy["base-uri"] == "'none'"
        assert not any("unsafe" in v or "http" in v or "data:" in v or "*" in v for v in policy.values())
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert "access-control-allow-origin" not in answer.headers
        assert "server" not in answer.headers


def test_script_in_a_label_stays_text(window: Window) -> None:
    """Everywhere it may come out as HTML, SVG or a header; the page itself puts texts in as text."""
    nasty = "<script>alert(1)</script><img src=x onerror=alert(1)>\"'&"
    assert window.edit("client.label", nasty).status_code == 200
    assert window.edit("name", f"n {nasty}").status_code == 200
    sheet = window.sheet()
    assert sheet["order"]["client"]["label"] == nasty
    for path in (f"/api/orders/{window.order}", "/api/orders", "/api/clients"):
        answer = window.get(path)
        assert answer.headers["content-type"] == "application/json"
    for file in sheet["files"]:
        answer = window.get(file["href"])
        assert answer.status_code == 200, file["name"]
        assert answer.headers["content-disposition"] == f'attachment; filename="{file["name"]}"'
        if file["kind"] == "SVG":
            assert "<script" not in answer.text
            assert "<img" not in answer.text
            assert html.escape("<script>", quote=False) in answer.text
    window.edit("client.label", "M. T.")
    window.edit("name", "sea-green bustier")


def test_a_line_end_in_a_label_makes_no_header(window: Window) -> None:
    answer = window.edit("client.label", "A\r\nSet-Cookie: x=1")
    assert answer.status_code == 422
    assert "x" not in window.client.cookies


# --- other machines


def test_other_machines_need_a_password(tmp_path: Path) -> None:
    from coutil.book import open_book

    with open_book(tmp_path / "b.db") as book:
        with pytest.raises(ValueError, match="password"), running(book, listen="0.0.0.0"):
            pass
        with running(book, listen="0.0.0.0", password="correct horse", names=("table.example",)) as server:
            base = f"http://127.0.0.1:{server.port}"
            with httpx.Client(base_url=base) as stranger:
                first = stranger.get("/")
                assert first.status_code == 401
                assert 'type="password"' in first.text
                form = {"password": "wrong"}
                assert stranger.post("/login", data=form).status_code == 403, "a form without our origin"
                foreign = stranger.post("/login", data=form, headers={"Origin": "http://evil.example"})
                assert foreign.status_code == 403
                own = {"Origin": base}
                answer = stranger.get("/")
                assert answer.headers["referrer-policy"] == "same-origin", "else a browser's own form has no origin"
                assert stranger.post("/login", data=form, headers={"Origin": "null"}).status_code == 403
                assert stranger.post("/login", data={"password": "correct horse"}, headers=own).status_code == 303
                assert stranger.get("/api/session").json()["openly"] is True
            for host, wanted in (("192.168.7.7", 401), ("table.example", 401), ("evil.example", 403)):
                answer = raw(
                    server, f"GET / HTTP/1.1\r\nHost: {host}:{server.port}\r\nConnection: close\r\n\r\n".encode()
                )
                assert status(answer) == wanted, host


def test_passwords_cannot_be_tried_one_after_the_other(tmp_path: Path) -> None:
    from coutil.book import open_book

    with open_book(tmp_path / "b.db") as book, running(book, listen="0.0.0.0", password="quite right") as server:
        base = f"http://127.0.0.1:{server.port}"
        with httpx.Client(base_url=base, headers={"Origin": base}) as thief:
            answers = [thief.post("/login", data={"password": f"guess {n}"}).status_code for n in range(5)]
            assert answers == [403] * 3 + [429] * 2
            # Even the right one is not looked at any more.
            assert thief.post("/login", data={"password": "quite right"}).status_code == 429
            assert thief.get("/api/orders").status_code == 401
