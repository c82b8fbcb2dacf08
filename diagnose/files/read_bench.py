"""The bench file: facts, set-ups, hazards, instruments, reports and budgets as model values.

The gradings of the bench stay here as well; they become the states of every graded quantity.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from diagnose.files import values
from diagnose.files.check_facts import check_facts
from diagnose.files.choices import choice, choices
from diagnose.files.document import Node
from diagnose.files.faults import Faults
from diagnose.files.frozen import Frozen
from diagnose.files.read_features import stated_features
from diagnose.files.read_history import read_history
from diagnose.files.read_meters import read_meter
from diagnose.model.knowledge import (
    Bench,
    Budget,
    Fact,
    Hazard,
    SafetyFact,
    Setup,
    SetupState,
    StageKind,
)
from diagnose.model.measuring import Instrument

SECTIONS = (
    "facts",
    "safety",
    "setups",
    "hazards",
    "instruments",
    "gradings",
    "reports",
    "budgets",
    "advice",
    "shop_talk",
)


@dataclass(frozen=True)
class BenchFile:
    """The bench, and the gradings as they were written."""

    bench: Bench
    gradings: Mapping[str, Node]


def read_bench(root: Node, faults: Faults) -> BenchFile:
    """The bench of a whole (merged) bench document."""
    facts = Frozen({id: _fact(id, node) for id, node in _section(root, "facts")})
    safety = Frozen({id: _safety_fact(id, node, facts, faults) for id, node in _section(root, "safety")})
    hazards = Frozen({id: _hazard(id, node, safety, faults) for id, node in _section(root, "hazards")})
    instruments = {id: _instrument(id, node, faults) for id, node in _section(root, "instruments")}
    bench = Bench(
        facts=facts,
        safety_facts=safety,
        setups=Frozen({id: _setup(id, node, safety, faults) for id, node in _section(root, "setups")}),
        hazards=hazards,
        instruments=Frozen(instruments),
        reports=Frozen({id: values.frequency(node, faults) or 0.0 for id, node in _section(root, "reports")}),
        budgets=Frozen({id: _budget(id, node, facts, faults) for id, node in _section(root, "budgets")}),
        advice=Frozen({id: _figure(node, faults) for id, node in _section(root, "advice")}),
        shop_talk=Frozen({word: values.text(node) for word, node in _section(root, "shop_talk")}),
        mains_meter=choice(root.get("mains_meter"), "instrument of the bench", instruments, faults),
    )
    return BenchFile(bench, Frozen(dict(_section(root, "gradings"))))


def _section(root: Node, name: str) -> Iterable[tuple[str, Node]]:
    section = root.get(name)
    return section.entries.items() if section is not None else ()


def _title(id: str, node: Node) -> str:
    return values.text(node, "title", id.replace("_", " "))


def _instrument(id: str, node: Node, faults: Faults) -> Instrument:
    """A sort of instrument; that its kind of stage exists is checked when the kinds are known."""
    features = node.get("features")
    reads = [values.unit(entry, faults) for entry in values.scalars(node, "reads")]
    plain = Instrument(
        id=id,
        title=_title(id, node),
        kind=values.text(node, "kind"),
        features=Frozen(
            {
                name: values.text(word)
                for name, word in (features.entries if features is not None else {}).items()
            }
        ),
        reads=tuple(unit for unit in reads if unit),
        always=values.flag(node, "always"),
        limits_current=values.flag(node, "limits_current"),
    )
    usual = node.get("meter")
    if usual is None:
        return plain
    return replace(plain, meter=read_meter(id, usual, {id: plain}, faults, of=id))


def check_instruments(root: Node, kinds: Mapping[str, StageKind], faults: Faults) -> None:
    """The kinds of stage that instruments name exist, and have these features."""
    for _, node in _section(root, "instruments"):
        entry, word, features = node.get("kind"), values.text(node, "kind"), node.get("features")
        kind = kinds.get(word)
        if entry is not None and word and kind is None:
            faults.unknown(entry, "unknown-kind", f"`{word}` is no kind of stage", word, kinds)
        if features is not None and entry is None:
            said = "features are those of a kind of stage, and this instrument names none"
            faults.error(features.key_place, "missing-key", said, "add `kind:`")
        if features is not None and kind is not None:
            stated_features(features, kind, faults)


def _fact(id: str, node: Node) -> Fact:
    """A fact; the values of a choice may be a list of words or words with their titles."""
    allowed = node.get("values")
    titles: dict[str, str] = {}
    if allowed is not None:
        titles = {word: word.replace("_", " ") for word in values.texts(allowed)}
        titles |= {word: values.text(title) for word, title in allowed.entries.items()}
    return Fact(
        id=id,
        title=_title(id, node),
        ask=values.text(node, "ask"),
        kind=values.text(node, "kind"),
        values=Frozen(titles),
        unit=values.text(node, "unit"),
        most=values.number(node, "most"),
        place=node.key_place,
    )


def _figure(node: Node, faults: Faults) -> float:
    """A figure of the advice: plain minutes, or a chance written as a frequency."""
    plain = values.number(node)
    return plain if plain is not None else values.frequency(node, faults) or 0.0


def _safety_fact(id: str, node: Node, facts: Mapping[str, Fact], faults: Faults) -> SafetyFact:
    """A safety fact; its conditions test facts of the history only."""
    when, unless = node.get("when"), node.get("unless")
    for condition in (when, unless):
        check_facts(condition, facts, faults)
    if unless is not None and when is None:
        said = f"`unless` says when {id} is not asked for after all, and it is asked for always"
        faults.error(unless.key_place, "missing-key", said, "add `when:`")
    return SafetyFact(
        id=id,
        title=_title(id, node),
        ask=values.text(node, "ask"),
        when=values.condition(when),
        unless=values.condition(unless),
        place=node.key_place,
    )


def _setup(id: str, node: Node, safety: Mapping[str, SafetyFact], faults: Faults) -> Setup:
    states = Frozen(
        {
            state: SetupState(
                state,
                _title(state, entry),
                values.number(entry, "minutes") or 0.0,
                values.texts(entry, "cautions"),
                values.flag(entry, "live"),
                _safety_facts(entry, "needs", safety, faults),
                _safety_facts(entry, "needs_live", safety, faults),
                _safety_facts(entry, "needs_first", safety, faults),
            )
            for state, entry in _section(node, "states")
        }
    )
    first = node.get("first")
    if first is not None and values.text(first) not in states:
        word = values.text(first)
        said = f"`{word}` is no state of the set-up {id}"
        faults.unknown(first, "unknown-setup", said, word, states)
    return Setup(id, _title(id, node), values.text(first), states)


def _hazard(id: str, node: Node, safety: Mapping[str, SafetyFact], faults: Faults) -> Hazard:
    needs, first = (_safety_facts(node, key, safety, faults) for key in ("needs", "needs_first"))
    return Hazard(id, _title(id, node), values.texts(node, "cautions"), needs, first)


def _safety_facts(node: Node, key: str, safety: Mapping[str, SafetyFact], faults: Faults) -> tuple[str, ...]:
    """The safety facts listed under a key; each must be one of the bench's."""
    choices(node, "safety fact of the bench", safety, faults, key)
    return values.texts(node, key)


def _budget(id: str, node: Node, facts: Mapping[str, Fact], faults: Faults) -> Budget:
    range_node = node.get("faults")
    bounds = [values.number(member) for member in range_node.members] if range_node else []
    low, high = (*(bound or 0.0 for bound in bounds), 0.0, 0.0)[:2]
    if range_node is not None and not low < high:
        said = f"the range of the budget {id} runs backwards"
        faults.error(range_node, "range", said, "write it like `[0.2, 0.5]`")
    history = read_history(node.get("history"), facts, faults)
    return Budget(id, _title(id, node), history, (low, high), node.key_place)
