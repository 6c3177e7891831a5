"""The one error that this room raises."""

from __future__ import annotations


class LayerError(ValueError):
    """A piece that cannot be made; the message names it."""
