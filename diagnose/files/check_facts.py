"""Whether a condition tests facts of a history that exist, by values that they can have."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from diagnose.files import values
from diagnose.files.document import Node
from diagnose.files.faults import Faults
from diagnose.files.read_history import FACT_KINDS
from diagnose.model.knowledge import Fact


def check_facts(node: Node | None, facts: Mapping[str, Fact], faults: Faults) -> None:
    """A condition that may test nothing but facts of the history."""
    for name, entry in node.entries.items() if node is not None else ():
        if name in facts:
            check_fact(facts[name], entry, faults)
        else:
            faults.unknown(entry.key_place, "unknown-fact", f"`{name}` is no fact of a history", name, facts)


def check_fact(fact: Fact, entry: Node, faults: Faults) -> None:
    """One test of a fact: a range or numbers for a number, else words that the fact has."""
    if fact.kind == "number":
        if not isinstance(entry.value, Mapping) and any(
            values.number(word) is None for word in values.scalars(entry)
        ):
            said = f"`{fact.id}` is a number"
            faults.error(entry, "condition", said, "write it like `{at_least: 20}`")
        return
    if fact.kind not in FACT_KINDS:
        return
    check_words(entry, fact.id, ("yes", "no") if fact.kind == "yes_no" else fact.values, faults)
    for key in ("at_least", "below"):
        if entry.get(key) is not None:
            said = f"`{fact.id}` is no number and has no `{key}`"
            faults.error(entry.entries[key].key_place, "condition", said)


def check_words(entry: Node, name: str, allowed: Iterable[str], faults: Faults) -> None:
    """A test by words: each is one that what it tests can be."""
    allowed = tuple(allowed)
    for word in (*values.scalars(entry), *values.scalars(entry, "not")):
        if values.text(word) not in allowed:
            said = f"`{values.text(word)}` is no value of `{name}`"
            faults.unknown(word, "unknown-value", said, values.text(word), allowed)
