"""How data is said: a text of the catalogue by its key, its places filled with lengths, names and further texts.

A `Told` is what one has to say, as data; `tell` says it. In the texts a place is written `{name}`, with `^` before the
name where its first letter is raised. After a colon stands how a number is shown (as for Python's `format`), or what
joins a list: `{angle:.1f}`, `{panels: and the }`. `{@cup_height}` speaks of a value of the order by its key.

A text that has several forms keeps them in tables beside it, one for each argument that decides: where a table
`KEY.NAME` is in the catalogue, the argument NAME (a word, or True and False as "yes" and "no") chooses the form in it
that stands in its place. Such a KEY has its own text under `KEY.text`. Where it must be put otherwise for who is told
names and has no file before her, that text stands under `KEY.named`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from decimal import Decimal
from functools import cache, singledispatch
from typing import Any, ClassVar, Final, Literal

from coutil.units import ABOUT, both, brief, full, plain, precise, whole_mm, width
from coutil.words.catalogue import catalogue

# How a length is said: see the function of that name in coutil.units; `cm` is one unit, `bare` one whose roundness the
# text tells.
LengthForm = Literal["brief", "full", "both", "cm", "bare", "mm", "precise", "whole_mm", "fine_mm"]
_FORMS: Final[Mapping[LengthForm, Callable[[float], str]]] = {
    "brief": brief,
    "full": full,
    "both": both,
    "cm": plain,
    "bare": lambda mm: plain(mm).removeprefix(ABOUT),
    "mm": width,
    "precise": precise,
    "whole_mm": whole_mm,
    "fine_mm": lambda mm: f"{mm:.3f} mm",
}
# Lengths in data are rounded to this, in digits of a mm, as in the pattern file.
_DECIMALS: Final = 4

_PLACE: Final = re.compile(r"\{(\^?)(@?)([\w.]+)(?::([^{}]*))?\}")


@dataclass(frozen=True, slots=True)
class Length:
    """A length in mm with how it is to be said."""

    kind: ClassVar[str] = "length"

    mm: float
    form: LengthForm = "brief"


@dataclass(frozen=True, slots=True)
class Key:
    """A value of the order by its key, as it is said beside the file; who has no file before her is told its name."""

    kind: ClassVar[str] = "key"

    key: str


@dataclass(frozen=True, slots=True)
class Told:
    """Something to be said: the key of its text and what fills it.

    Arguments are data: lengths, numbers, words that choose a form, names as they were given, keys, references, further
    `Told`, and tuples of these.
    """

    kind: ClassVar[str] = "told"

    code: str
    args: Mapping[str, Any] = field(default_factory=dict)

    def __hash__(self) -> int:
        return hash((self.code, frozenset(self.args.items())))


# What a value of the order is called, by its key.
Naming = Callable[[str], str]


@singledispatch
def in_words(value: Any, spec: str = "") -> str:
    """What a value is called in a text; rooms register their own kinds of value. Raises KeyError for an unknown text.

    `spec` is what stands after the colon of its place.
    """
    return format(value, spec)


@in_words.register
def _(value: Length, spec: str = "") -> str:
    return _FORMS[value.form](value.mm)


@in_words.register
def _(value: Key, spec: str = "") -> str:
    return value.key


@in_words.register
def _(value: Told, spec: str = "") -> str:
    return tell(value.code, value.args)


@in_words.register
def _(value: tuple, spec: str = "") -> str:  # type: ignore[type-arg]
    return _words(value, spec, None)


def tell(code: str, args: Mapping[str, Any], naming: Naming | None = None) -> str:
    """The text of a key with its places filled; raises KeyError for a text or an argument that is not there.

    Values of the order are called by their keys, or as `naming` says.
    """
    texts = catalogue()
    own = texts.get(f"{code}.named") if naming is not None else None
    if own is None:
        own = texts.get(code)
    return _filled(texts[f"{code}.text"] if own is None else own, args, code, naming)


def _filled(text: str, args: Mapping[str, Any], code: str, naming: Naming | None) -> str:
    """A text with its places filled, in one pass: braces in what is filled in stay what they are."""

    def place(found: re.Match[str]) -> str:
        raised, at, name, spec = found[1], found[2], found[3], found[4] or ""
        value = Key(name) if at else args[name] if (form := _form(code, name, args)) is None else None
        said = _filled(form or "", args, "", naming) if value is None else _words(value, spec, naming)
        return capital(said) if raised and not _is_key(value, said) else said

    return _PLACE.sub(place, text)


def _is_key(value: Any, said: str) -> bool:
    """Whether a value is said by a key of the order, which is written as it is wherever it stands."""
    first = value[0] if isinstance(value, tuple) and value else value
    return isinstance(first, Key) and said.startswith(first.key)


def _words(value: Any, spec: str, naming: Naming | None) -> str:
    if isinstance(value, Key) and naming is not None:
        return naming(value.key)
    if isinstance(value, Told):
        return tell(value.code, value.args, naming)
    if isinstance(value, tuple):
        return (spec or ", ").join(_words(v, "", naming) for v in value)
    return in_words(value, spec)


def _form(code: str, name: str, args: Mapping[str, Any]) -> str | None:
    """The form that an argument chooses; None where it chooses none."""
    if (code, name) not in _deciding():
        return None
    chosen = args[name]
    word = {True: "yes", False: "no"}[chosen] if isinstance(chosen, bool) else chosen
    return catalogue()[f"{code}.{name}.{word}"]


@cache
def _deciding() -> frozenset[tuple[str, str]]:
    """Code and argument of every table of forms."""
    texts = catalogue()
    out = set()
    for key in texts:
        table, _, _ = key.rpartition(".")
        code, _, name = table.rpartition(".")
        if f"{code}.text" in texts:
            out.add((code, name))
    return frozenset(out)


def capital(text: str) -> str:
    """The text with its first letter raised, for the start of a sentence."""
    return text[:1].upper() + text[1:]


def as_data(value: Any) -> Any:
    """A value as plain dicts, lists, texts and numbers, ready for json.dumps. Lengths are rounded to 1e-4 mm."""
    if isinstance(value, Length):
        return {"mm": round(value.mm, _DECIMALS) + 0.0, "form": value.form}
    if isinstance(value, Told):
        return {"code": value.code, "args": as_data(value.args)}
    if isinstance(value, Mapping):
        return {k: as_data(v) for k, v in value.items()}
    if isinstance(value, tuple):
        return [as_data(v) for v in value]
    if isinstance(value, Key):
        return value.key
    if is_dataclass(value):
        ref: Any = value
        return {"kind": ref.kind, **{f.name: as_data(getattr(ref, f.name)) for f in fields(ref)}}
    if isinstance(value, Decimal):
        return f"{value}"
    if isinstance(value, float):
        # JSON knows no infinity.
        return round(value, _DECIMALS) + 0.0 if math.isfinite(value) else f"{value}"
    return value
