"""Taking in a set: which rig it is, the complaint, the line, its history, the instruments, what is proven safe.

Each question may be skipped. What was told already is not asked again: a second run goes on after it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from diagnose.interview.complaint import complaint
from diagnose.interview.course import Course
from diagnose.interview.dialogue import NONE, Dialogue
from diagnose.interview.doubtful import doubt_line
from diagnose.interview.facts import choosable, fact_of, instruments_of, mains_of, one_of
from diagnose.interview.questions import Apply, Change, Skipped, value_of
from diagnose.interview.setups import to_make_safe
from diagnose.model.knowledge import Fact
from diagnose.model.proofs import unproven
from diagnose.render.page import capital, styled


def intake(dialogue: Dialogue, course: Course, apply: Apply) -> bool:
    """All questions after the last one that the case holds an answer to; whether they were asked to the end.

    A stop order breaks them off: it comes before any question.
    """
    first = max((n for n, (known, _) in enumerate(STEPS, start=1) if known(course)), default=0)
    dialogue.gap()
    dialogue.say(
        "A few questions first. Enter leaves one out; `skip` goes straight to the safety of the bench."
    )
    last = len(STEPS) - 1
    skipping = False

    def applied(change: Change) -> Course:
        """Keeps what was told before a step is broken off."""
        nonlocal course
        course = apply(change)
        return course

    for number, (_, step) in enumerate(STEPS[first:], start=first):
        if skipping and number < last:
            continue
        try:
            course = step(dialogue, course, applied)
        except Skipped:
            skipping = True
        if course.case.observations and course.standing.stop_orders:
            return False
    return True


def _mode(dialogue: Dialogue, course: Course, apply: Apply) -> Course:
    modes = course.assembly.rig.features.get("modes", ())
    mode = _one_of(dialogue, "In which mode do you test it?", modes) if len(modes) > 1 else ""
    return apply(lambda now: now.amended(mode=mode)) if mode else course


def _band(dialogue: Dialogue, course: Course, apply: Apply) -> Course:
    bands = course.assembly.rig.bands
    band = _one_of(dialogue, "On which band?", bands) if len(bands) > 1 else ""
    return apply(lambda now: now.amended(band=band)) if band else course


def _one_of(dialogue: Dialogue, question: str, words: tuple[str, ...]) -> str:
    asked = f"{question} [{', '.join(words)}]"
    return value_of(dialogue, asked, lambda line: one_of(line, words)) or ""


def _mains(dialogue: Dialogue, course: Course, apply: Apply) -> Course:
    mains = line_voltage(dialogue, course)
    return apply(lambda now: now.amended(mains=mains)) if mains is not None else course


def line_voltage(dialogue: Dialogue, course: Course, said: str = "") -> float | None:
    """The line voltage, as said already or asked for; None where it is left out."""
    rig = course.assembly.rig
    asked = "What is the line voltage, at the set under load, or at the outlet while it is unplugged?"
    question = f"{asked} [V; its chart is for {rig.mains_voltage:g} V]"
    return value_of(
        dialogue, question, lambda line: mains_of(line, rig), said, lambda volts: doubt_line(volts, rig)
    )


def _history(dialogue: Dialogue, course: Course, apply: Apply) -> Course:
    known = list(course.case.history)
    facts = course.assembly.book.bench.facts
    after = max((list(facts).index(name) + 1 for name in known if name in facts), default=0)
    for fact in list(facts.values())[after:]:
        value = _fact(dialogue, fact, facts)
        if value is not None:
            name = fact.id
            course = apply(lambda now, name=name, value=value: now.told(name, value))  # type: ignore[misc]
    return course


def _fact(dialogue: Dialogue, fact: Fact, facts: Mapping[str, Fact]) -> object | None:
    """The value of one fact of the history."""
    words = list(fact.values)
    forms = {"yes_no": "y/n", "number": fact.unit or "a number"}
    question = f"{fact.ask} [{forms.get(fact.kind, '')}]"
    if words:
        page = dialogue.page()
        page.say(fact.ask)
        for number, word in enumerate(words, start=1):
            meaning = fact.values[word] or word.replace("_", " ")
            page.say(meaning, first=f"{number:>3} ", indent=5)
        dialogue.show(page)
        question = "Numbers (`1 3`), or `none`." if fact.kind == "set" else "A number (Enter: not known)."
    nothing = NONE if fact.kind == "set" else frozenset[str]()
    return value_of(dialogue, question, lambda line: fact_of(line, fact, facts), nothing=nothing)


def _instruments(dialogue: Dialogue, course: Course, apply: Apply) -> Course:
    bench = course.assembly.book.bench
    wanted = choosable(bench)
    if not wanted:
        return course
    dialogue.gap()
    dialogue.say("Instruments:")
    page = dialogue.page()
    for number, id in enumerate(wanted, start=1):
        page.say(bench.instruments[id].title, first=f"{number:>3} ", indent=5)
    dialogue.show(page)
    question = "Which are at hand? [Enter: all; numbers; `all but 3 7`; `none`]"
    chosen = value_of(dialogue, question, lambda line: instruments_of(line, bench))
    return course if chosen is None else apply(lambda now: now.amended(instruments=chosen))


def _safety(dialogue: Dialogue, course: Course, apply: Apply) -> Course:
    bench = course.assembly.book.bench
    dialogue.gap()
    dialogue.say(
        styled(("High voltage kills. What is not proven on this bench today is taken as live.", "caution"))
    )
    for caution in to_make_safe(bench):
        dialogue.say(styled((caution, "caution")), indent=2)
    dialogue.say("Proven on this bench now? [y/n; Enter: no]")
    for id in unproven(bench, course.case):
        fact = bench.safety_facts[id]
        if dialogue.yes(fact.ask or f"{capital(fact.title)}?"):
            course = apply(lambda now, known=id: now.prove(known))  # type: ignore[misc]
    return course


STEPS: Final[tuple[tuple[Callable[[Course], bool], Callable[[Dialogue, Course, Apply], Course]], ...]] = (
    (lambda course: bool(course.case.observations), complaint),
    (lambda course: bool(course.case.mode), _mode),
    (lambda course: bool(course.case.band), _band),
    (lambda course: course.case.mains is not None, _mains),
    (lambda course: False, _history),
    (lambda course: course.case.instruments is not None, _instruments),
    (lambda course: False, _safety),
)
