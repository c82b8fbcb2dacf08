"""Styles by meaning, and the console that turns them into colours or into plain text."""

from __future__ import annotations

import os
from collections.abc import Mapping
from typing import IO, Final

from rich.console import Console
from rich.theme import Theme

PLAIN_WIDTH: Final = 80  # of what goes into a pipe or a file
WIDEST: Final = 100  # longer lines are hard to read, however wide the terminal

STYLES: Final = {
    "stop": "bold red",
    "safe": "green",
    "unproven": "yellow",
    "suspect": "bold",
    "good": "green",
    "abnormal": "yellow",
    "heading": "bold cyan",
    "label": "cyan",
    "quiet": "dim",
    "caution": "yellow",
    "local": "magenta",
    "error": "bold red",
    "warning": "yellow",
    "note": "cyan",
}


def make_console(stream: IO[str], *, color: bool = True, environ: Mapping[str, str] | None = None) -> Console:
    """A console on `stream`; without a terminal, with NO_COLOR or without `color` it writes plain text."""
    environ = os.environ if environ is None else environ
    terminal = stream.isatty()
    plain = not color or bool(environ.get("NO_COLOR")) or not terminal
    return Console(
        file=stream,
        theme=Theme(STYLES),
        width=_width(terminal, environ),
        color_system=None if plain else "auto",
        force_terminal=terminal,
        markup=False,
        highlight=False,
        emoji=False,
        legacy_windows=False,
    )


def _width(terminal: bool, environ: Mapping[str, str]) -> int:
    asked = environ.get("COLUMNS", "")
    if asked.isdigit() and int(asked) >= 40:
        return min(int(asked), WIDEST)
    if not terminal:
        return PLAIN_WIDTH
    try:
        return min(max(os.get_terminal_size().columns, 40), WIDEST)
    except OSError:
        return PLAIN_WIDTH
