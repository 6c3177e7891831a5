"""The page's own files, read once from the package: no path from a browser ever reaches the file system."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Final

_TYPES: Final = {
    "html": "text/html; charset=utf-8",
    "js": "text/javascript; charset=utf-8",
    "css": "text/css; charset=utf-8",
    "svg": "image/svg+xml",
    "png": "image/png",
    "ico": "image/x-icon",
    "woff2": "font/woff2",
    "json": "application/json",
    "webmanifest": "application/manifest+json",
    "txt": "text/plain; charset=utf-8",
}


@dataclass(frozen=True, slots=True)
class Page:
    """`index` is None where the package was built without the page. `assets` by their path below the root.

    `styles` are the addresses of the page's style sheets, for the pages before it.
    """

    index: bytes | None
    assets: Mapping[str, tuple[bytes, str]]
    styles: tuple[str, ...] = ()


def read_page() -> Page:
    found = dict(_every(files("coutil.web") / "static", ""))
    index = found.pop("/index.html", None)
    if index is None:
        return Page(None, found)
    named = re.findall(r'<link rel="stylesheet"[^>]* href="([^"]+)"', index[0].decode())
    return Page(index[0], found, tuple(href for href in named if href in found))


def _every(folder: Traversable, before: str) -> Iterator[tuple[str, tuple[bytes, str]]]:
    if not folder.is_dir():
        return
    for file in folder.iterdir():
        path = f"{before}/{file.name}"
        if file.is_dir():
            yield from _every(file, path)
        else:
            kind = _TYPES.get(file.name.rsplit(".", 1)[-1])
            if kind is not None:
                yield path, (file.read_bytes(), kind)
