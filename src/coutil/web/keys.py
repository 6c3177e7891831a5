"""How a value of the order is addressed: "style.ease.waist", "cloth.0.width", "name".

The page, the sentences and the edits all speak of values by these keys. `build.lining` stands for the whole lining:
none, plain or fused; `build.kit` for whether there is a back kit.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from coutil.order.build_keys import MADE_LISTED
from coutil.order.key import Key
from coutil.order.keys import TABLES

# The lining as one choice: whether its table is there, and what it says.
LINING: Final = "build.lining"
LININGS: Final = ("none", "plain", "fused")
# The back kit as one choice: whether its table is there.
KIT: Final = "build.kit"
KITS: Final = ("none", "kit")
CLOTH: Final = "cloth"
# What of a pattern that was brought in can be changed value by value.
OF_OWN: Final = ("line", "allowance")
# As many as the order file takes.
MOST_CLOTHS: Final = 100


class UnknownKeyError(ValueError):
    """A key that no order has."""


@dataclass(frozen=True, slots=True)
class Address:
    """Where a value stands: the path of tables, the table's name in TABLES, and what may stand there."""

    key: str
    path: tuple[str | int, ...]
    table: str
    spec: Key

    @property
    def pattern(self) -> str:
        """The key without the number of a cloth, as texts and choices are listed."""
        return f"{self.table}.{self.spec.name}" if self.table else self.spec.name


@lru_cache(maxsize=2048)
def address(key: str) -> Address:
    """Raises UnknownKeyError."""
    if key == LINING:
        return Address(key, ("build", "lining"), "build", Key("lining", "choice", "the lining", choices=LININGS))
    if key == KIT:
        return Address(key, ("build", "kit"), "build", Key("kit", "choice", "the back kit", choices=KITS))
    parts = key.split(".")
    path: tuple[str | int, ...] = tuple(parts)
    if parts[0] == CLOTH and len(parts) == 3:
        if not parts[1].isdecimal() or len(parts[1]) > 3 or int(parts[1]) >= MOST_CLOTHS:
            raise UnknownKeyError(key[:80])
        path, table = (CLOTH, int(parts[1]), parts[2]), CLOTH
    else:
        table = ".".join(parts[:-1])
    known = TABLES.get(table)
    # A pattern of one's own may be a file on this machine's disk: nothing that comes from a browser may name one, nor
    # write what a drawing holds.
    if table.startswith("pattern") and parts[-1] not in OF_OWN:
        known = None
    # What lies on the maker's shelf is told in the house's file.
    if known is None or table in MADE_LISTED or (table == CLOTH and len(path) != 3):
        raise UnknownKeyError(key[:80])
    for spec in known.keys:
        if spec.name == parts[-1] and spec.kind != "version":
            return Address(key, path, table, spec)
    raise UnknownKeyError(key[:80])
