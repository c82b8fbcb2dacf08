"""The way from a cause to an observation: the strongest path along the rules."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from diagnose.model.assembly import Assembly, Link
from diagnose.problems import Place


@dataclass(frozen=True)
class ChainStep:
    """One rule on the way from the cause to what was observed."""

    from_title: str
    from_state: str
    to_title: str
    to_state: str
    chance: float
    rule_id: str
    because: str
    source: str
    place: Place
    local: bool


def strongest_path(assembly: Assembly, cause: str, target: str, state: str | None = None) -> tuple[Link, ...]:
    """The links from a cause to an indication with the greatest product of chances; empty if none.

    `state` asks for a path that ends in that state of the indication.
    """
    part, _, mode = cause.rpartition(".")
    best: dict[tuple[str, str], tuple[float, tuple[Link, ...]]] = {(part, mode): (1.0, ())}
    outgoing: dict[str, list[Link]] = {}
    for link in assembly.links:
        outgoing.setdefault(link.parent, []).append(link)
    for name in assembly.order:
        here = [(key, value) for key, value in best.items() if key[0] == name]
        for (_, parent_state), (chance, path) in here:
            for link in outgoing.get(name, ()):
                if link.parent_state != parent_state:
                    continue
                key = (link.child, link.child_state)
                if key not in best or best[key][0] < chance * link.chance:
                    best[key] = (chance * link.chance, (*path, link))
    ends = [
        value
        for (name, end_state), value in best.items()
        if name == target and (state is None or end_state == state)
    ]
    return max(ends, key=lambda value: value[0])[1] if ends else ()


def steps(assembly: Assembly, links: Iterable[Link]) -> tuple[ChainStep, ...]:
    """Links as steps that can be read, each once, in order."""
    seen: dict[Link, ChainStep] = {}
    for link in links:
        if link not in seen:
            seen[link] = ChainStep(
                _title(assembly, link.parent),
                _state(assembly, link.parent, link.parent_state),
                _title(assembly, link.child),
                _state(assembly, link.child, link.child_state),
                link.chance,
                link.rule.id,
                link.rule.because.strip(),
                link.rule.source,
                link.rule.place,
                link.rule.local,
            )
    return tuple(seen.values())


def _title(assembly: Assembly, name: str) -> str:
    if name in assembly.parts:
        return assembly.parts[name].part.title
    placed = assembly.indications[name]
    return f"{assembly.rig.stages[placed.stage].title}: {placed.indication.title}"


def _state(assembly: Assembly, name: str, state: str) -> str:
    if name in assembly.parts:
        for mode in assembly.parts[name].part.modes:
            if mode.id == state:
                return mode.title
    else:
        for candidate in assembly.indications[name].indication.states:
            if candidate.id == state and candidate.title:
                return candidate.title
    return state.replace("_", " ")
