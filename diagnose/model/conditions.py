"""Whether a condition holds, given what is known of a stage, its rig and the case."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.model.knowledge import Rig, Stage
from diagnose.model.when import Test, When

Facts = Mapping[str, object]


def holds(when: When, facts: Facts) -> bool:
    """Whether all tests hold. What is not known makes a test fail, a `not` too."""
    return all(one_holds(test, facts) for test in when)


def one_holds(test: Test, facts: Facts) -> bool:
    """Whether one test holds for the fact it names."""
    fact = facts.get(test.name)
    if fact is None:
        return False
    words, number = _words(fact), _number(fact)
    if test.any_of and not any(_is(word, words, number) for word in test.any_of):
        return False
    if test.none_of and any(_is(word, words, number) for word in test.none_of):
        return False
    if test.at_least is not None and (number is None or number < test.at_least):
        return False
    return test.below is None or (number is not None and number < test.below)


def features_of(rig: Rig, stage: Stage) -> dict[str, object]:
    """What structural conditions of a stage may test: the rig's features, then its own."""
    return {**rig.features, **stage.features}


def _words(fact: object) -> frozenset[str]:
    """The words a fact amounts to: one for a plain fact, several for a set."""
    if isinstance(fact, bool):
        return frozenset({"yes" if fact else "no"})
    if isinstance(fact, (list, tuple, set, frozenset)):
        return frozenset(str(word) for word in fact)
    return frozenset({str(fact)})


def _number(fact: object) -> float | None:
    if isinstance(fact, bool) or not isinstance(fact, (int, float)):
        return None
    return float(fact)


def _is(word: str, words: frozenset[str], number: float | None) -> bool:
    if word in words:
        return True
    if number is None:
        return False
    try:
        return float(word) == number
    except ValueError:
        return False
