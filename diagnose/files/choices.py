"""Words that have to be among those that are known: others are named with the nearest that is."""

from __future__ import annotations

from collections.abc import Collection

from diagnose.files import values
from diagnose.files.document import Node
from diagnose.files.faults import Faults


def choice(node: Node | None, what: str, known: Collection[str], faults: Faults, *, id: str = "") -> str:
    """The word of a node if it is among the known ones; "" where it says none, or with a problem if not known.

    `what` they are, for the sentence "is no ..."; its first word makes the `id` of the problem where none is given.
    """
    word = values.text(node)
    return word if node is not None and word and _is_known(node, word, what, known, faults, id) else ""


def choices(
    node: Node | None, what: str, known: Collection[str], faults: Faults, key: str = ""
) -> tuple[str, ...]:
    """The known words of a list (or of the entry `key`) in their order; a problem for each of the others."""
    found = ((entry, values.text(entry)) for entry in values.scalars(node, key))
    return tuple(word for entry, word in found if _is_known(entry, word, what, known, faults))


def _is_known(node: Node, word: str, what: str, known: Collection[str], faults: Faults, id: str = "") -> bool:
    if word in known:
        return True
    faults.unknown(node, id or f"unknown-{what.split(maxsplit=1)[0]}", f"`{word}` is no {what}", word, known)
    return False
