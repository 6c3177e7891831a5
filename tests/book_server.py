"""A PostgreSQL server of the tests' own: its data in a temporary folder, a free port on 127.0.0.1, gone at the end."""

from __future__ import annotations

import os
import pwd
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

USER = "coutil"
NEEDS = (
    "these tests need a PostgreSQL server: install Debian's package `postgresql` (apt-get install postgresql), "
    "or put its bin folder (initdb, pg_ctl) on PATH"
)


def server_tools() -> Path:
    """The folder with initdb and pg_ctl: on PATH, or where Debian puts it. RuntimeError names the package."""
    on_path = shutil.which("initdb")
    if on_path:
        return Path(on_path).resolve().parent
    found = [p for p in Path("/usr/lib/postgresql").glob("*/bin") if (p / "initdb").exists()]
    if not found:
        raise RuntimeError(NEEDS)
    return max(found, key=lambda p: float(p.parent.name))


@dataclass(frozen=True)
class Server:
    folder: Path
    port: int

    def address(self, database: str) -> str:
        return f"postgresql+psycopg://{USER}@127.0.0.1:{self.port}/{database}"

    def fresh(self, database: str) -> str:
        """The address of a new, empty database."""
        self.sql(f'CREATE DATABASE "{database}"')
        return self.address(database)

    def drop(self, database: str) -> None:
        self.sql(f'DROP DATABASE "{database}" WITH (FORCE)')

    def sql(self, statement: str, database: str = "postgres") -> list[tuple[object, ...]]:
        import psycopg

        to = f"postgresql://{USER}@127.0.0.1:{self.port}/{database}"
        with psycopg.connect(to, autocommit=True) as c:
            done = c.execute(statement)
            return done.fetchall() if done.description else []


@contextmanager
def running_server() -> Iterator[Server]:
    """Start a server, hand it out, stop it. It refuses to run as root, so then it runs as the user postgres."""
    tools = server_tools()
    as_user = _other_user()
    folder = Path(tempfile.mkdtemp(prefix="coutil-pg-"))
    try:
        if as_user:
            shutil.chown(folder, as_user)

        def run(tool: str, *arguments: str) -> None:
            done = subprocess.run(
                [tools / tool, *arguments],
                user=as_user,
                cwd=folder,
                env={"PATH": os.environ.get("PATH", ""), "LC_ALL": "C.UTF-8"},
                # Not pipes: the server inherits them, and reading them would wait for its end.
                stdout=subprocess.DEVNULL,
                stderr=(errors := (Path(tempfile.gettempdir()) / f"{folder.name}.errors").open("w+")),
                check=False,
            )
            with errors:
                errors.seek(0)
                said = errors.read()
            Path(errors.name).unlink()
            if done.returncode:
                log = folder / "log"
                raise RuntimeError(f"{tool} failed: {said} {log.read_text() if log.exists() else ''}")

        data = folder / "data"
        run("initdb", "-D", str(data), "-A", "trust", "-U", USER, "-E", "UTF8", "--no-sync")
        port = _free_port()
        settings = f"-p {port} -c listen_addresses=127.0.0.1 -c unix_socket_directories={folder}"
        run("pg_ctl", "-D", str(data), "-w", "-o", settings, "-l", str(folder / "log"), "start")
        try:
            yield Server(folder, port)
        finally:
            run("pg_ctl", "-D", str(data), "-w", "-m", "immediate", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _other_user() -> str | None:
    if os.geteuid() != 0:
        return None
    try:
        return pwd.getpwnam("postgres").pw_name
    except KeyError:
        raise RuntimeError(f"a PostgreSQL server does not run as root and there is no user postgres; {NEEDS}") from None


def _free_port() -> int:
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return int(s.getsockname()[1])
