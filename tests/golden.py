"""Screens kept as files. To accept a changed screen, run with DIAGNOSE_GOLDEN=write and read the difference."""

from __future__ import annotations

import os
from pathlib import Path


def matches(file: Path, text: str) -> bool:
    """Whether a screen is what its file holds; with DIAGNOSE_GOLDEN=write the file is written first."""
    if os.environ.get("DIAGNOSE_GOLDEN") == "write":
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text, encoding="utf-8")
    return file.read_text(encoding="utf-8") == text
