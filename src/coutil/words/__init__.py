"""The catalogue of texts: what coutil says to a person, by key. Every room says its texts out of it."""

from coutil.words.catalogue import LANGUAGE, catalogue, has, say
from coutil.words.telling import Key, Length, LengthForm, Naming, Told, as_data, capital, in_words, tell

__all__ = [
    "LANGUAGE",
    "Key",
    "Length",
    "LengthForm",
    "Naming",
    "Told",
    "as_data",
    "capital",
    "catalogue",
    "has",
    "in_words",
    "say",
    "tell",
]
