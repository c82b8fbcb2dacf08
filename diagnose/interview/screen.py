"""What is shown at each turn: who leads and what changed, the next thing to do, and what a good set shows.

Pages of at most 24 lines where safety allows it, without colour or cursor. Describes, and never decides.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Final

from diagnose.evidence.expected import expectation
from diagnose.evidence.grade import good_limits, with_tolerance
from diagnose.interview.course import (
    CHOSEN,
    DONE,
    HISTORY,
    OBSERVED,
    PROOF,
    REPAIR,
    SAFE,
    SAFETY,
    TOLD,
    Course,
    Entry,
    Step,
)
from diagnose.model.case import Observation
from diagnose.model.result import Diagnosis, RankedPart, StandingOrder
from diagnose.render import numbers
from diagnose.render.first import time_needed, verdict_sentence, why
from diagnose.render.page import Page, capital, listed, sentence, styled
from diagnose.render.words import Words, unscored

LINES: Final = 22  # of a turn, the question and the prompt below it not counted
_MOST, _FEWEST = 5, 2  # parts that are shown
_LEAST = 0.01  # blame of any part that is shown
_WORTH = 0.02  # blame from which a part beyond the fewest is shown
_LABEL = 7
_COLUMNS_FROM = 60  # width of the page
_TOLD: Final = {
    "about": "Complaint",
    "mode": "Mode",
    "band": "Band",
    "mains": "Line voltage",
    "instruments": "Instruments at hand",
}
_SAME = 0.005  # a change of blame that is none


@dataclass(frozen=True)
class Turn:
    """What a turn is to show: where things stand, what is asked, and which cautions were said already."""

    course: Course
    words: Words
    step: Step | None = None
    name: str = ""  # the indication that is asked for
    said: Collection[str] = ()
    whole: bool = False  # the check in full, though it has begun

    @property
    def first(self) -> bool:
        """Whether the check begins with this question."""
        return self.whole or self.step is None or not self.step.names or self.name == self.step.names[0]


def turn(page: Page, shown: Turn) -> None:
    """Leading parts and the next check, with as many parts as leave it on one screen."""
    for most in range(_MOST, _FEWEST - 1, -1):
        screen = Page(page.width)
        standing(screen, shown.course, most)
        screen.blank()
        if shown.step is not None:
            _step(screen, shown, shown.step)
        if len(screen.lines) <= LINES:
            break
    page.lines.extend(screen.lines)


def standing(page: Page, course: Course, most: int = _MOST) -> None:
    """The verdict, the leading parts, and what the last entry changed."""
    now, before = course.standing, course.earlier
    page.say(verdict_sentence(now), first=styled(("So far", "label")), indent=_LABEL)
    if course.fresh_trouble:
        _after_work(page, course)
    shown = leaders(now, most)
    if not shown:
        return
    was = {part.id: part.blame for part in before.parts} if before is not None else None
    for number, part in enumerate(shown, start=1):
        change = "" if was is None else changed(was.get(part.id, 0.0), part.blame)
        named = f"{part_title(part)}" + ("" if part.unnamed else f" ({part.stage_title})")
        if page.width < _COLUMNS_FROM:
            said = styled(f"{numbers.chance(part.blame)} ", (named, "suspect"), f" {change}")
            page.say(said, first=f"{number}.", indent=3)
            continue
        cells = (numbers.chance(part.blame), styled((named, "suspect")), change)
        page.row(cells, (-10, page.width - 32, 12), first=f"{number}.", indent=3)


def _after_work(page: Page, course: Course) -> None:
    """What was touched last is the first suspect."""
    signs = listed(course.assembly.indications[n].indication.title for n in course.fresh_trouble[:3])
    said = (
        f"New since the last work: {signs}. Look first at what was touched last: {course.case.work[-1].did}."
    )
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
        page.say(check.how, first=styled(("Do", "label")), indent=_LABEL)
    _good(page, shown)


def cautions(step: Step, said: Collection[str]) -> tuple[str, ...]:
    """The cautions of a check that were not yet given in this set-up; all of them where it changes."""
    given = () if step.advised.setup_changes else said
    return tuple(dict.fromkeys(c for c in step.advised.cautions if c not in given))


def _cautions(page: Page, shown: Turn, step: Step) -> None:
    hazard = step.advised.hazard
    fresh = " ".join(sentence(caution) for caution in cautions(step, shown.said))
    if fresh:
        page.say(styled((fresh, "caution")), first=styled(("Danger", "stop")), indent=_LABEL)
    elif hazard:
        page.say(styled((f"{capital(hazard)}; as cautioned.", "caution")), indent=_LABEL)
    if step.advised.swap_warning:
        page.say(styled((f"The spare is at risk: {step.advised.swap_warning}.", "caution")), indent=_LABEL)


def reason_of(course: Course, step: Step, words: Words) -> str:
    """In a line what a step is good for."""
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
    said = " ".join(text for text in (sentence(good) if good else "", told) if text)
    if said:
        page.say(said, first=styled(("Good", "label")), indent=_LABEL)


def expected(course: Course, name: str) -> str:
    """What a good set shows for a quantity now, with its limits: `585 V (526 to 644 V)`; "" where none is known."""
    placed = course.assembly.indications.get(name)
    if placed is None or placed.indication.sort != "quantity":
        return ""
    indication, states, size = placed.indication, placed.indication.states, 1.0
    unit = "" if indication.unit == "dimensionless" else indication.unit
    centre = ""
    if indication.scale == "ratio":
        mains = course.case.mains
        found = expectation(course.assembly, course.case, Observation(name))
        if found is None:
            return ""
        if found.tolerance is not None:
            states = with_tolerance(states, indication.tolerance, found.tolerance)
        rig = course.assembly.rig
        size = found.value
        if mains is not None and indication.follows_mains:
            size *= (mains / rig.mains_voltage) ** indication.follows_mains
        by = "" if found.by == "the chart" else ", worked out"
        centre = f"{numbers.value(size, unit)}{by}"
    limits = good_limits(states)
    if limits is None:
        return centre
    low, high = sorted(limit * size for limit in limits)
    sides = {state.side for state in states}
    if centre:
        return f"{centre} ({numbers.span(low, high, unit)})"
    if "up" not in sides:
        return f"{numbers.value(low, unit)} or more"
    if "down" not in sides:
        return f"up to {numbers.value(high, unit)}"
    return numbers.span(low, high, unit)


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


def record(page: Page, course: Course, words: Words) -> None:
    """All entries with their numbers."""
    page.heading("The record")
    if not course.record:
        page.say("Nothing is entered yet.", indent=2)
    last = len(course.case.work)
    for number, entry in enumerate(course.record, start=1):
        old = ""
        if entry.kind == OBSERVED:
            period = course.case.observations[entry.index].period
            old = "  (before the last work)" if period is not None and period < last else ""
        page.say(styled(entry_text(course, entry, words), (old, "quiet")), first=f"{number:>4} ", indent=6)


def entry_text(course: Course, entry: Entry, words: Words) -> str:
    """One entry in words."""
    case = course.case
    if entry.kind == TOLD:
        return told_text(course, course.told_keys[entry.index], words)
    if entry.kind == OBSERVED:
        return observation_text(course, case.observations[entry.index], words)
    if entry.kind == DONE:
        work = case.work[entry.index]
        parts = f" [{', '.join(words.part(part) for part in work.parts)}]" if work.parts else ""
        answers = f" (answers {work.answers})" if work.answers else ""
        return f"Work: {work.did}{parts}{answers}"
    if entry.kind == SAFE:
        return f"Proven: {words.safety.get(case.safety[entry.index], case.safety[entry.index])}"
    name = case.cannot[entry.index]
    check = course.assembly.checks.get(name)
    return f"Cannot be taken here: {check.check.title if check is not None else words.placed(name)}"


def told_text(course: Course, key: str, words: Words) -> str:
    """What was told at the intake."""
    if key.startswith(HISTORY):
        fact = key.removeprefix(HISTORY)
        value = course.case.history[fact]
        known = course.assembly.book.bench.facts.get(fact)
        said = (
            ", ".join(unscored(str(v)) for v in value) if isinstance(value, tuple) else unscored(str(value))
        )
        return f"{capital(known.title if known is not None else unscored(fact))}: {said}"
    told: object = getattr(course.case, key)
    if key == "mains" and course.case.mains is not None:
        told = numbers.value(course.case.mains, "V")
    if key == "instruments":
        told = listed(words.instruments.get(id, id) for id in course.case.instruments or ()) or "none"
    return f"{_TOLD[key]}: {told}"


def observation_text(course: Course, observation: Observation, words: Words) -> str:
    """An observation with its circumstances."""
    title = words.placed(observation.name) if observation.name in words.indications else observation.name
    if observation.value is not None:
        said = observation.as_written or numbers.digits(observation.value)
    else:
        said = words.state(observation.name, observation.state)
    under = [observation.mode, observation.band, observation.warmth]
    under += [f"with {words.instrument(observation.meter)}"] if observation.meter else []
    first = next(iter(course.assembly.book.bench.reports), "")
    under += [f"told by {observation.told_by}"] if observation.told_by != first else []
    told = ", ".join(text for text in under if text)
    return f"{title}: {said}" + (f" ({told})" if told else "")


def cured(page: Page, course: Course, words: Words) -> None:
    """The work was the cure: what is still to be read before the set is called good."""
    did = course.case.work[-1].did
    page.say(styled((f"Nothing is wrong any more: {did} was the cure.", "good")))
    for repair in course.standing.repairs:
        if repair.work == len(course.case.work):
            was, now = numbers.chance(repair.bad_before), numbers.chance(repair.bad_after)
            title = f"{capital(repair.title)} ({repair.stage_title})"
            page.say(f"{title}: bad before the work in {was} such sets, after it in {now}.", indent=2)
    missing = course.proof_missing
    if missing:
        page.say("The final readings that prove the set, to be taken now:")
        for name in missing:
            good = expected(course, name) or words.state(name, words.good[name])
            page.say(f"{words.placed(name)}: {good}", first="  -", indent=4)
