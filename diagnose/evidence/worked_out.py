"""One derived figure: a formula of the book with the figures that were had for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from diagnose.evidence.layout import PlacedDerived, bound_formula
from diagnose.formula import Bound, FormulaError
from diagnose.model.result import DerivedFigure
from diagnose.uncertain import Uncertain


@dataclass(frozen=True, eq=False)
class Had:
    """A figure that can be put into a formula, with the readings in it (by their number in the case).

    `instruments`: by instrument the power of its gain in the amount; of a figure that was worked out, `from_figures`
    knows them.
    """

    amount: Uncertain
    unit: str
    mode: str = ""
    band: str = ""
    used: frozenset[int] = frozenset()
    instruments: Mapping[str, float] = field(default_factory=dict)
    from_figures: WorkedOut | None = None

    def powers(self) -> Mapping[str, float]:
        """By instrument, the power of its gain in the amount."""
        return self.instruments if self.from_figures is None else self.from_figures.exact_powers


@dataclass(frozen=True, eq=False)
class WorkedOut:
    """A derived figure with what went into its formula.

    `used`: the readings in it, by their number in the case; `names`: what they are readings of.
    """

    placed: PlacedDerived
    inputs: Mapping[str, Had]
    used: frozenset[int]
    names: tuple[str, ...]
    notes: tuple[str, ...] = ()

    @property
    def mode(self) -> str:
        """The mode that it holds for, "" where none of its readings says one."""
        return next((had.mode for had in self.inputs.values() if had.mode), "")

    @property
    def band(self) -> str:
        """The band that it holds for."""
        return next((had.band for had in self.inputs.values() if had.band), "")

    @cached_property
    def had(self) -> Had | None:
        """The figure as one that others can be worked out from; None where the formula has no value."""
        found = self._result
        if isinstance(found, FormulaError):
            return None
        unit = self.placed.derived.unit
        return Had(found, unit, self.mode, self.band, self.used, from_figures=self)

    @cached_property
    def exact_powers(self) -> Mapping[str, float]:
        """By instrument, how the logarithm of the figure goes with that of its gain."""
        had = self.had
        if had is None or not any(x.powers() for x in self.inputs.values()):
            return {}
        moved = {
            name: Uncertain(x.amount.value, {i: power * x.amount.value for i, power in x.powers().items()})
            for name, x in self.inputs.items()
        }
        value = had.amount.value
        try:
            parts = self._bound.uncertain(moved).parts
        except FormulaError:  # beyond what numbers hold
            return {}
        # of nothing at all every instrument has the whole
        return {name: part / value if value else 1.0 for name, part in parts.items()}

    def powers(self) -> Mapping[str, float]:
        """The same to the next half; instruments that cancel are left out."""
        rounded = {name: round(2.0 * power) / 2.0 for name, power in self.exact_powers.items()}
        return {name: power for name, power in rounded.items() if power}

    @cached_property
    def shown(self) -> str:
        """The arithmetic with its figures; nothing where the formula has no value."""
        if self.had is None:
            return ""
        return self._bound.shown({name: had.amount.value for name, had in self.inputs.items()})

    @cached_property
    def figure(self) -> DerivedFigure:
        """What is told of it."""
        derived, found = self.placed.derived, self._result
        amount = Uncertain(0.0) if isinstance(found, FormulaError) else found
        notes = self.notes
        if isinstance(found, FormulaError):
            notes = (*notes, f"{found.text} ({found.hint})" if found.hint else found.text)
        return DerivedFigure(
            id=self.placed.id,
            title=derived.title,
            stage=self.placed.stage.id,
            unit=derived.unit,
            value=None if isinstance(found, FormulaError) else amount.value,
            standard=amount.standard,
            mode=self.mode,
            band=self.band,
            budget=tuple((line.source, line.contribution) for line in amount.budget()),
            shown=self.shown,
            inputs=self.names,
            gives=self.placed.gives,
            quiet=derived.quiet,
            source=derived.source,
            notes=notes,
        )

    @property
    def _bound(self) -> Bound:
        units = tuple((name, had.unit) for name, had in self.inputs.items())
        return bound_formula(self.placed.derived.formula, units, self.placed.derived.unit)

    @cached_property
    def _result(self) -> Uncertain | FormulaError:
        """The figure in its unit, or why there is none."""
        try:
            return self._bound.uncertain({name: had.amount for name, had in self.inputs.items()})
        except FormulaError as error:
            return error
