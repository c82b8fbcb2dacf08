"""Safety before worth: which checks may be offered at all.

A live check is withheld until what its hazard needs has been proven on this bench; a check that proves
something is withheld only for what must be proven before anything else with power, or by a standing stop order.
What is not proven counts as unsafe. While the cause of a sign that gave a stop order is not found, no check with
power is offered that a cold one can spare.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from diagnose.evidence.collect import Findings
from diagnose.evidence.derived import Workings
from diagnose.evidence.far_over import Over, far_over
from diagnose.model.assembly import Assembly, PlacedCheck, PlacedStop
from diagnose.model.case import Case
from diagnose.model.conditions import holds
from diagnose.model.knowledge import Bench
from diagnose.model.periods import is_now
from diagnose.model.proofs import unproven
from diagnose.model.result import Finding, StandingOrder

SURELY_OVER = "surely_over"  # the figure of the bench: chance from which a figure is taken to be far over


def standing_orders(
    assembly: Assembly, case: Case, findings: Findings, workings: Workings
) -> tuple[StandingOrder, ...]:
    """Stop orders in force: a sign that is itself an order, or observations, facts and figures together.

    An order that recorded work answers no longer stands; a sign that is seen again after work on a part gives a
    new one, and so does a figure that is read far over its limit again, whatever the work was. A sign keeps its order even where it cannot be judged for the diagnosis: smoke is smoke. It keeps it too
    where something else is answered after it without work between: a word does not lift an order.
    """
    answered = {work.answers for work in case.work if work.answers}
    # by which work on a part each was last answered; what only switched off after it leaves the sign where it is
    last = {work.answers: (number, bool(work.parts)) for number, work in enumerate(case.work) if work.answers}
    repaired = {name: number for name, (number, on_a_part) in last.items() if on_a_part}
    observed = _observed_last(findings)
    orders: list[StandingOrder] = []
    for name, seen in observed.items():
        placed = assembly.indications[name]
        period = findings.periods.period(seen[0].observation.period)
        again = name in repaired and period > repaired[name]
        abnormal = any(finding.abnormal for finding in seen)
        if placed.indication.stop and abnormal and (name not in answered or again):
            orders.append(StandingOrder(name, placed.indication.stop.strip(), (name,)))
    for stop_id, stop in assembly.stop_orders.items():
        over = _far_over(assembly, stop, workings)
        if stop_id in answered and not any(_read_since(one, *last[stop_id]) for one in over):
            continue
        if (stop.far_over and not over) or not (stop.observed or stop.order.facts or over):
            continue
        met = all(
            any(finding.state == state for finding in observed.get(name, ()))
            for name, state in stop.observed.items()
        )
        if met and holds(stop.order.facts, case.history):
            read = (name for one in over for name in one.names)
            because = (*dict.fromkeys((*stop.observed, *read)), *(test.name for test in stop.order.facts))
            orders.append(StandingOrder(stop_id, stop.order.text.strip(), because))
    return tuple(orders)


def _far_over(assembly: Assembly, stop: PlacedStop, workings: Workings) -> tuple[Over, ...]:
    """The figures of an order that are far over their limit, surely so."""
    far = stop.order.far_over
    sure = assembly.book.bench.advice.get(SURELY_OVER, 1.0)
    return () if far is None else far_over(workings, stop.far_over, far.times, sure)


def _read_since(over: Over, work: int, on_a_part: bool) -> bool:
    """Whether a figure was read after a piece of work; what says no period stands as it was where no part was worked on."""
    return on_a_part if over.period is None else over.period > work


def _observed_last(findings: Findings) -> dict[str, list[Finding]]:
    """All that was found of each indication in the last period in which something was."""
    found: dict[str, list[Finding]] = {}
    for finding in findings.all:
        if finding.state:
            time = findings.periods.period(finding.observation.period)
            same = found.setdefault(finding.name, [])
            if same and findings.periods.period(same[0].observation.period) < time:
                same.clear()
            if not same or findings.periods.period(same[0].observation.period) == time:
                same.append(finding)
    return found


def not_found_yet(assembly: Assembly, case: Case, found: Mapping[str, Finding]) -> tuple[str, ...]:
    """Signs that gave a stop order and are there still: work answered the order, and did not take the sign away."""
    answered = {work.answers for work in case.work if work.answers}
    names = [name for name in answered if name in found and found[name].abnormal]
    for stop_id, stop in assembly.stop_orders.items():
        if stop_id in answered and all(
            name in found and found[name].state == state for name, state in stop.observed.items()
        ):
            over = _far_over(assembly, stop, Workings(assembly, case)) if stop.far_over else ()
            read = (name for one in over for name in one.names)
            names += [name for name in (*stop.observed, *read) if name in found and found[name].abnormal]
    return tuple(sorted(set(names)))


def signs_of_orders(assembly: Assembly, case: Case) -> tuple[str, ...]:
    """The signs that gave the stop orders that work answered, whatever became of them since."""
    answered = {work.answers for work in case.work if work.answers}
    names = [name for name in answered if name in assembly.indications]
    for stop_id, stop in assembly.stop_orders.items():
        if stop_id in answered:
            over = _far_over(assembly, stop, Workings(assembly, case)) if stop.far_over else ()
            names += [*stop.observed, *(name for one in over for name in one.names)]
    return tuple(sorted(set(names)))


def missing_proofs(bench: Bench, case: Case, check: PlacedCheck) -> tuple[str, ...]:
    """Safety facts that must be proven before this check and are not, of those that this set asks for.

    They come from its hazard and from the set-up it needs, which asks for more while the set is live. A check that
    proves something waits only for what must be proven even before that, and never for what it proves.
    """
    hazard = bench.hazards.get(check.check.hazard)
    states = [bench.setups[group].states[state] for group, state in check.check.setup.items()]
    needs: dict[str, None] = {}
    if not check.check.proves:
        needs.update(dict.fromkeys(hazard.needs if hazard is not None else ()))
        live = is_live(bench, check)
        for wanted in states:
            needs.update(dict.fromkeys((*wanted.needs, *(wanted.needs_live if live else ()))))
    for danger in (hazard, *states):
        needs.update(dict.fromkeys(danger.needs_first if danger is not None else ()))
    open_now = unproven(bench, case)
    return tuple(need for need in needs if need in open_now and need != check.check.proves)


def at_hand(assembly: Assembly, case: Case) -> tuple[PlacedCheck, ...]:
    """The checks that can be done on this bench, each with what it can reveal here.

    Left out are those whose instrument is not at hand, those that the person cannot do, and those of which
    nothing that they reveal can be taken; what the person could not tell is not asked again before there is
    other work. What the bench file does not declare as an instrument needs none.
    """
    bench, cannot = assembly.book.bench, frozenset((*case.cannot, *_not_told(case)))
    found = []
    for check in assembly.checks.values():
        instrument = bench.instruments.get(check.check.instrument)
        missing = instrument is not None and not instrument.always and case.instruments is not None
        if check.id in cannot or (missing and check.check.instrument not in (case.instruments or ())):
            continue
        reveals = tuple(name for name in check.reveals if name not in cannot)
        if reveals or not check.reveals:
            found.append(check if reveals == check.reveals else replace(check, reveals=reveals))
    return tuple(found)


def _not_told(case: Case) -> Iterable[str]:
    """What was last answered with "not known" of the set as it is."""
    latest = {o.name: o for o in case.observations if is_now(case, o)}
    return (name for name, o in latest.items() if not o.state and o.value is None)


def judgeable(assembly: Assembly, findings: Findings, check: PlacedCheck) -> bool:
    """Whether anything the check reveals can be judged as things stand."""

    def possible(name: str) -> bool:
        for target, met in assembly.indications[name].needs:
            known = findings.counted.get(target)
            if known is not None and known.state not in met:
                return False
        return True

    return not check.reveals or any(possible(name) for name in check.reveals)


def setup_cost(
    bench: Bench, now: Mapping[str, str], wanted: Mapping[str, str]
) -> tuple[float, tuple[str, ...], tuple[str, ...]]:
    """Minutes, names and cautions of the changes of set-up from the bench as it is.

    `now` and `wanted`: by group of the set-up its state; a group that is not in `now` is in its first.
    """
    minutes = 0.0
    changes: list[str] = []
    cautions: list[str] = []
    for group, state in wanted.items():
        setup = bench.setups[group]
        if now.get(group, setup.first) != state:
            minutes += setup.states[state].minutes
            changes.append(setup.states[state].title)
            cautions.extend(setup.states[state].cautions)
    return minutes, tuple(changes), tuple(cautions)


def after(now: Mapping[str, str], wanted: Mapping[str, str]) -> dict[str, str]:
    """The bench after a change of set-up."""
    return {**now, **wanted}


def is_live(bench: Bench, check: PlacedCheck) -> bool:
    """Whether the set is powered during the check."""
    return any(bench.setups[group].states[state].live for group, state in check.check.setup.items())


def is_dangerous(bench: Bench, check: PlacedCheck) -> bool:
    """Whether the check is powered and its hazard asks for proofs: not a look at the panel meters."""
    hazard = bench.hazards.get(check.check.hazard)
    return hazard is not None and bool(hazard.needs or hazard.needs_first) and is_live(bench, check)


def limits_current(bench: Bench, check: PlacedCheck) -> bool:
    """Whether the set is brought up with limited current for it."""
    instrument = bench.instruments.get(check.check.instrument)
    return instrument is not None and instrument.limits_current


def risk(bench: Bench, check: PlacedCheck) -> tuple[bool, int, bool, float, str]:
    """Orders checks from safe to dangerous: a hazard, how much of the set is powered, whether it is open."""
    setup = check.check.setup
    power = [
        list(bench.setups[g].states).index(s) for g, s in setup.items() if bench.setups[g].states[s].live
    ]
    opened = any(bench.setups[group].states[state].needs_live for group, state in setup.items())
    return is_dangerous(bench, check), max(power, default=0), opened, check.check.minutes, check.id


def proof_of(bench: Bench, checks: Iterable[PlacedCheck], need: str) -> PlacedCheck | None:
    """The check that proves a safety fact, a cold one if there is one; None where none of these does."""
    proofs = (check for check in checks if check.check.proves == need)
    return min(proofs, key=lambda check: (is_live(bench, check), check.id), default=None)


def why_withheld(assembly: Assembly, case: Case, check: PlacedCheck) -> str:
    """What is dangerous about a check, and what is not proven yet, for the person."""
    bench = assembly.book.bench
    hazard = bench.hazards.get(check.check.hazard)
    power = [
        bench.setups[g].states[s].title
        for g, s in check.check.setup.items()
        if bench.setups[g].states[s].live
    ]
    asks = hazard is not None and (hazard.needs or hazard.needs_first)
    danger = hazard.title if hazard is not None and asks else ", ".join(power)
    needs = "; ".join(bench.safety[need] for need in missing_proofs(bench, case, check))
    return f"{danger}: not yet proven on this bench: {needs}"
