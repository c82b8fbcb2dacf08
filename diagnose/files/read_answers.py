"""Which signs a worked-out figure answers by its limit."""

from __future__ import annotations

from diagnose.files import values
from diagnose.files.document import Node
from diagnose.files.faults import did_you_mean
from diagnose.files.scope import Scope
from diagnose.model.measuring import LEAST, MOST, Answer, Limit

SIDES = (MOST, LEAST)


def read_answers(node: Node | None, limit: Limit | None, scope: Scope) -> tuple[Answer, ...] | None:
    """The signs under `gives`; None where it names a quantity, or nothing that is one.

    A plain name is that of a symptom; a mapping has one for each side of the limit, a pattern with its state.
    """
    if node is None:
        return None
    if node.is_scalar:
        found = scope.indications.get(values.text(node))
        if found is None or found.sort == "quantity":
            return None
        sides = tuple(side for side in SIDES if limit is not None and _has(limit, side))
        answer = _answer(node, sides, scope)
        if answer is not None and not sides:
            _no_limit(node, "", scope)
        return () if answer is None else (answer,)
    answers = []
    for side, entry in node.entries.items():
        answer = _answer(entry, (side,), scope) if side in SIDES else None
        if answer is not None and (limit is None or not _has(limit, side)):
            _no_limit(entry, side, scope)
        elif answer is not None:
            answers.append(answer)
    return tuple(answers)


def _has(limit: Limit, side: str) -> bool:
    """Whether a limit has a side, be it in some mode only."""
    return any(getattr(each, side) is not None for each in (limit, *limit.in_mode.values()))


def _answer(node: Node, sides: tuple[str, ...], scope: Scope) -> Answer | None:
    """One sign: a symptom by its name, or one name with its state."""
    if node.is_scalar:
        name, state, at = values.text(node), "", node
    elif len(node.entries) == 1:
        ((name, at),) = node.entries.items()
        state = values.text(at)
    else:
        return None
    found = scope.indications.get(name)
    if found is None or found.sort == "quantity":
        signs = [i.id for i in scope.indications.values() if i.sort != "quantity"]
        said = f"`{name}` is no symptom or pattern of the kind {scope.kind}"
        scope.faults.unknown(at if node.is_scalar else at.key_place, "unknown-name", said, name, signs)
        return None
    bad = [each.id for each in found.states[1:]]
    if not state and len(bad) == 1:
        state = bad[0]
    if state in bad:
        return Answer(name, state, sides)
    said = f"{name} has the states {', '.join(bad)}, and none of them is named"
    hint = f"write `{{{name}: {bad[0] if bad else ''}}}`"
    if state:
        said, hint = f"`{state}` is no bad state of {name}", did_you_mean(state, bad)
    scope.faults.error(at, "unknown-state", said, hint)
    return None


def _no_limit(node: Node, side: str, scope: Scope) -> None:
    said = (
        f"a sign is answered by the limit, which has no `{side}`" if side else "a sign is answered by a limit"
    )
    hint = f"add `{side}:` to the limit" if side else "add `limit:`"
    scope.faults.error(node, "missing-key", said, hint)
