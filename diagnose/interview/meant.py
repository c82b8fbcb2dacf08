"""What a line means for one indication or figure: a value or state, left open, not possible here, or not understood."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from diagnose.files.read_seen import Subject
from diagnose.interview.spoken import spoken
from diagnose.model.case import Observation
from diagnose.model.measuring import Figure
from diagnose.render.page import capital, sentence

READ: Final = "read"
UNKNOWN: Final = "not known"
CANNOT: Final = "cannot be measured"
NO_SUCH: Final = "no such thing on this set"
UNCLEAR: Final = "not understood"


@dataclass(frozen=True)
class Meant:
    """What a line means for one indication. An observation goes with READ and UNKNOWN, a reason with UNCLEAR.

    With NO_SUCH the reason is what was said. A check that reveals nothing, and only proves, has no observation.
    """

    kind: str
    observation: Observation | None = None
    because: str = ""
    hint: str = ""


def no_state(said: str, subject: Subject) -> str:
    """Why words are no answer."""
    if isinstance(subject, Figure) or subject.sort == "quantity":
        return f"`{said}` is no value in {subject.unit}" if subject.unit else f"`{said}` is no value"
    if subject.sort == "symptom":
        return f"`{said}` is neither yes nor no"
    return f"`{said}` is none of the answers"


def hint_for(subject: Subject) -> str:
    """What an answer may be."""
    if isinstance(subject, Figure):
        return f"write it like `12.5 {subject.unit}`".strip()
    states = [spoken(state.id) for state in subject.states]
    if subject.sort == "symptom":
        return "y, n, or `not sure`"
    if subject.sort == "quantity":
        return f"write a value like `12.5 {subject.unit}`, or {', '.join(states)}".strip()
    return "one of: " + ", ".join(f"{number} {state}" for number, state in enumerate(states, start=1))


def not_usable(meant: Meant) -> str:
    """Why a line cannot be used, and what could."""
    if meant.kind != UNCLEAR:
        return "That is asked for by a check; `cannot` leaves out what is asked."
    return capital(sentence(f"{meant.because}; {meant.hint}" if meant.hint else meant.because))
