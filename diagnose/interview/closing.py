"""How an interview closes: the orders, the remedy, the proof, or why nothing more would tell."""

from __future__ import annotations

from diagnose.advice.remedy import times_done
from diagnose.interview.confirming import cause_title
from diagnose.interview.course import NOTHING_MORE, PROVEN, REMEDY, UNSAFE, Closing, Course
from diagnose.interview.good import expected
from diagnose.interview.standing import LABEL, standing
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
        remedy(page, closing.cause, closing)
    elif closing.kind == PROVEN:
        page.say(styled(("Proven good. Sign it off, and keep the record.", "good")))
    elif closing.kind == UNSAFE:
        page.say("What would tell more is not safe yet.")
        page.say(sentence(closing.because), indent=2)
        page.say("Prove it first; `proven` enters what is.", indent=2)
    elif closing.kind == NOTHING_MORE:
        page.say("Nothing that can be done on this bench would tell more.")
        remedies(page, course)
        _missing(page, course, words)


def remedy(page: Page, cause: RankedCause, closing: Closing) -> None:
    """The remedy that is worth doing now."""
    found = cause.remedy
    if found is None:
        return
    title = styled(
        (capital(found.do).rstrip("."), "suspect"),
        f" ({cause.stage_title}; {numbers.minutes(found.minutes)}).",
    )
    page.say(title, first=styled(("Do 1", "label")), indent=LABEL)
    if closing.because:
        page.say(sentence(closing.because), first=styled(("Why", "label")), indent=LABEL)
    if found.parts and found.parts != "none":
        page.say(sentence(found.parts), first=styled(("Parts", "label")), indent=LABEL)
    page.say(f"It cures it in {numbers.rate(found.works)}.", indent=LABEL)
    if found.moves:
        page.say(f"It also moves: {'; '.join(found.moves)}.", indent=LABEL)
    page.say(
        styled(("Power off, plug out, discharged and proven dead before a hand goes in.", "caution")),
        first=styled(("Danger", "stop")),
        indent=LABEL,
    )


def remedies(page: Page, course: Course) -> None:
    """What would put the leading parts right, in their order; the numbers are those that `did` takes."""
    named = [part for part in course.standing.parts if part.blame > 0 and not part.unnamed]
    for number, part in enumerate(named[:3], start=1):
        cause = part.causes[0]
        if cause.remedy is not None:
            said = f"{capital(cause.remedy.do)} ({part.stage_title}; {numbers.minutes(cause.remedy.minutes)})"
            if times_done(course.case, cause.id):
                said += ": done before, so look at the new part and at what else hangs there"
            page.say(sentence(said), first=f"{number:>3} ", indent=5)


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
    work = numbers.count(len(case.work), "piece of work", "pieces of work")
    page.say(f"Entered: {entries}, {work}.", indent=2)
    for cause in case.confirmed or ():
        page.say(f"Confirmed cause: {cause_title(course, cause)}.", indent=2)
    if course.cured and course.proof_missing:
        page.say("The final readings that prove the set, still to be taken:", indent=2)
        _proof(page, course, words)


def cured(page: Page, course: Course, words: Words) -> None:
    """The work was the cure: what is still to be read before the set is called good."""
    did = course.case.work[-1].did
    page.say(styled((f"Nothing is wrong any more: {did} was the cure.", "good")))
    for repair in course.standing.repairs:
        if repair.work == len(course.case.work):
            was, now = numbers.chance(repair.bad_before), numbers.chance(repair.bad_after)
            title = f"{capital(repair.title)} ({repair.stage_title})"
            page.say(f"{title}: bad before the work in {was} such sets, after it in {now}.", indent=2)
    if course.proof_missing:
        page.say("The final readings that prove the set, to be taken now:")
        _proof(page, course, words)


def _proof(page: Page, course: Course, words: Words) -> None:
    """The readings that are still to be taken, with what a good set shows."""
    for name in course.proof_missing:
        good = expected(course, name) or words.state(name, words.good[name])
        page.say(f"{words.placed(name)}: {good}", first="  -", indent=4)


def closing_question(closing: Closing) -> str:
    """What the prompt asks where the interview closes."""
    if closing.kind == REMEDY:
        return "When it is done: `did 1`, or `did` and what you did. `others` measures on, `finish` ends."
    if closing.kind == PROVEN:
        return "`record` shows all entries, `finish` ends."
    return "A reading, a sign, `did` and what you did, `proven`, or `finish`."
