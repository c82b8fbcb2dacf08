"""Dangers on the screen: stop orders before anything else, and cautions in full the first time they are due."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from typing import Final

from diagnose.advice.gates import is_live, not_found_yet
from diagnose.interview.course import Course
from diagnose.interview.steps import AGAIN, Step
from diagnose.model.result import StandingOrder
from diagnose.render.page import Page, listed, sentence, styled
from diagnose.render.words import Words

UNDER_ORDER: Final = (
    "This sign gave a stop order, and nothing cold explains it. Stay at the switch, look for seconds only, and "
    "remove power as soon as it shows."
)
AFTER_ORDER: Final = (
    "There was a stop order before the work ({}). Stay at the switch, look for seconds only, and remove power as soon "
    "as it shows again."
)
_CLAUSE: Final = re.compile(r"[.:;]\s")


def stop(page: Page, orders: Iterable[StandingOrder], words: Words) -> None:
    """Stop orders, before anything else."""
    page.say(styled(("STOP. Remove power now.", "stop")))
    for order in orders:
        page.say(styled((order.text, "stop")), indent=2)
        if order.because:
            page.say(f"Because of {'; '.join(words.placed(name) for name in order.because)}.", indent=2)


def cautions(step: Step, said: Collection[str]) -> tuple[str, ...]:
    """The cautions of a check: in full what was not yet said; where the set-up changes the rest once more, in short."""
    own = dict.fromkeys(step.advised.cautions)
    fresh = tuple(sentence(caution) for caution in own if caution not in said)
    reminders = (in_short(caution) for caution in own if caution in said and step.advised.setup_changes)
    return (*fresh, *reminders)


def seen_under_order(course: Course, step: Step) -> tuple[str, ...]:
    """What is said each time a sign that gave a stop order is looked at once more with power on, or may show again."""
    assembly = course.assembly
    if not is_live(assembly.book.bench, step.placed):
        return ()
    orders = set(not_found_yet(assembly, course.case, course.found))
    if step.purpose == AGAIN and orders.intersection(step.names):
        return (UNDER_ORDER,)
    signs = () if orders else course.not_looked_at
    titles = listed(assembly.indications[name].indication.title for name in signs)
    return (AFTER_ORDER.format(titles),) if signs else ()


def in_short(caution: str) -> str:
    """A caution that was given in full before, by what it begins with."""
    return sentence(_CLAUSE.split(caution, maxsplit=1)[0])
