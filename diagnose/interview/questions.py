"""One question of the intake: answered, left out, skipped with the rest, or asked again with the reason."""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import Final, TypeVar

from diagnose.interview.course import Course
from diagnose.interview.dialogue import UNSURE, Dialogue, Ended
from diagnose.interview.doubtful import ONCE_MORE
from diagnose.interview.facts import Usable
from diagnose.render.page import capital, sentence

Change = Callable[[Course], Course]
Apply = Callable[[Change], Course]  # carries out a change, keeps it in the file, and gives the new course
T = TypeVar("T")

SKIP: Final = "skip"
HELP: Final = "help"
FINISH: Final = "finish"


class Skipped(Exception):
    """The rest of the intake is to be left out."""


def ask(dialogue: Dialogue, question: str) -> str:
    """An answer, "" where it is not known; raises Skipped, and Ended where the person has had enough."""
    line = dialogue.ask(question)
    while line.casefold() == HELP:
        dialogue.say(
            "Enter or `?` leaves a question out, `skip` goes straight to the safety of the bench, `finish` ends. "
            "All that is told here can be changed later."
        )
        line = dialogue.ask(question)
    if line.casefold() == SKIP:
        raise Skipped
    if line.casefold() == FINISH:
        raise Ended
    return "" if line.casefold() in UNSURE else line


def value_of(
    dialogue: Dialogue,
    question: str,
    read: Callable[[str], Usable[T]],
    line: str = "",
    doubt: Callable[[T], str] = lambda _: "",
    *,
    nothing: Collection[str] = (),
) -> T | None:
    """What was answered, asked again with the reason while it cannot be used; None where it was left out.

    What is doubted has to be said twice; `nothing` are words that leave it out too.
    """
    doubted: T | None = None
    while True:
        line = line or ask(dialogue, question)
        if not line or line.casefold().rstrip(".") in nothing:
            return None
        found, reason = read(line)
        reason = reason if found is None else doubt(found)
        if found is not None and (not reason or found == doubted):
            return found
        doubted = found
        dialogue.say(capital(sentence(reason)) + (f" {ONCE_MORE}" if found is not None else ""))
        line = ""
