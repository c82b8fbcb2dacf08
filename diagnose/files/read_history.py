"""The history of a set: facts with their values, as a case or a budget states them."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.files import values
from diagnose.files.document import Node
from diagnose.files.faults import Faults
from diagnose.files.frozen import Frozen
from diagnose.model.knowledge import Fact

FACT_KINDS = frozenset({"number", "yes_no", "choice", "set"})
NOT_KNOWN = frozenset({"not known", "not_known", "unknown"})


def read_history(node: Node | None, facts: Mapping[str, Fact], faults: Faults) -> Frozen[str, object]:
    """The facts that are known: numbers, `yes`/`no`, a word, or a tuple of words."""
    known: dict[str, object] = {}
    for name, entry in node.entries.items() if node is not None else ():
        fact = facts.get(name)
        if fact is None:
            said = f"`{name}` is no fact of a history"
            faults.unknown(entry.key_place, "unknown-fact", said, name, facts)
            continue
        value = _value(fact, entry, faults)
        if value is not None:
            known[name] = value
    return Frozen(known)


def _value(fact: Fact, node: Node, faults: Faults) -> object | None:
    """The value in the form of its fact; None if it is not known or not usable."""
    if node.value is None or values.text(node) in NOT_KNOWN or fact.kind not in FACT_KINDS:
        return None
    if fact.kind == "number":
        return _number(fact, node, faults)
    if fact.kind == "yes_no":
        return _yes_no(fact, node, faults)
    if fact.kind == "set":
        return _words(fact, node, faults)
    words = _words(fact, node, faults)
    if len(words) > 1 or node.members:
        faults.error(node, "fact-value", f"`{fact.id}` takes one word, not a list")
        return None
    return words[0] if words else None


def _number(fact: Fact, node: Node, faults: Faults) -> float | int | None:
    """A number that can be meant."""
    number = _any_number(fact, node, faults)
    if number is None or fact.most is None or number <= fact.most:
        return number
    said = f"`{fact.id}` cannot be {number:g}; at most {fact.most:g} can be meant"
    faults.error(node, "fact-value", said)
    return None


def _any_number(fact: Fact, node: Node, faults: Faults) -> float | int | None:
    if isinstance(node.value, (int, float)) and not isinstance(node.value, bool):
        if node.value >= 0:
            return node.value
        faults.error(node, "fact-value", f"`{fact.id}` cannot be below zero")
        return None
    if fact.unit and node.is_scalar:
        return values.quantity(node, fact.unit, faults)
    faults.error(node, "fact-value", f"`{fact.id}` takes a number", f"write it like `{fact.id}: 5`")
    return None


def _yes_no(fact: Fact, node: Node, faults: Faults) -> str | None:
    if isinstance(node.value, bool):
        return "yes" if node.value else "no"
    word = values.text(node)
    if word in ("yes", "no"):
        return word
    said = f"`{fact.id}` takes yes, no or not known"
    faults.error(node, "fact-value", said)
    return None


def _words(fact: Fact, node: Node, faults: Faults) -> tuple[str, ...]:
    good: list[str] = []
    for member in values.scalars(node):
        word = values.text(member)
        if word in fact.values:
            good.append(word)
        else:
            said = f"`{word}` is no value of `{fact.id}`"
            faults.unknown(member, "fact-value", said, word, fact.values)
    return tuple(dict.fromkeys(good))
