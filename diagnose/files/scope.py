"""What the names in a stage file may refer to, and the checks that they do."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from diagnose.files import values
from diagnose.files.check_facts import check_fact, check_words
from diagnose.files.document import Node
from diagnose.files.faults import Faults, did_you_mean
from diagnose.model.knowledge import Bench, Indication, Part, Port, Source, StageKind, Tube
from diagnose.model.measuring import Computed, Derived, Figure, Instrument, PartValue, Reference
from diagnose.problems import Place


@dataclass(frozen=True)
class Shelf:
    """What all stage files share: the bench, its gradings, the sources and the rigs' features."""

    bench: Bench
    gradings: Mapping[str, Node]
    sources: Mapping[str, Source]
    rig_features: Mapping[str, tuple[str, ...]]
    faults: Faults


@dataclass(frozen=True)
class Library:
    """What a rig may name."""

    kinds: Mapping[str, StageKind]
    tubes: Mapping[str, Tube]
    instruments: Mapping[str, Instrument]
    faults: Faults


def require(root: Node, what: str, keys: Iterable[str], faults: Faults) -> None:
    """Keys that a whole entry wants, though a shop's file that adds to it may leave them out."""
    for key in keys:
        if root.get(key) is None:
            said = f"{what} wants `{key}`, which is not here"
            faults.error(root, "missing-key", said, f"add `{key}:`")


@dataclass(frozen=True)
class Borrowed:
    """A name used through a port, with its states: checked when the neighbours are known."""

    kind: str
    port: str
    name: str
    states: tuple[tuple[str, Place], ...]
    place: Place


@dataclass(frozen=True)
class Wanted:
    """A reference that must be of the dimension of a unit: checked when all kinds are known."""

    kind: str
    reference: Reference
    unit: str


@dataclass(frozen=True)
class Worked:
    """A derived figure whose formula is to be checked, and the entry it stands in."""

    kind: str
    derived: Derived
    formula: Node


@dataclass(frozen=True)
class Expected:
    """A computation of a quantity that is to be held against its method, and the entry it stands in."""

    kind: str
    quantity: Indication
    computed: Computed
    node: Node


Pending = Wanted | Worked | Expected


@dataclass(frozen=True)
class Scope:
    """The names of one kind of stage."""

    kind: str
    shelf: Shelf
    features: Mapping[str, tuple[str, ...]]
    ports: Mapping[str, Port]
    indications: Mapping[str, Indication] = field(default_factory=dict)
    parts: Mapping[str, Part] = field(default_factory=dict)
    values: Mapping[str, PartValue] = field(default_factory=dict)
    figures: Mapping[str, Figure] = field(default_factory=dict)
    derived: Mapping[str, str] = field(default_factory=dict)  # units by name, before they are read
    pending: list[Pending] = field(default_factory=list)
    borrowed: list[Borrowed] = field(default_factory=list)

    @property
    def faults(self) -> Faults:
        """Where problems go."""
        return self.shelf.faults

    def indication_names(self) -> Iterable[str]:
        """Own indications, then those of the neighbours."""
        yield from self.indications
        for port in self.ports.values():
            for name in port.gives:
                yield f"{port.id}.{name}"

    def check_name(self, where: Node | Place, name: str, states: Iterable[Node] = ()) -> bool:
        """Whether `name` is an indication here, and these are its states."""
        port, dot, given = name.partition(".")
        if dot:
            return self._check_borrowed(where, name, port, given, states)
        indication = self.indications.get(name)
        if indication is None:
            said = f"`{name}` is no indication of the kind {self.kind}"
            self.faults.unknown(where, "unknown-name", said, name, self.indication_names())
            return False
        return self._check_states(indication, states)

    def _check_states(self, indication: Indication, states: Iterable[Node]) -> bool:
        known = [state.id for state in indication.states]
        good = bool(known)
        for node in states:
            if known and values.text(node) not in known:
                said = f"`{values.text(node)}` is no state of {indication.id}"
                hint = did_you_mean(values.text(node), known)
                self.faults.error(node, "unknown-state", said, hint)
                good = False
        return good

    def _check_borrowed(
        self, where: Node | Place, name: str, port_id: str, given: str, states: Iterable[Node]
    ) -> bool:
        place = where.place if isinstance(where, Node) else where
        port = self.ports.get(port_id)
        if port is None:
            said = f"`{port_id}` is no port of the kind {self.kind}"
            known = [*self.ports, *self.indication_names()]
            self.faults.unknown(place, "unknown-port", said, name, known)
            return False
        if given not in port.gives:
            said = f"the port {port_id} does not give `{given}`"
            hint = did_you_mean(given, port.gives) or f"add it to the `gives` of {port_id}"
            self.faults.error(place, "unknown-name", said, hint)
            return False
        used = tuple((values.text(node), node.place) for node in states)
        self.borrowed.append(Borrowed(self.kind, port_id, given, used, place))
        return True

    def check_condition(self, node: Node | None, *, history: bool = False) -> None:
        """Whether a `when` tests what exists: features, and facts where it is a history."""
        for name, entry in node.entries.items() if node is not None else ():
            if name in self.features:
                check_words(entry, name, self.features[name], self.faults)
            elif name in self.shelf.rig_features:
                check_words(entry, name, self.shelf.rig_features[name], self.faults)
            elif name in self.shelf.bench.facts:
                if history:
                    check_fact(self.shelf.bench.facts[name], entry, self.faults)
                else:
                    said = f"`{name}` is a fact of the case; only the `history` of a prior tests facts"
                    self.faults.error(entry.key_place, "condition", said, "test a feature instead")
            else:
                known = [*self.features, *self.shelf.rig_features]
                known += self.shelf.bench.facts if history else ()
                said = f"`{name}` is no feature of the kind {self.kind} or of a rig"
                said += ", and no fact of a history" if history else ""
                self.faults.unknown(entry.key_place, "unknown-feature", said, name, known)
