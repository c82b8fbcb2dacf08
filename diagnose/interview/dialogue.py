"""Lines in, lines out: questions on a plain terminal, a pipe or a script, and the answers to them.

No cursor, no key by key: a line is written, and a line is read. What is read from elsewhere than a terminal
is shown as if it had been typed.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Final

from rich.console import Console

from diagnose.render import numbers
from diagnose.render.page import Page, Said, plain

PROMPT: Final = "> "
_LONGEST: Final = 2000  # characters of a line that are looked at
_NUMBERS = re.compile(
    r"(?:\d{1,3}(?:\s*-\s*\d{1,3})?)(?:(?:\s*,\s*|\s+and\s+|\s+)\d{1,3}(?:\s*-\s*\d{1,3})?)*\Z"
)
_SPAN = re.compile(r"(\d+)(?:\s*-\s*(\d+))?")
UNSURE: Final = frozenset({"?", "not sure", "don't know", "not known", "unknown", "dunno", "skip"})
NONE: Final = frozenset({"none", "no", "n", "none of these", "none of them", "nothing", "neither", "0"})


class Ended(Exception):
    """There is no more input."""


@dataclass
class Dialogue:
    """A console to write on and a source of lines, which gives None at its end.

    `aside` takes a line that only wants to be shown something, whatever is being asked; whether it was one.
    """

    out: Console
    read: Callable[[], str | None]
    echo: bool = False
    aside: Callable[[str], bool] | None = None
    portions: bool = False  # someone reads along: what does not go on one screen waits for Enter
    since: int = 0  # lines written since the last line was read
    waiting: list[str] = field(default_factory=list)  # lines that were read in the place of Enter

    def page(self) -> Page:
        """An empty page as wide as the console."""
        return Page(self.out.width)

    def show(self, page: Page) -> None:
        """A page; where someone reads along, in portions that fit the screen.

        What is typed in the place of Enter leaves the rest out, and is the answer to the next question; but a yes or
        no shows the next portion as Enter does.
        """
        left = list(page.lines)
        while left and self.portions and not self.waiting and self.since + len(left) >= self.out.height:
            room = max(self.out.height - self.since - 2, 0 if self.since else 1)
            portion, left = left[:room], left[room:]
            Page(page.width, portion).print(self.out)
            self.out.file.write(f"({numbers.count(len(left), 'more line', 'more lines')}: Enter) {PROMPT}")
            line = self._read()
            if line and is_yes(line) is None:  # yes to what? the question may not be on the screen yet
                self.waiting.append(line)
                return
        if not self.waiting:
            Page(page.width, left).print(self.out)
            self.since += len(left)

    def say(self, said: Said, indent: int = 0) -> None:
        """A paragraph."""
        page = self.page()
        page.say(said, indent=indent)
        self.show(page)

    def gap(self) -> None:
        """An empty line."""
        if not self.waiting:
            self.out.print()
            self.since += 1

    def ask(self, question: Said = "") -> str:
        """The answer to a question, on one line and without what could steer a terminal; raises Ended.

        A question is asked again after what is shown aside.
        """
        while True:
            answer = self._line(question)
            if not question or self.aside is None or not self.aside(answer):
                return answer

    def _line(self, question: Said) -> str:
        if question:
            self.say(question)
        if self.waiting:
            return self.waiting.pop(0)
        self.out.file.write(PROMPT)
        return self._read()

    def _read(self) -> str:
        """The next line; raises Ended."""
        self.out.file.flush()
        line = self.read()
        self.since = 0
        if line is None:
            self.out.file.write("\n")
            raise Ended
        answer = plain(line[:_LONGEST])
        if self.echo:
            self.out.file.write(f"{answer}\n")
        return answer

    def yes(self, question: Said) -> bool | None:
        """Yes or no; None where it was left open. Asked again until it is one of these."""
        while True:
            line = self.ask(question)
            answer = is_yes(line)
            if answer is not None or not line or line.casefold() in UNSURE:
                return answer
            question = "Answer y or n; Enter leaves it open."

    def pick(
        self, question: Said, choices: Sequence[Said], *, several: bool = True, needed: bool = False
    ) -> tuple[int, ...] | str:
        """The places (from 0) of what was chosen by number, none at all, or other words as they were typed.

        `needed`: Enter alone chooses nothing, and it is asked again.
        """
        first = question
        page = self.page()
        for number, choice in enumerate(choices, start=1):
            page.say(choice, first=f"{number:>3} ", indent=5)
        self.show(page)
        while True:
            line = self.ask(question)
            if not line and needed:
                question = first
                continue
            if not line or line.casefold().rstrip(".") in NONE:
                return ()
            numbers = numbers_in(line)
            if numbers is None:
                head = line.split()[0]
                if not head.isdecimal() or not 1 <= int(head) <= len(choices):
                    return line
                question = f"`{line}`: say the number alone, or other words."
                continue
            if all(1 <= number <= len(choices) for number in numbers) and (several or len(numbers) == 1):
                return tuple(number - 1 for number in numbers)
            if any(line in str(choice).split() for choice in choices):
                return line  # it is in the words of a choice, such as the type of a tube
            question = f"Numbers from 1 to {len(choices)}{'' if several else ', one of them'}."


def is_yes(line: str) -> bool | None:
    """Whether a line says yes or no; None where it says anything else."""
    word = line.casefold().rstrip(".!")
    return True if word in ("y", "yes", "yep", "yeah") else False if word in ("n", "no", "nope") else None


def numbers_in(line: str) -> tuple[int, ...] | None:
    """The numbers of a line like `1 3`, `1, 3 and 5` or `2-4`, each once; None where it holds anything else."""
    if not _NUMBERS.match(line.strip().rstrip(".")):
        return None
    found: list[int] = []
    for low, high in _SPAN.findall(line):
        found.extend(range(int(low), int(high or low) + 1))
    return tuple(dict.fromkeys(found))
