"""The one file that holds a whole book: a zip with a manifest, and a file of JSON lines for each table.

    manifest.json   {"format": "coutil-book", "version": 2, "made": TIME, "files": {NAME: {"rows", "bytes", "sha256"}}}
    clients.jsonl   one row a line, an object by column; likewise tapes, orders, versions, settings

It says nothing of the database that it came from. Every reading proves it: sizes, checksums, columns, references, texts
and chains of versions.
"""

from __future__ import annotations

import hashlib
import json
import zipfile
import zlib
from collections.abc import Mapping
from dataclasses import asdict
from datetime import datetime
from itertools import islice
from pathlib import Path
from typing import Any, BinaryIO, Final

from coutil.book.errors import BookError
from coutil.book.files import writing_whole
from coutil.book.model import Tape, Version
from coutil.book.rows import Rows, faults, row_faults
from coutil.book.store import stamp
from coutil.book.tables import ALL
from coutil.book.texts import fold

FORMAT: Final = "coutil-book"
FORMAT_VERSION: Final = 2
# Columns that files of an older version lack; they are empty then.
_ADDED: Final = {1: {"versions": ("tape_uid", "tape_on")}, 2: {}}
_MANIFEST: Final = "manifest.json"
# A book of ten thousand orders with a hundred versions each has about this size unpacked (2 kB a text, found by trial
# on the demo order); more is a file made to fill the memory.
LARGEST: Final = 4_000_000_000
_LARGEST_MANIFEST: Final = 100_000
_SHOWN: Final = 5


def pack(rows: Rows, file: Path, made: datetime, *, force: bool) -> Path:
    """Write the rows of a book as one file, whole or not at all; raises BookError."""
    with writing_whole(file, force=force) as out, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as z:
        listed = {}
        for table in ALL:
            name = f"{table.name}.jsonl"
            data = "".join(json.dumps(r, ensure_ascii=False) + "\n" for r in rows[table.name]).encode()
            z.writestr(name, data)
            listed[name] = {
                "rows": len(rows[table.name]),
                "bytes": len(data),
                "sha256": hashlib.sha256(data).hexdigest(),
            }
        manifest = {"format": FORMAT, "version": FORMAT_VERSION, "made": stamp(made), "files": listed}
        z.writestr(_MANIFEST, json.dumps(manifest, indent=1) + "\n")
    return file


def unpack(file: Path) -> Rows:
    """The rows of such a file, proved sound; raises BookError and nothing else."""
    try:
        with file.open("rb") as f:
            rows = _read(f, file)
    except OSError as e:
        raise BookError("unreadable", file=str(file), reason=e.strerror or str(e)) from None
    # What zipfile and zlib raise for spoilt input, by their documentation and by trial (fuzzed in the tests).
    except (zipfile.BadZipFile, zlib.error, EOFError, RuntimeError, NotImplementedError, LookupError, ValueError) as e:
        if isinstance(e, BookError):
            raise
        raise BookError("no_whole_book", file=str(file), why=_short(e)) from None
    found = list(islice(faults(rows), _SHOWN))
    if found:
        raise BookError("unsound", file=str(file), faults="; ".join(str(f) for f in found))
    return rows


def _read(f: BinaryIO, file: Path) -> Rows:
    with zipfile.ZipFile(f) as z:
        manifest = json.loads(_entry(z, _MANIFEST, _LARGEST_MANIFEST))
        if not isinstance(manifest, dict) or manifest.get("format") != FORMAT:
            raise BookError("other_zip", file=str(file))
        version = manifest.get("version")
        if type(version) is not int or version not in _ADDED:
            newer = isinstance(version, int) and version > FORMAT_VERSION
            raise BookError("newer_file" if newer else "no_version_of_file", file=str(file))
        listed = manifest.get("files")
        if not isinstance(listed, dict) or set(listed) != {f"{t.name}.jsonl" for t in ALL}:
            raise BookError("no_tables_listed", file=str(file))
        rows: Rows = {}
        for table in ALL:
            name = f"{table.name}.jsonl"
            rows[table.name] = _rows_of(_proved(z, name, listed[name], file), name, file)
            if added := _ADDED[version].get(table.name):
                rows[table.name] = [
                    {**dict.fromkeys(added), **r} if isinstance(r, dict) else r for r in rows[table.name]
                ]
            for number, row in enumerate(rows[table.name], start=1):
                for fault in row_faults(table, row):
                    raise BookError("faulty_row", file=str(file), name=name, line=number, fault=fault)
    return rows


def _proved(z: zipfile.ZipFile, name: str, said: Any, file: Path) -> bytes:
    if not isinstance(said, dict) or not isinstance(said.get("bytes"), int) or not 0 <= said["bytes"] <= LARGEST:
        raise BookError("no_size_of", file=str(file), name=name)
    data = _entry(z, name, said["bytes"])
    if len(data) != said["bytes"] or hashlib.sha256(data).hexdigest() != said.get("sha256"):
        raise BookError("no_checksum", file=str(file), name=name)
    if data.count(b"\n") != said.get("rows"):
        raise BookError("rows_missing", file=str(file), name=name)
    return data


def _rows_of(data: bytes, name: str, file: Path) -> list[dict[str, Any]]:
    # By the line feed alone: str.splitlines would also split at signs that may stand in a text.
    lines = data.decode().split("\n")
    if lines.pop() != "":
        raise BookError("no_last_line", file=str(file), name=name)
    return [json.loads(line) for line in lines]


def _entry(z: zipfile.ZipFile, name: str, largest: int) -> bytes:
    """An entry, at most one byte more than it may have: what the zip says of its size is not believed."""
    with z.open(name) as entry:
        return entry.read(largest + 1)


def pack_client(
    about: Mapping[str, Any],
    tapes: tuple[Tape, ...],
    orders: Mapping[str, tuple[Version, ...]],
    file: Path,
    *,
    force: bool,
) -> Path:
    """Write all about a client as one zip: client.json, and each tape and order as TOML; raises BookError.

    `orders` gives by the order's name in the zip its versions, the current one first.
    """
    with writing_whole(file, force=force) as out, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as z:
        z.writestr("client.json", json.dumps(about, ensure_ascii=False, indent=1) + "\n")
        for t in tapes:
            z.writestr(f"tapes/{t.taken_on.isoformat()}-{t.id}.toml", t.text)
        for name, chain in orders.items():
            z.writestr(f"orders/{name}.toml", chain[0].text)
    return file


def entry_name(number: int, name: str) -> str:
    """A name for a file in a zip, of letters and figures alone, whatever the order is called."""
    plain = "-".join("".join(s if s.isalnum() else " " for s in fold(name)).split())[:60]
    return f"{number}-{plain}" if plain else str(number)


def version_data(v: Version) -> dict[str, Any]:
    """A version as JSON tells it."""
    return {
        "number": v.number,
        "made_from": v.parent,
        "how": v.how,
        "place": v.place,
        "due": v.due.isoformat() if v.due else None,
        "made_at": stamp(v.made_at),
        "changed_at": stamp(v.changed_at),
        "tape_on": v.tape_on.isoformat() if v.tape_on else None,
        "changes": [asdict(c) for c in v.changes],
        "text": v.text,
    }


def _short(e: Exception) -> str:
    return " ".join(str(e).split())[:200] or type(e).__name__
