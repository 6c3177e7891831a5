"""The catalogue of texts: what coutil says to a person, by key. Every room says its texts out of it."""

from coutil.words.catalogue import LANGUAGE, catalogue, has, say
from coutil.words.refusal import REFUSAL, Refusal, RefusingError, keys_said, line, reason, says
from coutil.words.telling import Key, Length, LengthForm, Naming, Told, as_data, capital, in_words, tell

__all__ = [
    "LANGUAGE",
    "REFUSAL",
    "Key",
    "Length",
    "LengthForm",
    "Naming",
    "Refusal",
    "RefusingError",
    "Told",
    "as_data",
    "capital",
    "catalogue",
    "has",
    "in_words",
    "keys_said",
    "line",
    "reason",
    "say",
    "says",
    "tell",
]
