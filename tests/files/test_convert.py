"""Values to plain data and back; data of another shape is refused, never half used."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.files.convert import ShapeError, from_plain, outline, to_plain
from diagnose.files.frozen import Frozen
from diagnose.model.knowledge import Indication, Need, Part, Rule, State
from diagnose.model.when import Test as Condition


@dataclass(frozen=True)
class Leaf:
    """A value with every sort of scalar."""

    word: str
    count: int
    size: float
    true: bool
    maybe: float | None = None


@dataclass(frozen=True)
class Tree:
    """A value with every sort of container."""

    leaves: tuple[Leaf, ...]
    pair: tuple[float, str]
    names: Mapping[str, Leaf]
    words: tuple[str, ...] = ()
    texts: Mapping[str, str] = field(default_factory=dict)
    first: Leaf | None = None
    anything: Mapping[str, object] = field(default_factory=dict)


LEAVES = st.builds(
    Leaf,
    st.text(),
    st.integers(),
    st.floats(allow_nan=False),
    st.booleans(),
    st.none() | st.floats(allow_nan=False),
)
TREES = st.builds(
    Tree,
    st.lists(LEAVES, max_size=3).map(tuple),
    st.tuples(st.floats(allow_nan=False), st.text()),
    st.dictionaries(st.text(), LEAVES, max_size=3).map(Frozen),
    st.lists(st.text(), max_size=3).map(tuple),
    st.dictionaries(st.text(), st.text(), max_size=3).map(Frozen),
    st.none() | LEAVES,
    st.dictionaries(st.text(), st.text() | st.integers() | st.tuples(st.text()), max_size=3).map(Frozen),
)


@given(TREES)
def test_there_and_back(tree: Tree) -> None:
    """A value survives the way through JSON with all its types."""
    back = from_plain(Tree, json.loads(json.dumps(to_plain(tree))))
    assert back == tree
    assert type(back.names) is Frozen
    assert hash(back.pair) == hash(tree.pair)


GOOD = ["x", 1, 1.5, True, None]


@pytest.mark.parametrize(
    "data",
    [
        None,
        "x",
        {},
        [],
        [*GOOD, 1],
        GOOD[:-1],
        [1, 1, 1.5, True, None],
        ["x", "1", 1.5, True, None],
        ["x", 1.5, 1.5, True, None],
        ["x", True, 1.5, True, None],
        ["x", 1, "1.5", True, None],
        ["x", 1, 1.5, 1, None],
        ["x", 1, 1.5, True, "no"],
        ["x", 1, None, True, None],
    ],
)
def test_a_misshapen_leaf_is_refused(data: Any) -> None:
    """Wrong length, wrong scalar, wrong container."""
    with pytest.raises(ShapeError):
        from_plain(Leaf, data)


@pytest.mark.parametrize(
    ("position", "data"),
    [
        (0, GOOD),
        (0, {}),
        (0, [None]),
        (1, [1.0]),
        (1, ["a", "b"]),
        (1, [1.0, "a", "b"]),
        (2, []),
        (2, {"a": None}),
        (3, "abc"),
        (3, ["a", 1]),
        (4, ["a"]),
        (4, {"a": 1}),
        (5, []),
        (6, []),
    ],
)
def test_a_misshapen_tree_is_refused(position: int, data: Any) -> None:
    """Containers of the wrong sort, or with the wrong things in them."""
    plain = [[GOOD], [1.0, "a"], {"a": GOOD}, ["a"], {"a": "b"}, None, {}]
    from_plain(Tree, plain)
    plain[position] = data
    with pytest.raises(ShapeError):
        from_plain(Tree, plain)


def test_values_of_the_model_come_back_frozen() -> None:
    """A rebuilt value is as frozen as a new one."""
    need = from_plain(Need, ["voltage", ["low"]])
    assert need == Need("voltage", ("low",))
    with pytest.raises(AttributeError):
        need.name = "other"


@given(
    st.builds(
        Indication,
        st.text(),
        st.just("quantity"),
        st.text(),
        st.text(),
        st.lists(st.builds(State, st.text(), st.sampled_from(["", "up"]), between=st.none() | st.tuples(st.floats(0, 1), st.floats(0, 1))), max_size=3).map(tuple),
        needs=st.lists(st.builds(Need, st.text(), st.tuples(st.text())), max_size=2).map(tuple),
        when=st.lists(st.builds(Condition, st.text(), at_least=st.none() | st.floats(0, 9)), max_size=2).map(tuple),
        plausible=st.none() | st.tuples(st.floats(0, 1), st.floats(0, 1)),
    )
)  # fmt: skip
def test_indications_survive(indication: Indication) -> None:
    """The widest value of the model goes there and back."""
    assert from_plain(Indication, json.loads(json.dumps(to_plain(indication)))) == indication


def test_an_unknown_type_is_a_mistake_of_ours() -> None:
    """A type without a plain form is refused when the converter is built."""

    @dataclass(frozen=True)
    class Odd:
        value: complex

    with pytest.raises(TypeError, match="no plain form"):
        from_plain(Odd, [1])


def test_the_outline_tells_models_apart() -> None:
    """Other fields, other outline; what a value holds is part of it."""
    assert outline(Rule) != outline(Part)
    assert "State: " in outline(Indication)
    assert outline(Tree) == outline(Tree)
