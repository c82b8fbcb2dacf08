"""The question of a check, with the forms that its answer takes."""

from __future__ import annotations

from diagnose.interview.course import Course
from diagnose.interview.same_named import asked_in_words, stage_said
from diagnose.interview.steps import Step
from diagnose.model.knowledge import Indication
from diagnose.render.page import Page, capital


def question(course: Course, step: Step, name: str) -> str:
    """What is asked, with the forms that an answer takes."""
    if not name:
        return "Done, and as in a good set? [y/n]"
    placed = course.assembly.indications[name]
    ask = capital(asked_in_words(course.assembly, name))
    stage = stage_said(course.assembly, name)
    ask = f"{capital(stage)}: {ask}" if stage else ask
    if placed.indication.sort == "quantity":
        unit = "" if placed.indication.unit == "dimensionless" else placed.indication.unit
        return f"{ask} [{unit or 'a number'}]"
    if placed.indication.sort == "symptom":
        return f"{ask} [{answers_said(placed.indication)}]"
    return f"{ask} [1 to {len(placed.indication.states)}]"


def answers_said(symptom: Indication) -> str:
    """The answers to a sign: `y/n`, and what each means where its title holds a negation."""
    otherwise = symptom.states[0].title.removeprefix("no, ")
    return f"y: {symptom.title}; n: {otherwise}" if otherwise else "y/n"


def asked(page: Page, course: Course, step: Step, name: str, *, flowing: bool = False) -> None:
    """The question, with the answers that are chosen by number: each on its line, or `flowing` in a paragraph."""
    page.say(question(course, step, name))
    numbered = list(enumerate(choices(course, name), start=1))
    if flowing and numbered:
        page.say("; ".join(f"{number} {choice}" for number, choice in numbered), first="  ", indent=2)
        return
    for number, choice in numbered:
        page.say(choice, first=f"{number:>3} ", indent=5)


def choices(course: Course, name: str) -> tuple[str, ...]:
    """The answers that are chosen by number; none for a value, or yes and no."""
    placed = course.assembly.indications.get(name)
    if placed is None or placed.indication.sort in ("quantity", "symptom"):
        return ()
    return tuple(state.title or state.id.replace("_", " ") for state in placed.indication.states)
