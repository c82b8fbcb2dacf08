"""What is wrong with a formula, or with the figures put into it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(eq=False)
class FormulaError(ValueError):
    """One sentence in `text`, the place in the formula (the first character is 1), and what to do about it."""

    text: str
    column: int = 1
    hint: str = ""

    def __str__(self) -> str:
        return self.text


def short(text: str) -> str:
    """A piece of a formula for a message: on one line and not too long."""
    text = " ".join(text.split())
    return text if len(text) <= 40 else text[:37] + "..."
