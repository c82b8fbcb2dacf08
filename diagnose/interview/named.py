"""A reading or sign that is named in the line itself: `final.plate_current = 95 mA`, `plate current 95`, `hv low`."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from diagnose.interview.answers import names_of, understood
from diagnose.interview.course import Course
from diagnose.interview.indexes import readable, signs
from diagnose.interview.meant import Meant
from diagnose.interview.nearly import nearly
from diagnose.interview.search import SHOWN
from diagnose.interview.stems import tells
from diagnose.model.case import Observation

_VALUE = re.compile(
    r"(?:about|around|roughly|between|from|jumps?|swings?|[-+~.]?\s*\d|-\s*\.?\d)", re.IGNORECASE
)
_CLEAR: Final = 1.2  # times the next best score that makes a name clear
LIKELY: Final = 0.6  # score from which words that were not asked for are taken for a sign
_NEAR: Final = 0.7  # share of the best score from which another name may be meant
_MOST_NAMES: Final = 40  # that are looked through for one that the value can be of
_MOST_WORDS: Final = 4  # of a value in words: `too high`, `not sure`


@dataclass(frozen=True)
class Said:
    """A name with what was said of it."""

    name: str
    observation: Observation
    sure: bool = True  # not where it was only found by its words and is to be confirmed


@dataclass(frozen=True)
class Heard:
    """What a line may say of which name: one where it is clear, several to choose from, none if not understood.

    `refused`: the line names something, and what it says of it cannot be meant. `value`: what it says, as it was typed.
    """

    said: tuple[Said, ...] = ()
    refused: Meant | None = None
    value: str = ""


def heard(line: str, course: Course) -> Heard:
    """What a line says out of order; one that begins with how much names nothing."""
    if _VALUE.match(line):
        return Heard()
    refused: Meant | None = None
    units: set[str] = set()  # of names that were refused: the value is none in these
    for words, value in _splits(line):
        for names, sure in names_of_words(words, course):
            meant = {
                name: understood(value, name, course.assembly, course.case)
                for name in names
                if _unit(course, name) not in units
            }
            said = tuple(
                Said(name, m.observation, sure) for name, m in meant.items() if m.observation is not None
            )
            if said:
                return Heard(said[:SHOWN], value=value.strip())
            if len(meant) == 1 and refused is None and (_VALUE.match(value) or "=" in line):
                refused = next(iter(meant.values()))
                units.add(_unit(course, names[0]))
    if refused is not None:
        return Heard(refused=refused)
    hits = signs(course.assembly).find(line) if tells(line) and not line[:1].isdigit() else ()
    found = (
        Said(h.entry.name, Observation(h.entry.name, state=h.entry.state, as_written=h.entry.state), False)
        for h in hits
        if h.score >= LIKELY
    )
    return Heard(tuple(found))


def names_of_words(words: str, course: Course) -> Iterator[tuple[tuple[str, ...], bool]]:
    """The names that words may mean, the surest first, and whether they are nearly the words of these.

    An id, else what the words nearly are, else what they are found by; the last is only offered.
    """
    names = names_of(course.assembly)
    known = names.readable()
    wanted = words.strip().casefold()
    if wanted in known:
        yield (wanted,), True
        return
    near = nearly(words, course.assembly, (name for name in known if name in course.assembly.indications))
    if near:
        yield near, True
    tail = "_".join(wanted.split())
    tails = tuple(name for name in known if name.rpartition(".")[2] == tail and name not in near)
    if tails:
        yield tails, not near
    hits = readable(course.assembly).find(words, _MOST_NAMES)
    if len(hits) > 1 and hits[0].score >= _CLEAR * hits[1].score and near:
        return
    best = hits[0].score if hits else 0.0
    yield tuple(hit.entry.name for hit in hits if hit.score >= _NEAR * best), False


def _unit(course: Course, name: str) -> str:
    placed = course.assembly.indications.get(name)
    return placed.indication.unit if placed is not None else ""


def _splits(line: str) -> Iterator[tuple[str, str]]:
    """Where the name may end and the value begin, the likeliest first."""
    name, sign, value = line.partition("=")
    if not sign:
        name, sign, value = line.partition(": ")
    if sign and name.strip() and value.strip():
        yield name, value
        return
    words = line.split()
    for cut in range(1, len(words)):
        if _VALUE.match(words[cut]) and not words[cut].lower().endswith(("m", "tube", "tubes")):
            yield " ".join(words[:cut]), " ".join(words[cut:])
    for cut in range(max(1, len(words) - _MOST_WORDS), len(words)):
        yield " ".join(words[:cut]), " ".join(words[cut:])
