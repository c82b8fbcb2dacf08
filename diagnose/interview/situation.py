"""What is known of a set as it stands: its case, the diagnosis of it, what was found, and what can be done."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from diagnose.advice.gates import at_hand, is_live, missing_proofs, not_found_yet, signs_of_orders
from diagnose.diagnosis import diagnose
from diagnose.evidence.collect import Findings, collect
from diagnose.model.assembly import Assembly, PlacedCheck
from diagnose.model.case import Case, Observation, Work
from diagnose.model.periods import changes_the_set, is_now
from diagnose.model.result import Diagnosis, Finding


@dataclass(frozen=True, eq=False)
class Situation:
    """One case of a rig, seen as it is now."""

    assembly: Assembly
    case: Case

    @cached_property
    def standing(self) -> Diagnosis:
        """The diagnosis of the case as it is now."""
        return diagnose(self.assembly, self.case, details=False)

    # what was found

    def is_now(self, observation: Observation) -> bool:
        """Whether it was observed after all work that was done."""
        return is_now(self.case, observation)

    @cached_property
    def found(self) -> Mapping[str, Finding]:
        """What is known of the set as it is: also what was read before work that cannot have changed it."""
        return self._findings.as_it_is

    @cached_property
    def _findings(self) -> Findings:
        return collect(self.assembly, self.case, self.standing.since)

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
        return next((work for work in reversed(self.case.work) if changes_the_set(work)), None)

    @cached_property
    def suspected_cures(self) -> tuple[int, ...]:
        """The numbers, from 0, of the work that may have cured what was wrong: what changed the set since it was seen."""
        seen = min((f.observation.period or 0 for f in self.before), default=len(self.case.work))
        return tuple(n for n, work in enumerate(self.case.work) if n >= seen and changes_the_set(work))

    @cached_property
    def unseen(self) -> tuple[str, ...]:
        """Signs that the work may have cured and that were not looked at since, but for what no check here can show."""
        here = {name for check in at_hand(self.assembly, self.case) for name in check.reveals}
        shown = {name for check in self.assembly.checks.values() for name in check.reveals}
        return tuple(name for name in self.standing.see_again if name in here or name not in shown)

    @cached_property
    def tried_in_vain(self) -> frozenset[str]:
        """The parts of which a known good one was put in, and it did not put right what was wrong."""
        swaps = [check for check in self.assembly.checks.values() if check.swaps]
        return frozenset(
            check.swaps
            for check in swaps
            if any(name in self.found and not self.found[name].abnormal for name in check.reveals)
        )

    @property
    def fresh_trouble(self) -> tuple[str, ...]:
        """Signs of now that were not seen before the last change: what was touched last is the first suspect."""
        seen = {finding.name for finding in self.before}
        return tuple(name for name in self.abnormal if name not in seen) if self.last_change else ()

    @property
    def under_order(self) -> bool:
        """Whether a sign that gave a stop order is still there: cold checks come first, whatever live ones would tell."""
        return bool(not_found_yet(self.assembly, self.case, self._findings.counted))

    @property
    def not_looked_at(self) -> tuple[str, ...]:
        """Signs that gave a stop order, and were not looked at again since work that may have put them right."""
        signs = signs_of_orders(self.assembly, self.case) if self.last_change is not None else ()
        return tuple(n for n in signs if n not in self.found or not self.is_now(self.found[n].observation))

    @property
    def proof_missing(self) -> tuple[str, ...]:
        """The readings that prove this rig good and are not known of the set as it is."""
        proof = (name for name in self.assembly.rig.proof if name in self.assembly.indications)
        return tuple(name for name in proof if name not in self.found and name not in self.case.has_none)

    # what can be done

    def judgeable(self, name: str) -> bool:
        """Whether what an indication needs was not found missing."""
        placed = self.assembly.indications[name]
        return all(self.found[target].state in met for target, met in placed.needs if target in self.found)

    def still_open(self, placed: PlacedCheck) -> tuple[str, ...]:
        """What a check reveals that is not known yet, can be taken here and can be judged as things stand."""
        return tuple(
            name
            for name in placed.reveals
            if name not in self.known and name not in self.case.cannot and self.judgeable(name)
        )

    def there(self, placed: PlacedCheck) -> tuple[str, ...]:
        """What a check reveals on this set: without what it was said to have none of."""
        return tuple(name for name in placed.reveals if name not in self.case.has_none)

    @cached_property
    def safe(self) -> tuple[PlacedCheck, ...]:
        """Checks that can be done on this bench, with all proven that they ask for."""
        bench = self.assembly.book.bench
        return tuple(c for c in at_hand(self.assembly, self.case) if not missing_proofs(bench, self.case, c))

    @property
    def waited_for(self) -> tuple[str, ...]:
        """The safety facts that checks wait for which are held back, each once."""
        advice, bench = self.standing.advice, self.assembly.book.bench
        held = [self.assembly.checks[w.check] for w in advice.withheld] if advice is not None else []
        return tuple(
            dict.fromkeys(fact for check in held for fact in missing_proofs(bench, self.case, check))
        )

    @cached_property
    def possible(self) -> tuple[PlacedCheck, ...]:
        """The safe checks, while a sign that gave a stop order is there only those without power."""
        bench = self.assembly.book.bench
        return tuple(c for c in self.safe if not (self.under_order and is_live(bench, c)))

    def only_check(self, name: str) -> str:
        """The one check of this rig that shows a thing; "" where there are several, or none."""
        showing = [check.id for check in self.assembly.checks.values() if name in check.reveals]
        return showing[0] if len(showing) == 1 else ""

    def left_out(self, check: str, name: str = "") -> str:
        """What cannot be taken if one thing that a check shows cannot: the check, where another way is left, or the thing."""
        placed = self.assembly.checks[check]
        if not name:
            return check
        others = (c for c in at_hand(self.assembly, self.case) if name in c.reveals and c.id != check)
        another_way = any(other.check.instrument != placed.check.instrument for other in others)
        return check if another_way and placed.reveals == (name,) else name
