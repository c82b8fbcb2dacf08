"""Parts with their modes, priors and remedies."""

from __future__ import annotations

from diagnose.files import values
from diagnose.files.document import Node
from diagnose.files.scope import Scope
from diagnose.model.assembly import UNNAMED
from diagnose.model.knowledge import Mode, Part, PriorCase, Remedy

_ROUNDING = 1e-9


def read_parts(root: Node, scope: Scope) -> dict[str, Part]:
    """All parts of a stage file."""
    section = root.get("parts")
    entries = section.entries if section is not None else {}
    parts: dict[str, Part] = {}
    for id, node in entries.items():
        if id in scope.indications:
            said = f"`{id}` is already the name of a {scope.indications[id].sort}"
            scope.faults.error(node.key_place, "duplicate-id", said, "give the part another name")
        if id == UNNAMED:
            said = f"`{id}` is the name of what the book does not know"
            scope.faults.error(node.key_place, "duplicate-id", said, "give the part another name")
        parts[id] = _part(id, node, scope)
    return parts


def _part(id: str, node: Node, scope: Scope) -> Part:
    scope.check_condition(node.get("when"))
    modes_node = node.get("modes")
    entries = modes_node.entries if modes_node is not None else {}
    modes = tuple(_mode(mode, entry, scope) for mode, entry in entries.items())
    _check_sum(id, node, modes, scope)
    return Part(
        id=id,
        title=values.text(node, "title", id.replace("_", " ")),
        modes=modes,
        when=values.condition(node.get("when")),
        remedy=_remedy(node.get("remedy"), scope),
        first_aid=values.flag(node, "first_aid"),
        place=node.key_place,
    )


def _check_sum(id: str, node: Node, modes: tuple[Mode, ...], scope: Scope) -> None:
    """The modes of one part exclude each other: their priors cannot pass 1."""
    total = sum(mode.prior for mode in modes)
    if total > 1 + _ROUNDING:
        said = f"the priors of the part {id} add up to {total:g}, more than 1"
        scope.faults.error(node.key_place, "prior-sum", said)
        return
    worst = sum(max((mode.prior, *(case.prior for case in mode.history))) for mode in modes)
    if worst > 1 + _ROUNDING:
        said = f"the highest priors of the part {id} add up to {worst:g}, more than 1"
        scope.faults.warning(node.key_place, "prior-sum", said, "look at its `history`")


def _mode(id: str, node: Node, scope: Scope) -> Mode:
    prior = values.frequency(node.get("prior"), scope.faults)
    spare = values.text(node, "endangers_spare")
    if node.get("endangers_spare") is not None and spare in ("yes", "true"):
        said = "`endangers_spare` says what happens to the spare"
        scope.faults.error(node.entries["endangers_spare"], "shape", said, "write the warning")
    return Mode(
        id=id,
        title=values.text(node, "title", id.replace("_", " ")),
        prior=prior if prior is not None else 0.0,
        history=_history(node.get("history"), scope),
        remedy=_remedy(node.get("remedy"), scope),
        endangers_spare="" if spare in ("no", "false") else spare,
        place=node.key_place,
    )


def _history(node: Node | None, scope: Scope) -> tuple[PriorCase, ...]:
    cases: list[PriorCase] = []
    for entry in node.members if node is not None else ():
        scope.check_condition(entry.get("when"), history=True)
        prior = values.frequency(entry.get("prior"), scope.faults)
        if prior is not None:
            cases.append(PriorCase(values.condition(entry.get("when")), prior))
    return tuple(cases)


def _remedy(node: Node | None, scope: Scope) -> Remedy | None:
    if node is None or not node.entries:
        return None
    for name in values.scalars(node, "read_again"):
        scope.check_name(name, values.text(name))
    works = values.frequency(node.get("works"), scope.faults)
    minutes = values.number(node, "minutes")
    return Remedy(
        do=values.text(node, "do"),
        minutes=minutes if minutes is not None else 0.0,
        works=works if works is not None else 1.0,
        parts=values.text(node, "parts"),
        read_again=values.texts(node, "read_again"),
        moves=values.texts(node, "moves"),
    )
