"""The book, rigs to interview, and people who answer from what they are given."""

from __future__ import annotations

import io
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path

from diagnose.files.read_book import load_book
from diagnose.files.read_case import assembly_of
from diagnose.interview.answers import understood
from diagnose.interview.course import Course, begin
from diagnose.interview.dialogue import Dialogue
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case, Observation
from diagnose.model.knowledge import Book
from diagnose.model.proofs import unproven
from diagnose.render.theme import make_console

ROOT = Path(__file__).parents[2]
RIG = "gannet_60"


@lru_cache(maxsize=1)
def book() -> Book:
    """The built-in book."""
    loaded, _ = load_book(ROOT / "rules")
    assert loaded is not None
    return loaded


def assembly(rig: str = RIG) -> Assembly:
    """The network of a rig."""
    return assembly_of(book(), rig)


def course(rig: str = RIG, *, safe: bool = True, **fields: object) -> Course:
    """The course of a new case, on a bench where all that it asks to be proven is proven."""
    safety = tuple(book().bench.safety) if safe else ()
    return begin(book(), Case("set", rig, safety=safety, **fields))  # type: ignore[arg-type]


def safety_asked(**history: object) -> tuple[str, ...]:
    """The safety facts that a set with this history asks for."""
    return unproven(book().bench, Case("set", RIG, history=history))


def seen(now: Course, name: str, line: str) -> Observation:
    """What a line says of a name."""
    meant = understood(line, name, now.assembly, now.case)
    assert meant.observation is not None, (name, line, meant)
    return meant.observation


def entered(now: Course, check: str = "", /, **said: str) -> Course:
    """With observations by name (`__` for the dot)."""
    for name, line in said.items():
        now = now.enter(seen(now, name.replace("__", "."), line), check=check)
    return now


def dialogue(lines: Iterable[str]) -> tuple[Dialogue, io.StringIO]:
    """A dialogue that answers with these lines, and what it writes."""
    waiting = iter(list(lines))
    stream = io.StringIO()
    console = make_console(stream, color=False, environ={})
    return Dialogue(console, lambda: next(waiting, None), echo=True), stream
