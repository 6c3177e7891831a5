"""Random typing in a real browser against a plain model of what each field holds; for tests and bench/typings.py.

The model knows nothing of hands or versions: a field holds its value, perhaps a refused text, and what one undo takes
back. After every typing the page, and from time to time the book itself, must say the same.
"""

from __future__ import annotations

import random
import re
import tomllib
from dataclasses import dataclass, field
from typing import Any

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

# The order as the book has it.
ORDER = "async () => (await fetch(`/api/orders/${location.pathname.split('/')[2]}/file/order.toml`)).text()"

# What is kept in the book of texts that it cannot use.
TYPED = """async keys => {
    const { values } = await (await fetch(`/api/orders/${location.pathname.split('/')[2]}`)).json();
    return Object.fromEntries(keys.filter(key => values[key].typed).map(key => [key, values[key].typed]));
}"""

# What stands in the fields but the one in hand, and whether the head says that a text is refused.
SEEN = """keys => [Object.fromEntries(keys.map(key => [key, document.querySelector(`[data-key="${key}"]`)])
    .filter(([, e]) => e !== document.activeElement).map(([key, e]) => [key, e.value])),
    document.querySelector('.saving').classList.contains('refused')]"""

# Where to click on something, unfolded and brought into sight; nothing may lie over it.
PLACE = """what => {
    const thing = document.querySelector(what), fold = thing.closest('details');
    if (fold) fold.open = true;
    const middle = () => {
        const { x, y, width, height } = thing.getBoundingClientRect();
        return [x + width / 2, y + height / 2];
    };
    if (!thing.contains(document.elementFromPoint(...middle()))) thing.scrollIntoView({ block: 'center' });
    const at = middle(), there = document.elementFromPoint(...at);
    if (!thing.contains(there)) throw new Error(`${what} lies under ${there?.outerHTML.slice(0, 100)}`);
    return at;
}"""

# A window put aside, as a tab that another one covers: it hears nothing until it is taken up again.
ASIDE = """aside => {
    Object.defineProperty(document, 'hidden', { configurable: true, get: () => aside });
    document.dispatchEvent(new Event('visibilitychange'));
}"""

# All that was typed has been answered, and no refusal waits for her to rest.
ANSWERED = "() => document.querySelector('.saving.kept, .saving.refused')"


@dataclass
class Model:
    """What the order holds, by key, as it was typed; what was refused; and the states to which undo goes back, the last
    one last.
    """

    held: dict[str, str]
    refused: dict[str, str] = field(default_factory=dict)
    steps: list[dict[str, str]] = field(default_factory=list)

    def put(self, key: str, text: str) -> None:
        """A hand that ends with another value is one step; the same length in another unit is another value."""
        if _said(self.held[key]) != _said(text):
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
    held = {key: TAKEN[key][-1] for key in KEYS}
    for key, text in held.items():
        # A value by rule follows another one, of which the model knows nothing: each begins with one of its own.
        _in_hand(page, key)
        page.keyboard.type(text)
        page.keyboard.press("Tab")
        _answered(page)
    model = Model(held)
    # In half of the books both windows hear of everything, in the others the window not in use is put aside.
    aside = rng.random() < 0.5
    for window in windows[1:] if aside else ():
        window.evaluate(ASIDE, True)
    number = 0
    while tally.typings < count:
        number += 1
        if rng.random() < 0.1:
            fresh = rng.choice(windows)
            if fresh is not page:
                tally.in_other_window += 1
                _taken_up(fresh, page, aside)
                page = fresh
        key = rng.choice(KEYS)
        how = rng.choices(("taken", "refused", "escaped", "mended", "undone", "reloaded"), (40, 25, 12, 8, 10, 5))[0]
        last = [*last[-8:], f"{number}: {how} {key}"]
        if how == "undone":
            if not model.steps and not model.refused:
                continue
            page.keyboard.press("Control+z")
            model.undo()
            tally.undone += 1
            if rng.random() < 0.3:
                how = "taken"
                last[-1] += " and at once"
            else:
                _answered(page)
        elif how == "reloaded":
            page.reload()
            page.wait_for_selector(".panel")
            tally.reloads += 1
        if how not in ("undone", "reloaded"):
            _one(page, rng, key, how, model, tally, last)
            tally.typings += 1
        _same(page, model, last, wholly=how == "reloaded" or rng.random() < 0.2)
    for window in windows:
        if window is not page:
            _taken_up(window, page, aside)
            page = window
        _same(page, model, last, wholly=True)
    return tally


def _one(page: Any, rng: random.Random, key: str, how: str, model: Model, tally: Tally, last: list[str]) -> None:
    _in_hand(page, key)
    text = rng.choice(REFUSED[key] if how in ("refused", "escaped", "mended") else TAKEN[key])
    _keys(page, rng, text)
    last[-1] += f" {text!r}"
    if how == "mended":
        _answered(page)
        page.keyboard.press("Control+a")
        text = rng.choice(TAKEN[key])
        last[-1] += f" then {text!r}"
        _keys(page, rng, text)
    if how == "escaped":
        page.keyboard.press("Escape")
        model.refused.pop(key, None)
        tally.escaped += 1
    if rng.random() < 0.7:
        page.keyboard.press("Tab")
    else:
        _click(page, "#spread-title")
    _answered(page)
    if how in ("taken", "mended"):
        model.put(key, text)
    elif how == "refused":
        model.refused[key] = text
        tally.refused += 1


def _in_hand(page: Any, key: str) -> None:
    _click(page, f'[data-key="{key}"]')


def _click(page: Any, what: str) -> None:
    """Without playwright's own waiting, which takes longer than the typing."""
    page.mouse.click(*page.evaluate(PLACE, what))


def _keys(page: Any, rng: random.Random, text: str) -> None:
    """Typed as people type: in one go, evenly, or with a pause in which what is there so far is taken or refused."""
    pause = rng.random()
    if pause < 0.6:
        page.keyboard.type(text)
    elif pause < 0.75:
        page.keyboard.type(text, delay=rng.choice((10, 40)))
    else:
        cut = rng.randrange(len(text))
        page.keyboard.type(text[:cut])
        page.wait_for_timeout(rng.choice((30, 150, 800)))
        page.keyboard.type(text[cut:])


def _said(text: str) -> tuple[float, str]:
    """A length as it is written in these tests, in mm, and the unit that it is in; any other text as it is."""
    plain = text.lstrip("≈").replace(",", ".")
    number, unit = plain, "cm"
    for name in ("mm", "cm", "in"):
        if plain.endswith(name):
            number, unit = plain[: -len(name)].strip(), name
    if not re.fullmatch(r"[0-9. /]+", number):
        return 0.0, text
    total = sum(float(a) / float(b or 1) for a, _, b in (part.partition("/") for part in number.split()))
    return round(total * {"mm": 1.0, "cm": 10.0, "in": 25.4}[unit], 3), unit


def _answered(page: Any) -> None:
    page.wait_for_function(ANSWERED)


def _taken_up(page: Any, other: Any, aside: bool) -> None:
    """Go from the other window to this one, once it has heard of what the other did."""
    if aside:
        page.evaluate(ASIDE, False)
    _click(page, "#spread-title")
    page.wait_for_function("v => document.documentElement.dataset.version === v", arg=other.evaluate(VERSION))
    if aside:
        other.evaluate(ASIDE, True)


VERSION = "document.documentElement.dataset.version"


def _same(page: Any, model: Model, last: list[str], *, wholly: bool) -> None:
    """The order in the book, the page's fields and its word for the whole say what the model says; `wholly`: also what
    the book keeps of refused texts.

    How a length is told is the server's to say, and tested elsewhere; here, that it is the one that was typed.
    """
    book = tomllib.loads(page.evaluate(ORDER))["body"]
    held = {key: _said(str(book.get(key.removeprefix("body."), "0"))) for key in KEYS}
    assert held == {key: _said(text) for key, text in model.held.items()}, (last, held, model)
    if wholly:
        typed = page.evaluate(TYPED, KEYS)
        assert typed == model.refused, (last, typed, model)
    seen, refused = page.evaluate(SEEN, KEYS)
    for key, text in seen.items():
        if key in model.refused:
            assert text == model.refused[key], (last, key, text, model)
        else:
            assert _said(text) == _said(model.held[key]), (last, key, text, model)
    assert refused == bool(model.refused), (last, refused, model)
