"""Text of a page that is made by a program: paragraphs filled to one width."""

from __future__ import annotations

import textwrap
from typing import Final

WIDTH: Final = 108


def wrapped(text: str) -> str:
    """Paragraphs apart by an empty line, filled to the width of the page; headings stay as they are."""
    paragraphs = text.strip().split("\n\n")
    made = (
        p if p.startswith("#") else textwrap.fill(" ".join(p.split()), WIDTH, break_on_hyphens=False)
        for p in paragraphs
    )
    return "\n\n".join(made) + "\n"
