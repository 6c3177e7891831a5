"""The port at which a book was served last: a browser keeps what waits for a book by its address, port included."""

from __future__ import annotations

import contextlib
import os
from hashlib import sha256
from pathlib import Path


def last_port(address: str) -> int | None:
    """The port at which this person served the book at `address` last; None where it is not known."""
    try:
        text = _file(address).read_text("ascii").strip()
    except (OSError, ValueError):
        return None
    return int(text) if text.isdecimal() and len(text) <= 5 and 0 < int(text) < 65536 else None


def remember_port(address: str, port: int) -> None:
    """Keep the port for the next opening; where that cannot be written it is only not known then."""
    file = _file(address)
    with contextlib.suppress(OSError):
        file.parent.mkdir(parents=True, exist_ok=True)
        made = file.with_name(f".{file.name}.{os.getpid()}")
        made.write_text(f"{port}\n", "ascii")
        made.replace(file)


def _file(address: str) -> Path:
    import platformdirs

    # Not the runtime folder, which is emptied when the machine is started anew.
    return platformdirs.user_state_path("coutil") / f"port-{sha256(address.encode()).hexdigest()[:16]}"
