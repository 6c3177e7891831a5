"""Builds to start from, each in a sentence: which layers there are, and whether there is a lining.

Common practice, no source. A set is no value of an order: it is written into a new order, key by key, to be changed
there.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class BuildSet:
    """A build to start from: its sentence, its layers beside the lining, whether it is lined and the shell has a pile.

    All have a back kit.
    """

    says: str
    layers: tuple[str, ...]
    lined: bool = True
    pile: bool = False


SETS: Final[dict[str, BuildSet]] = {
    "fused": BuildSet("a fused shell with foam cups and a lining", ("shell", "interfacing", "foam", "web")),
    "strength": BuildSet(
        "silk over a boned strength layer, with cups and a lining",
        ("shell", "flat_lining", "strength", "foam", "web"),
    ),
    "lace": BuildSet(
        "lace over a fused shell, with cups and a lining", ("lace", "shell", "interfacing", "foam", "web")
    ),
    "velvet": BuildSet(
        "velvet, not fused, over a boned strength layer, with a lining", ("shell", "strength"), pile=True
    ),
    "corset": BuildSet("two layers of strong cotton with bones between them, unlined", ("shell", "strength"), False),
    "light": BuildSet("one fused layer with its edges finished, unlined", ("shell", "interfacing"), False),
}
