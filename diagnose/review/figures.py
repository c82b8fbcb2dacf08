"""Are the figures in proportion: the prior budget of each rig, and the chart that readings need."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from diagnose.evidence.figures import computed_values, why_not
from diagnose.model.assembly import Assembly, PlacedPart
from diagnose.model.knowledge import Budget, Rig
from diagnose.model.priors import expected_faults
from diagnose.problems import ERROR, NOTE, WARNING, Problem
from diagnose.review.survey import Survey


@dataclass(frozen=True)
class BudgetLine:
    """The number of faults expected in a rig with a declared history, and the range it must lie in."""

    rig: str
    budget: Budget
    faults: float

    @property
    def kept(self) -> bool:
        """Whether it lies in its range."""
        lowest, highest = self.budget.faults
        return lowest <= self.faults <= highest


def budget_table(survey: Survey) -> tuple[BudgetLine, ...]:
    """One line for each rig and declared history; the instruments beside the rig are no part of it."""
    return tuple(
        BudgetLine(
            id, budget, expected_faults(_own_parts(survey.book.rigs[id], laid.assembly), budget.history)
        )
        for id, laid in survey.laid.items()
        for budget in survey.book.bench.budgets.values()
    )


def _own_parts(rig: Rig, assembly: Assembly) -> Mapping[str, PlacedPart]:
    return {id: placed for id, placed in assembly.parts.items() if placed.stage in rig.stages}


def broken_budgets(survey: Survey) -> Iterator[Problem]:
    """A rig is expected to have as many faults as its history says, however finely it is described."""
    for line in budget_table(survey):
        if not line.kept:
            lowest, highest = line.budget.faults
            rig = survey.book.rigs[line.rig]
            yield Problem(
                rig.place,
                WARNING if rig.local else ERROR,  # a shop may well have a smaller rig than those of the book
                "budget",
                f"{line.faults:.2f} faults are expected in {line.rig} {line.budget.title}, "
                f"but the budget is {lowest:g} to {highest:g}",
                "scale the priors, or divide the prior of a part that was split",
            )


def missing_chart_rows(survey: Survey) -> Iterator[Problem]:
    """A measured value says something only where the chart has a row for it, or the parts of the rig do."""
    for laid in survey.laid.values():
        rig = laid.assembly.rig
        modes = rig.features.get("modes") or ("",)
        computed = {name for mode in modes for name in computed_values(laid.assembly, mode)}
        reasons = {name: why for mode in modes for name, why in why_not(laid.assembly, mode).items()}
        known = {row.quantity for row in rig.chart} | computed
        missing = [
            name
            for name, placed in laid.assembly.indications.items()
            if placed.indication.scale == "ratio" and name not in known
        ]
        if missing:
            told = (
                f"{name} (not computed: {reasons[name]})" if name in reasons else name for name in missing
            )
            yield Problem(
                rig.place,
                NOTE,
                "no-chart-row",
                f"the chart of {rig.id} has no value for {', '.join(told)}",
                "a reading of these counts only when it is given in words",
            )
