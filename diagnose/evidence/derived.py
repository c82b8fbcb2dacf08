"""Figures worked out by the formulas of the book from readings, at the mains of today.

For each condition (mode, band) that the readings share there is one result. Each reading is a source of uncertainty
of its own, what readings share (one meter, one part) is one source in all of them: JCGM 100:2008, 5.2.2.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cached_property

from diagnose.evidence import amounts
from diagnose.evidence.condition import At, best, may_be
from diagnose.evidence.figures import expected_amount
from diagnose.evidence.layout import PlacedDerived, layout_of
from diagnose.evidence.mains import factor, widening
from diagnose.evidence.read_with import instruments_of
from diagnose.evidence.references import converted, one_after_another, stated
from diagnose.evidence.worked_out import Had, WorkedOut
from diagnose.model.assembly import Assembly, PlacedIndication, resolve
from diagnose.model.case import Case, Observation
from diagnose.model.knowledge import Stage
from diagnose.model.measuring import Reference
from diagnose.model.periods import is_now
from diagnose.model.result import Finding, Path
from diagnose.uncertain import measured

SAME_MAINS = 0.01  # share of the line voltage within which readings count as taken at one


class Workings:
    """The readings of a case and all that can be worked out from them; each figure when it is first asked for.

    `findings` of the case, where there are any, save the way from the dial a second time.
    """

    def __init__(self, assembly: Assembly, case: Case, findings: Sequence[Finding] = ()) -> None:
        self.assembly, self.case = assembly, case
        self.layout = layout_of(assembly)
        self._paths = {id(f.observation): f.path for f in findings if f.path is not None}
        self._read = _by_name(case)
        self._readings: dict[str, tuple[Had, ...]] = {}
        self._had: dict[str, tuple[Had, ...]] = {}
        self._results: dict[str, tuple[WorkedOut, ...]] = {}
        self._running: set[str] = set()

    @cached_property
    def results(self) -> tuple[WorkedOut, ...]:
        """Every derived figure that can be had, in the order of the stages."""
        return tuple(found for name in self.layout.derived for found in self.worked_out(name))

    def readings(self, name: str) -> tuple[Had, ...]:
        """What was read of a quantity or figure, one for each condition."""
        if name not in self._readings:
            placed = self.layout.figures.get(name) or self.assembly.indications.get(name)
            numbers = self._read.get(name, ()) if placed is not None else ()
            self._readings[name] = tuple(self._reading(placed, n) for n in numbers if placed is not None)
        return self._readings[name]

    def condition(self, observation: Observation) -> tuple[str, str]:
        """Mode and band of a reading, those of the case where it says nothing."""
        return observation.mode or self.case.mode, observation.band or self.case.band

    def was_read(self, name: str, mode: str, band: str) -> bool:
        """Whether a quantity was read or told under a condition that may be this one."""
        return any(
            o.name == name and (o.value is not None or o.state) and may_be(mode, band, *self.condition(o))
            for o in self.case.observations
        )

    def had(self, name: str) -> tuple[Had, ...]:
        """Readings of a quantity, figure or derived figure, and of a quantity also what else gives it."""
        if name in self._had:
            return self._had[name]
        if name in self.layout.derived:
            found = tuple(had for w in self.worked_out(name) if (had := w.had) is not None)
        else:
            found = self.readings(name)
            for giver in self.layout.giving.get(name, ()):
                found = (*found, *self._given(name, giver, found))
        if not self._running.intersection((name, *self.layout.giving.get(name, ()))):
            self._had[name] = found
        return found

    def one(self, stage: Stage, reference: Reference, at: At) -> Had | None:
        """The figure that a reference names, or what stands in its place; None if none of them is known."""
        for each in one_after_another(reference):
            found = self.just(stage, each, at)
            if found is not None:
                return found
        return None

    def just(self, stage: Stage, reference: Reference, at: At) -> Had | None:
        """The same, without what stands in its place.

        What was read comes first; then, of a quantity that says `expected`, what a good set shows.
        """
        if not reference.quantity:
            band, hertz = at.band or self.case.band, self.case.mains_frequency
            found = stated(self.assembly, stage, reference, band, hertz)
            return None if found is None else Had(found.amount, found.unit)
        name = resolve(stage, reference.quantity)
        if name is None:
            return None
        if not (reference.expected and reference.quantity in at.beside):
            read = best(self.had(name), at.mode, at.band)
            if read is not None:
                return read
        return self._expected(name, reference, at) if reference.expected else None

    def worked_out(self, name: str) -> tuple[WorkedOut, ...]:
        """The results of one derived figure (id on the rig), one for each condition."""
        if name in self._running:
            return ()  # refused when the book is read; and what a quantity gives does not follow from itself
        if name not in self._results:
            self._running.add(name)
            try:
                self._results[name] = tuple(self._each(self.layout.derived[name]))
            finally:
                self._running.remove(name)
        return self._results[name]

    def mains_of(self, used: Iterable[int]) -> list[float]:
        """The line voltages (V) of readings (by their number in the case), where they are known."""
        own = (self.case.observations[number].mains for number in sorted(used))
        found = (self.case.mains if mains is None else mains for mains in own)
        return [mains for mains in found if mains is not None]

    def told_by(self, used: Iterable[int]) -> str:
        """Of who told readings (by their number in the case), the one that is right least often; ValueError for none at all."""
        reports = self.assembly.book.bench.reports
        told = [self.case.observations[number].told_by for number in sorted(used)]
        return min(told, key=lambda by: reports[by])

    def _reading(self, placed: PlacedIndication, number: int) -> Had:
        """One observation of the case, that of this number, as a figure of today."""
        observation = self.case.observations[number]
        path: Path | None = self._paths.get(id(observation))
        if path is None:
            path = amounts.path_to(self.assembly, self.case, placed, observation)
        amount = amounts.today(placed.id, observation, path)
        unit, usual = placed.indication.unit, placed.indication.read_with
        shown = instruments_of(self.assembly, self.case, observation, usual, unit)
        mode, band = self.condition(observation)
        return Had(amount, unit, mode, band, frozenset({number}), dict.fromkeys(shown, 1.0))

    def _given(self, name: str, giver: str, known: Sequence[Had]) -> Iterator[Had]:
        """What a derived figure says of a quantity under conditions that nothing is known of."""
        unit = self.assembly.indications[name].indication.unit
        for found in self.worked_out(giver):
            had = found.had
            if had is None or any(may_be(had.mode, had.band, k.mode, k.band) for k in known):
                continue
            amount = converted(had.amount, had.unit, unit)
            if amount is not None:
                yield replace(had, amount=amount, unit=unit)

    def _expected(self, name: str, reference: Reference, at: At) -> Had | None:
        """What a good set shows at the mains of today."""
        placed = self.assembly.indications.get(name)
        amount = expected_amount(self.assembly, name, at.mode or self.case.mode, at.band or self.case.band)
        if placed is None or amount is None:
            return None
        if reference.within is not None:
            amount = measured(amount.value, reference.within * abs(amount.value), f"{name}, as stated")
        indication, chart = placed.indication, self.assembly.rig.mains_voltage
        today = amount * factor(at.mains, chart, indication.follows_mains, indication.drops_out_below)
        wider = widening(at.mains, chart, indication.follows_mains) * abs(today.value)
        if wider:
            today = today + measured(0.0, wider, f"{name}, carried to {at.mains:g} V of mains")
        return Had(today, indication.unit)

    def _each(self, placed: PlacedDerived) -> Iterator[WorkedOut]:
        """One result for each set of readings that share a condition."""
        done: list[frozenset[int]] = []
        for mode, band in self._conditions(placed):
            if mode and placed.derived.in_mode and mode not in placed.derived.in_mode:
                continue
            found = self._inputs(placed, At(mode, band, self.case.mains, placed.read))
            if found is None:
                continue
            used = frozenset[int]().union(*(had.used for had in found.values()))
            if not used or any(used <= others for others in done):
                continue
            done.append(used)
            mains = self.mains_of(used)
            if mains and mains[0] != self.case.mains:
                found = self._inputs(placed, At(mode, band, mains[0], placed.read)) or found
            names = dict.fromkeys(self.case.observations[number].name for number in sorted(used))
            yield WorkedOut(placed, found, used, tuple(names), _mixed(mains))

    def _inputs(self, placed: PlacedDerived, at: At) -> dict[str, Had] | None:
        """What goes into the formula; None where something is not known."""
        found: dict[str, Had] = {}
        for name, reference in placed.derived.inputs.items():
            had = self.one(placed.stage, reference, at)
            if had is None:
                return None
            found[name] = had
        return found

    def _conditions(self, placed: PlacedDerived) -> list[tuple[str, str]]:
        """The conditions under which some input was read, the most particular first."""
        read = [had for name in placed.names for had in self.had(name)]
        if not read:
            return []
        modes = [*dict.fromkeys(had.mode for had in read if had.mode), ""]
        bands = [*dict.fromkeys(had.band for had in read if had.band), ""]
        return [(mode, band) for mode in modes for band in bands]


def _mixed(mains: Sequence[float]) -> tuple[str, ...]:
    """What is to be said of readings at different line voltages."""
    if mains and max(mains) > (1.0 + SAME_MAINS) * min(mains):
        return (f"its readings were taken at {min(mains):g} to {max(mains):g} V of mains",)
    return ()


def _by_name(case: Case) -> Mapping[str, tuple[int, ...]]:
    """The numbers of the readings of the set as it is now, by name: of each condition the last, warm before cold."""
    chosen: dict[tuple[str, str, str], int] = {}
    for number, observation in enumerate(case.observations):
        if observation.value is None or not is_now(case, observation):
            continue
        key = (observation.name, observation.mode or case.mode, observation.band or case.band)
        earlier = chosen.get(key)
        if earlier is None or not _colder(observation, case.observations[earlier]):
            chosen[key] = number
    names: dict[str, list[int]] = {}
    for (name, _, _), number in chosen.items():
        names.setdefault(name, []).append(number)
    return {name: tuple(numbers) for name, numbers in names.items()}


def _colder(one: Observation, other: Observation) -> bool:
    return one.warmth == "cold" and other.warmth != "cold"
