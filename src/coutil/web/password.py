"""The password for other machines: how long it must be, and one that is made up."""

from __future__ import annotations

import secrets
import unicodedata
from typing import Final

from coutil.words import say

# Signs of a password, at least: with the waits after wrong ones nobody gets through the words that people think of.
# NIST SP 800-63B-4 asks for 15 where a password stands alone, 8 beside something else (from memory); a made-up one is
# offered, and the book is on a network that its maker trusts.
FEWEST: Final = 10
# So that it goes into a form's few bytes however it is written there.
LONGEST: Final = 200

# Letters that are told apart when read aloud or off another screen: none that look or sound like another.
_CONSONANTS: Final = "bdfghkmnprstvz"
_VOWELS: Final = "aeiou"
_SYLLABLES: Final = 2
_GROUPS: Final = 5


def made_up() -> str:
    """A password such as "tomi-hufa-reko-duza-gine".

    Ten syllables of 14 × 5 letters from the system's random source: 70^10 or 61 bits. At forty tries a second, as fast
    as one core looks at them, that lasts for more than a thousand million years. Small letters alone: a tablet's keys
    need not be turned over.
    """

    def group() -> str:
        return "".join(secrets.choice(_CONSONANTS) + secrets.choice(_VOWELS) for _ in range(_SYLLABLES))

    return "-".join(group() for _ in range(_GROUPS))


def trouble(password: str) -> str | None:
    """What is wrong with a password, in words; None where it is good enough."""
    length = len(same_signs(password))
    if length < FEWEST:
        return say("door.short", fewest=FEWEST)
    return say("door.long", longest=LONGEST) if length > LONGEST else None


def same_signs(password: str) -> str:
    """The password with every accent in one way of writing: a terminal and a tablet may differ in that."""
    return unicodedata.normalize("NFC", password)
