"""Where a command writes: results on standard output, messages on standard error."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from rich.console import Console

from diagnose.problems import Problem
from diagnose.render.page import Page, Said
from diagnose.render.problems import problem_list
from diagnose.render.theme import make_console

UNWRAPPED: Final = 10_000  # columns


@dataclass(frozen=True)
class Output:
    """The two consoles of a run."""

    out: Console
    err: Console

    def page(self) -> Page:
        """An empty page as wide as standard output."""
        return Page(self.out.width)

    def show(self, page: Page) -> None:
        """A page of results."""
        page.print(self.out)

    def write(self, text: str) -> None:
        """Results as they are, such as JSON."""
        self.out.file.write(text)

    def message(self, said: Said) -> None:
        """One message, on one line: what a terminal cannot hold it wraps itself."""
        page = Page(UNWRAPPED)
        page.say(said)
        page.print(self.err)

    def problems(self, problems: Iterable[Problem]) -> None:
        """Problems, each on a line of its own, unwrapped: editors look for the place in it."""
        page = Page(UNWRAPPED)
        problem_list(page, problems)
        page.print(self.err)


def standard_output(*, color: bool) -> Output:
    """Consoles on the standard streams, which never fail for want of a character."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")
    return Output(make_console(sys.stdout, color=color), make_console(sys.stderr, color=color))
