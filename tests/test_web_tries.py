"""Who has to wait after wrong passwords, and how long; passwords themselves; the addresses that other machines type."""

from __future__ import annotations

import ipaddress
import logging
import math
import re
import subprocess
import threading
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx
import pytest

from coutil.book import open_book
from coutil.web.addresses import addresses, own_addresses, picture
from coutil.web.door import Door
from coutil.web.door_page import how_long
from coutil.web.password import FEWEST, LONGEST, made_up, trouble
from coutil.web.server import Running, running
from coutil.web.tries import MOST, SlowError, Tries, peer_name

START = datetime(2026, 4, 2, 10, 0, tzinfo=UTC)
PASSWORD = "seven bones and a busk"


class Clock:
    """Seconds since the start, moved by hand."""

    def __init__(self) -> None:
        self.at = 0.0

    def __call__(self) -> float:
        return self.at

    def now(self) -> datetime:
        return START + timedelta(seconds=self.at)


@pytest.fixture
def clock_() -> Clock:
    return Clock()


@pytest.fixture
def tries(clock_: Clock) -> Tries:
    return Tries(clock=clock_, now=clock_.now)


def wrong(tries: Tries, peer: str) -> float:
    tries.begin(peer)
    return tries.wrong(peer)[1]


# --- waits


def test_waits_double_up_to_the_longest(tries: Tries, clock_: Clock) -> None:
    waits = []
    for _ in range(14):
        waits.append(wrong(tries, "10.0.0.7"))
        clock_.at += waits[-1]
    assert waits == [0, 0, 5, 10, 20, 40, 80, 160, 320, 600, 600, 600, 600, 600]


def test_a_machine_that_waits_is_not_looked_at_and_others_are(tries: Tries, clock_: Clock) -> None:
    for _ in range(3):
        wrong(tries, "10.0.0.7")
    clock_.at = 4.0
    with pytest.raises(SlowError) as slow:
        tries.begin("10.0.0.7")
    assert slow.value.seconds == 1.0
    tries.begin("10.0.0.8")
    clock_.at = 5.0
    tries.begin("10.0.0.7")


def test_tries_at_the_same_time_count_each(tries: Tries) -> None:
    """None of them is known to be wrong yet when the next comes."""
    for _ in range(3):
        tries.begin("10.0.0.7")
    with pytest.raises(SlowError):
        tries.begin("10.0.0.7")


def test_the_right_one_ends_the_waits_and_what_was_tried_stays_told(tries: Tries, clock_: Clock) -> None:
    for _ in range(3):
        wrong(tries, "10.0.0.7")
    clock_.at = 5.0
    tries.begin("10.0.0.7")
    tries.right("10.0.0.7")
    assert [wrong(tries, "10.0.0.7") for _ in range(3)] == [0, 0, 5]
    assert tries.told()[0].wrong == 6


def test_a_quiet_hour_begins_anew(tries: Tries, clock_: Clock) -> None:
    for _ in range(3):
        wrong(tries, "10.0.0.7")
    clock_.at = 5 + 3600.0
    assert wrong(tries, "10.0.0.7") == 10
    clock_.at += 10 + 3600.1
    assert wrong(tries, "10.0.0.7") == 0


def test_what_is_told(tries: Tries, clock_: Clock) -> None:
    tries.begin("10.0.0.9")
    tries.right("10.0.0.9")
    for _ in range(3):
        wrong(tries, "10.0.0.7")
        clock_.at += 1
    with pytest.raises(SlowError):
        tries.begin("10.0.0.7")
    clock_.at = 60
    wrong(tries, "10.0.0.8")
    latest, first = tries.told()
    assert (latest.peer, latest.wrong, latest.unread) == ("10.0.0.8", 1, 0)
    assert latest.since == latest.last == START + timedelta(seconds=60)
    assert (first.peer, first.wrong, first.unread) == ("10.0.0.7", 3, 1)
    assert (first.since, first.last) == (START, START + timedelta(seconds=3))


def test_the_record_is_bounded_and_forgets_whoever_waits_least(tries: Tries) -> None:
    for _ in range(4):
        tries.begin("10.9.9.9")
        if tries.wrong("10.9.9.9")[1]:
            break
    for n in range(3 * MOST):
        wrong(tries, str(ipaddress.ip_address("10.0.0.0") + n))
    told = tries.told()
    assert len(told) == MOST
    assert "10.9.9.9" in {one.peer for one in told}, "its wait is not over"
    with pytest.raises(SlowError):
        tries.begin("10.9.9.9")


def test_many_threads_count_right(tries: Tries) -> None:
    def work(peer: str) -> None:
        for _ in range(200):
            try:
                tries.begin(peer)
            except SlowError:
                continue
            tries.wrong(peer)

    peers = [f"10.0.0.{n}" for n in range(4) for _ in range(4)]
    threads = [threading.Thread(target=work, args=(peer,)) for peer in peers]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert {(one.wrong, one.unread) for one in tries.told()} == {(3, 797)}


def test_addresses_of_machines_are_written_one_way() -> None:
    assert peer_name("::ffff:192.0.2.7") == peer_name("192.0.2.7") == "192.0.2.7"
    assert peer_name("2001:DB8:0:0::7") == "2001:db8::7"
    assert peer_name(None) == peer_name("a\nb") == "?"


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0.0, "1 second"),
        (1.0, "1 second"),
        (1.1, "2 seconds"),
        (90, "90 seconds"),
        (91, "2 minutes"),
        (600, "10 minutes"),
    ],
)
def test_waits_in_words_are_never_too_short(seconds: float, words: str) -> None:
    assert how_long(seconds) == words


# --- passwords


def test_made_up_passwords_are_read_easily_and_all_different() -> None:
    many = {made_up() for _ in range(2000)}
    assert len(many) == 2000
    for one in many:
        assert re.fullmatch(r"(?:[bdfghkmnprstvz][aeiou]){2}(?:-(?:[bdfghkmnprstvz][aeiou]){2}){4}", one)
        assert trouble(one) is None
    assert {c for one in many for c in one} == set("bdfghkmnprstvzaeiou-")
    assert math.log2(70**10) == pytest.approx(61.3, abs=0.05)


def test_how_long_a_password_must_be(tmp_path: Path) -> None:
    assert trouble("x" * FEWEST) is None
    assert trouble("x" * LONGEST) is None
    assert "at least 10 signs" in (trouble("x" * (FEWEST - 1)) or "")
    assert "at most 200 signs" in (trouble("x" * (LONGEST + 1)) or "")
    # An accent set on a letter is no sign of its own.
    assert trouble("e\u0301" * (FEWEST - 1)) is not None
    with (
        open_book(tmp_path / "b.db") as book,
        pytest.raises(ValueError, match="at least 10 signs"),
        running(book, listen="127.0.0.2", password="too short"),
    ):
        pass


def test_accents_typed_in_another_way_are_the_same_password() -> None:
    door = Door(password="Größe Müller")
    assert door.log_in("Gro\u0308ße Mu\u0308ller".replace("Gro\u0308", "Grö"), "p")
    assert door.log_in("Große Muller", "p") is None


@pytest.mark.parametrize("password", ["a" * LONGEST, "\U0001f9f5" * LONGEST])
def test_the_longest_password_goes_through_the_form(tmp_path: Path, password: str) -> None:
    with open_book(tmp_path / "b.db") as book, running(book, listen="127.0.0.2", password=password) as server:
        answer = httpx.post(f"{server.address}/login", data={"password": password}, headers={"Origin": server.address})
        assert answer.status_code == 303


# --- addresses


OWN = [ipaddress.ip_address(a) for a in ("127.0.0.1", "::1", "169.254.3.4", "fe80::1", "2001:db8::7", "192.0.2.7")]


@pytest.mark.parametrize(
    ("listen", "names", "wanted"),
    [
        ("0.0.0.0", (), ("192.0.2.7", "169.254.3.4")),
        ("::", (), ("192.0.2.7", "169.254.3.4", "[2001:db8::7]")),
        ("0.0.0.0", ("table.example",), ("table.example", "192.0.2.7", "169.254.3.4")),
        ("192.0.2.7", (), ("192.0.2.7",)),
        ("2001:db8::7", (), ("[2001:db8::7]",)),
        ("table.example", ("table.example",), ("table.example",)),
    ],
)
def test_what_another_machine_types(listen: str, names: tuple[str, ...], wanted: tuple[str, ...]) -> None:
    assert addresses(listen, 8417, names, own=lambda: OWN) == tuple(f"http://{w}:8417/" for w in wanted)


def test_the_machine_knows_its_own_addresses() -> None:
    """Held against the system's own command, which leaves out loopback and what holds for one cable alone."""
    told = subprocess.run(["hostname", "-I"], capture_output=True, text=True, check=True).stdout.split()
    ours = {str(a) for a in own_addresses() if not (a.is_loopback or a.is_link_local)}
    assert ours == set(told)


@pytest.mark.parametrize("listen", ["::", "0.0.0.0"])
def test_every_address_that_is_told_answers(tmp_path: Path, listen: str) -> None:
    """Asked of the server itself over loopback, by the Host that a browser would send."""
    with open_book(tmp_path / "b.db") as book, running(book, listen=listen, password=PASSWORD) as server:
        for address in server.addresses:
            host = address.removeprefix("http://").rstrip("/")
            assert httpx.get(f"http://127.0.0.1:{server.port}/", headers={"Host": host}).status_code == 401
        if listen == "::":
            assert httpx.get(f"http://[::1]:{server.port}/").status_code == 401


def test_the_picture_is_read_by_a_camera_and_holds_the_address_alone(tmp_path: Path) -> None:
    """Drawn here from its squares and read by OpenCV, which knows nothing of how it was made."""
    import cv2
    import numpy as np

    for address in ("http://192.0.2.7:8417/", "http://[2001:db8:1234:5678:9abc:def0:1234:5678]:8417/"):
        told = picture(address)
        size, d = int(str(told["size"])), str(told["d"])
        grid = np.full((size, size), 255, np.uint8)
        for x, y, run in re.findall(r"M(\d+) (\d+)h(\d+)v1h-\d+z", d):
            grid[int(y), int(x) : int(x) + int(run)] = 0
        assert (grid[:4] == 255).all()
        assert (grid[:, -4:] == 255).all()
        big = cv2.resize(grid, None, fx=8, fy=8, interpolation=cv2.INTER_NEAREST)
        assert cv2.QRCodeDetector().detectAndDecode(big)[0] == address


# --- the log, and what is told of it


@pytest.fixture
def open_server(tmp_path: Path):
    with open_book(tmp_path / "b.db") as book, running(book, listen="0.0.0.0", password=PASSWORD) as server:
        yield server


def from_machine(server: Running, address: str) -> httpx.Client:
    base = f"http://127.0.0.1:{server.port}"
    return httpx.Client(base_url=base, transport=httpx.HTTPTransport(local_address=address), headers={"Origin": base})


def test_wrong_tries_are_logged_without_the_password(open_server: Running, caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.INFO), from_machine(open_server, "127.0.0.7") as thief:
        for n in range(5):
            thief.post("/login", data={"password": f"a guess, number {n}"})
        thief.post("/login", data={"password": "x" * 5000})
        assert open_server.door.log_in(PASSWORD, "127.0.0.9")
    said = [r.getMessage() for r in caplog.records if "wrong password" in r.getMessage()]
    assert len(said) == 3, "what was not looked at fills no log"
    line = r"\d{4}-\d\d-\d\d \d\d:\d\d:\d\d[+-]\d\d:\d\d wrong password from 127\.0\.0\.7: {n} since "
    for n, one in enumerate(said, 1):
        assert re.match(line.replace("{n}", str(n)), one), one
    assert [one.rpartition("try again ")[2] for one in said] == ["at once", "at once", "in 5 seconds"]
    assert "guess" not in caplog.text
    assert PASSWORD not in caplog.text


def test_the_book_tells_who_tried_and_never_the_password(open_server: Running) -> None:
    with from_machine(open_server, "127.0.0.7") as thief:
        answers = [thief.post("/login", data={"password": f"a guess, number {n}"}) for n in range(4)]
    assert [a.status_code for a in answers] == [403, 403, 403, 429]
    assert "retry-after" not in answers[0].headers
    assert answers[2].headers["retry-after"] == "5"
    assert 1 <= int(answers[3].headers["retry-after"]) <= 5
    with from_machine(open_server, "127.0.0.8") as maker:
        assert maker.get("/api/door").status_code == 401
        assert maker.post("/login", data={"password": PASSWORD}).status_code == 303
        told = maker.get("/api/door").json()
        assert maker.get("/api/session").json()["by_password"] is True
    assert (told["openly"], told["wrong"], told["machines"]) == (True, 3, 1)
    (one,) = told["tries"]
    assert (one["peer"], one["wrong"], one["unread"]) == ("127.0.0.7", 3, 1)
    assert all(re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", one[k]) for k in ("since", "last"))
    assert [a["address"] for a in told["addresses"]] == list(open_server.addresses)
    assert PASSWORD not in str(told)


def test_on_loopback_there_is_nothing_to_tell(tmp_path: Path) -> None:
    with open_book(tmp_path / "b.db") as book, running(book) as server, httpx.Client(base_url=server.address) as client:
        client.get(server.link())
        told = client.get("/api/door").json()
        assert (told["openly"], told["addresses"], told["tries"]) == (False, [], [])
        assert client.get("/api/session").json()["by_password"] is False


def test_whoever_serves_on_a_name_is_called_by_it(tmp_path: Path) -> None:
    import socket

    name = socket.gethostname()
    with open_book(tmp_path / "b.db") as book, running(book, listen=name, password=PASSWORD) as server:
        assert server.addresses == (f"http://{name}:{server.port}/",)
        assert httpx.get(server.addresses[0]).status_code == 401


def test_signing_out_tells_the_browser_to_forget(open_server: Running) -> None:
    with from_machine(open_server, "127.0.0.7") as one, from_machine(open_server, "127.0.0.7") as other:
        for client in (one, other):
            assert client.post("/login", data={"password": PASSWORD}).status_code == 303
        assert one.post("/api/leave", json={}).status_code == 403, "without the token"
        token = {"X-Coutil-Token": one.get("/api/session").json()["token"]}
        cookies = dict(one.cookies)
        answer = one.post("/api/leave", json={}, headers=token)
        assert answer.headers["clear-site-data"] == '"storage"'
        assert not one.cookies
        assert (
            one.get("/api/orders", headers={"Cookie": "; ".join(f"{k}={v}" for k, v in cookies.items())}).status_code
            == 401
        )
        assert other.get("/api/orders").status_code == 200, "another browser stays signed in"


def test_the_address_of_the_form_leads_to_the_door(open_server: Running) -> None:
    with from_machine(open_server, "127.0.0.7") as one:
        answer = one.get("/login")
        assert (answer.status_code, answer.headers["location"]) == (303, "/")
