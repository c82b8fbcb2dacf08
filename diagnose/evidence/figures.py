"""What a good set would show where its chart says nothing: computed from its parts by a method.

A value is worked out when it is first asked for, with all that it rests on. Its uncertainty is that of the method
and of its inputs (`runs`), the same part being one source in all that rests on it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache

from diagnose.circuits.method import Argument, Method
from diagnose.circuits.methods import METHODS
from diagnose.evidence.chart import row_of
from diagnose.evidence.references import Stated, converted, stated, title_of, word_of
from diagnose.evidence.runs import Inputs, Runs
from diagnose.model.assembly import Assembly, PlacedIndication, resolve
from diagnose.model.conditions import features_of, holds
from diagnose.model.knowledge import Stage
from diagnose.model.measuring import Computed, Reference
from diagnose.uncertain import Uncertain, measured

SOURCE_WITHIN = 0.2  # relative uncertainty of a source resistance of which nothing is said


@dataclass(frozen=True)
class ComputedValue:
    """An expected value in the unit of its quantity, the method in words, its relative standard uncertainty."""

    value: float
    by: str
    within: float


def computed_values(assembly: Assembly, mode: str) -> Mapping[str, ComputedValue]:
    """What the parts of the rig say of its quantities, by id on the rig; each is computed when it is asked for."""
    return _workings(assembly, mode)


def why_not(assembly: Assembly, mode: str) -> Mapping[str, str]:
    """Why a quantity that has a method could not be computed, by id on the rig. Computes all of them."""
    return _workings(assembly, mode).reasons()


def expected_amount(assembly: Assembly, quantity: str, mode: str, band: str = "") -> Uncertain | None:
    """What a good set shows, by the chart or else computed, in the unit of the quantity (id on the rig); None where neither is."""
    found = _workings(assembly, mode).expected(quantity, band)
    return found if isinstance(found, Uncertain) else None


def ohms_of(assembly: Assembly, stage: str, reference: Reference | None) -> tuple[float, float] | None:
    """A resistance in ohms and how far it is known (relative, standard); None where it is not.

    `stage` is the id of the stage on the rig whose names the reference uses.
    """
    at, on = reference, assembly.rig.stages[stage]
    while at is not None:
        found: Stated | None
        if at.quantity:
            amount = _workings(assembly, "").input(on, at)
            found = amount if isinstance(amount, Stated) else None
        else:
            found = stated(assembly, on, at)
        ohms = found.into("ohm") if found is not None else None
        if found is not None and ohms is not None:
            return ohms.value, ohms.relative if found.said else SOURCE_WITHIN
        at = at.other
    return None


@lru_cache(maxsize=32)  # by the identity of the assembly: a batch has few rigs and modes
def _workings(assembly: Assembly, mode: str) -> _Workings:
    return _Workings(assembly, mode)


@dataclass(frozen=True)
class _Found:
    """A computed value with the sources of its uncertainty."""

    amount: Uncertain
    by: str


class _Workings(Mapping[str, ComputedValue]):
    """The expected values of a rig in one mode. What cannot be computed has a reason in the place of a value."""

    def __init__(self, assembly: Assembly, mode: str) -> None:
        self._assembly, self._mode = assembly, mode
        self._known: dict[str, _Found | str] = {}
        self._running: list[str] = []
        self._runs = Runs()

    def __getitem__(self, name: str) -> ComputedValue:
        found = self._computed(name)
        if isinstance(found, str):
            raise KeyError(name)
        within = found.amount.relative
        # a nought that is not exact is known to no share of itself
        return ComputedValue(found.amount.value, found.by, within if math.isfinite(within) else 1.0)

    def __iter__(self) -> Iterator[str]:
        return (name for name in self._with_method() if not isinstance(self._computed(name), str))

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def reasons(self) -> dict[str, str]:
        """Why not, for each quantity that has a method and no value."""
        found = {name: self._computed(name) for name in self._with_method()}
        return {name: reason for name, reason in found.items() if isinstance(reason, str)}

    def expected(self, name: str, band: str = "") -> Uncertain | str:
        """What a good set shows, in the unit of the quantity; or why nothing can be said.

        The chart says what is usual: good sets differ from it by half the tolerance (one deviation).
        """
        placed = self._assembly.indications.get(name)
        row = row_of(self._assembly.rig.chart, name, self._mode, band)
        if placed is None:
            return f"{name} is nothing that a good set is known to show"
        if row is not None:
            tolerance = placed.indication.tolerance if row.tolerance is None else row.tolerance
            return measured(row.value, 0.5 * tolerance * abs(row.value), f"{name}, from set to set")
        found = self._computed(name)
        return found if isinstance(found, str) else found.amount

    def input(self, stage: Stage, reference: Reference) -> Stated | str:
        """A figure of the stage without what stands in its place; or why it is not known."""
        if not reference.quantity:
            found = stated(self._assembly, stage, reference)
            return found or f"the {title_of(self._assembly, stage, reference)} is not known"
        name = resolve(stage, reference.quantity)
        if name is None:
            return f"nothing stands at {reference.quantity.partition('.')[0]}"
        amount = self.expected(name)
        if isinstance(amount, str):
            return amount
        if reference.within is not None:
            amount = measured(amount.value, reference.within * abs(amount.value), f"{name}, as stated")
        return Stated(amount, self._assembly.indications[name].indication.unit)

    def _with_method(self) -> list[str]:
        return [name for name, placed in self._assembly.indications.items() if placed.indication.computed]

    def _computed(self, name: str) -> _Found | str:
        if name in self._running:
            return "it rests on itself: " + " from ".join((*self._running[self._running.index(name) :], name))
        if name not in self._known:
            placed = self._assembly.indications.get(name)
            self._running.append(name)
            try:
                found = "there is no method for it" if placed is None else self._by_its_methods(placed)
            finally:
                self._running.pop()
            if self._running and isinstance(found, str):
                return found  # a circle is only one seen from inside: it is looked at anew from elsewhere
            self._known[name] = found
        return self._known[name]

    def _by_its_methods(self, placed: PlacedIndication) -> _Found | str:
        """By the first of its methods that applies and can be carried out; else the first reason."""
        stage = self._assembly.rig.stages[placed.stage]
        features = features_of(self._assembly.rig, stage)
        reasons = []
        for computed in placed.indication.computed:
            if holds(computed.when, features):
                found = self._by_method(placed, stage, computed)
                if not isinstance(found, str):
                    return found
                reasons.append(found)
        return reasons[0] if reasons else "no method applies to this rig"

    def _by_method(self, placed: PlacedIndication, stage: Stage, computed: Computed) -> _Found | str:
        method = METHODS.get(computed.method)
        if method is None or computed.result not in method.results:
            return f"there is no method {computed.method} that gives {computed.result}"
        inputs = self._inputs(stage, computed, method)
        if isinstance(inputs, str):
            return inputs
        result = self._runs.with_uncertainty(method, computed.result, inputs)
        if isinstance(result, str):
            return result
        own = method.results[computed.result]
        parts = dict(result.parts)
        parts[f"{placed.id} by {method.id}"] = own.within * abs(result.value)
        amount = converted(Uncertain(result.value, parts), own.unit, placed.indication.unit)
        if amount is None:
            return f"{method.title} gives no {placed.indication.unit}"
        plausible = placed.indication.plausible
        by_size = plausible is not None and plausible[0] >= 0.0  # bias, for one, is read by its size
        return _Found(-amount if by_size and amount.value < 0.0 else amount, method.title)

    def _inputs(self, stage: Stage, computed: Computed, method: Method) -> Inputs | str:
        figures: dict[str, Uncertain] = {}
        words: dict[str, str] = {}
        for name, argument in method.arguments.items():
            reference = computed.inputs.get(name)
            reason = "it is not given"
            found: Uncertain | str | None = None
            while reference is not None and found is None:
                found, reason = self._argument(stage, reference, argument)
                reference = reference.other
            if isinstance(found, str):
                words[name] = found
            elif found is not None:
                figures[name] = found
            elif not argument.optional:
                return f"{argument.title}: {reason}"
        return Inputs(figures, words)

    def _argument(
        self, stage: Stage, reference: Reference, argument: Argument
    ) -> tuple[Uncertain | str | None, str]:
        """One argument from one reference, without what stands in its place; else None and the reason."""
        if reference.feature:
            word = word_of(self._assembly, stage, reference)
            if word is None:
                return None, f"{reference.feature} is not known"
            if not argument.words:
                return None, f"{reference.feature} is a word and no figure"
            return (word, "") if word in argument.words else (None, f"nothing is known of `{word}`")
        found = self.input(stage, reference)
        if isinstance(found, str):
            return None, found
        amount = found.into(argument.unit)
        return amount, f"`{found.unit}` is no unit of it"
