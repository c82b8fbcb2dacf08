"""The complaint in a person's own words: matched to the signs of the rig, and confirmed by number."""

from __future__ import annotations

from diagnose.interview.course import Course
from diagnose.interview.dialogue import NONE, UNSURE, Dialogue
from diagnose.interview.indexes import signs
from diagnose.interview.questions import SKIP, Apply, Skipped, ask
from diagnose.interview.remarks import nothing_wrong
from diagnose.interview.rig_choice import complaint_in
from diagnose.interview.search import Hit
from diagnose.model.case import Observation
from diagnose.render import numbers
from diagnose.render.page import capital


def complaint(dialogue: Dialogue, course: Course, apply: Apply) -> Course:
    """What is wrong with the set, remark by remark."""
    dialogue.gap()
    line = ask(dialogue, "What is wrong with it? Say it in your own words (Enter: nothing known yet).")
    said = [course.case.about] if course.case.about else []
    while line:
        said.append(line)
        about = "; ".join(said)
        course = apply(lambda now, about=about: now.amended(about=about))  # type: ignore[misc]
        course = noted(dialogue, course, apply, line, told=True)
        line = ask(dialogue, "Anything else? (Enter: no)")
        if line.casefold() in NONE:
            break
    return course


def noted(dialogue: Dialogue, course: Course, apply: Apply, words: str, *, told: bool = False) -> Course:
    """Signs found by a person's words and confirmed by their numbers; `told`: they may be someone else's words."""
    while True:
        hits = signs(course.assembly).find(words)
        if not hits:
            if nothing_wrong(words):
                dialogue.say("Then nothing of it is a sign. Say so where one turns up: `note`.")
                return course
            dialogue.say(
                "Nothing in this rig's signs goes by these words. They are not lost, but count for nothing."
            )
            return course
        dialogue.say("Is it one of these?")
        picked = dialogue.pick(
            "Numbers (`1 3`), `none`, or other words.", [capital(hit.entry.title) for hit in hits]
        )
        if not isinstance(picked, str):
            break
        if told and picked.casefold() == SKIP:
            raise Skipped
        if picked.casefold() in UNSURE:
            return course
        words = picked
    if not picked:
        return course
    chosen = [hits[number] for number in picked]
    by = _told_by(dialogue, course) if told else next(iter(course.assembly.book.bench.reports))
    return apply(lambda now: now.enter(*(observed(hit, by) for hit in chosen)))


def observed(hit: Hit, told_by: str) -> Observation:
    """What was found by words, as an observation."""
    entry = hit.entry
    return Observation(entry.name, state=entry.state, as_written=entry.state, told_by=told_by)


def _told_by(dialogue: Dialogue, course: Course) -> str:
    reports = list(course.assembly.book.bench.reports)
    right = course.assembly.book.bench.reports
    weight = {
        id: f"right in {numbers.rate(right[id])}" if right[id] < 1 else "taken as said" for id in reports
    }
    listed = ", ".join(
        f"{number} {report} ({weight[report]})" for number, report in enumerate(reports, start=1)
    )
    while True:
        line = ask(dialogue, f"Who found that? {listed}. [Enter: {reports[0]}]").casefold()
        if not line:
            return reports[0]
        fitting = [r for n, r in enumerate(reports, start=1) if line == str(n) or r.startswith(line)]
        if len(fitting) == 1:
            return fitting[0]
        dialogue.say(f"`{line}` is {'more than one' if fitting else 'none'} of these.")


def matched(dialogue: Dialogue, course: Course, apply: Apply) -> Course:
    """The complaint that a case brings along, looked up once where nothing was observed of it."""
    case = course.case
    words = complaint_in(case.about)
    if not words or case.observations or case.work:
        return course
    dialogue.gap()
    dialogue.say(f"The case says: {words.strip().rstrip('.')}.")
    return noted(dialogue, course, apply, " ".join(words.split()), told=True)
