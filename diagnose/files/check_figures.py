"""Whether figures go together: the units of references, formulas and methods, over all kinds of stage."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from diagnose.circuits.method import Argument, Method
from diagnose.circuits.methods import METHODS
from diagnose.files.document import FOLDED, Node
from diagnose.files.faults import Faults
from diagnose.files.links import bound_kinds
from diagnose.files.reference_units import ReferenceUnits, named, same_dimension
from diagnose.files.scope import Expected, Pending, Wanted, Worked
from diagnose.files.values import NO_UNIT
from diagnose.formula import FormulaError, parse_formula
from diagnose.model.conditions import one_holds
from diagnose.model.knowledge import Rig, StageKind, Tube
from diagnose.model.measuring import Reference
from diagnose.model.when import When
from diagnose.problems import Place
from diagnose.units import dimension


def check_figures(
    pending: Iterable[Pending],
    kinds: Mapping[str, StageKind],
    rigs: Mapping[str, Rig],
    tubes: Mapping[str, Tube],
    faults: Faults,
) -> None:
    """Every reference exists and is of the dimension that its place wants, every formula gives its unit."""
    units = ReferenceUnits(kinds, bound_kinds(kinds, rigs), tubes, faults)
    desk = _Desk(units)
    for item in pending:
        if isinstance(item, Wanted):
            units.check(item.reference, item.kind, item.unit)
        elif isinstance(item, Worked):
            desk.check_formula(item)
        else:
            desk.check_computed(item)


@dataclass(frozen=True)
class _Desk:
    """Formulas and methods, held against the units of what goes into them."""

    units: ReferenceUnits

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
                self.units.faults.warning(reference.place, "unused", said, "remove it")

    def _input_units(self, reference: Reference, kind: str) -> tuple[str, ...]:
        """The units of an input, one for each way it may be known; all of one dimension."""
        if reference.feature:
            said = f"`{reference.feature}` is a word, and a formula wants figures"
            self.units.faults.error(reference.place, "reference", said)
            return ()
        units = self.units.of(reference, kind)
        for other in units[1:]:
            self.units.check_dimension(reference, other, units[0])
        if units and reference.other is not None:
            self.units.check(reference.other, kind, units[0])
        return units

    def _formula_error(self, node: Node, error: FormulaError) -> None:
        self.units.faults.error(_inside(node, error.column), "formula", error.text, error.hint)

    def check_computed(self, item: Expected) -> None:
        """The method exists, gives this result, and each of its arguments comes from somewhere fit for it."""
        computed, node = item.computed, item.node
        method = METHODS.get(computed.method)
        if method is None:
            said = f"`{computed.method}` is no method of computing"
            if node.get("by") is not None and computed.method:
                self.units.faults.unknown(
                    node.entries["by"], "unknown-method", said, computed.method, METHODS
                )
            return
        result = method.results.get(computed.result)
        if result is not None and not same_dimension(result.unit, item.quantity.unit):
            said = (
                f"`{computed.result}` is {dimension(result.unit)},"
                f" but {item.quantity.id} is {dimension(item.quantity.unit)}"
            )
            self.units.faults.error(node.entries["gives"], "unit", said)
        elif result is None and node.get("gives") is not None and computed.result:
            said = f"`{computed.result}` is no result of the method {method.id}"
            self.units.faults.unknown(
                node.entries["gives"], "unknown-result", said, computed.result, method.results
            )
        self._check_arguments(item, method)

    def _check_arguments(self, item: Expected, method: Method) -> None:
        section = item.node.get("from")
        stated = section.entries if section is not None else {}
        for name, entry in stated.items():
            if name not in method.arguments:
                said = f"`{name}` is no argument of the method {method.id}"
                self.units.faults.unknown(entry.key_place, "unknown-argument", said, name, method.arguments)
        for name, argument in method.arguments.items():
            if name not in stated and not argument.optional:
                said = f"the method {method.id} wants `{name}` ({argument.title})"
                hint = f"add it under `from`, {_wants(argument)}"
                self.units.faults.error((section or item.node).key_place, "missing-argument", said, hint)
            elif name in item.computed.inputs:
                self._check_argument(item, argument, item.computed.inputs[name])

    def _check_argument(self, item: Expected, argument: Argument, reference: Reference) -> None:
        if not argument.words:
            self.units.check(reference, item.kind, argument.unit)
            return
        if not reference.feature:
            said = f"`{named(reference)}` is no word, and one of {', '.join(argument.words)} is wanted"
            self.units.faults.error(reference.place, "reference", said, "write `{feature: name}`")
            return
        possible = self.units.kinds[item.kind].features.get(reference.feature, ())
        for word in _that_pass(possible, reference.feature, item.computed.when):
            if word not in argument.words:
                said = f"`{reference.feature}` may be `{word}`, which is none of {', '.join(argument.words)}"
                hint = f"leave it out by `when: {{{reference.feature}: ...}}`"
                self.units.faults.error(reference.place, "unknown-value", said, hint)


def _inside(node: Node, column: int) -> Place:
    """The place of a character of a scalar; where it stands on several lines, that of the scalar."""
    place = node.place
    if not place.line or node.style == FOLDED:
        return place
    return Place(place.file, place.line, place.column + len(node.style) + column - 1)


def _wants(argument: Argument) -> str:
    if argument.words:
        return "one of " + ", ".join(argument.words)
    return f"{dimension(argument.unit)} ({argument.unit})" if argument.unit else dimension(argument.unit)


def _that_pass(words: Iterable[str], feature: str, when: When) -> list[str]:
    """The words of a feature that the tests of it let pass."""
    tests = [test for test in when if test.name == feature]
    return [word for word in words if all(one_holds(test, {feature: word}) for test in tests)]
