"""The one error that this room raises."""

from __future__ import annotations

from typing import ClassVar

from coutil.words import RefusingError


class LayerError(RefusingError, ValueError):
    """A piece that cannot be made; the refusal names it."""

    room: ClassVar[str] = "layers"
