"""When a condition holds: known facts only, sets by what they contain, numbers by their range."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from diagnose.model.conditions import features_of, holds
from diagnose.model.knowledge import Rig, Stage
from diagnose.model.when import Test as Condition


@pytest.mark.parametrize(
    ("test", "facts", "expected"),
    [
        (Condition("a", any_of=("yes",)), {"a": "yes"}, True),
        (Condition("a", any_of=("yes",)), {"a": "no"}, False),
        (Condition("a", any_of=("yes",)), {"a": True}, True),
        (Condition("a", any_of=("no",)), {"a": False}, True),
        (Condition("a", any_of=("yes",)), {}, False),
        (Condition("a", any_of=("yes",)), {"a": None}, False),
        (Condition("a", none_of=("yes",)), {"a": "no"}, True),
        (Condition("a", none_of=("yes",)), {"a": "yes"}, False),
        (Condition("a", none_of=("yes",)), {}, False),
        (Condition("a", any_of=("x", "y")), {"a": "y"}, True),
        (Condition("a", any_of=("x",)), {"a": ("w", "x")}, True),
        (Condition("a", any_of=("x",)), {"a": ["w"]}, False),
        (Condition("a", none_of=("x",)), {"a": {"w", "x"}}, False),
        (Condition("a", none_of=("x",)), {"a": frozenset({"w"})}, True),
        (Condition("a", any_of=("x",)), {"a": ()}, False),
        (Condition("a", at_least=20), {"a": 20}, True),
        (Condition("a", at_least=20), {"a": 19.9}, False),
        (Condition("a", below=20), {"a": 20}, False),
        (Condition("a", below=20), {"a": 19}, True),
        (Condition("a", at_least=5, below=20), {"a": 4}, False),
        (Condition("a", at_least=5, below=20), {"a": 5}, True),
        (Condition("a", at_least=5), {"a": "many"}, False),
        (Condition("a", below=5), {"a": "few"}, False),
        (Condition("a", at_least=0), {"a": True}, False),
        (Condition("a", any_of=("0",)), {"a": 0.0}, True),
        (Condition("a", any_of=("0",)), {"a": 1}, False),
        (Condition("a", any_of=("zero",)), {"a": 0}, False),
        (Condition("a", none_of=("0",)), {"a": 0.0}, False),
    ],
)
def test_one_test(test: Condition, facts: Mapping[str, object], expected: bool) -> None:
    """One test against one set of facts."""
    assert holds((test,), facts) is expected


def test_nothing_to_test_holds_and_all_tests_must() -> None:
    """An empty condition always holds; of several every one must."""
    both = (Condition("a", any_of=("x",)), Condition("b", any_of=("y",)))
    assert holds((), {})
    assert holds(both, {"a": "x", "b": "y"})
    assert not holds(both, {"a": "x", "b": "z"})


def test_features_of_a_stage_come_before_those_of_the_rig() -> None:
    """A stage says more precisely what it is than its rig does."""
    stage = Stage("hv", "feed", "feed", {"rectifier": "silicon"}, {})
    rig = Rig("r", "r", "", {"modes": ("cw",), "rectifier": ("tube",)}, 117, 60, (), {"hv": stage}, ())
    assert features_of(rig, stage) == {"modes": ("cw",), "rectifier": "silicon"}
