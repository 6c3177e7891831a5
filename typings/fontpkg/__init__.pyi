"""The part of fontpkg's interface that coutil uses, as found by trial on 0.2; it ships no types of its own."""

from pathlib import Path

class FontFile:
    path: Path
    style: str

class Family:
    files: tuple[FontFile, ...]

def families() -> dict[str, Family]: ...
