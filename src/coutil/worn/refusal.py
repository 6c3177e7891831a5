"""What this room refuses, as data. The texts stand in the catalogue."""

from __future__ import annotations

from typing import ClassVar

from coutil.words import RefusingError


class WornError(RefusingError, ValueError):
    """A pattern or a form that cannot be tried on, or not be mended so; codes stand under refusal.worn."""

    room: ClassVar[str] = "worn"
