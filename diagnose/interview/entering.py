"""What is said of a line at the prompt: how an entry was understood, what it proves, or that it means nothing."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Final

from diagnose.interview.course import Course
from diagnose.interview.dialogue import Dialogue
from diagnose.interview.entries import observation_text
from diagnose.interview.meant import CANNOT, NO_SUCH, UNKNOWN, Meant, not_usable
from diagnose.interview.setups import followed
from diagnose.model.case import Observation
from diagnose.render.page import capital
from diagnose.render.words import words_of

UNANSWERED: Final[Mapping[str, str]] = {
    CANNOT: "Left out on this bench. `strike` with its number in the `record` takes it back.",
    NO_SUCH: "Noted that it has none; it is not asked for again. `strike` with its number in the `record` takes that "
    "back.",
    UNKNOWN: "It does not count as done. If something was wrong, pull the plug, and enter what you saw: a reading, or "
    "`note` and your words. If it cannot be done on this bench, `cannot` leaves it out; `others` lists what else may "
    "be done.",
}  # what is said of an answer that is none; of one that is not known, where a check only proves something


def say_entered(
    dialogue: Dialogue,
    before: Course,
    now: Course,
    observation: Observation,
    said: Collection[str],
    *,
    told: bool,
) -> tuple[str, ...]:
    """Says how an observation was understood and what it proves; gives the cautions that were said with it.

    `told`: it was told out of order, so that the bench is taken to stand as the check of it wants.
    """
    words = words_of(now.assembly)
    dialogue.say(f"Entered: {observation_text(now, observation, words)}.")
    cautions: tuple[str, ...] = ()
    if told:
        page = dialogue.page()
        cautions = followed(page, before, now, said)
        dialogue.show(page)
    was, proven = set(before.case.safety), set(now.case.safety)
    for fact in was - proven:
        dialogue.say(f"No longer proven: {words.safety.get(fact, fact)}. Live checks wait for it.")
    for fact in proven - was:
        dialogue.say(f"Proven: {capital(words.safety.get(fact, fact))}.")
    return cautions


def not_understood(line: str, meant: Meant | None, *, stopped: bool) -> str:
    """That a line means nothing, and what could be said; `stopped`: power is to be removed first."""
    if stopped:
        return f"`{line}` is not understood. What you did begins with `did`: `did switched off`."
    if meant is None:
        return f"`{line}` is not understood. Type `help` for the words that may be used here."
    note = "" if line[:1] in "-+.0123456789" else " `note` before it looks it up among the signs."
    return f"{not_usable(meant)}{note}"
