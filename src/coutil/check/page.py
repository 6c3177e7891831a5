"""docs/findings.md, made from the catalogue of texts and the list of checks."""

from __future__ import annotations

from collections.abc import Iterator

from coutil.check.table import CHECKS
from coutil.words import catalogue

_FOUND = "found."
_PART = "found.part."


def findings_page() -> str:
    """The reference page of every check and of every code with its texts, in Markdown."""
    return "\n".join(_lines()) + "\n"


def _lines() -> Iterator[str]:
    yield "# Findings"
    yield ""
    yield "What coutil has to say of a pattern, its lays and its docket. Made from the code by"
    yield "`coutil.check.page.findings_page`; a test fails when it is stale."
    yield ""
    yield "A finding has a level (`stop`: do not cut; `warn`: look before you cut; `note`: good to know), a code, what"
    yield "it is about, and arguments; `pattern.json` bears all of them. Its text is that of its code with the"
    yield "arguments in their places. `{^name}` begins with a capital; `{@cup_height}` speaks of a value of the order,"
    yield "by its key or by its name. Where a text has forms, an argument chooses among those that are listed below it."
    yield ""
    yield "## Checks"
    yield ""
    yield "Each is made where what it needs is there. In a pattern that was brought in, stops of the families named"
    yield "last are warnings, and so is every stop that came with it: its maker may have meant it so."
    yield ""
    yield "| check | needs | as warnings in a pattern that was brought in |"
    yield "| --- | --- | --- |"
    for check in CHECKS:
        yield f"| {check.name} | {check.needs} | {', '.join(f'`{f}`' for f in check.lowered)} |"
    yield ""
    yield "## Codes"
    family = ""
    for code, text, forms in codes():
        first = code.partition(".")[0]
        if first != family:
            family = first
            yield ""
            yield f"### `{family}`"
            yield ""
        yield f"- `{code}`: {_plain(text)}"
        for name, form, said in forms:
            yield f"  - `{name}` = `{form}`: {_plain(said) or 'nothing'}"


def codes() -> Iterator[tuple[str, str, list[tuple[str, str, str]]]]:
    """Every code with its text and its forms: argument, chosen word, text."""
    texts = {k: v for k, v in catalogue().items() if k.startswith(_FOUND) and not k.startswith(_PART)}
    with_forms = {k.removesuffix(".text") for k in texts if k.endswith(".text")}
    plain = [k for k in texts if not any(k.startswith(f"{code}.") for code in with_forms)]
    for key in sorted([*plain, *with_forms]):
        forms = [
            (name, word, texts[k])
            for k in texts
            if k.startswith(f"{key}.") and k != f"{key}.text"
            for name, _, word in (k.removeprefix(f"{key}.").partition("."),)
        ]
        yield key.removeprefix(_FOUND), texts.get(key) or texts[f"{key}.text"], forms


def _plain(text: str) -> str:
    return text.replace("[[", "\\[\\[").strip()
