"""The door as another machine meets it: a real browser, the password typed by hand, and the book behind it."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from coutil.book import open_book
from coutil.web.server import Running, running
from page_book import PATIENCE, TABLET, Faults, field, watched
from terminal import opened
from test_page_axe import findings

PASSWORD = "seven bones and a busk"
PHONE = {"width": 360, "height": 740}


@pytest.fixture
def open_server(tmp_path: Path) -> Iterator[Running]:
    with open_book(tmp_path / "open.db") as book, running(book, listen="0.0.0.0", password=PASSWORD) as server:
        yield server


@pytest.fixture
def at_the_door(browser: Any, open_server: Running) -> Iterator[Any]:
    """Opens the door in browsers of their own, under an address that is not the one the book gives itself."""
    faults, address, contexts = Faults(), f"http://127.0.0.2:{open_server.port}", []

    def window(path: str = "/", **how: Any) -> Any:
        contexts.append(browser.new_context(**how))
        page = watched(contexts[-1].new_page(), faults, address)
        page.goto(address + path)
        return page

    yield window
    for context in contexts:
        context.close()
    assert faults == []


def log_in(page: Any, password: str = PASSWORD) -> None:
    """Typed where the door itself puts the cursor."""
    page.locator("#password:focus").wait_for()
    page.keyboard.type(password)
    with page.expect_navigation():
        page.keyboard.press("Enter")


def tapped_in(page: Any, password: str) -> None:
    page.get_by_label("Password").tap()
    page.get_by_label("Password").fill(password)
    with page.expect_navigation():
        page.get_by_role("button").tap()


# --- getting in


@pytest.mark.parametrize("listen", ["0.0.0.0", "127.0.0.2"])
def test_the_made_up_password_lets_a_browser_in(browser: Any, tmp_path: Path, listen: str) -> None:
    with opened(tmp_path, "--listen", listen) as at:
        at.until("at least 10 signs")
        at.type("\r")
        password = at.until(r"The password is: (\S+)")[1]
        assert re.fullmatch(r"([a-z]{4}-){4}[a-z]{4}", password)
        at.until("/open/")
        page = browser.new_page()
        page.set_default_timeout(PATIENCE)
        page.goto(f"http://127.0.0.2:{at.port}/")
        log_in(page, "not it at all")
        assert "not the password" in page.locator("[role=alert]").inner_text()
        log_in(page, password)
        page.wait_for_selector(".panel")
        page.close()
        at.type("\x03")
        at.until("is closed")
        log = next(line for line in at.said.splitlines() if "wrong password" in line)
        assert re.match(r"\d{4}-\d\d-\d\d \d\d:\d\d:\d\d[+-]\d\d:\d\d wrong password from 127\.0\.0\.1: 1 since", log)
        assert "not it at all" not in at.said
        assert at.said.count(password) == 1, "shown once, and never in the log"


def test_a_typed_password_is_long_enough_typed_twice_and_not_shown(browser: Any, tmp_path: Path) -> None:
    with opened(tmp_path, "--listen", "0.0.0.0") as at:
        for typed, answer in (
            (["ninesigns"], "at least 10 signs"),
            ([PASSWORD, "seven bones and a bask"], "not the same"),
            ([PASSWORD, PASSWORD], r"into the browser:((?:\s+http://\S+/)+)"),
        ):
            at.until("Enter makes one up")
            for n, text in enumerate(typed):
                if n:
                    at.until("once more")
                at.type(f"{text}\r")
            told = at.until(answer)
        assert all(one.endswith(f":{at.port}/") and "127.0.0.1" not in one for one in told[1].split())
        at.until("/open/")
        page = browser.new_page()
        page.set_default_timeout(PATIENCE)
        page.goto(f"http://127.0.0.2:{at.port}/")
        log_in(page)
        page.wait_for_selector(".panel")
        page.close()
        assert PASSWORD not in at.said
        assert "ninesigns" not in at.said


def test_a_right_password_gets_in_at_once_while_another_machine_is_slowed(
    at_the_door: Any, open_server: Running
) -> None:
    thief = httpx.Client(
        base_url=f"http://127.0.0.1:{open_server.port}",
        transport=httpx.HTTPTransport(local_address="127.0.0.7"),
        headers={"Origin": f"http://127.0.0.1:{open_server.port}"},
    )
    with thief:
        answers = [thief.post("/login", data={"password": f"guess number {n}"}) for n in range(5)]
        assert [a.status_code for a in answers] == [403, 403, 403, 429, 429]
        page = at_the_door()
        log_in(page)
        tried = page.locator(".openly .tried")
        tried.wait_for()
        page.wait_for_selector(".panel")
        assert "3 wrong passwords from 127.0.0.7" in tried.inner_text()
        # The open page hears of the next ones: from the browser's own machine this time.
        other = at_the_door()
        log_in(other, "a person mistypes")
        page.locator(".openly .tried", has_text="127.0.0.1").wait_for()
        assert re.search(
            r"4 wrong passwords from 2 machines since .*, the last one from 127\.0\.0\.1", tried.inner_text()
        )
        log_in(other)
        other.wait_for_selector(".panel")
        page.get_by_role("button", name="How other machines get in").click()
        rows = page.locator(".tries li")
        rows.first.wait_for()
        assert "1 wrong password from 127.0.0.1," in rows.nth(0).inner_text()
        assert "3 wrong passwords from 127.0.0.7" in rows.nth(1).inner_text()
        assert "2 more came too soon and were not looked at" in rows.nth(1).inner_text()


# --- what the door looks like


@pytest.mark.parametrize("size", [TABLET, PHONE])
@pytest.mark.parametrize("look", ["light", "dark"])
def test_the_door_is_of_the_books_paper_and_used_by_touch(at_the_door: Any, look: str, size: dict[str, int]) -> None:
    page = at_the_door(viewport=size, color_scheme=look, has_touch=True)
    of = "e => { const s = getComputedStyle(e); return [s.backgroundColor, s.color, s.fontFamily]; }"
    leaf = page.locator("main").evaluate(of)
    assert findings(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
    field = page.get_by_label("Password")
    for target in (field, page.get_by_role("button")):
        assert target.bounding_box()["height"] >= 44
    tapped_in(page, "wrong one, surely")
    says = page.get_by_role("alert")
    assert says.inner_text() == "That is not the password. You can try again at once."
    for _ in range(2):
        tapped_in(page, "wrong one, surely")
    assert says.inner_text() == "That is not the password. The next one is looked at in 5 seconds."
    assert findings(page) == []
    # Too early, unless the machine was slow: then it is let in at once.
    tapped_in(page, PASSWORD)
    early = re.fullmatch(
        r".* was not looked at\. Try again in (\d) seconds?\.", says.inner_text() if says.count() else ""
    )
    if early:
        page.wait_for_timeout(float(early[1]) * 1000)
        tapped_in(page, PASSWORD)
    page.wait_for_selector(".panel")
    assert page.locator(".page.left").evaluate(of)[0] == leaf[0]
    assert page.locator("body").evaluate(of)[1:] == leaf[1:]
    assert "Source Serif" in leaf[2]
    assert page.evaluate("document.fonts.check('16px \"Source Serif 4 Variable\"')")


def test_the_door_keeps_the_look_that_was_picked(at_the_door: Any) -> None:
    page = at_the_door(color_scheme="light")
    ground = "getComputedStyle(document.querySelector('main')).backgroundColor"
    light = page.evaluate(ground)
    log_in(page)
    page.wait_for_selector(".panel")
    page.locator(".pick select").nth(1).select_option("dark")
    page.wait_for_selector(".saving.kept")
    page.get_by_role("button", name="Sign out").click()
    page.get_by_label("Password").wait_for()
    assert page.evaluate(ground) != light


@pytest.mark.parametrize("look", ["light", "dark"])
def test_the_way_in_is_told_in_the_books_look(browser: Any, page_server: Running, look: str) -> None:
    page = browser.new_page(color_scheme=look, viewport=PHONE)
    page.goto(page_server.address)
    assert findings(page) == []
    link = page_server.link()
    page.goto(link)
    page.wait_for_selector(".panel")
    page.context.clear_cookies()
    page.goto(link)
    assert "used already" in page.get_by_role("alert").inner_text()
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    assert findings(page) == []
    page.context.close()


# --- what the book says of the door


@pytest.mark.parametrize("look", ["light", "dark"])
def test_the_page_shows_the_addresses_with_pictures_that_a_camera_reads(
    at_the_door: Any, open_server: Running, look: str, tmp_path: Path
) -> None:
    import cv2

    page = at_the_door(color_scheme=look, viewport=TABLET)
    log_in(page)
    page.wait_for_selector(".panel")
    page.get_by_role("button", name="How other machines get in").click()
    page.locator(".addresses li").first.wait_for()
    assert tuple(page.locator(".addresses code").all_inner_texts()) == open_server.addresses != ()
    for n, address in enumerate(open_server.addresses):
        shot = tmp_path / f"{n}.png"
        page.locator(".addresses svg").nth(n).screenshot(path=shot)
        read, _, _ = cv2.QRCodeDetector().detectAndDecode(cv2.imread(str(shot)))
        assert read == address
    assert findings(page) == []
    assert PASSWORD not in page.content()


# --- signing out


def test_signing_out_leaves_nothing_here_and_nothing_valid_there(at_the_door: Any, open_server: Running) -> None:
    page = at_the_door()
    log_in(page)
    page.wait_for_selector(".panel")
    other = page.context.new_page()
    other.goto(page.url.split("#")[0])
    other.wait_for_selector(".panel")
    cookies = {c["name"]: c["value"] for c in page.context.cookies()}
    token = page.evaluate("fetch('/api/session').then(a => a.json()).then(a => a.token)")
    page.evaluate("localStorage.setItem('coutil.waiting', 'typed'); sessionStorage.setItem('coutil.x', 'typed')")
    page.get_by_role("button", name="Sign out").click()
    page.get_by_label("Password").wait_for()
    assert page.evaluate("[localStorage.length, sessionStorage.length]") == [0, 0]
    assert [c["name"] for c in page.context.cookies() if c["name"].startswith(f"coutil-{open_server.port}")] == []
    other.locator(".shut", has_text="signed out").wait_for()
    with httpx.Client(base_url=f"http://127.0.0.2:{open_server.port}", cookies=cookies) as thief:
        assert thief.get("/api/orders").status_code == 401
        answered = thief.post("/api/orders", json={}, headers={"X-Coutil-Token": token})
        assert answered.status_code == 401
        assert "signed out" in json.loads(answered.text)["says"]
    other.get_by_role("link", name="To the password").click()
    log_in(other)
    other.wait_for_selector(".panel")


def test_the_page_itself_clears_only_what_is_its_own(at_the_door: Any) -> None:
    """Over a network that is not encrypted browsers pass over the server's word; the page's own must do."""
    page = at_the_door()
    log_in(page)
    page.wait_for_selector(".panel")

    def without_the_header(route: Any) -> None:
        answer = route.fetch()
        route.fulfill(response=answer, headers={k: v for k, v in answer.headers.items() if k != "clear-site-data"})

    page.route("**/api/leave", without_the_header)
    page.evaluate("localStorage.setItem('coutil.waiting', 'typed'); localStorage.setItem('another', 'kept')")
    page.get_by_role("button", name="Sign out").click()
    page.get_by_label("Password").wait_for()
    assert page.evaluate("Object.keys(localStorage)") == ["another"]


def test_signing_out_of_a_session_that_has_ended_leaves_nothing_here_either(at_the_door: Any) -> None:
    """What was typed could not be sent any more, and stayed in the browser of a machine that is not hers."""
    page = at_the_door()
    log_in(page)
    page.wait_for_selector(".panel")
    held: list[Any] = []
    page.route("**/edit", lambda route: held.append(route))
    field(page, "style.hem").fill("9 cm")
    page.get_by_role("button", name="Sign out").click()
    assert page.evaluate("Object.keys(localStorage).filter(name => name.startsWith('coutil.')).length") == 1
    said = {"error": "no_session", "says": "This session has ended."}
    held[0].fulfill(status=401, json=said)
    page.locator(".shut", has_text="has ended").wait_for()
    assert page.evaluate("Object.keys(localStorage).filter(name => name.startsWith('coutil.'))") == []


def test_signing_out_while_the_book_does_not_answer(at_the_door: Any) -> None:
    """It waits, for what was typed is not in the book; pressed once more, it goes without, and says what that means."""
    page = at_the_door()
    log_in(page)
    page.wait_for_selector(".panel")
    asked: list[str] = []
    page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.accept()))
    page.route("**/api/orders/**", lambda route: route.abort())
    field(page, "style.hem").fill("9 cm")
    page.locator(".saving.away").wait_for()
    page.get_by_role("button", name="Sign out").click()
    page.get_by_role("button", name="Sign out without what waits").click()
    page.locator(".shut", has_text="has not heard that you sign out").wait_for()
    assert page.evaluate("Object.keys(localStorage).filter(name => name.startsWith('coutil.'))") == []
    page.goto("about:blank")
    assert asked == []


def test_who_came_by_a_link_has_nothing_to_sign_out_of(browser: Any, open_server: Running) -> None:
    page = browser.new_page()
    page.goto(open_server.link())
    page.wait_for_selector(".openly")
    page.wait_for_selector(".panel")
    assert page.get_by_role("button", name="Sign out").count() == 0
    page.context.close()
