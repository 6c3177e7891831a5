"""What each person likes: cm or inches, light or dark. Kept by their browser in a cookie of its own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from starlette.requests import Request
from starlette.responses import Response

from coutil.web.problems import not_understood

COOKIE: Final = "coutil-settings"
UNITS: Final = ("cm", "in")
LOOKS: Final = ("auto", "light", "dark")
# A year, in seconds.
_KEPT: Final = 31_536_000


@dataclass(frozen=True, slots=True)
class Settings:
    unit: str = "cm"
    look: str = "auto"

    def told(self) -> dict[str, str]:
        return {"unit": self.unit, "look": self.look}


def settings_of(request: Request) -> Settings:
    unit, _, look = request.cookies.get(COOKIE, "").partition(".")
    return Settings(unit if unit in UNITS else "cm", look if look in LOOKS else "auto")


def changed(now: Settings, body: dict[str, Any]) -> Settings:
    """The settings with what the page asks for; raises ProblemError for anything else."""
    unit, look = body.get("unit", now.unit), body.get("look", now.look)
    if unit not in UNITS or look not in LOOKS:
        raise not_understood()
    return Settings(unit, look)


def keep(response: Response, settings: Settings) -> None:
    value = f"{settings.unit}.{settings.look}"
    response.set_cookie(COOKIE, value, max_age=_KEPT, httponly=True, samesite="strict")
