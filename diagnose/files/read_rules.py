"""Rules: the arrows from causes and indications to indications, and the damage parts do."""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping

from diagnose.files import values
from diagnose.files.document import Node
from diagnose.files.faults import did_you_mean
from diagnose.files.scope import Scope
from diagnose.model.conditions import one_holds
from diagnose.model.knowledge import Rule
from diagnose.problems import Place

UNPUBLISHED = ("common practice", "from memory")
_ROUNDING = 1e-9
_MANY = 4096  # combinations of features beyond which the sum is taken without telling them apart

Arrow = tuple[str, str, str, str]


def read_rules(root: Node, scope: Scope, shop: str) -> dict[str, Rule]:
    """All rules of a stage file whose ends exist, by their id within the kind."""
    section = root.get("rules")
    rules: dict[str, Rule] = {}
    for id, node in section.entries.items() if section is not None else ():
        rule = _rule(id, node, scope, shop)
        if rule is not None:
            rules[id] = rule
    for problem in _sums(rules, scope):
        scope.faults.error(*problem)
    return rules


def _rule(id: str, node: Node, scope: Scope, shop: str) -> Rule | None:
    scope.check_condition(node.get("when"))
    source = read_source(node.get("source"), scope)
    chance = values.frequency(node.get("chance"), scope.faults)
    start, target, damages = _end(node.get("from")), *_target(id, node, scope)
    if start is None or target is None:
        return None
    good = _check_start(start, scope, damages=damages)
    good = (_check_damage(target, scope) if damages else _check_end(target, scope)) and good
    if good and start[0] == target[0]:
        said = f"the rule {id} goes from {start[0]} to itself"
        scope.faults.error(node.key_place, "cycle", said)
        return None
    if not good or chance is None:
        return None
    return Rule(
        id=f"{scope.kind}/{id}",
        from_name=start[0],
        from_state=values.text(start[1]),
        to_name=target[0],
        to_state=values.text(target[1]),
        chance=chance,
        because=values.text(node, "because"),
        source=source,
        when=values.condition(node.get("when")),
        damages=damages,
        local=bool(shop) and any(below.place.file.startswith(shop) for below in node.walk()),
        place=node.key_place,
    )


def _end(node: Node | None) -> tuple[str, Node] | None:
    """Name and state of one end of an arrow."""
    if node is None or len(node.entries) != 1:
        return None
    name, state = next(iter(node.entries.items()))
    return (name, state) if state.is_scalar else None


def _target(id: str, node: Node, scope: Scope) -> tuple[tuple[str, Node] | None, bool]:
    """The far end, and whether it is a part that suffers damage."""
    to, damages = node.get("to"), node.get("damages")
    if to is not None and damages is not None:
        said = f"the rule {id} has both `to` and `damages`"
        scope.faults.error(damages.key_place, "rule-ends", said, "write two rules")
        return None, False
    if to is None and damages is None:
        said = f"the rule {id} has no `to`"
        scope.faults.error(node.key_place, "rule-ends", said, "add `to: {indication: state}`")
        return None, False
    return (_end(to), False) if damages is None else (_end(damages), True)


def _check_start(start: tuple[str, Node], scope: Scope, *, damages: bool) -> bool:
    name, state = start
    if name in scope.parts:
        return _check_mode(name, state, scope)
    if damages:
        said = f"`{name}` is no part of the kind {scope.kind}; only a part ruins another part"
        scope.faults.unknown(state.key_place, "unknown-part", said, name, scope.parts)
        return False
    if "." not in name and name not in scope.indications:
        said = f"`{name}` is no part and no indication of the kind {scope.kind}"
        known = [*scope.parts, *scope.indication_names()]
        scope.faults.unknown(state.key_place, "unknown-name", said, name, known)
        return False
    return _check_end(start, scope)


def _check_end(end: tuple[str, Node], scope: Scope) -> bool:
    """The end is a state of an indication, and not its good one."""
    name, state = end
    if name in scope.parts and name not in scope.indications:
        said = f"`{name}` is a part"
        hint = "write `damages` for one part that ruins another"
        scope.faults.error(state.key_place, "rule-ends", said, hint)
        return False
    if not scope.check_name(state.key_place, name, (state,)):
        return False
    indication = scope.indications.get(name)
    if indication is not None and values.text(state) == indication.states[0].id:
        said = f"`{values.text(state)}` is the good state of {name}; rules speak of faults"
        bad = [other.id for other in indication.states[1:]]
        scope.faults.error(state, "good-state", said, did_you_mean("", bad))
        return False
    return True


def _check_damage(end: tuple[str, Node], scope: Scope) -> bool:
    name, mode = end
    if name not in scope.parts:
        said = f"`{name}` is no part of the kind {scope.kind}"
        scope.faults.unknown(mode.key_place, "unknown-part", said, name, scope.parts)
        return False
    return _check_mode(name, mode, scope)


def _check_mode(part: str, node: Node, scope: Scope) -> bool:
    modes = [mode.id for mode in scope.parts[part].modes]
    if values.text(node) in modes:
        return True
    if not modes:
        return False
    said = f"`{values.text(node)}` is no mode of the part {part}"
    scope.faults.unknown(node, "unknown-mode", said, values.text(node), modes)
    return False


def read_source(node: Node | None, scope: Scope) -> str:
    """The source that an entry names: published, or how else it is known."""
    word = values.text(node)
    if node is not None and word and word not in UNPUBLISHED and word not in scope.shelf.sources:
        said = f"`{word}` is no source"
        known = (*UNPUBLISHED, *scope.shelf.sources)
        hint = did_you_mean(word, known) or "write `common practice`, or add it to the sources file"
        scope.faults.error(node, "unknown-source", said, hint)
    return word


def _sums(rules: Mapping[str, Rule], scope: Scope) -> Iterator[tuple[Place, str, str]]:
    """One state of a source pushes one target to one state at a time: its chances cannot pass 1."""
    groups: dict[tuple[str, str, str], list[Rule]] = defaultdict(list)
    for rule in rules.values():
        groups[rule.from_name, rule.from_state, rule.to_name].append(rule)
    for (name, state, target), group in groups.items():
        together = max(
            (_together(group, features) for features in _settings(group, scope)),
            key=lambda applying: sum(rule.chance for rule in applying),
            default=(),
        )
        total = sum(rule.chance for rule in together)
        if total > 1 + _ROUNDING:
            said = f"the chances from {name}: {state} to {target} add up to {total:g}, more than 1"
            yield together[-1].place, "chance-sum", said


def _settings(group: Iterable[Rule], scope: Scope) -> Iterator[Mapping[str, str]]:
    """All combinations of the stage's own features that these rules test."""
    names = sorted({test.name for rule in group for test in rule.when if test.name in scope.features})
    choices = [scope.features[name] for name in names]
    for combination in itertools.islice(itertools.product(*choices), _MANY):
        yield dict(zip(names, combination, strict=True))


def _together(group: Iterable[Rule], features: Mapping[str, str]) -> tuple[Rule, ...]:
    """The rules that can apply with these features; what a rig declares is taken to hold."""
    return tuple(
        rule
        for rule in group
        if all(test.name not in features or one_holds(test, features) for test in rule.when)
    )
