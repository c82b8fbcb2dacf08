"""Which rig it is: by number, by name, or the nearest of the known ones by a few questions about their features."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

from diagnose.interview.alike import fitting_words
from diagnose.interview.dialogue import NONE, UNSURE, Dialogue
from diagnose.model.conditions import features_of
from diagnose.model.knowledge import Book, Rig, Stage, StageKind
from diagnose.render.page import capital, listed

_QUESTIONS: Final = 5
_OTHER: Final = "other"
_MISSING: Final = "there is none"
_TAKEN_AS: Final = "another set, taken as "


@dataclass(frozen=True)
class Question:
    """A feature that not all rigs share: what is asked, the answers in words, and the rigs that each fits."""

    stage: str  # kind of stage, "" for the rig itself
    ask: str
    answers: Mapping[str, frozenset[str]]
    weight: tuple[int, int] = (0, 0)  # how much the book knows of the stage, and whether all rigs have it
    tubes: bool = False
    with_tubes: Mapping[str, str] = field(default_factory=dict)  # what tubes the stage has where it is so

    def shown(self, answer: str) -> str:
        """An answer as it is listed: with the tubes that go with it."""
        tubes = self.with_tubes.get(answer, "")
        return f"{answer} ({tubes})" if tubes and not self.tubes else answer

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
    """The rig of the book that fits most answers, asking of the stages that the book knows most of."""
    chances = dict.fromkeys(book.rigs, 1.0)
    left = list(questions(book))
    said: list[str] = []
    dialogue.say(
        "Then the nearest of the known kinds is taken. A few questions; Enter where you do not know."
    )
    even = dict(chances)
    for _ in range(_QUESTIONS):
        if not left:
            break
        best = max(left, key=lambda question: (question.weight, round(question.worth(even), 6)))
        left = [q for q in left if q.stage != best.stage or not best.stage]  # one for each kind of stage
        left = [
            q for q in left if q is not best and not (q.tubes and best.tubes)
        ]  # then what is built round them
        fitting = _answered(dialogue, best)
        if not fitting:
            continue
        said.append(f"{best.ask.rstrip('?:.')}: {' or '.join(fitting)}")
        like = frozenset().union(*(best.answers[answer] for answer in fitting))
        for rig in chances:
            chances[rig] *= 1.0 if rig in like else 0.1
    nearest = max(book.rigs.values(), key=lambda rig: chances[rig.id])
    chosen = "Nearest is" if said else "By what was told any of them may be the nearest; taken is"
    dialogue.say(
        f"{chosen} the {nearest.title}. Its chart is used: where your set is made for other figures, "
        "answer in words (low, normal, high) instead of values."
    )
    note = f"{_TAKEN_AS}{nearest.id}" + (f" ({'; '.join(said)})" if said else "")
    return nearest, note


def _answered(dialogue: Dialogue, question: Question) -> tuple[str, ...]:
    """The answers that a number or words may mean; none where it is none of them, or not known."""
    answers = list(question.answers)
    while True:
        dialogue.say(question.ask)
        picked = dialogue.pick(
            "A number or words; Enter: not known, or none of these.",
            [question.shown(answer) for answer in answers],
            several=False,
        )
        if not isinstance(picked, str):
            return tuple(answers[number] for number in picked)
        if picked.casefold().rstrip(".") in UNSURE:
            return ()
        words = {answer: question.shown(answer) for answer in answers}
        fitting = fitting_words(picked, words, question.ask, none=_MISSING)
        if fitting:
            return fitting
        dialogue.say(f"`{picked}` is none of these.")


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
        for told, stages in _by_role(kind, having):
            yield from _of_kind(book, kind, f"{capital(kind.title)}{told}", stages)


def _by_role(
    kind: StageKind, having: Mapping[str, list[Stage]]
) -> Iterator[tuple[str, Mapping[str, Stage | None]]]:
    """The stages of a kind, one of each rig; where a rig has several, by the feature that tells those apart."""
    if all(len(stages) <= 1 for stages in having.values()):
        yield "", {id: stages[0] if stages else None for id, stages in having.items()}
        return
    for feature, values in kind.features.items():
        roles = {id: [str(s.features.get(feature, "")) for s in stages] for id, stages in having.items()}
        if all(len(set(of_rig)) == len(of_rig) for of_rig in roles.values()):
            for value in values:
                stages = {
                    id: next((s for s in having[id] if str(s.features.get(feature, "")) == value), None)
                    for id in having
                }
                yield f", {value.replace('_', ' ')}", stages
            return


def _of_kind(
    book: Book, kind: StageKind, title: str, stages: Mapping[str, Stage | None]
) -> Iterator[Question]:
    """The questions about one stage of each rig."""
    with_one = {id: stage for id, stage in stages.items() if stage is not None}
    missing = {id: _MISSING for id, stage in stages.items() if stage is None}
    weight = (len(kind.parts), 0 if missing else 1)
    tubes = {id: _tubes(stage.tubes) for id, stage in with_one.items() if stage.tubes}
    if missing:
        present = dict.fromkeys(with_one, "there is one")
        yield from _told_apart(kind.id, f"{title}:", {**present, **missing}, weight)
    if len(tubes) == len(with_one):
        yield from _told_apart(kind.id, f"{title}, tubes:", {**tubes, **missing}, weight, tubes=True)
    for feature in kind.features:
        values = {
            id: str(features_of(book.rigs[id], stage).get(feature, "")).replace("_", " ")
            for id, stage in with_one.items()
        }
        yield from _told_apart(
            kind.id, f"{title}, {feature.replace('_', ' ')}:", {**values, **missing}, weight, tubes_of=tubes
        )


def _told_apart(
    stage: str,
    ask: str,
    values: Mapping[str, str],
    weight: tuple[int, int] = (0, 0),
    *,
    tubes: bool = False,
    tubes_of: Mapping[str, str] | None = None,
) -> Iterator[Question]:
    answers: dict[str, list[str]] = {}
    for rig, value in values.items():
        if value:
            answers.setdefault(value, []).append(rig)
    if len(answers) > 1:
        known = tubes_of or {}
        with_tubes = {
            value: " or ".join(dict.fromkeys(known[rig] for rig in rigs if rig in known))
            for value, rigs in answers.items()
        }
        sets = {value: frozenset(rigs) for value, rigs in answers.items()}
        yield Question(stage, ask, sets, weight, tubes, with_tubes)


def _tubes(tubes: tuple[str, ...]) -> str:
    counted = Counter(tubes)
    return listed(f"{number} {tube}" if number > 1 else tube for tube, number in counted.items())


def is_other(word: str) -> bool:
    """Whether a name asks for the nearest rig."""
    return word.casefold() == _OTHER or word.casefold() in NONE
