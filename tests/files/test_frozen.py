"""Read-only mappings."""

from __future__ import annotations

import copy
import pickle
from collections.abc import Callable
from typing import Any

import pytest

from diagnose.files.frozen import Frozen


@pytest.mark.parametrize(
    "change",
    [
        lambda m: m.__setitem__("a", 2),
        lambda m: m.__delitem__("a"),
        lambda m: m.update(b=1),
        lambda m: m.pop("a"),
        lambda m: m.popitem(),
        lambda m: m.setdefault("b", 1),
        lambda m: m.clear(),
        lambda m: m.__ior__({"b": 1}),
    ],
)
def test_nothing_changes_it(change: Callable[[Any], object]) -> None:
    """Every way of changing a dictionary is refused."""
    mapping = Frozen({"a": 1})
    with pytest.raises(TypeError, match="read-only"):
        change(mapping)
    assert mapping == {"a": 1}


def test_it_travels() -> None:
    """It can be pickled for another process, copied and hashed."""
    mapping: Frozen[str, object] = Frozen({"a": Frozen({"b": 1})})
    back = pickle.loads(pickle.dumps(mapping))
    assert back == mapping
    assert type(back) is Frozen
    assert copy.copy(mapping) is mapping
    assert copy.deepcopy(mapping) is mapping
    assert hash(Frozen({"a": 1, "b": 2})) == hash(Frozen({"b": 2, "a": 1}))
    assert mapping | {"c": 1} == {"a": {"b": 1}, "c": 1}
