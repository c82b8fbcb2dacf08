"""What is shown at each turn: who leads and what changed, the next thing to do, and what a good set shows.

Pages of at most 24 lines where safety allows it, without colour or cursor. Describes, and never decides.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from typing import Final

from diagnose.interview.asking import asked
from diagnose.interview.course import Course
from diagnose.interview.dangers import cautions, seen_under_order
from diagnose.interview.good import expected
from diagnose.interview.reasons import reason_of
from diagnose.interview.same_named import check_title
from diagnose.interview.standing import FEWEST, LABEL, MOST, standing
from diagnose.interview.steps import Step, is_set_up
from diagnose.render.first import time_needed
from diagnose.render.page import Page, capital, sentence, styled
from diagnose.render.words import Words

LINES: Final = 24  # of a terminal: a turn, its question and the prompt
LEAST: Final = 12  # that a turn takes, however much stands on the screen since the last answer
_SENTENCES: Final = 12  # more than any procedure has
_SENTENCE: Final = re.compile(r"(?<=[.!])\s+(?=[A-Z])")


@dataclass(frozen=True)
class Turn:
    """What a turn is to show: where things stand, what is asked, and which cautions were said already."""

    course: Course
    words: Words
    step: Step | None = None
    name: str = ""  # the indication that is asked for
    said: Collection[str] = ()  # cautions given in full before
    whole: bool = False  # the check in full, though it has begun, and however long
    most: int = MOST  # parts
    flowing: bool = False  # the answers to choose from in one paragraph
    extras: bool = True  # what can be asked for otherwise
    sentences: int = _SENTENCES  # of the procedure
    room: int = LINES  # of the screen, below what stands on it since the last answer

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
        if len(screen.lines) < shown.room:
            break
    page.lines.extend(screen.lines)


def _shorter(shown: Turn) -> Iterator[Turn]:
    """A turn, and what it may be cut to if it does not fit, the longest first."""
    for most in range(MOST, FEWEST - 1, -1):
        yield replace(shown, most=most)
    if not shown.whole:
        yield replace(shown, most=FEWEST, flowing=True)
        for most, least in ((FEWEST, 3), (1, 1)):
            for sentences in range(_SENTENCES, least - 1, -1):
                yield replace(shown, most=most, flowing=True, extras=False, sentences=sentences)


def _waiting(page: Page, shown: Turn) -> None:
    """What the checks that are not offered wait for."""
    course, advice = shown.course, shown.course.standing.advice
    if advice is None or not advice.withheld or not shown.extras:
        return
    needs = course.waited_for
    waits = f"{len(advice.withheld)} checks wait" if len(advice.withheld) > 1 else "A check waits"
    if needs:
        said = f"{waits} until it is `proven`: {'; '.join(shown.words.safety.get(n, n) for n in needs)}."
        page.say(styled((said, "quiet")), first=styled(("Held", "label")), indent=LABEL)


def _step(page: Page, shown: Turn, step: Step) -> None:
    check, course = step.advised, shown.course
    if not shown.first:
        page.say(
            styled(("same check, next question", "quiet")), first=styled(("Next", "label")), indent=LABEL
        )
        if not is_set_up(course, step):  # something entered meanwhile was found with another set-up
            _set_up(page, step)
            _cautions(page, shown, step)
        _good(page, shown)
        return
    title = styled(
        (capital(check_title(course.assembly, step.id, check.title)), "suspect"),
        f": {time_needed(check)}, {check.instrument}.",
    )
    page.say(title, first=styled(("Next", "label")), indent=LABEL)
    reason = reason_of(course, step, shown.words)
    if reason:
        page.say(reason, first=styled(("Why", "label")), indent=LABEL)
    _set_up(page, step)
    _cautions(page, shown, step)
    if check.how:
        page.say(_procedure(check.how, shown.sentences), first=styled(("Do", "label")), indent=LABEL)
    _good(page, shown)
    _waiting(page, shown)


def _set_up(page: Page, step: Step) -> None:
    """What has to be changed on the bench first."""
    changes = step.advised.setup_changes
    if changes:
        page.say(sentence("; ".join(changes)), first=styled(("Set up", "label")), indent=LABEL)


def _procedure(how: str, most: int) -> str:
    """What is to be done, in at most so many sentences."""
    sentences = _SENTENCE.split(" ".join(how.split()))
    if len(sentences) <= most:
        return how
    return f"{' '.join(sentences[:most])} More of it: `again`."


def _cautions(page: Page, shown: Turn, step: Step) -> None:
    hazard = step.advised.hazard
    fresh = " ".join((*seen_under_order(shown.course, step), *cautions(step, shown.said)))
    if fresh:
        page.say(styled((fresh, "caution")), first=styled(("Danger", "stop")), indent=LABEL)
    elif hazard:
        page.say(styled((f"{capital(hazard)}; as cautioned.", "caution")), indent=LABEL)
    if step.advised.swap_warning:
        page.say(styled((f"The spare is at risk: {step.advised.swap_warning}.", "caution")), indent=LABEL)


def _good(page: Page, shown: Turn) -> None:
    step = shown.step
    assert step is not None
    good = expected(shown.course, shown.name) if shown.name else ""
    told = sentence(step.advised.good) if shown.first and step.advised.good else ""
    told = told if shown.extras or not good else ""
    said = " ".join(text for text in (sentence(good) if good else "", told) if text)
    if said:
        page.say(said, first=styled(("Good", "label")), indent=LABEL)
