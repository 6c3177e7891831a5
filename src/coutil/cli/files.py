"""Files written whole or not at all, and nothing overwritten unasked."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterable
from pathlib import Path

from coutil.make import Document

# What `coutil make` may write, some of it for some orders only.
JOB_FILES = (
    "pattern-*.pdf",
    "lays.*",
    "docket.*",
    "quote.pdf",
    "card.pdf",
    "lesson.pdf",
    "pieces.svg",
    "pattern.dxf",
    "cutting/*.svg",
    "cutting/*.plt",
)


class FolderError(OSError):
    """Files that cannot be written; the message names the path and what to do."""


def refuse_existing(paths: Iterable[Path], *, force: bool) -> None:
    """Raise FolderError if any of the files is there already, unless `force` is given."""
    there = [str(p) for p in paths if p.exists()]
    if there and not force:
        more = f" and {len(there) - 1} more" if len(there) > 1 else ""
        raise FolderError(f"{there[0]}{more}: there already; --force overwrites it")


def write_all(folder: Path, documents: Iterable[Document], *, force: bool) -> list[Path]:
    """Write every document into `folder`, which is made if need be; returns the paths.

    All are first made and written beside their place under other names; only when the last is complete are they
    renamed. So a failure or a stop on the way leaves what was there before. Raises FolderError.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".coutil-", dir=folder) as waiting:
            names = []
            for d in documents:
                _put(Path(waiting) / d.name, d.data)
                names.append(d.name)
            targets = [folder / n for n in names]
            refuse_existing(targets, force=force)
            for name, target in zip(names, targets, strict=True):
                target.parent.mkdir(exist_ok=True)
                os.replace(Path(waiting) / name, target)
    except FolderError:
        raise
    except OSError as e:
        raise FolderError(f"{folder}: cannot be written: {e.strerror or e}") from e
    return targets


def write_one(path: Path, data: bytes, *, force: bool) -> None:
    """Write one file whole; raises FolderError."""
    refuse_existing([path], force=force)
    if not path.name:
        raise FolderError(f"{path}: not the name of a file")
    write_all(path.parent, [Document(path.name, data)], force=force)


def left_from_before(folder: Path, written: Iterable[Path]) -> list[Path]:
    """Sheets in `folder` that a job writes but did not write this time: of an order or a body as it was before."""
    fresh = set(written)
    there = [p for pattern in JOB_FILES for p in folder.glob(pattern)]
    return sorted(p for p in dict.fromkeys(there) if p not in fresh and p.is_file())


def _put(path: Path, data: bytes) -> None:
    path.parent.mkdir(exist_ok=True)
    with path.open("xb") as f:
        f.write(data)
        f.flush()
        os.fsync(f.fileno())
