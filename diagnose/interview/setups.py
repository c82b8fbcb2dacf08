"""The bench as the interview takes it to stand, in words; what an entry lets it take for changed."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from diagnose.interview.course import Course
from diagnose.model.knowledge import Bench, SetupState
from diagnose.render.page import Page, styled


def states_of(bench: Bench, now: Mapping[str, str]) -> tuple[SetupState, ...]:
    """The state of each group of the set-up."""
    return tuple(group.states[now.get(id, group.first)] for id, group in bench.setups.items())


def followed(page: Page, before: Course, now: Course, said: Collection[str]) -> tuple[str, ...]:
    """Says what the bench is taken for after an entry, with the cautions of it that are new; gives these."""
    bench = now.assembly.book.bench
    was = states_of(bench, before.case.bench)
    changed = [state for state in states_of(bench, now.case.bench) if state not in was]
    if not changed:
        return ()
    page.say(f"The bench is taken to stand as for that check: {titles(changed)}. `bench` puts that right.")
    fresh = tuple(c for state in changed for c in state.cautions if c not in said)
    for caution in fresh:
        page.say(styled((caution, "caution")), indent=2)
    return fresh


def to_make_safe(bench: Bench) -> tuple[str, ...]:
    """How the bench is made safe before a hand goes in: the cautions of the set-up that it is left in."""
    return tuple(c for group in bench.setups.values() for c in group.states[group.first].cautions)


def stands(course: Course) -> str:
    """The whole set-up in a line."""
    return titles(states_of(course.assembly.book.bench, course.case.bench))


def is_changed(course: Course) -> bool:
    """Whether the bench is taken to stand otherwise than before any check."""
    bench = course.assembly.book.bench
    return states_of(bench, course.case.bench) != states_of(bench, {})


def other_states(course: Course) -> tuple[tuple[str, SetupState], ...]:
    """The states that the bench is not taken to be in, each with its group."""
    bench = course.assembly.book.bench
    now = states_of(bench, course.case.bench)
    return tuple(
        (id, state)
        for id, group in bench.setups.items()
        for state in group.states.values()
        if state not in now
    )


def titles(states: Collection[SetupState]) -> str:
    """States in a row."""
    return "; ".join(state.title for state in states)
