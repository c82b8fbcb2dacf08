"""Single answers of the intake, read by the readers of the case file; why one cannot be used, in words."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Final, TypeVar

from diagnose.files.document import Node
from diagnose.files.faults import Faults
from diagnose.files.read_circumstances import read_mains
from diagnose.files.read_history import read_history
from diagnose.files.scalars import plain_scalar
from diagnose.interview.course import Course
from diagnose.interview.dialogue import NONE, numbers_in
from diagnose.interview.record import HISTORY
from diagnose.model.knowledge import Bench, Fact, Rig
from diagnose.problems import NOWHERE

T = TypeVar("T")
Usable = tuple[T | None, str]  # the value, or why there is none

_METRES: Final = re.compile(r"\A(\d+)-?m(?:et(?:er|re)s?|trs?)?(?:band)?\Z")
_YES_NO: Final = {"y": "yes", "n": "no", "yep": "yes", "yeah": "yes", "nope": "no"}


def mains_of(line: str, rig: Rig) -> Usable[float]:
    """A line voltage that a rig may be fed with, in volts."""
    return _read(line, _scalar(line), lambda node, faults: read_mains(node, rig, faults))


def fact_of(line: str, fact: Fact, facts: Mapping[str, Fact]) -> Usable[object]:
    """The value of a fact of the history."""
    words = list(fact.values)
    whole = Node({fact.id: _as_fact(line, fact, words)}, NOWHERE, NOWHERE)
    found, reason = _read(line, whole, lambda node, faults: read_history(node, facts, faults).get(fact.id))
    if found is not None:
        return found, ""
    if fact.kind == "yes_no":
        return None, f"`{line}` is neither yes nor no; Enter leaves it open"
    if words:
        return None, f"`{line}` is not in the list; numbers from 1 to {len(words)}, Enter leaves it open"
    return None, reason.replace(f"`{fact.id}`", "that").replace(
        f"write it like `{fact.id}: 5`", "write it like `5`"
    )


def one_of(line: str, words: tuple[str, ...]) -> Usable[str]:
    """One of a few words, by its beginning or its number."""
    wanted = _METRES.sub(r"\1m", line.casefold().replace(" ", ""))
    if wanted.isdecimal() and 1 <= int(wanted) <= len(words) and wanted not in words:
        return words[int(wanted) - 1], ""
    fitting = [w for w in words if w == wanted] or [w for w in words if w.startswith(wanted)]
    if len(fitting) == 1:
        return fitting[0], ""
    return None, f"`{line}` is {'more than one' if fitting else 'none'} of {', '.join(words)}"


def instruments_of(line: str, bench: Bench) -> Usable[tuple[str, ...]]:
    """The instruments at hand, by the numbers of those that a bench may lack."""
    wanted = choosable(bench)
    always = [id for id, instrument in bench.instruments.items() if instrument.always]
    word = line.casefold()
    if word in NONE:
        return tuple(always), ""
    if word == "all":
        return tuple(bench.instruments), ""
    without = word.startswith(("all but", "all except", "not "))
    bare = word.removeprefix("all but").removeprefix("all except").removeprefix("not").strip()
    numbers = numbers_in(bare)
    if numbers is None or not all(1 <= number <= len(wanted) for number in numbers):
        return None, f"say `all`, `none`, numbers from 1 to {len(wanted)}, or `all but` and numbers"
    named = {wanted[number - 1] for number in numbers}
    return (*always, *(id for id in wanted if (id in named) != without)), ""


def choosable(bench: Bench) -> tuple[str, ...]:
    """The instruments that a bench may lack."""
    return tuple(id for id, instrument in bench.instruments.items() if not instrument.always)


def retold(course: Course, key: str, line: str) -> Usable[Course]:
    """The course with another answer to a question of the intake."""
    rig, bench = course.assembly.rig, course.assembly.book.bench
    value: object
    if key == "mains":
        value, reason = mains_of(line, rig)
    elif key == "mode":
        value, reason = one_of(line, rig.features.get("modes", ()))
    elif key == "band":
        value, reason = one_of(line, rig.bands)
    elif key == "instruments":
        value, reason = instruments_of(line, bench)
    elif key.startswith(HISTORY):
        fact = bench.facts[key.removeprefix(HISTORY)]
        value, reason = fact_of(line, fact, bench.facts)
        return (None, reason) if value is None else (course.told(fact.id, value), "")
    else:
        value, reason = line, ""
    return (None, reason) if value is None else (course.amended(**{key: value}), "")


def _read(line: str, node: Node, read: Callable[[Node, Faults], T | None]) -> Usable[T]:
    faults = Faults()
    found = read(node, faults)
    problem = faults.found[0] if faults.found else None
    if problem is None:
        return found, "" if found is not None else f"`{line}` is not understood"
    reason = problem.text.removesuffix("; it is left out")
    return None, f"{reason}; {problem.suggestion}" if problem.suggestion else reason


def _as_fact(line: str, fact: Fact, words: list[str]) -> Node:
    """The line as a history in a case file has it."""
    if fact.kind == "yes_no":
        word = _YES_NO.get(line.casefold(), line.casefold())
        return _scalar(word)
    if not words:
        about = line.casefold().removeprefix("about ")
        return _scalar(about)
    numbers = numbers_in(line)
    if numbers is not None:
        chosen = [words[n - 1] if 1 <= n <= len(words) else str(n) for n in numbers]
    else:
        chosen = [_word_of(piece.strip(), fact, words) for piece in line.split(",")]
    if fact.kind == "set":
        return Node(tuple(_scalar(word) for word in chosen), NOWHERE, NOWHERE)
    return _scalar(chosen[0]) if len(chosen) == 1 else _scalar(line)


def _word_of(piece: str, fact: Fact, words: list[str]) -> str:
    spoken = piece.casefold()
    found = [
        w
        for w in words
        if w.replace("_", " ").startswith(spoken) or fact.values[w].casefold().startswith(spoken)
    ]
    return found[0] if len(found) == 1 else piece


def _scalar(text: str) -> Node:
    return Node(plain_scalar(text), NOWHERE, NOWHERE, text)
