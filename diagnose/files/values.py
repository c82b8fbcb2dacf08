"""Small values of rule and case files: texts, flags, frequencies, quantities, units, conditions.

The schema has already judged what is text, list or mapping; here a value of the wrong shape
counts as absent, so that one fault is said once.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from diagnose.files.document import Node
from diagnose.files.faults import Faults
from diagnose.model.frequency import FrequencyError, parse_frequency
from diagnose.model.when import Test, When
from diagnose.units import UnitError, dimension, parse_quantity

_SHARE = re.compile(r"(\d+(?:\.\d+)?)\s*(%|percent)\Z")


NO_UNIT = "?"  # in the place of a unit that is none: said once, and nothing is measured in it


def text(node: Node | None, key: str = "", default: str = "") -> str:
    """The text of a scalar (or of the entry `key`), without blanks around it."""
    if node is not None and key:
        node = node.get(key)
    if node is None or not node.is_scalar:
        return default
    return node.written.strip()


def texts(node: Node | None, key: str = "") -> tuple[str, ...]:
    """The texts of a list; a single scalar counts as a list of one."""
    return tuple(text(member) for member in scalars(node, key))


def scalars(node: Node | None, key: str = "") -> tuple[Node, ...]:
    """The scalar members of a list, or the scalar itself."""
    if node is not None and key:
        node = node.get(key)
    if node is None:
        return ()
    if node.is_scalar:
        return (node,)
    return tuple(member for member in node.members if member.is_scalar)


def flag(node: Node | None, key: str, *, default: bool = False) -> bool:
    """Whether the entry says yes."""
    entry = node.get(key) if node is not None else None
    if entry is None or not entry.is_scalar:
        return default
    return entry.value is True or entry.value == "yes"


def number(node: Node | None, key: str = "") -> float | None:
    """The number of a scalar (or of the entry `key`), if it is one."""
    if node is not None and key:
        node = node.get(key)
    if node is None or isinstance(node.value, bool):
        return None
    return float(node.value) if isinstance(node.value, (int, float)) else None


def frequency(node: Node | None, faults: Faults) -> float | None:
    """The probability a frequency states, from 0 to 1; None where it has none, with a problem for what is no frequency."""
    if node is None or not node.is_scalar:
        return None
    written = node.value if isinstance(node.value, (int, float)) else node.written
    try:
        return parse_frequency(written)
    except FrequencyError as error:
        faults.error(node, "frequency", *_split_advice(str(error)))
    return None


def share(node: Node | None, faults: Faults) -> float | None:
    """A relative width: `10 %` or 0.1, between 0 and 1; None with a problem for anything else."""
    if node is None or not node.is_scalar:
        return None
    plain = _in_hundred(node)
    if plain is None:
        faults.error(node, "share", f"`{node.written}` is no share", "write it like `10 %`")
        return None
    if not 0 < plain < 1:
        said = f"`{node.written}` is no share between 0 and 100 %"
        faults.error(node, "share", said, "write it like `10 %`")
        return None
    return plain


def _in_hundred(node: Node) -> float | None:
    """A number, or so many in a hundred; None for anything else."""
    plain = number(node)
    match = _SHARE.match(node.written.strip()) if plain is None else None
    return float(match.group(1)) / 100 if match else plain


def quantity(node: Node | None, unit: str, faults: Faults) -> float | None:
    """The magnitude of a value in `unit`; None where it has none, with a problem where it is of another dimension."""
    if node is None or not node.is_scalar or unit == NO_UNIT:
        return None
    plain = number(node)
    try:
        return parse_quantity(node.written if plain is None else plain, unit)
    except UnitError as error:
        faults.error(node, "unit", error.text, error.hint)
    return None


def unit(node: Node | None, faults: Faults) -> str | None:
    """The unit of an entry; None where it has none, with a problem for a word that is none."""
    if node is None or not isinstance(node.value, str):
        return None
    word = text(node)
    try:
        dimension(word)
    except UnitError as error:
        faults.error(node, "unit", error.text, error.hint or "write a unit like V, mA or percent")
        return None
    return word


def stated_unit(node: Node, faults: Faults) -> str:
    """The `unit` of an entry; NO_UNIT, with a problem, for what is none."""
    entry = node.get("unit")
    if entry is None or not isinstance(entry.value, str):
        return NO_UNIT
    word = unit(entry, faults)
    return NO_UNIT if word is None else word


def ratio(node: Node | None, faults: Faults) -> float | None:
    """A ratio, which may pass 1: `125 %` or 1.25; None with a problem for what is none, or less than 0."""
    if node is None or not node.is_scalar:
        return None
    plain = _in_hundred(node)
    if plain is None or plain < 0:
        faults.error(node, "share", f"`{node.written}` is no ratio", "write it like `80 %`")
        return None
    return plain


def condition(node: Node | None) -> When:
    """The tests of a `when`."""
    return tuple(_test(name, entry) for name, entry in node.entries.items()) if node is not None else ()


def _test(name: str, node: Node) -> Test:
    if not isinstance(node.value, Mapping):
        return Test(name, any_of=texts(node))
    return Test(
        name,
        none_of=texts(node, "not"),
        at_least=number(node, "at_least"),
        below=number(node, "below"),
    )


def _split_advice(message: str) -> tuple[str, str]:
    said, _, advice = message.partition(": ")
    return said, advice
