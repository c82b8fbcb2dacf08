"""What can be worked out on one rig, found once: figures, derived figures, and what readings make together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from diagnose.evidence.references import one_after_another
from diagnose.formula import Bound, FormulaError, parse_formula
from diagnose.model.assembly import Assembly, PlacedIndication, resolve
from diagnose.model.conditions import features_of, holds
from diagnose.model.knowledge import Indication, Stage
from diagnose.model.measuring import Answer, Derived, Figure
from diagnose.units import UnitError


@dataclass(frozen=True)
class PlacedDerived:
    """A derived figure on a stage of the rig.

    `gives` is the quantity that it is a reading of, `names` all that it may use what was read of, both on the rig;
    `read` are the local names that stand in its formula as readings.
    """

    id: str
    stage: Stage
    derived: Derived
    gives: str = ""
    names: tuple[str, ...] = ()
    read: frozenset[str] = frozenset()


@dataclass(frozen=True, eq=False)
class Layout:
    """Figures (as what can be read), derived figures, what gives a quantity and what answers a sign, by id on the rig.

    `limited`, `over_bands` and `of_pair` are the indications that declare such.
    """

    figures: Mapping[str, PlacedIndication]
    derived: Mapping[str, PlacedDerived]
    giving: Mapping[str, tuple[str, ...]]
    answering: Mapping[str, tuple[tuple[str, Answer], ...]]
    limited: tuple[PlacedIndication, ...]
    over_bands: tuple[PlacedIndication, ...]
    of_pair: tuple[PlacedIndication, ...]


@lru_cache(maxsize=32)  # by the identity of the assembly
def layout_of(assembly: Assembly) -> Layout:
    """What can be worked out on a rig."""
    figures: dict[str, PlacedIndication] = {}
    derived: dict[str, PlacedDerived] = {}
    giving: dict[str, list[str]] = {}
    answering: dict[str, list[tuple[str, Answer]]] = {}
    for stage in assembly.rig.stages.values():
        kind = assembly.book.kinds[stage.kind]
        features = features_of(assembly.rig, stage)
        for figure in kind.figures.values():
            id = f"{stage.id}.{figure.id}"
            figures[id] = PlacedIndication(id, stage.id, _as_indication(figure))
        for entry in kind.derived.values():
            if holds(entry.when, features):
                id, gives = f"{stage.id}.{entry.id}", f"{stage.id}.{entry.gives}"
                gives = gives if entry.gives and gives in assembly.indications else ""
                derived[id] = _placed(id, stage, entry, gives)
                if gives:
                    giving.setdefault(gives, []).append(id)
                for answer in entry.answers:
                    sign = f"{stage.id}.{answer.indication}"
                    if sign in assembly.indications:
                        answering.setdefault(sign, []).append((id, replace(answer, indication=sign)))
    placed = tuple(assembly.indications.values())
    return Layout(
        figures,
        derived,
        {name: tuple(ids) for name, ids in giving.items()},
        {name: tuple(ids) for name, ids in answering.items()},
        tuple(p for p in placed if p.indication.limit is not None),
        tuple(p for p in placed if p.indication.over_bands is not None),
        tuple(p for p in placed if p.indication.of_pair is not None),
    )


def _placed(id: str, stage: Stage, derived: Derived, gives: str) -> PlacedDerived:
    references = [each for first in derived.inputs.values() for each in one_after_another(first)]
    names = [resolve(stage, reference.quantity) for reference in references if reference.quantity]
    read = frozenset(r.quantity for r in references if r.quantity and not r.expected)
    used = tuple(dict.fromkeys(name for name in names if name is not None))
    return PlacedDerived(id, stage, derived, gives, used, read)


def _as_indication(figure: Figure) -> Indication:
    """A figure as something that is read, but has no states."""
    return Indication(
        id=figure.id,
        sort="figure",
        title=figure.title,
        ask=figure.ask,
        states=(),
        unit=figure.unit,
        reads_within=figure.reads_within,
        read_with=figure.read_with,
        place=figure.place,
    )


@lru_cache(maxsize=4096)  # a book has some hundred formulas, each with one set of units or two
def bound_formula(text: str, units: tuple[tuple[str, str], ...], result_unit: str) -> Bound:
    """A formula with units, read once. Raises FormulaError where they do not go together."""
    try:
        return parse_formula(text).bound({name: _plain(unit) for name, unit in units}, _plain(result_unit))
    except UnitError as error:
        raise FormulaError(error.text, 1, error.hint) from error


def _plain(unit: str) -> str:
    """The unit as it is written behind a number: none behind a plain one."""
    return "" if unit == "dimensionless" else unit
