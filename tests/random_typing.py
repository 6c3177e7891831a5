"""Random typing in a real browser against a plain model of what each field holds; for tests and bench/typings.py.

The model knows nothing of hands or versions: a field holds its value, perhaps a refused text, and what one undo takes
back. After every typing the page, and from time to time the book itself, must say the same.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from typing import Any

from page_book import field as at
from page_book import kept

# Values that do not stand in one another's way within these bounds, in cm, and texts for them: taken, or refused.
KEYS = ("body.waist", "body.height", "body.hip_depth", "body.high_hip_depth")
TAKEN = {
    "body.waist": ("69", "70 cm", "71.5", "72,5 cm", "700 mm", "28 in", "27 1/2 in"),
    "body.height": ("165", "170 cm", "168.5", "1700 mm", "66 in"),
    "body.hip_depth": ("19", "20 cm", "20.5", "200 mm", "8 in"),
    "body.high_hip_depth": ("9", "10 cm", "9.5", "100 mm", "4 in"),
}
# Each has beginnings that can be used while it is typed.
REFUSED = {
    "body.waist": ("700", "70x", "72..5", "71 inn", "69 1/"),
    "body.height": ("1650", "165x", "168..5", "170 cmm"),
    "body.hip_depth": ("205", "20x", "19..5", "20 cmm"),
    "body.high_hip_depth": ("105", "9x", "9..5", "10 cmm"),
}

LOOK = """async key => {
    const order = location.pathname.split('/')[2];
    const value = (await (await fetch(`/api/orders/${order}`)).json()).values[key];
    return [value.text, value.typed ?? null];
}"""

# What stands in the fields but the one in hand.
SEEN = """keys => Object.fromEntries(keys.map(key => [key, document.querySelector(`[data-key="${key}"]`)])
    .filter(([, e]) => e !== document.activeElement).map(([key, e]) => [key, e.value]))"""


@dataclass
class Model:
    """What the order holds, by key; what was refused; and the states to which undo goes back, the last one last."""

    held: dict[str, str]
    refused: dict[str, str] = field(default_factory=dict)
    steps: list[dict[str, str]] = field(default_factory=list)

    def put(self, key: str, text: str) -> None:
        """A hand that ends with another value is one step."""
        if self.held[key] != text:
            self.steps.append(dict(self.held))
            self.held[key] = text
        self.refused.pop(key, None)

    def undo(self) -> None:
        """Refused texts go first, all of them; then the last step."""
        if self.refused:
            self.refused.clear()
        elif self.steps:
            self.held = self.steps.pop()


@dataclass
class Tally:
    typings: int = 0
    refused: int = 0
    escaped: int = 0
    undone: int = 0
    reloads: int = 0
    in_other_window: int = 0


def type_at_random(windows: list[Any], count: int, seed: int) -> Tally:
    """`count` typings in windows that show the same order's tape; AssertionError tells the first difference."""
    rng, tally = random.Random(seed), Tally()
    last: list[str] = []
    page = windows[0]
    for key in KEYS:
        # A value by rule follows another one, of which the model knows nothing: each begins with one of its own.
        one = _in_hand(page, key)
        one.fill(TAKEN[key][-1])
        page.keyboard.press("Tab")
        kept(page)
    model = Model({key: page.evaluate(LOOK, key)[0] for key in KEYS})
    for number in range(count):
        if rng.random() < 0.1:
            fresh = rng.choice(windows)
            tally.in_other_window += fresh is not page
            if fresh is not page:
                _caught_up(fresh, page)
            page = fresh
        key = rng.choice(KEYS)
        how = rng.choices(("taken", "refused", "escaped", "mended", "undone", "reloaded"), (40, 25, 12, 8, 10, 5))[0]
        last = [*last[-8:], f"{number}: {how} {key}"]
        if how == "undone":
            if model.steps or model.refused:
                page.keyboard.press("Control+z")
                kept(page)
                _settled(page)
                model.undo()
                tally.undone += 1
        elif how == "reloaded":
            page.reload()
            page.wait_for_selector(".panel")
            tally.reloads += 1
        else:
            _one(page, rng, key, how, model, tally, last)
            tally.typings += 1
        _same(page, key, model, last)
    for key in KEYS:
        _same(page, key, model, last)
    return tally


def _one(page: Any, rng: random.Random, key: str, how: str, model: Model, tally: Tally, last: list[str]) -> None:
    _in_hand(page, key)
    text = rng.choice(REFUSED[key] if how in ("refused", "escaped", "mended") else TAKEN[key])
    _keys(page, rng, text)
    last[-1] += f" {text!r}"
    if how == "mended":
        kept(page)
        page.keyboard.press("Control+a")
        text = rng.choice(TAKEN[key])
        last[-1] += f" then {text!r}"
        _keys(page, rng, text)
    if how == "escaped":
        page.keyboard.press("Escape")
        model.refused.pop(key, None)
        tally.escaped += 1
    if rng.random() < 0.5:
        page.keyboard.press("Tab")
    else:
        page.locator("#spread-title").click()
    kept(page)
    _settled(page)
    if how in ("taken", "mended"):
        # How a text is shown is the server's to say, and tested elsewhere; here, that it is the one that was typed.
        now = page.evaluate(LOOK, key)[0]
        assert _mm(now) == _mm(text), (last, now)
        model.put(key, now)
    elif how == "refused":
        model.refused[key] = text
        tally.refused += 1


def _in_hand(page: Any, key: str) -> Any:
    one = at(page, key)
    one.evaluate("e => { const fold = e.closest('details'); if (fold) fold.open = true; }")
    one.click()
    return one


def _keys(page: Any, rng: random.Random, text: str) -> None:
    """Typed as people type: in one go, evenly, or with a pause in which what is there so far is taken or refused."""
    pause = rng.random()
    if pause < 0.4:
        page.keyboard.type(text)
    elif pause < 0.8:
        page.keyboard.type(text, delay=rng.choice((10, 40)))
    else:
        cut = rng.randrange(len(text))
        page.keyboard.type(text[:cut])
        page.wait_for_timeout(rng.choice((30, 150, 800)))
        page.keyboard.type(text[cut:])


def _mm(text: str) -> float:
    """A length as it is written in these tests, in mm."""
    plain = text.lstrip("≈").replace(",", ".")
    number, unit = plain, "cm"
    for name in ("mm", "cm", "in"):
        if plain.endswith(name):
            number, unit = plain[: -len(name)].strip(), name
    total = sum(float(a) / float(b or 1) for a, _, b in (part.partition("/") for part in number.split()))
    return round(total * {"mm": 1.0, "cm": 10.0, "in": 25.4}[unit], 3)


def _settled(page: Any) -> None:
    page.wait_for_function("() => !document.querySelector('.saving.keeping, .saving.away')")


def _caught_up(page: Any, other: Any) -> None:
    """The other window has heard of what this one did."""
    page.locator("#spread-title").click()
    page.wait_for_function("v => document.documentElement.dataset.version === v", arg=other.evaluate(VERSION))


VERSION = "document.documentElement.dataset.version"


def _same(page: Any, key: str, model: Model, last: list[str]) -> None:
    now = page.evaluate(LOOK, key)
    assert now == [model.held[key], model.refused.get(key)], (last, key, now, model.held[key], model.refused)
    seen = page.evaluate(SEEN, list(KEYS))
    for one, text in seen.items():
        assert text == model.refused.get(one, model.held[one]), (last, one, text)
    said = page.locator(".saving").get_attribute("class")
    assert ("refused" in said) == bool(model.refused), (last, said, model.refused)
