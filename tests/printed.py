"""What a PDF says, read from outside by poppler."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest


def pages_of(pdf: bytes, folder: Path) -> list[tuple[float, float]]:
    """Width and height of every page of a PDF, in points; `folder` takes the file to be read."""
    path = folder / "pages.pdf"
    path.write_bytes(pdf)
    said = subprocess.run(["pdfinfo", "-f", "1", "-l", "999", str(path)], capture_output=True, check=True).stdout
    found = re.findall(r"Page +\d+ size: +([0-9.]+) x ([0-9.]+) pts", said.decode())
    return [(float(w), float(h)) for w, h in found]


def words_of(pdf: bytes, folder: Path, *how: str) -> str:
    """The words of a PDF, any white space between them as one blank; `how` are options of pdftotext.

    `folder` takes the file to be read. The test fails where poppler is missing.
    """
    tool = shutil.which("pdftotext")
    if tool is None:
        pytest.fail("pdftotext is missing, so what is printed cannot be read: install poppler-utils", pytrace=False)
    path = folder / "printed.pdf"
    path.write_bytes(pdf)
    said = subprocess.run([tool, *how, "-enc", "UTF-8", str(path), "-"], capture_output=True, check=True).stdout
    return " ".join(said.decode().split())
