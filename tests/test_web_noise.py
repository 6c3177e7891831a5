"""Ten thousand random requests, and bytes that are none, at the order book's server: it answers, and stays alive."""

from __future__ import annotations

import random
import socket
import string
import time
from pathlib import Path
from typing import Any

import httpx

from web_page import open_page, raw, shows_nothing, status

_WORDS = [
    "api",
    "orders",
    "o1",
    "o999999999999999",
    "clients",
    "c1",
    "edit",
    "drag",
    "undo",
    "lays",
    "stop",
    "file",
    "order.toml",
    "spread",
    "shape",
    "versions",
    "assets",
    "open",
    "..",
    "%2e%2e",
    "session",
    "settings",
    "events",
    "book",
    "export",
    "%00",
    "\u00e9",
    "o-1",
    "o01",
    "login",
    "again",
    "pattern-a4.pdf",
    "import",
    "restore",
]
_KEYS = [
    "key",
    "text",
    "nudge",
    "add",
    "remove",
    "base_version",
    "seq",
    "window",
    "spread",
    "handle",
    "x",
    "y",
    "final",
    "preview",
    "label",
    "name",
    "client",
    "due",
    "unit",
    "look",
    "version",
    "seconds",
    "tape",
]


_CALLS = ["edit", "edit", "drag", "undo", "redo", "restore", "about", "copy", "versions"]


def _value(rng: random.Random, deep: int = 0) -> object:
    kinds = [
        None,
        True,
        -1,
        0,
        7,
        2**63,
        1e308,
        -0.0,
        "",
        "style.plunge",
        "cloth.0.width",
        "body.left.bust_point",
        "9" * 400,
        "\u0000",
        "1/0",
        "tape",
        "plunge",
        "w",
        "o1",
        "c1",
        "2026-02-31",
        rng.random() * 1e6,
        "".join(rng.choices(string.printable, k=20)),
    ]
    if deep < 3 and rng.random() < 0.2:
        return [_value(rng, deep + 1) for _ in range(rng.randrange(4))]
    if deep < 3 and rng.random() < 0.1:
        return {rng.choice(_KEYS): _value(rng, deep + 1) for _ in range(rng.randrange(4))}
    return rng.choice(kinds)


def test_ten_thousand_random_requests(tmp_path: Path) -> None:
    """With and without cookie, token and origin; whatever comes, one clear answer, no fault, nothing of the inside."""
    rng = random.Random(20260402)
    seen: dict[int, int] = {}
    with open_page(tmp_path) as (server, window), httpx.Client(base_url=server.address) as stranger:
        n = 0
        while n < 10_000:
            path = "/" + "/".join(rng.choices(_WORDS, k=rng.randrange(1, 5)))
            if rng.random() < 0.5:
                path = f"/api/orders/{window.order}/{rng.choice(_CALLS)}"
            if "events" in path or "lays" in path:
                # Streams and searches go on for their own time; others look at them.
                continue
            n += 1
            who = window.client if rng.random() < 0.8 else stranger
            headers = {k: v for k, v in window.headers.items() if rng.random() < 0.9}
            if rng.random() < 0.1:
                headers[rng.choice(["Origin", "Content-Type", "X-Coutil-Token", "Sec-Fetch-Site"])] = "".join(
                    rng.choices(string.ascii_letters + ";/", k=12)
                )
            if rng.random() < 0.6:
                body = {rng.choice(_KEYS): _value(rng) for _ in range(rng.randrange(7))}
                if rng.random() < 0.5:
                    body |= {"base_version": rng.choice([0, 1, 2, 10**6]), "seq": n, "window": "w"}
                answer = who.post(path, json=body, headers=headers)
            else:
                answer = who.get(path, headers=headers, params={rng.choice(_KEYS): str(_value(rng))[:50]})
            seen[answer.status_code] = seen.get(answer.status_code, 0) + 1
            assert answer.status_code < 500, (path, answer.status_code, answer.text[:300])
            if answer.status_code >= 400:
                shows_nothing(answer.text)
        assert window.get("/api/orders").status_code == 200
        assert window.sheet()["values"]
    # The test is worth something only if requests came through as well.
    assert {200, 400, 401, 403, 404, 422} <= seen.keys(), seen


def test_bytes_that_are_no_http(tmp_path: Path) -> None:
    rng = random.Random(7)
    with open_page(tmp_path) as (server, window):
        for _ in range(50):
            answer = raw(server, rng.randbytes(rng.randrange(1, 400)) + b"\r\n\r\n")
            assert status(answer) in (0, 400, 403)
            shows_nothing(answer.decode("latin-1"))
        assert window.get("/api/orders").status_code == 200


def test_a_window_closed_in_the_middle_of_its_request_is_no_fault(tmp_path: Path, caplog: Any) -> None:
    """Half a body, then the end of the line: nothing is changed, and the log tells no fault of the server."""
    with open_page(tmp_path) as (server, window):
        head = (
            f"POST /api/orders/{window.order}/edit HTTP/1.1\r\nHost: 127.0.0.1:{server.port}\r\n"
            f"Cookie: {window.cookie}\r\nX-Coutil-Token: {window.token}\r\n"
            "Content-Type: application/json\r\nContent-Length: 500\r\n\r\n"
        )
        with socket.create_connection(("127.0.0.1", server.port), timeout=5.0) as sock:
            sock.sendall(head.encode() + b'{"key": "body.bust", ')
            time.sleep(0.3)
        time.sleep(0.3)
        assert window.sheet()["version"] == 1
    assert [r.getMessage() for r in caplog.records if r.levelname in ("WARNING", "ERROR")] == []
