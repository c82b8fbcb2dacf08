"""Conditions as the book writes them; `conditions` says whether they hold."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Test:
    """One condition of a `when`: the value is among `any_of`, not among `none_of`, and in range."""

    name: str
    any_of: tuple[str, ...] = ()
    none_of: tuple[str, ...] = ()
    at_least: float | None = None
    below: float | None = None


When = tuple[Test, ...]  # all must hold; an empty tuple always holds
