"""Which rig it is: by number, by name, or the nearest of the known ones by a few questions about their features."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from diagnose.interview.dialogue import NONE, UNSURE, Dialogue
from diagnose.model.conditions import features_of
from diagnose.model.knowledge import Book, Rig
from diagnose.render.page import capital, listed

_QUESTIONS: Final = 5
_OTHER: Final = "other"
_TAKEN_AS: Final = "another set, taken as "


@dataclass(frozen=True)
class Question:
    """A feature that not all rigs share: what is asked, the answers in words, and the rigs that each fits."""

    stage: str  # kind of stage, "" for the rig itself
    ask: str
    answers: Mapping[str, frozenset[str]]
    weight: tuple[int, int] = (0, 0)  # whether all rigs have the stage, and how much the book knows of it
    tubes: bool = False

    def worth(self, chances: Mapping[str, float]) -> float:
        """Bits that the answer is expected to tell of which rig it is like."""
        total = sum(chances.values())
        shares = [sum(chances[rig] for rig in rigs) / total for rigs in self.answers.values()]
        return -sum(share * math.log2(share) for share in shares if share > 0)


def choose_rig(dialogue: Dialogue, book: Book) -> tuple[Rig, str]:
    """The rig, and what is to be noted of the choice ("" for a rig that is known)."""
    rigs = list(book.rigs.values())
    while True:
        dialogue.say("Which set is it?")
        picked = dialogue.pick(
            "A number, a name, or `other` for one that is not listed.",
            [rig.title for rig in rigs],
            several=False,
            needed=True,
        )
        if isinstance(picked, tuple):
            if picked:
                return rigs[picked[0]], ""
            return nearest_rig(dialogue, book)
        if picked.casefold() == _OTHER:
            return nearest_rig(dialogue, book)
        found = named(picked, rigs)
        if len(found) == 1:
            return found[0], ""
        dialogue.say("No set goes by that name." if not found else "More than one set goes by that name.")


def named(words: str, rigs: list[Rig]) -> list[Rig]:
    """The rigs whose id or title begins with, or holds, the words."""
    wanted = words.casefold().replace("_", " ").split()
    exact = [rig for rig in rigs if rig.id == words.casefold()]
    return exact or [
        rig
        for rig in rigs
        if all(word in f"{rig.id} {rig.title}".casefold().replace("_", " ") for word in wanted)
    ]


def nearest_rig(dialogue: Dialogue, book: Book) -> tuple[Rig, str]:
    """The rig of the book that fits most answers, asking first what tells most."""
    chances = dict.fromkeys(book.rigs, 1.0)
    left = list(questions(book))
    said: list[str] = []
    dialogue.say(
        "Then the nearest of the known kinds is taken. A few questions; Enter where you do not know."
    )
    for _ in range(_QUESTIONS):
        open_ones = [question for question in left if question.worth(chances) > 0]
        if not open_ones or max(chances.values()) > 0.99 * sum(chances.values()):
            break
        best = max(open_ones, key=lambda question: (round(question.worth(chances), 6), question.weight))
        left = [q for q in left if q.stage != best.stage or not best.stage]  # one for each kind of stage
        left = [
            q for q in left if q is not best and not (q.tubes and best.tubes)
        ]  # then what is built round them
        answers = list(best.answers)
        answer = _answered(dialogue, best.ask, answers)
        if not answer:
            continue
        said.append(f"{best.ask.rstrip('?:.')}: {answer}")
        for rig in chances:
            chances[rig] *= 1.0 if rig in best.answers[answer] else 0.1
    nearest = max(book.rigs.values(), key=lambda rig: chances[rig.id])
    dialogue.say(
        f"Nearest is the {nearest.title}. Its chart is used: where your set is made for other figures, "
        "answer in words (low, normal, high) instead of values."
    )
    note = f"{_TAKEN_AS}{nearest.id}" + (f" ({'; '.join(said)})" if said else "")
    return nearest, note


def _answered(dialogue: Dialogue, ask: str, answers: list[str]) -> str:
    """One of the answers, by its number or words; "" where it is none of them, or not known."""
    while True:
        dialogue.say(ask)
        picked = dialogue.pick("A number, or `none` of these.", answers, several=False)
        if not isinstance(picked, str):
            return answers[picked[0]] if picked else ""
        word = picked.casefold()
        if word in UNSURE:
            return ""
        fitting = [a for a in answers if a.casefold() == word] or [a for a in answers if word in a.casefold()]
        if len(fitting) == 1:
            return fitting[0]
        dialogue.say(f"`{picked}` is {'more than one' if fitting else 'none'} of these.")


def complaint_in(about: str) -> str:
    """What the person said of the set, without the note of how its rig was chosen."""
    if not about.startswith(_TAKEN_AS):
        return about
    _, _, said = about.partition("); " if "(" in about else "; ")
    return said


def questions(book: Book) -> Iterator[Question]:
    """What tells the rigs apart: modes, and features and tubes of the kinds of stage."""
    rigs = book.rigs.values()
    yield from _told_apart(
        "", "In which modes does it work?", {r.id: listed(r.features.get("modes", ())) for r in rigs}
    )
    for kind in book.kinds.values():
        having = {rig.id: [s for s in rig.stages.values() if s.kind == kind.id] for rig in rigs}
        with_one = {id: stages[0] for id, stages in having.items() if stages}
        missing = {id: "there is none" for id, stages in having.items() if not stages}
        weight = (0 if missing else 1, len(kind.parts))
        if missing:
            present = dict.fromkeys(with_one, "there is one")
            yield from _told_apart(kind.id, f"{capital(kind.title)}:", {**present, **missing}, weight)
        if any(len(stages) > 1 for stages in having.values()):
            continue
        tubes = {id: _tubes(stage.tubes) for id, stage in with_one.items() if stage.tubes}
        if len(tubes) == len(with_one):
            yield from _told_apart(
                kind.id, f"{capital(kind.title)}, tubes:", {**tubes, **missing}, weight, tubes=True
            )
        for feature in kind.features:
            values = {
                id: str(features_of(book.rigs[id], stage).get(feature, "")).replace("_", " ")
                for id, stage in with_one.items()
            }
            yield from _told_apart(
                kind.id, f"{capital(kind.title)}, {feature.replace('_', ' ')}:", {**values, **missing}, weight
            )


def _told_apart(
    stage: str, ask: str, values: Mapping[str, str], weight: tuple[int, int] = (0, 0), *, tubes: bool = False
) -> Iterator[Question]:
    answers: dict[str, set[str]] = {}
    for rig, value in values.items():
        if value:
            answers.setdefault(value, set()).add(rig)
    if len(answers) > 1:
        yield Question(stage, ask, {value: frozenset(rigs) for value, rigs in answers.items()}, weight, tubes)


def _tubes(tubes: tuple[str, ...]) -> str:
    counted = Counter(tubes)
    return listed(f"{number} {tube}" if number > 1 else tube for tube, number in counted.items())


def is_other(word: str) -> bool:
    """Whether a name asks for the nearest rig."""
    return word.casefold() == _OTHER or word.casefold() in NONE
