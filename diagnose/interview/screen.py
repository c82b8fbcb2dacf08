"""What is shown at each turn: who leads and what changed, the next thing to do, and what a good set shows.

Pages of at most 24 lines where safety allows it, without colour or cursor. Describes, and never decides.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Final

from diagnose.advice.gates import missing_proofs
from diagnose.interview.course import (
    AGAIN,
    CHOSEN,
    PROOF,
    REPAIR,
    SAFETY,
    Course,
    Step,
)
from diagnose.interview.good import expected
from diagnose.model.result import Diagnosis, RankedPart, StandingOrder
from diagnose.render import numbers
from diagnose.render.first import time_needed, verdict_sentence, why
from diagnose.render.page import Page, capital, listed, sentence, styled
from diagnose.render.words import Words

LINES: Final = 24  # of a terminal: a turn, its question and the prompt
_MOST, _FEWEST = 5, 2  # parts that are shown
_SENTENCES: Final = 12  # more than any procedure has
_LEAST = 0.01  # blame of any part that is shown
_WORTH = 0.02  # blame from which a part beyond the fewest is shown
_LABEL = 7
_COLUMNS_FROM = 60  # width of the page
_SENTENCE: Final = re.compile(r"(?<=[.!])\s+(?=[A-Z])")
_CLAUSE: Final = re.compile(r"[.:;]\s")
_SAME = 0.005  # a change of blame that is none


@dataclass(frozen=True)
class Turn:
    """What a turn is to show: where things stand, what is asked, and which cautions were said already."""

    course: Course
    words: Words
    step: Step | None = None
    name: str = ""  # the indication that is asked for
    said: Collection[str] = ()  # cautions given in full before
    whole: bool = False  # the check in full, though it has begun, and however long
    most: int = _MOST  # parts
    flowing: bool = False  # the answers to choose from in one paragraph
    extras: bool = True  # what can be asked for otherwise
    sentences: int = _SENTENCES  # of the procedure

    @property
    def first(self) -> bool:
        """Whether the check begins with this question."""
        return self.whole or self.step is None or not self.step.names or self.name == self.step.names[0]


def turn(page: Page, shown: Turn) -> None:
    """Leading parts, the next check and its question, as much of it as goes on one screen.

    What goes first is what can be asked for by a word: parts down the list, then how a good set is told, then
    the end of a long procedure. What is to be set up and cautions that are new are never cut.
    """
    for shorter in _shorter(shown):
        screen = Page(page.width)
        standing(screen, shown.course, shorter.most, verdict=shorter.extras)
        screen.blank()
        if shown.step is not None:
            _step(screen, shorter, shown.step)
            screen.blank()
            asked(screen, shown.course, shown.step, shown.name, flowing=shorter.flowing)
        if len(screen.lines) < LINES:
            break
    page.lines.extend(screen.lines)


def _shorter(shown: Turn) -> Iterator[Turn]:
    """A turn, and what it may be cut to if it does not fit, the longest first."""
    for most in range(_MOST, _FEWEST - 1, -1):
        yield replace(shown, most=most)
    if not shown.whole:
        yield replace(shown, most=_FEWEST, flowing=True)
        for most, least in ((_FEWEST, 3), (1, 1)):
            for sentences in range(_SENTENCES, least - 1, -1):
                yield replace(shown, most=most, flowing=True, extras=False, sentences=sentences)


def standing(page: Page, course: Course, most: int = _MOST, *, verdict: bool = True) -> None:
    """The verdict, the leading parts, and what the last entry changed."""
    now, before = course.standing, course.earlier
    said = verdict_sentence(now) if verdict else capital(sentence(now.verdict.word))
    page.say(said, first=styled(("So far", "label")), indent=_LABEL)
    if course.fresh_trouble:
        _after_work(page, course)
    shown = leaders(now, most)
    if not shown:
        return
    was = {part.id: part.blame for part in before.parts} if before is not None else None
    for number, part in enumerate(shown, start=1):
        _row(page, f"{number}.", part, "" if was is None else changed(was.get(part.id, 0.0), part.blame))
    if before is not None and before.parts:
        _row_of_former(page, now, before, shown)


def _row(page: Page, first: str, part: RankedPart, change: str) -> None:
    """One part with its blame and what the last entry changed."""
    named = f"{part_title(part)}" + ("" if part.unnamed else f" ({part.stage_title})")
    if page.width < _COLUMNS_FROM:
        said = styled(f"{numbers.chance(part.blame)} ", (named, "suspect"), f" {change}")
        page.say(said, first=first, indent=3)
        return
    cells = (numbers.chance(part.blame), styled((named, "suspect")), change)
    page.row(cells, (-10, page.width - 32, 12), first=first, indent=3)


def _row_of_former(page: Page, now: Diagnosis, before: Diagnosis, shown: tuple[RankedPart, ...]) -> None:
    """The part that led before, where the last entry put it off the list."""
    former = before.parts[0]
    if former.blame < _LEAST or any(part.id == former.id for part in shown):
        return
    left = next((part for part in now.parts if part.id == former.id), replace(former, blame=0.0))
    _row(page, "-", replace(former, blame=left.blame), changed(former.blame, left.blame))


def _waiting(page: Page, shown: Turn) -> None:
    """What the checks that are not offered wait for."""
    course, advice = shown.course, shown.course.standing.advice
    if advice is None or not advice.withheld or not shown.extras:
        return
    bench, checks = course.assembly.book.bench, course.assembly.checks
    needs = dict.fromkeys(
        n for w in advice.withheld for n in missing_proofs(bench, course.case, checks[w.check])
    )
    waits = f"{len(advice.withheld)} checks wait" if len(advice.withheld) > 1 else "A check waits"
    if needs:
        said = f"{waits} until it is `proven`: {'; '.join(shown.words.safety.get(n, n) for n in needs)}."
        page.say(styled((said, "quiet")), first=styled(("Held", "label")), indent=_LABEL)


def _after_work(page: Page, course: Course) -> None:
    """What was touched last is the first suspect."""
    signs = listed(course.assembly.indications[n].indication.title for n in course.fresh_trouble[:3])
    work = course.last_change.did if course.last_change else ""
    said = f"New since the last work: {signs}. Look first at what was touched last: {work}."
    page.say(styled((said, "caution")), indent=_LABEL)


def leaders(diagnosis: Diagnosis, most: int = _MOST) -> tuple[RankedPart, ...]:
    """The parts that are worth naming, in their order: what `did 1` and `grounds 1` count."""
    blamed = tuple(part for part in diagnosis.parts if part.blame >= _LEAST)
    worth = sum(part.blame >= _WORTH for part in blamed)
    return blamed[: min(max(worth, _FEWEST), most)]


def part_title(part: RankedPart) -> str:
    """A part with the mode that speaks for it, if one does."""
    lead = part.causes[0]
    if part.unnamed or (len(part.causes) > 1 and lead.blame < 0.9 * part.blame):
        return part.title
    return f"{part.title}, {lead.mode_title}"


def changed(was: float, now: float) -> str:
    """A change of blame in words and signs: `up +12`, `down -8`, `same`."""
    points = round(100 * now) - round(100 * was)
    if abs(now - was) < _SAME or not points:
        return "same"
    return f"up +{points}" if points > 0 else f"down {points}"


def _step(page: Page, shown: Turn, step: Step) -> None:
    check, course = step.advised, shown.course
    if not shown.first:
        page.say(
            styled(("same check, next question", "quiet")), first=styled(("Next", "label")), indent=_LABEL
        )
        _good(page, shown)
        return
    title = styled((capital(check.title), "suspect"), f": {time_needed(check)}, {check.instrument}.")
    page.say(title, first=styled(("Next", "label")), indent=_LABEL)
    reason = reason_of(course, step, shown.words)
    if reason:
        page.say(reason, first=styled(("Why", "label")), indent=_LABEL)
    if check.setup_changes:
        page.say(sentence("; ".join(check.setup_changes)), first=styled(("Set up", "label")), indent=_LABEL)
    _cautions(page, shown, step)
    if check.how:
        page.say(_procedure(check.how, shown.sentences), first=styled(("Do", "label")), indent=_LABEL)
    _good(page, shown)
    _waiting(page, shown)


def _procedure(how: str, most: int) -> str:
    """What is to be done, in at most so many sentences."""
    sentences = _SENTENCE.split(" ".join(how.split()))
    if len(sentences) <= most:
        return how
    return f"{' '.join(sentences[:most])} More of it: `again`."


def cautions(step: Step, said: Collection[str]) -> tuple[str, ...]:
    """The cautions of a check: in full what was not yet said; where the set-up changes the rest once more, in short."""
    own = dict.fromkeys(step.advised.cautions)
    fresh = tuple(sentence(caution) for caution in own if caution not in said)
    reminders = (in_short(caution) for caution in own if caution in said and step.advised.setup_changes)
    return (*fresh, *reminders)


def in_short(caution: str) -> str:
    """A caution that was given in full before, by what it begins with."""
    return sentence(_CLAUSE.split(caution, maxsplit=1)[0])


def _cautions(page: Page, shown: Turn, step: Step) -> None:
    hazard = step.advised.hazard
    fresh = " ".join(cautions(step, shown.said))
    if fresh:
        page.say(styled((fresh, "caution")), first=styled(("Danger", "stop")), indent=_LABEL)
    elif hazard:
        page.say(styled((f"{capital(hazard)}; as cautioned.", "caution")), indent=_LABEL)
    if step.advised.swap_warning:
        page.say(styled((f"The spare is at risk: {step.advised.swap_warning}.", "caution")), indent=_LABEL)


def reason_of(course: Course, step: Step, words: Words) -> str:
    """In a line what a step is good for."""
    if step.purpose == AGAIN:
        rare = numbers.chance(course.to_look_at.get(step.names[0], 0.0))
        return f"By all else this was to be found in {rare} such sets. Look once more before it is believed."
    if step.purpose == REPAIR:
        return f"To see whether the work was the cure: {course.case.work[-1].did}."
    if step.purpose == PROOF:
        return "One of the readings that prove the set."
    if step.purpose == SAFETY:
        return f"Live checks ask for it: {step.advised.proves}."
    if step.purpose == CHOSEN and not step.advised.separates:
        return "Your own choice."
    return why(course.standing, step.advised, words)


def _good(page: Page, shown: Turn) -> None:
    step = shown.step
    assert step is not None
    good = expected(shown.course, shown.name) if shown.name else ""
    told = sentence(step.advised.good) if shown.first and step.advised.good else ""
    told = told if shown.extras or not good else ""
    said = " ".join(text for text in (sentence(good) if good else "", told) if text)
    if said:
        page.say(said, first=styled(("Good", "label")), indent=_LABEL)


def question(course: Course, step: Step, name: str) -> str:
    """What is asked, with the forms that an answer takes."""
    if not name:
        return "Done, and as in a good set? [y/n]"
    placed = course.assembly.indications[name]
    ask = " ".join(placed.indication.ask.split()) or capital(placed.indication.title)
    if placed.indication.sort == "quantity":
        unit = "" if placed.indication.unit == "dimensionless" else placed.indication.unit
        return f"{ask} [{unit or 'a number'}]"
    if placed.indication.sort == "symptom":
        return f"{ask} [y/n]"
    return f"{ask} [1 to {len(placed.indication.states)}]"


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


def others(page: Page, steps: Iterable[Step], course: Course, words: Words) -> None:
    """The checks that may be done now, numbered for `take N`."""
    page.heading("What may be done now")
    for number, step in enumerate(steps, start=1):
        said = styled((capital(step.advised.title), "suspect"), f": {time_needed(step.advised)}.")
        page.say(said, first=f"{number:>3} ", indent=5)
        page.say(styled((reason_of(course, step, words), "quiet")), indent=5)
    advice = course.standing.advice
    for held in advice.withheld[:3] if advice is not None else ():
        page.say(styled(("Not safe yet: ", "caution"), f"{held.title} ({held.because})."), indent=5)


def outcomes(page: Page, course: Course, step: Step, words: Words) -> None:
    """Why this is asked: what each outcome would do."""
    page.heading(capital(step.advised.title))
    page.say(reason_of(course, step, words) or "Nothing more is known of its worth.", indent=2)
    if step.advised.gain_bits > 0:
        page.say(f"It is worth {numbers.bits(step.advised.gain_bits)} of what is still open.", indent=2)
    for outcome in step.advised.outcomes[:6]:
        leads = f"then {outcome.leader_title} leads with {numbers.chance(outcome.leader_blame)}"
        page.row((numbers.chance(outcome.probability), f"{outcome.text}; {leads}"), (-10, page.width - 14))
    if step.advised.hazard:
        page.say(f"Danger: {step.advised.hazard}.", indent=2)
    for caution in step.advised.cautions:
        page.say(styled((caution, "caution")), first="  -", indent=4)


def stop(page: Page, orders: Iterable[StandingOrder], words: Words) -> None:
    """Stop orders, before anything else."""
    page.say(styled(("STOP. Remove power now.", "stop")))
    for order in orders:
        page.say(styled((order.text, "stop")), indent=2)
        if order.because:
            page.say(f"Because of {'; '.join(words.placed(name) for name in order.because)}.", indent=2)
