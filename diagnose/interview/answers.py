"""What a person at the bench answers, as an observation: forgiving of the form, never of the meaning.

The line is put into the form of the case file and read by the same readers; here is only what people say
and files do not. Knows no terminal.
"""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache
from typing import Final

from diagnose.files.desk import Desk
from diagnose.files.faults import Faults
from diagnose.files.read_seen import Subject
from diagnose.files.rig_names import RigNames, names_on
from diagnose.interview.circumstances import circumstances
from diagnose.interview.meant import CANNOT, NO_SUCH, READ, UNCLEAR, UNKNOWN, Meant, hint_for, no_state
from diagnose.interview.spoken import folded, state_meant
from diagnose.interview.values import measured
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case, Observation
from diagnose.model.knowledge import Indication

_UNKNOWN: Final = frozenset(
    {
        "?", "not sure", "unsure", "not known", "unknown", "do not know", "i do not know", "dunno", "no idea",
        "not certain", "can not tell", "can not say", "hard to say", "maybe", "perhaps", "skip", "skip it", "pass",
        "next", "later",
    }
)  # fmt: skip
_CANNOT: Final = frozenset(
    {
        "can not measure", "can not", "can not do", "can not measure it", "can not measure that", "can not read",
        "can not read it", "can not reach", "can not reach it", "can not do it", "can not do that",
        "unable", "not possible", "impossible", "no way to measure", "no instrument", "no meter",
    }
)  # fmt: skip
_NO_SUCH: Final = re.compile(
    r"(?:there is )?(?:no such|not fitted|not present|does not exist|not on this (?:set|rig)|"
    r"(?:it|the set|this set|the rig|this rig) has no(?:ne| such)|has none)\b.*\Z"
)
_LONGEST: Final = 200


@lru_cache(maxsize=8)
def names_of(assembly: Assembly) -> RigNames:
    """The names of everything that can be read on a rig and its bench."""
    return names_on(assembly.book, assembly.rig)


def desk_of(assembly: Assembly, case: Case) -> Desk:
    """What is needed to judge an answer, with an empty list of faults."""
    book = assembly.book
    meters = {**book.meters, **case.meters}
    return Desk(book.rigs[case.rig], names_of(assembly), book.bench, Faults(), meters, len(case.work))


def understood(line: str, name: str, assembly: Assembly, case: Case) -> Meant:
    """What an answer means for one quantity, symptom, pattern or figure of the rig, by its full name.

    KeyError if the rig has none of that name. The observation has no period: the course gives it one.
    """
    desk = desk_of(assembly, case)
    subject = desk.names.indications.get(name) or desk.names.figures[name]
    said = " ".join(line.split())
    if len(said) > _LONGEST:
        return Meant(UNCLEAR, because="that is too long for an answer", hint=hint_for(subject))
    if not folded(said):
        return Meant(UNCLEAR, because="nothing was said", hint=hint_for(subject))
    unanswered = no_answer(said)
    if unanswered is not None and unanswered.kind == UNKNOWN:
        return Meant(UNKNOWN, Observation(name, as_written="not known"))
    if unanswered is not None:
        return unanswered
    plain = _meant(said, name, subject, desk)
    if plain.kind != UNCLEAR:
        return plain
    rest, told = circumstances(said, desk)
    if not told:
        return plain
    bare = _meant(rest, name, subject, desk)
    if bare.observation is None:
        return bare
    return replace(bare, observation=replace(bare.observation, **told))


def no_answer(said: str) -> Meant | None:
    """What a line means that leaves a question without an answer: not known, not possible here, or no such thing.

    None where it says something else.
    """
    word = folded(said)
    if word in _UNKNOWN:
        return Meant(UNKNOWN)
    if word in _CANNOT or word.startswith("can not measure"):
        return Meant(CANNOT)
    return Meant(NO_SUCH, because=said) if _NO_SUCH.match(word) is not None else None


def _meant(said: str, name: str, subject: Subject, desk: Desk) -> Meant:
    word = folded(said)
    if isinstance(subject, Indication):
        state = state_meant(word, subject)
        if state is not None:
            return Meant(READ, Observation(name, state=state.id, as_written=state.id))
        if subject.sort != "quantity":
            return Meant(UNCLEAR, because=no_state(said, subject), hint=hint_for(subject))
    return measured(said, name, subject, desk)
