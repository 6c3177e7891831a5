"""How a value of the order is addressed: "style.ease.waist", "cloth.0.width", "name".

The page, the sentences and the edits all speak of values by these keys. `build.lining` stands for the whole lining:
none, plain or fused; `build.kit` for whether there is a back kit. Entries of a list are counted from 0; what a seam
takes on the way down to a level is a value of its own: "style.seam.1.near.waist".
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from coutil.order.build_keys import MADE_LISTED
from coutil.order.key import Key
from coutil.order.keys import TABLES
from coutil.seaming import MOST_PANELS, PLACES

# The lining as one choice: whether its table is there, and what it says.
LINING: Final = "build.lining"
LININGS: Final = ("none", "plain", "fused")
# The back kit as one choice: whether its table is there.
KIT: Final = "build.kit"
KITS: Final = ("none", "kit")
CLOTH: Final = "cloth"
OPENING: Final = "style.opening"
SEAM: Final = "style.seam"
# The edges of a seam and the levels that the three parts of each are for, as the order file lists them.
SHARES: Final = ("near", "far")
SHARED: Final = ("underbust", "waist", "high_hip")
# One edge takes no more of a loss than this: with all of it the others would keep no proportion to share by.
MOST_SHARE: Final = 0.95
# What of a pattern that was brought in can be changed value by value.
OF_OWN: Final = ("line", "allowance")
# As many as the order file takes; a garment opens at no more than its places, and has no more seams than panels.
MOST_CLOTHS: Final = 100
LISTS: Final = {CLOTH: MOST_CLOTHS, OPENING: len(PLACES), SEAM: MOST_PANELS - 1}


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
        """The key without the number of an entry, as texts and choices are listed."""
        return f"{self.table}.{self.spec.name}" if self.table else self.spec.name

    @property
    def is_share(self) -> bool:
        """Whether it is what an edge of a seam takes on the way down to one level."""
        return self.table == SEAM and "." in self.spec.name

    @property
    def number(self) -> int:
        """The number of the entry that it belongs to; 0 for what stands in no list."""
        return next((part for part in self.path if isinstance(part, int)), 0)


@lru_cache(maxsize=2048)
def address(key: str) -> Address:
    """Raises UnknownKeyError."""
    if key == LINING:
        return Address(key, ("build", "lining"), "build", Key("lining", "choice", "the lining", choices=LININGS))
    if key == KIT:
        return Address(key, ("build", "kit"), "build", Key("kit", "choice", "the back kit", choices=KITS))
    parts = key.split(".")
    listed = next((name for name in LISTS if key.startswith(f"{name}.")), "")
    if listed:
        return _entry(key, listed, parts[len(listed.split(".")) :])
    table = ".".join(parts[:-1])
    known = TABLES.get(table)
    # A pattern of one's own may be a file on this machine's disk: nothing that comes from a browser may name one, nor
    # write what a drawing holds.
    if table.startswith("pattern") and parts[-1] not in OF_OWN:
        known = None
    # What lies on the maker's shelf is told in the house's file.
    if known is None or table in MADE_LISTED or table in LISTS:
        raise UnknownKeyError(key[:80])
    for spec in known.keys:
        if spec.name == parts[-1] and spec.kind != "version":
            return Address(key, tuple(parts), table, spec)
    raise UnknownKeyError(key[:80])


def _entry(key: str, table: str, rest: list[str]) -> Address:
    """A value of one entry of a list; `rest` is what of the key stands behind the list's name."""
    if len(rest) not in (2, 3) or not rest[0].isdecimal() or len(rest[0]) > 3 or int(rest[0]) >= LISTS[table]:
        raise UnknownKeyError(key[:80])
    path: tuple[str | int, ...] = (*table.split("."), int(rest[0]), rest[1])
    spec = next((k for k in TABLES[table].keys if k.name == rest[1]), None)
    if spec is None or (spec.kind == "parts") != (len(rest) == 3):
        raise UnknownKeyError(key[:80])
    if spec.kind != "parts":
        return Address(key, path, table, spec)
    if rest[2] not in SHARED:
        raise UnknownKeyError(key[:80])
    share = Key(f"{spec.name}.{rest[2]}", "part", spec.says, 0.0, MOST_SHARE, required=True)
    return Address(key, (*path, SHARED.index(rest[2])), table, share)
