"""`coutil open` at a terminal of its own, as a person sits at it: what is asked there is answered there."""

from __future__ import annotations

import os
import pty
import re
import select
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

# Patience for one thing to be said, in seconds: a machine under load.
PATIENCE = 60.0
# Makes the terminal this process's own, without which a password is not asked for there, and then becomes coutil.
_TAKE = (
    "import fcntl, os, sys, termios; fcntl.ioctl(0, termios.TIOCSCTTY, 0); "
    "os.execv(sys.executable, [sys.executable, '-m', 'coutil', *sys.argv[1:]])"
)


class Terminal:
    """`said` is all that stood on the screen until now."""

    def __init__(self, screen: int, running: subprocess.Popen[bytes], port: int) -> None:
        self.screen, self.running, self.port, self.said = screen, running, port, ""

    def until(self, pattern: str) -> re.Match[str]:
        """Wait until the screen shows it; what stands before it is read only once."""
        end = time.monotonic() + PATIENCE
        while (found := re.search(pattern, self.said[self._read :])) is None:
            if time.monotonic() > end or not self._more():
                pytest.fail(f"{pattern!r} was not said: {self.said!r}")
        self._read += found.end()
        return found

    def type(self, text: str) -> None:
        os.write(self.screen, text.encode())

    _read = 0

    def _more(self) -> bool:
        ready, _, _ = select.select([self.screen], [], [], 0.2)
        if ready:
            try:
                part = os.read(self.screen, 65536)
            except OSError:
                return False
            self.said += part.decode(errors="replace")
            return bool(part)
        return self.running.poll() is None


@contextmanager
def opened(folder: Path, *args: str) -> Iterator[Terminal]:
    """`coutil open` on a new book in a folder of its own and a free port; killed at the end if it still runs."""
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        port = int(s.getsockname()[1])
    home = {n: str(folder) for n in ("HOME", "XDG_RUNTIME_DIR", "XDG_CACHE_HOME", "XDG_DATA_HOME")}
    command = ["open", "--book", str(folder / "book.db"), "--no-browser", "--port", str(port), *args]
    screen, inside = pty.openpty()
    running = subprocess.Popen(
        [sys.executable, "-c", _TAKE, *command],
        stdin=inside,
        stdout=inside,
        stderr=inside,
        env={**os.environ, **home, "COLUMNS": "200"},
        start_new_session=True,
    )
    os.close(inside)
    try:
        yield Terminal(screen, running, port)
    finally:
        running.kill()
        running.wait(PATIENCE)
        os.close(screen)
