"""fontpkg-noto-sans ships no types of its own."""

from pathlib import Path

ROOT: Path
