"""The catalogue of texts: what coutil says to a person, by key. Every room says its texts out of it."""

from coutil.words.catalogue import LANGUAGE, catalogue, has, say

__all__ = ["LANGUAGE", "catalogue", "has", "say"]
