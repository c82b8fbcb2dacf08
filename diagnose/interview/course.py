"""Where an interview stands: the case, its diagnosis, and what is to be done next. Frozen; an entry gives a new one.

Everything that is known stands in the case. Knows no terminal and no file: a session or a simulation drives it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Final, TypeVar

from diagnose.advice.gates import (
    after,
    at_hand,
    is_dangerous,
    is_live,
    missing_proofs,
    not_found_yet,
    setup_cost,
)
from diagnose.advice.next_steps import described
from diagnose.diagnosis import diagnose
from diagnose.evidence.collect import collect
from diagnose.files.read_case import assembly_of
from diagnose.interview.unlikely import times_told, unlikely
from diagnose.model.assembly import Assembly, PlacedCheck
from diagnose.model.case import Case, Observation, Work
from diagnose.model.knowledge import Book
from diagnose.model.result import GOOD, Diagnosis, Finding, NextCheck, RankedCause

TELL: Final = "tell"  # it tells suspects apart
SAFETY: Final = "safety"  # live checks ask for what it proves
AGAIN: Final = "again"  # whether what was found is so, or a slip
REPAIR: Final = "repair"  # whether the work cured it
PROOF: Final = "proof"  # what the set is proven good by
CHOSEN: Final = "chosen"  # the person asked for it

STOPPED: Final = "stop order"
REMEDY: Final = "remedy"
PROVEN: Final = "proven good"
UNSAFE: Final = "not safe yet"
NOTHING_MORE: Final = "nothing more would tell"

TOLD: Final = "told"
OBSERVED: Final = "observed"
DONE: Final = "done"
CANNOT: Final = "cannot"
SAFE: Final = "safe"
CONFIRMED: Final = "confirmed"

T = TypeVar("T")

HISTORY: Final = "history."  # before the id of a fact, among what was told
_TOLD: Final = {
    "about": "",
    "mode": "",
    "band": "",
    "mains": None,
    "instruments": None,
}  # with what stands for nothing


@dataclass(frozen=True)
class Step:
    """One thing to do next: a check, with what it is to be asked for.

    Without names it is done for what it proves, and only asked whether it was as in a good set.
    """

    placed: PlacedCheck
    advised: NextCheck
    names: tuple[str, ...]
    purpose: str

    @property
    def id(self) -> str:
        """Of the check on the rig."""
        return self.placed.id


@dataclass(frozen=True)
class Closing:
    """Why nothing more is asked. `cause` is the one whose remedy is worth doing."""

    kind: str
    cause: RankedCause | None = None
    because: str = ""


@dataclass(frozen=True)
class Entry:
    """One entry of the record: what kind, and which of the case's list of that kind (from 0)."""

    kind: str
    index: int


class NoSuchEntryError(LookupError):
    """A number that is not in the record."""


@dataclass(frozen=True, eq=False)
class Course:
    """One case with its diagnosis; `earlier` is the diagnosis before the last entry, if there was one.

    `carried`: signs found before that entry that are to be looked at once more, with the chance that each had.
    """

    assembly: Assembly
    case: Case
    earlier: Diagnosis | None = None
    carried: Mapping[str, float] = field(default_factory=dict)

    @cached_property
    def standing(self) -> Diagnosis:
        """The diagnosis of the case as it is now."""
        return diagnose(self.assembly, self.case, details=False)

    # what a person enters

    def enter(self, *observations: Observation, check: str = "") -> Course:
        """With observations of now. What a check found leaves the bench as the check wants it, and may prove it safe."""
        period = len(self.case.work) or None
        new = tuple(replace(o, period=period) if o.period is None else o for o in observations)
        case = replace(self.case, observations=(*self.case.observations, *new))
        if check:
            placed = self.assembly.checks[check]
            case = replace(case, bench=after(case.bench, placed.check.setup))
            case = self._with(case)._concluded(placed)
        return self._with(case)

    def done(self, check: str) -> Course:
        """With a check done that only proves something, and found it as in a good set."""
        placed = self.assembly.checks[check]
        case = replace(self.case, bench=after(self.case.bench, placed.check.setup))
        return self._with(case).prove(placed.check.proves)

    def did(
        self, work: str, parts: Sequence[str] = (), answers: str = "", cures: Sequence[str] = ()
    ) -> Course:
        """With a piece of work, if that is known with the causes whose remedy it was; what was observed before it belongs to the time before, and live set-ups are left.

        What only answers a stop order and was done to no part leaves the set as it was, and its signs with it.
        """
        new = Work(work, answers, tuple(dict.fromkeys(parts)), tuple(cures))
        done, changes = len(self.case.work), _changes(new)
        observations = tuple(
            replace(o, period=done if changes else None)
            if (o.period is None if changes else o.period == done)
            else o
            for o in self.case.observations
        )
        work_done = (*self.case.work, new)
        setups = self.assembly.book.bench.setups
        bench = {
            group: setups[group].first if setups[group].states[state].live else state
            for group, state in self.case.bench.items()
        }
        return self._with(replace(self.case, observations=observations, work=work_done, bench=bench))

    def cannot(self, name: str) -> Course:
        """Without a check, or without one thing that checks reveal: it cannot be taken on this bench."""
        return self._with(replace(self.case, cannot=tuple(dict.fromkeys((*self.case.cannot, name)))))

    def left_out(self, check: str, name: str = "") -> str:
        """What cannot be taken if one thing that a check shows cannot: the check, where another way is left, or the thing."""
        placed = self.assembly.checks[check]
        if not name:
            return check
        others = (c for c in at_hand(self.assembly, self.case) if name in c.reveals and c.id != check)
        another_way = any(other.check.instrument != placed.check.instrument for other in others)
        return check if another_way and placed.reveals == (name,) else name

    def prove(self, fact: str, *, proven: bool = True) -> Course:
        """With a safety fact proven, or no longer so."""
        kept = tuple(known for known in self.case.safety if known != fact)
        return self._with(replace(self.case, safety=(*kept, fact) if proven and fact else kept))

    def confirm(self, cause: str) -> Course:
        """With a cause noted as the one that was found; it is for the record, and nothing follows from it."""
        noted = tuple(dict.fromkeys((*(self.case.confirmed or ()), cause)))
        return Course(self.assembly, replace(self.case, confirmed=noted), self.earlier)

    def under(self, *, mode: str = "", band: str = "", mains: float | None = None) -> Course:
        """With another usual mode, band or line voltage; what was read so far keeps those it was read under."""
        case = self.case
        kept = tuple(
            replace(
                o,
                mode=o.mode or (case.mode if mode else ""),
                band=o.band or (case.band if band else ""),
                mains=case.mains if mains is not None and o.mains is None else o.mains,
            )
            for o in case.observations
        )
        new = {k: v for k, v in (("mode", mode), ("band", band), ("mains", mains)) if v}
        return self._with(replace(case, observations=kept, **new))  # type: ignore[arg-type]

    def told(self, fact: str, value: object) -> Course:
        """With a fact of the set's history."""
        return self._with(replace(self.case, history={**self.case.history, fact: value}))

    def amended(self, **fields: object) -> Course:
        """With other values in plain fields of the case."""
        return self._with(replace(self.case, **fields))  # type: ignore[arg-type]

    def strike(self, number: int) -> Course:
        """Without entry `number` of the record; raises NoSuchEntryError."""
        entry, case = self.entry(number), self.case
        if entry.kind == TOLD:
            return self._untold(self.told_keys[entry.index])
        if entry.kind == OBSERVED:
            return self._with(replace(case, observations=_without(case.observations, entry.index)))
        if entry.kind == CANNOT:
            return self._with(replace(case, cannot=_without(case.cannot, entry.index)))
        if entry.kind == SAFE:
            return self._with(replace(case, safety=_without(case.safety, entry.index)))
        if entry.kind == CONFIRMED:
            return self._with(replace(case, confirmed=_without(case.confirmed or (), entry.index) or None))
        work = _without(case.work, entry.index)
        observations = tuple(
            replace(o, period=(o.period - 1 if work else None))
            if o.period is not None and o.period > entry.index
            else replace(o, period=o.period if work else None)
            for o in case.observations
        )
        return self._with(replace(case, work=work, observations=observations))

    def _untold(self, key: str) -> Course:
        if key in _TOLD:
            return self.amended(**{key: _TOLD[key]})
        fact = key.removeprefix(HISTORY)
        return self.amended(history={k: v for k, v in self.case.history.items() if k != fact})

    def amend(self, number: int, new: Observation | str) -> Course:
        """With another observation (of the same time), or other words for a piece of work, in entry `number`."""
        entry, case = self.entry(number), self.case
        if entry.kind == OBSERVED and isinstance(new, Observation):
            old = case.observations[entry.index]
            new = replace(new, name=old.name, period=old.period, told_by=old.told_by)
            new = replace(new, mode=new.mode or old.mode, band=new.band or old.band)
            new = replace(new, mains=old.mains, meter=new.meter or old.meter, warmth=new.warmth or old.warmth)
            return self._with(replace(case, observations=_exchanged(case.observations, entry.index, new)))
        if entry.kind == DONE and isinstance(new, str):
            work = replace(case.work[entry.index], did=new)
            return self._with(replace(case, work=_exchanged(case.work, entry.index, work)))
        raise NoSuchEntryError(f"entry {number} cannot be changed, only struck out")

    def anew(self, case: Case) -> Course:
        """The course of a case that was changed elsewhere."""
        assembly = assembly_of(self.assembly.book, case.rig, tuple(case.meters.values()))
        return Course(assembly, case, self.__dict__.get("standing"))

    # what stands in the record

    @property
    def record(self) -> tuple[Entry, ...]:
        """All entries: what was told, what was observed and the work after it, what cannot be, and is, proven."""
        found = [Entry(TOLD, index) for index in range(len(self.told_keys))]
        done = len(self.case.work)
        for period in range(done + 1):
            for index, observation in enumerate(self.case.observations):
                if (done if observation.period is None else observation.period) == period:
                    found.append(Entry(OBSERVED, index))
            if period < done:
                found.append(Entry(DONE, period))
        found += [Entry(CANNOT, index) for index in range(len(self.case.cannot))]
        found += [Entry(SAFE, index) for index in range(len(self.case.safety))]
        found += [Entry(CONFIRMED, index) for index in range(len(self.case.confirmed or ()))]
        return tuple(found)

    @property
    def told_keys(self) -> tuple[str, ...]:
        """What was told at the intake: fields of the case, and facts of its history."""
        fields = (key for key, nothing in _TOLD.items() if getattr(self.case, key) != nothing)
        return (*fields, *(f"{HISTORY}{fact}" for fact in self.case.history))

    def entry(self, number: int) -> Entry:
        """Entry `number`, counted from 1; raises NoSuchEntryError."""
        if not 1 <= number <= len(self.record):
            raise NoSuchEntryError(f"the record has no entry {number}")
        return self.record[number - 1]

    def is_now(self, observation: Observation) -> bool:
        """Whether it was observed after all work that was done."""
        return observation.period is None or observation.period >= len(self.case.work)

    @cached_property
    def found(self) -> Mapping[str, Finding]:
        """What is known of the set as it is: also what was read before work that cannot have changed it."""
        return collect(self.assembly, self.case).as_it_is

    @cached_property
    def known(self) -> frozenset[str]:
        """What need not be asked: what is known, and what was answered since the last work, "not known" included."""
        now = (o.name for o in self.case.observations if self.is_now(o))
        return frozenset((*self.found, *now))

    @property
    def abnormal(self) -> tuple[str, ...]:
        """What is not as in a good set."""
        return tuple(name for name, finding in self.found.items() if finding.abnormal)

    @cached_property
    def before(self) -> tuple[Finding, ...]:
        """The last finding of each indication before the last work that was not as in a good set."""
        last = {f.name: f for f in self.standing.findings if f.state and not self.is_now(f.observation)}
        return tuple(finding for finding in last.values() if finding.abnormal)

    @property
    def last_change(self) -> Work | None:
        """The last work that may have changed the set: all but what only answers a stop order, as switching off."""
        return next((work for work in reversed(self.case.work) if _changes(work)), None)

    @property
    def fresh_trouble(self) -> tuple[str, ...]:
        """Signs of now that were not seen before the last change: what was touched last is the first suspect."""
        seen = {finding.name for finding in self.before}
        return tuple(name for name in self.abnormal if name not in seen) if self.last_change else ()

    # what to do next

    @cached_property
    def options(self) -> tuple[Step, ...]:
        """What may be done now, the proposal first."""
        if self.standing.stop_orders:
            return ()
        advice = self.standing.advice
        advised = [self._advised(check) for check in advice.next] if advice is not None else []
        if self.under_order:
            bench = self.assembly.book.bench
            advised.sort(key=lambda step: is_live(bench, step.placed))
        steps = [*self._looking_again(self._possible), *self._showing(self.to_prove, REPAIR)]
        if self.cured:
            steps += self._showing(self.proof_missing, PROOF)
        steps += advised
        useful = [step for step in steps if step.names or step.advised.proves]
        if not useful:  # nothing cold tells more: what may be a slip is looked at with power, if all that asks for is proven
            useful = [*self._looking_again(self._safe)]
        first: dict[str, Step] = {}
        for step in useful:
            first.setdefault(step.id, step)
        return tuple(first.values())

    @property
    def proposal(self) -> Step | None:
        """What to do next; None where the interview closes."""
        return None if self.closing is not None else self.options[0]

    @property
    def under_order(self) -> bool:
        """Whether a sign that gave a stop order is still there: cold checks come first, whatever live ones would tell."""
        return bool(not_found_yet(self.assembly, self.case, self.found))

    @cached_property
    def closing(self) -> Closing | None:
        """Why nothing more is asked, or None."""
        standing = self.standing
        if standing.stop_orders:
            return Closing(STOPPED)
        first = self.options[0].purpose if self.options else ""
        if first in (AGAIN, REPAIR) or (self.options and self.cured and self.proof_missing):
            return None
        if standing.verdict.word == GOOD:
            return Closing(PROVEN)
        advice = standing.advice
        if advice is not None and advice.remedy is not None:
            return Closing(REMEDY, advice.remedy, advice.remedy_reason)
        if self.options:
            return None
        if advice is not None and advice.withheld:
            return Closing(UNSAFE, because=advice.withheld[0].because)
        return Closing(NOTHING_MORE)

    def step(self, check: str) -> Step:
        """A check as the person's own choice; KeyError for one this rig does not have."""
        placed = self.assembly.checks[check]
        step = Step(placed, described(self.assembly, self.case, placed), self._open(placed), CHOSEN)
        return step if step.names else replace(step, names=placed.reveals)

    @cached_property
    def to_prove(self) -> tuple[str, ...]:
        """What is still to be read to see whether the last work was the cure."""
        return tuple(name for name in self._proof_of_work if name not in self.known and self._can_take(name))

    @property
    def cured(self) -> bool:
        """Whether work was done, a sign of before it was looked at again, and nothing is wrong any more."""
        looked = any(
            f.name in self.found and self.is_now(self.found[f.name].observation) for f in self.before
        )
        return bool(self.case.work) and looked and not self.to_prove and not self.abnormal

    @property
    def proof_missing(self) -> tuple[str, ...]:
        """The readings that prove this rig good and are not known of the set as it is."""
        proof = (name for name in self.assembly.rig.proof if name in self.assembly.indications)
        return tuple(name for name in proof if name not in self.found)

    @cached_property
    def _proof_of_work(self) -> tuple[str, ...]:
        """What the remedies of the last work say to read again, and the signs that it may have cured.

        Nobody is sent to a live high-voltage rail for a proof alone: what only such a check shows is left out.
        """
        if not self.case.work or not _changes(self.case.work[-1]):
            return ()
        names: list[str] = []
        for part in self.case.work[-1].parts:
            lead = next((cause for cause in self.standing.causes if cause.part == part), None)
            if lead is not None and lead.remedy is not None:
                names += [name for name in lead.remedy.read_again if self._shown_without_danger(name)]
        known = self.assembly.indications
        return tuple(name for name in dict.fromkeys((*names, *self.standing.see_again)) if name in known)

    @cached_property
    def to_look_at(self) -> Mapping[str, float]:
        """Signs that are sooner slips, and were answered only once: to be looked at again, with the chance of each."""
        found = dict(self.carried)
        if self.earlier is not None:
            found.update(unlikely(self.assembly, self.earlier, self.standing))
        left = (name for name in self.abnormal if name in found and name not in self.case.cannot)
        return {name: found[name] for name in left if times_told(self.case, name) == 1}

    def _looking_again(self, checks: Sequence[PlacedCheck]) -> Iterator[Step]:
        """Of these checks those that show what is to be looked at again, each what is done soonest from the bench as it is."""
        for name in self.to_look_at:
            fitting = [check for check in checks if name in check.reveals]
            if fitting:
                best = min(fitting, key=lambda check: (self._minutes(check), check.id))
                yield Step(best, described(self.assembly, self.case, best), (name,), AGAIN)

    def _showing(self, names: Iterable[str], purpose: str) -> Iterator[Step]:
        """The checks that show these names, first what is done soonest from the bench as it is."""
        wanted = [name for name in names if name not in self.known and self.judgeable(name)]
        while wanted:
            fitting = [c for c in self._possible if any(name in c.reveals for name in wanted)]
            if not fitting:
                return
            best = min(fitting, key=lambda check: (self._minutes(check), check.id))
            shown = tuple(name for name in wanted if name in best.reveals)
            yield Step(best, described(self.assembly, self.case, best), shown, purpose)
            wanted = [name for name in wanted if name not in shown]

    def _shown_without_danger(self, name: str) -> bool:
        bench = self.assembly.book.bench
        return any(name in check.reveals and not is_dangerous(bench, check) for check in self._possible)

    def _can_take(self, name: str) -> bool:
        return self.judgeable(name) and any(name in check.reveals for check in self._possible)

    @cached_property
    def _possible(self) -> tuple[PlacedCheck, ...]:
        """The safe checks, while a sign that gave a stop order is there only those without power."""
        bench = self.assembly.book.bench
        return tuple(c for c in self._safe if not (self.under_order and is_live(bench, c)))

    @cached_property
    def _safe(self) -> tuple[PlacedCheck, ...]:
        """Checks that can be done on this bench, with all proven that they ask for."""
        bench = self.assembly.book.bench
        return tuple(c for c in at_hand(self.assembly, self.case) if not missing_proofs(bench, self.case, c))

    def _minutes(self, check: PlacedCheck) -> float:
        bench = self.assembly.book.bench
        return check.check.minutes + setup_cost(bench, self.case.bench, check.check.setup)[0]

    def _advised(self, advised: NextCheck) -> Step:
        placed = self.assembly.checks[advised.check]
        purpose = TELL
        if advised.gain_bits <= 0:
            purpose = SAFETY if advised.proves else PROOF
        return Step(placed, advised, self._open(placed), purpose)

    def _open(self, placed: PlacedCheck) -> tuple[str, ...]:
        """What a check reveals that is not known yet, can be taken here and can be judged as things stand."""
        return tuple(
            name
            for name in placed.reveals
            if name not in self.known and name not in self.case.cannot and self.judgeable(name)
        )

    def judgeable(self, name: str) -> bool:
        """Whether what an indication needs was not found missing."""
        placed = self.assembly.indications[name]
        return all(self.found[target].state in met for target, met in placed.needs if target in self.found)

    def _concluded(self, placed: PlacedCheck) -> Case:
        """The case after a check was answered: with the fact that it proves, or without it if something is wrong."""
        fact = placed.check.proves
        latest = {o.name: o for o in self.case.observations if self.is_now(o)}
        told = [latest[name] for name in placed.reveals if name in latest]
        if not fact or not told:
            return self.case
        states = self.assembly.indications
        good = [o.state == states[o.name].indication.states[0].id for o in told]
        if all(good) and len(told) == len(placed.reveals):
            return self.prove(fact).case
        if any(o.state and not fine for o, fine in zip(told, good, strict=True)):
            return self.prove(fact, proven=False).case
        return self.case

    def _with(self, case: Case) -> Course:
        if "standing" not in self.__dict__:
            return Course(self.assembly, case, self.earlier, self.carried)
        return Course(self.assembly, case, self.standing, self.to_look_at)


def begin(book: Book, case: Case) -> Course:
    """The course of a case of a rig in the book."""
    return Course(assembly_of(book, case.rig, tuple(case.meters.values())), case)


def _changes(work: Work) -> bool:
    """Whether work may have changed the set: what only answers a stop order and was done to no part leaves it."""
    return bool(work.parts) or not work.answers


def _without(items: tuple[T, ...], index: int) -> tuple[T, ...]:
    return items[:index] + items[index + 1 :]


def _exchanged(items: tuple[T, ...], index: int, new: T) -> tuple[T, ...]:
    return (*items[:index], new, *items[index + 1 :])
