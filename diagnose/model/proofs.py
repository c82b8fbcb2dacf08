"""Which safety facts a set asks for, and which of them are not proven on the bench yet."""

from __future__ import annotations

from diagnose.model.case import Case
from diagnose.model.conditions import Facts, holds
from diagnose.model.knowledge import Bench, SafetyFact


def is_asked(fact: SafetyFact, history: Facts) -> bool:
    """Whether a set with this history asks for a safety fact: so does one whose history is not known."""
    met = all(test.name not in history or holds((test,), history) for test in fact.when)
    return met and not (fact.unless and holds(fact.unless, history))


def unproven(bench: Bench, case: Case) -> tuple[str, ...]:
    """The safety facts that this set asks for and that are not proven, in the order of the bench file."""
    return tuple(
        id
        for id, fact in bench.safety_facts.items()
        if id not in case.safety and is_asked(fact, case.history)
    )
