"""Files that come in and go out: read within bounds, written whole or not at all, and for their owner's eyes only."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

from coutil.book.errors import BookError


def read_small(file: Path, largest: int) -> bytes:
    """The bytes of a file of at most `largest` bytes; raises BookError."""
    try:
        with file.open("rb") as f:
            data = f.read(largest + 1)
    except (OSError, ValueError) as e:
        raise BookError("unreadable", file=str(file), reason=_reason(e)) from None
    if len(data) > largest:
        raise BookError("file_too_large", file=str(file), most=largest)
    return data


def write_whole(file: Path, data: bytes, *, force: bool) -> Path:
    """Write a file whole or leave what was there; raises BookError."""
    with writing_whole(file, force=force) as f:
        f.write(data)
    return file


@contextmanager
def writing_whole(file: Path, *, force: bool) -> Iterator[BinaryIO]:
    """A file to write to, beside its place; it takes its place, flushed to the disk, when the block ends well."""
    if not file.name:
        raise BookError("no_file_name", file=str(file))
    if file.is_dir():
        raise BookError("folder", file=str(file))
    waiting: Path | None = None
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        # mkstemp makes files that only their owner may read.
        handle, name = tempfile.mkstemp(prefix=".coutil-", dir=file.parent)
        waiting = Path(name)
        with os.fdopen(handle, "w+b") as f:
            yield f
            f.flush()
            os.fsync(f.fileno())
        if force:
            os.replace(waiting, file)
        else:
            # A link is refused where something is there, even if it came while this was written.
            os.link(waiting, file)
            waiting.unlink()
        waiting = None
        _flush_folder(file.parent)
    except FileExistsError:
        raise BookError("there_already", file=str(file)) from None
    except (OSError, ValueError) as e:
        if isinstance(e, BookError):
            raise
        raise BookError("unwritable", file=str(file), reason=_reason(e)) from e
    finally:
        if waiting is not None:
            with suppress(OSError):
                waiting.unlink(missing_ok=True)


def _flush_folder(folder: Path) -> None:
    """Let the new name reach the disk too, where the system can do that."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _reason(e: OSError | ValueError) -> str:
    return e.strerror if isinstance(e, OSError) and e.strerror else "not the name of a file"
