"""Colour only where it is wanted and can be seen."""

from __future__ import annotations

import io
from typing import Any

import pytest
from rich.text import Text

from diagnose.render.theme import PLAIN_WIDTH, WIDEST, make_console


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


def written(stream: io.StringIO, **options: Any) -> str:
    """What a warning in red becomes on this stream."""
    console = make_console(stream, **options)
    console.print(Text("hot", style="stop"), soft_wrap=True)
    return stream.getvalue()


TERM = {"TERM": "xterm-256color"}


@pytest.fixture(autouse=True)
def known_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("NO_COLOR", "FORCE_COLOR", "COLORTERM", "COLUMNS"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")


def test_a_terminal_gets_colour() -> None:
    assert "\x1b[" in written(Terminal(), environ=TERM)


@pytest.mark.parametrize(
    ("stream", "options"),
    [
        (io.StringIO(), {"environ": TERM}),
        (Terminal(), {"environ": {**TERM, "NO_COLOR": "1"}}),
        (Terminal(), {"environ": TERM, "color": False}),
    ],
    ids=["pipe", "NO_COLOR", "--no-color"],
)
def test_pipes_and_those_who_want_none_get_plain_text(stream: io.StringIO, options: dict[str, Any]) -> None:
    assert written(stream, **options) == "hot\n"


def test_an_empty_no_color_means_nothing() -> None:
    assert "\x1b[" in written(Terminal(), environ={**TERM, "NO_COLOR": ""})


@pytest.mark.parametrize(
    ("columns", "width"),
    [("", PLAIN_WIDTH), ("60", 60), ("300", WIDEST), ("nonsense", PLAIN_WIDTH), ("5", PLAIN_WIDTH)],
)
def test_a_pipe_is_eighty_wide_unless_columns_says_else(columns: str, width: int) -> None:
    assert make_console(io.StringIO(), environ={"COLUMNS": columns}).width == width
