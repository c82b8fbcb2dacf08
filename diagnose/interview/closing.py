"""How an interview closes: the orders, the remedy, the proof, or why nothing more would tell."""

from __future__ import annotations

from diagnose.advice.next_steps import HANDS_IN
from diagnose.advice.remedy import times_done
from diagnose.interview.confirming import cause_title
from diagnose.interview.course import NOTHING_MORE, PROVEN, REMEDY, STOPPED, UNSAFE, Closing, Course
from diagnose.interview.cure import proof
from diagnose.interview.standing import LABEL, leaders, standing
from diagnose.model.result import RankedCause
from diagnose.render import numbers
from diagnose.render.page import Page, capital, sentence, styled
from diagnose.render.words import Words


def closing_page(page: Page, course: Course, words: Words) -> None:
    """Where things stand, and what follows from it."""
    closing = course.closing
    standing(page, course)
    page.blank()
    if closing is None:
        return
    if closing.kind == REMEDY and closing.cause is not None:
        remedy(page, course, closing.cause, closing)
    elif closing.kind == PROVEN:
        page.say(styled(("Proven good. Sign it off, and keep the record.", "good")))
    elif closing.kind == UNSAFE:
        _unsafe(page, course, closing, words)
    elif closing.kind == NOTHING_MORE:
        page.say("Nothing that can be done on this bench would tell more.")
        remedies(page, course)
        _missing(page, course, words)
        if course.case.cannot:
            left_out = numbers.count(len(course.case.cannot), "thing was", "things were")
            page.say(
                f"{capital(left_out)} left out as not possible here; `record` lists them, `strike` takes one back."
            )
    _unseen(page, course, words)


def _unseen(page: Page, course: Course, words: Words) -> None:
    """What is still to be looked at before the work can be called the cure."""
    if not course.unseen or course.abnormal or course.last_change is None:
        return
    done = course.last_change.did
    page.say(f"To see whether the work was the cure ({done}), this is still to be looked at:")
    for name in course.unseen:
        page.say(words.placed(name), first="  -", indent=4)
    page.say("Enter it when it was seen, by its name and what it shows; `others` lists what may be done now.")


def remedy(page: Page, course: Course, cause: RankedCause, closing: Closing) -> None:
    """The remedy that is worth doing now."""
    found = cause.remedy
    if found is None:
        return
    title = styled(
        (capital(found.do).rstrip("."), "suspect"),
        f" ({cause.stage_title}; {numbers.minutes(found.minutes)}).",
    )
    page.say(
        title, first=styled((f"Do {number_of(course, cause.part) or ''}".rstrip(), "label")), indent=LABEL
    )
    if closing.because:
        page.say(sentence(closing.because), first=styled(("Why", "label")), indent=LABEL)
    if found.parts and found.parts != "none":
        page.say(sentence(found.parts), first=styled(("Parts", "label")), indent=LABEL)
    page.say(f"It cures it in {numbers.rate(found.works)}.", indent=LABEL)
    if found.moves:
        page.say(f"It also moves: {'; '.join(found.moves)}.", indent=LABEL)
    page.say(
        styled((HANDS_IN, "caution")),
        first=styled(("Danger", "stop")),
        indent=LABEL,
    )


def remedies(page: Page, course: Course) -> None:
    """What would put the leading parts right, in their order; the numbers are those that `did` takes."""
    named = [(n, part) for n, part in enumerate(leaders(course.standing), 1) if not part.unnamed]
    if named:
        page.say("What would put the likeliest parts right; `did` and its number when it is done:")
    for number, part in named[:3]:
        cause = part.causes[0]
        if cause.remedy is not None:
            said = f"{capital(cause.remedy.do)} ({part.stage_title}; {numbers.minutes(cause.remedy.minutes)})"
            if part.id in course.tried_in_vain:
                said += ": a known good one was tried and did not help, so it was bad too, or what points here is wrong"
            elif times_done(course.case, cause.id):
                said += ": done before, so look at the new part and at what else hangs there"
            page.say(sentence(said), first=f"{number:>3} ", indent=5)


def number_of(course: Course, part: str) -> int:
    """The number that `did` takes for a part; 0 where it is not in the list."""
    listed = [leader.id for leader in leaders(course.standing)]
    return listed.index(part) + 1 if part in listed else 0


def _unsafe(page: Page, course: Course, closing: Closing, words: Words) -> None:
    page.say("What would tell more is not safe yet.")
    facts = [words.safety.get(fact, fact) for fact in course.waited_for]
    if not facts:
        page.say(sentence(closing.because), indent=2)
        return
    page.say("It waits until this is proven on the bench; `proven` enters what is:")
    for fact in facts:
        page.say(fact, first="  -", indent=4)


def _missing(page: Page, course: Course, words: Words) -> None:
    missing = course.proof_missing
    if missing and not course.abnormal:
        page.say("Not read yet of what proves this set:")
        for name in missing:
            page.say(words.placed(name), first="  -", indent=4)


def summary(page: Page, course: Course, words: Words) -> None:
    """The end of a run: what leads, what was entered, what is still to be done."""
    case = course.case
    page.heading("Where it stands")
    if course.standing.stop_orders:
        page.say(styled(("A stop order stands: remove power now.", "stop")), indent=2)
    standing(page, course, 3)
    entries = numbers.count(len(case.observations), "reading or sign", "readings and signs")
    work = numbers.count(len(case.work), "piece of work", "pieces of work") if case.work else "no work"
    page.say(f"Entered: {entries}, {work}.", indent=2)
    for cause in case.confirmed or ():
        page.say(f"Confirmed cause: {cause_title(course, cause)}.", indent=2)
    if course.cured and course.proof_missing:
        page.say("The final readings that prove the set, still to be taken:", indent=2)
        proof(page, course, words)


def closing_question(course: Course) -> str:
    """What the prompt asks where no check does; "" where one does."""
    closing = course.closing
    if closing is None:
        return ""
    if closing.kind == STOPPED:
        return "When it is done: `did` and what you did. Any sign or reading may be entered too."
    if closing.kind == REMEDY:
        number = number_of(course, closing.cause.part) if closing.cause is not None else 0
        done = f"`did {number}`, or `did` and what you did" if number else "`did` and what you did"
        return f"When it is done: {done}. `others` measures on, `finish` ends."
    if closing.kind == PROVEN:
        return "`record` shows all entries, `finish` ends."
    return "Enter a reading or a sign, `did` and what you did, `proven`, or `finish`."
