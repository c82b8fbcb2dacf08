"""Whether figures go together: the units of references, formulas and methods, over all kinds of stage."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from diagnose.circuits.method import Argument, Method
from diagnose.circuits.methods import METHODS
from diagnose.files.document import FOLDED, Node
from diagnose.files.faults import Faults
from diagnose.files.links import bound_kinds
from diagnose.files.read_references import RIG_UNITS
from diagnose.files.scope import Expected, Pending, Wanted, Worked
from diagnose.files.values import NO_UNIT
from diagnose.formula import FormulaError, parse_formula
from diagnose.model.conditions import one_holds
from diagnose.model.knowledge import Rig, StageKind, Tube
from diagnose.model.measuring import Reference
from diagnose.model.when import When
from diagnose.problems import Place
from diagnose.units import UnitError, dimension, split_quantity


def check_figures(
    pending: Iterable[Pending],
    kinds: Mapping[str, StageKind],
    rigs: Mapping[str, Rig],
    tubes: Mapping[str, Tube],
    faults: Faults,
) -> None:
    """Every reference exists and is of the dimension that its place wants, every formula gives its unit."""
    desk = _Desk(kinds, bound_kinds(kinds, rigs), tubes, faults)
    for item in pending:
        if isinstance(item, Wanted):
            desk.check(item.reference, item.kind, item.unit)
        elif isinstance(item, Worked):
            desk.check_formula(item)
        else:
            desk.check_computed(item)


def unit_of_tubes(figure: str, tubes: Mapping[str, Tube]) -> str | None:
    """The unit in which the tubes of the book state a figure, `block.name`; None if none of them does."""
    block, _, name = figure.partition(".")
    for tube in tubes.values():
        written = tube_block(tube, block).get(name)
        if written is not None:
            try:
                return split_quantity(written)[1]
            except UnitError:
                continue
    return None


def tube_block(tube: Tube, block: str) -> Mapping[str, str]:
    """The figures of one block of a tube: heater, ratings, characteristics, or a working point."""
    own = {"heater": tube.heater, "ratings": tube.ratings, "characteristics": tube.characteristics}
    return own.get(block) or tube.typical.get(block, {})


@dataclass(frozen=True)
class _Desk:
    """What is needed to tell the unit of a reference."""

    kinds: Mapping[str, StageKind]
    bound: Mapping[tuple[str, str], tuple[str, ...]]
    tubes: Mapping[str, Tube]
    faults: Faults

    def units(self, reference: Reference, kind: str) -> tuple[str, ...]:
        """The units that a reference may come in; none where they cannot be told."""
        if reference.amount is not None:
            return (reference.unit,)
        if reference.value:
            return (self.kinds[kind].values[reference.value].unit,)
        if reference.rig:
            return (RIG_UNITS[reference.rig],)
        if reference.tube:
            unit = unit_of_tubes(reference.tube, self.tubes)
            if unit is None:
                said = f"no tube of the book has the figure `{reference.tube}`"
                self.faults.unknown(
                    reference.place, "unknown-figure", said, reference.tube, _tube_figures(self.tubes)
                )
            return () if unit is None else (unit,)
        return tuple(dict.fromkeys(self._units_of_name(reference, kind)))

    def _units_of_name(self, reference: Reference, kind: str) -> Iterator[str]:
        """The units of a quantity, figure or derived figure: through a port, in all kinds bound to it."""
        port, dot, given = reference.quantity.partition(".")
        if not dot:
            unit = unit_of_name(self.kinds[kind], reference.quantity)
            yield from () if unit is None else (unit,)
            return
        for other in self.bound.get((kind, port), ()):
            unit = unit_of_name(self.kinds[other], given)
            if unit is not None:
                yield unit
            elif given in self.kinds[other].indications:
                sort = self.kinds[other].indications[given].sort
                said = f"`{reference.quantity}` is a {sort} of the kind {other}, and no figure"
                self.faults.error(reference.place, "reference", said)

    def check(self, reference: Reference, kind: str, unit: str) -> None:
        """The reference, and what is used in its place, is of the dimension of `unit`."""
        if reference.feature:
            said = f"`{reference.feature}` is a word, and a figure is wanted"
            self.faults.error(reference.place, "reference", said)
        for found in () if reference.feature else self.units(reference, kind):
            self._check_dimension(reference, found, unit)
        if reference.other is not None:
            self.check(reference.other, kind, unit)

    def _check_dimension(self, reference: Reference, found: str, unit: str) -> bool:
        try:
            if _same(found, unit):
                return True
        except UnitError as no_unit:
            self.faults.error(reference.place, "unit", str(no_unit))
            return False
        wanted = f"{dimension(unit)} ({unit})" if unit else dimension(unit)
        name = _named(reference)
        said = f"`{name}` is {dimension(found)}, but {wanted} is wanted"
        self.faults.error(reference.place, "unit", said)
        return False

    def check_formula(self, item: Worked) -> None:
        """The formula can be read, uses what is there, and gives the unit of the figure."""
        derived = item.derived
        try:
            formula = parse_formula(derived.formula)
        except FormulaError as error:
            self._formula_error(item.formula, error)
            return
        units: dict[str, str] = {}
        for name, reference in derived.inputs.items():
            found = self._input_units(reference, item.kind)
            if not found:
                return  # said of the reference, or nothing is known of its unit
            units[name] = found[0]
        if NO_UNIT in (derived.unit, *units.values()):
            return
        try:
            formula.check(units, derived.unit)
        except FormulaError as error:
            self._formula_error(item.formula, error)
            return
        for name, reference in derived.inputs.items():
            if name not in formula.names:
                said = f"the formula of {derived.id} does not use `{name}`"
                self.faults.warning(reference.place, "unused", said, "remove it")

    def _input_units(self, reference: Reference, kind: str) -> tuple[str, ...]:
        """The units of an input, one for each way it may be known; all of one dimension."""
        if reference.feature:
            said = f"`{reference.feature}` is a word, and a formula wants figures"
            self.faults.error(reference.place, "reference", said)
            return ()
        units = self.units(reference, kind)
        for other in units[1:]:
            self._check_dimension(reference, other, units[0])
        if units and reference.other is not None:
            self.check(reference.other, kind, units[0])
        return units

    def _formula_error(self, node: Node, error: FormulaError) -> None:
        self.faults.error(inside(node, error.column), "formula", error.text, error.hint)

    def check_computed(self, item: Expected) -> None:
        """The method exists, gives this result, and each of its arguments comes from somewhere fit for it."""
        computed, node = item.computed, item.node
        method = METHODS.get(computed.method)
        if method is None:
            said = f"`{computed.method}` is no method of computing"
            if node.get("by") is not None and computed.method:
                self.faults.unknown(node.entries["by"], "unknown-method", said, computed.method, METHODS)
            return
        result = method.results.get(computed.result)
        if result is not None and not _same(result.unit, item.quantity.unit):
            said = (
                f"`{computed.result}` is {dimension(result.unit)},"
                f" but {item.quantity.id} is {dimension(item.quantity.unit)}"
            )
            self.faults.error(node.entries["gives"], "unit", said)
        elif result is None and node.get("gives") is not None and computed.result:
            said = f"`{computed.result}` is no result of the method {method.id}"
            self.faults.unknown(
                node.entries["gives"], "unknown-result", said, computed.result, method.results
            )
        self._check_arguments(item, method)

    def _check_arguments(self, item: Expected, method: Method) -> None:
        section = item.node.get("from")
        stated = section.entries if section is not None else {}
        for name, entry in stated.items():
            if name not in method.arguments:
                said = f"`{name}` is no argument of the method {method.id}"
                self.faults.unknown(entry.key_place, "unknown-argument", said, name, method.arguments)
        for name, argument in method.arguments.items():
            if name not in stated and not argument.optional:
                said = f"the method {method.id} wants `{name}` ({argument.title})"
                hint = f"add it under `from`, {_wants(argument)}"
                self.faults.error((section or item.node).key_place, "missing-argument", said, hint)
            elif name in item.computed.inputs:
                self._check_argument(item, argument, item.computed.inputs[name])

    def _check_argument(self, item: Expected, argument: Argument, reference: Reference) -> None:
        if not argument.words:
            self.check(reference, item.kind, argument.unit)
            return
        if not reference.feature:
            said = f"`{_named(reference)}` is no word, and one of {', '.join(argument.words)} is wanted"
            self.faults.error(reference.place, "reference", said, "write `{feature: name}`")
            return
        possible = self.kinds[item.kind].features.get(reference.feature, ())
        for word in _that_pass(possible, reference.feature, item.computed.when):
            if word not in argument.words:
                said = f"`{reference.feature}` may be `{word}`, which is none of {', '.join(argument.words)}"
                hint = f"leave it out by `when: {{{reference.feature}: ...}}`"
                self.faults.error(reference.place, "unknown-value", said, hint)


def unit_of_name(kind: StageKind, name: str) -> str | None:
    """The unit of a quantity, figure or derived figure of a kind; None for anything else."""
    indication = kind.indications.get(name)
    if indication is not None and indication.sort == "quantity":
        return indication.unit
    if name in kind.figures:
        return kind.figures[name].unit
    return kind.derived[name].unit if name in kind.derived else None


def inside(node: Node, column: int) -> Place:
    """The place of a character of a scalar; where it stands on several lines, that of the scalar."""
    place = node.place
    if not place.line or node.style == FOLDED:
        return place
    return Place(place.file, place.line, place.column + len(node.style) + column - 1)


def _same(found: str, wanted: str) -> bool:
    """Whether two units are of one dimension; of a unit that is none, nothing more is said."""
    return NO_UNIT in (found, wanted) or dimension(found) == dimension(wanted)


def _named(reference: Reference) -> str:
    """A reference as the person wrote it."""
    if reference.amount is not None:
        return f"{reference.amount:g} {reference.unit}".strip()
    return reference.quantity or reference.value or reference.tube or reference.rig or reference.feature


def _wants(argument: Argument) -> str:
    if argument.words:
        return "one of " + ", ".join(argument.words)
    return f"{dimension(argument.unit)} ({argument.unit})" if argument.unit else dimension(argument.unit)


def _that_pass(words: Iterable[str], feature: str, when: When) -> list[str]:
    """The words of a feature that the tests of it let pass."""
    tests = [test for test in when if test.name == feature]
    return [word for word in words if all(one_holds(test, {feature: word}) for test in tests)]


def _tube_figures(tubes: Mapping[str, Tube]) -> list[str]:
    found: dict[str, None] = {}
    for tube in tubes.values():
        for block in ("heater", "ratings", "characteristics", *tube.typical):
            found.update((f"{block}.{name}", None) for name in tube_block(tube, block))
    return list(found)
