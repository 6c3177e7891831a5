"""The pages before the book: where the password goes, or how to open the book. They look like the book.

Words and its own form only, no script; style and fonts are the book's own, from the style sheet that its build made.
"""

from __future__ import annotations

import html
import math

from starlette.responses import Response

from coutil.web.settings import Settings
from coutil.web.static import Page
from coutil.words import LANGUAGE, say


def door_page(
    page: Page, settings: Settings, *, status: int, asks: bool, says: str = "", wait: float = 0.0
) -> Response:
    """The door. `asks`: for the password; else it tells how the book is opened. `says` is why she stands here.

    `wait` is how long the next password is not looked at, in seconds; it goes into the header that tells programs.
    """
    told = f'<p class="beside stop" id="says" role="alert">{html.escape(says)}</p>' if says else ""
    body = _form(told) if asks else _how(told)
    title = html.escape(say("door.closed"))
    styles = "".join(f'<link rel="stylesheet" href="{html.escape(href)}">' for href in page.styles)
    text = (
        f'<!doctype html><html lang="{LANGUAGE}" data-look="{settings.look}"><head><meta charset="utf-8">'
        f"<title>{title} · coutil</title>"
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<meta name="color-scheme" content="light dark">{styles}</head>'
        f'<body class="door"><main class="leaf"><p class="door-mark" aria-hidden="true">coutil</p>'
        f"<h1>{title}</h1>{body}</main></body></html>"
    )
    headers = {"retry-after": str(math.ceil(wait))} if wait > 0 else {}
    return Response(text, status_code=status, media_type="text/html; charset=utf-8", headers=headers)


def how_long(seconds: float) -> str:
    """A wait in words, never shorter than it is."""
    n = max(1, math.ceil(seconds))
    if n == 1:
        return say("door.second")
    return say("door.seconds", n=n) if n <= 90 else say("door.minutes", n=math.ceil(n / 60))


def _form(told: str) -> str:
    wrong = ' aria-invalid="true" aria-describedby="says asked"' if told else ' aria-describedby="asked"'
    return (
        f'<form method="post" action="/login"><label for="password">{html.escape(say("door.password"))}</label>'
        '<input id="password" type="password" name="password" autocomplete="current-password" autocapitalize="none" '
        f'spellcheck="false" required autofocus{wrong}>{told}'
        f'<p class="small" id="asked">{html.escape(say("door.asked"))}</p>'
        f'<button class="sewn">{html.escape(say("door.enter"))}</button></form>'
        f'<p class="small">{html.escape(say("door.plain"))}</p>'
    )


def _how(told: str) -> str:
    how, command = html.escape(say("door.how")), html.escape(say("door.command"))
    return f"{told}<p>{how}</p><p><code>{command}</code></p>"
