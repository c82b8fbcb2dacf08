"""Checks as next steps for the person: set-up, cautions, and what each outcome would do to the ranking."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from diagnose.advice.gates import after, is_live, setup_cost
from diagnose.advice.judging import Judged
from diagnose.advice.outlook import Outlook
from diagnose.model.assembly import Assembly, PlacedCheck
from diagnose.model.case import Case
from diagnose.model.knowledge import Bench
from diagnose.model.result import NextCheck, Outcome, RankedPart

HANDS_IN = "Power off, plug out, discharged and proven dead before a hand goes in."


def described(assembly: Assembly, case: Case, check: PlacedCheck) -> NextCheck:
    """A check as a next step from the bench as it is, without its worth."""
    return next_steps(assembly, case.bench, (), [Judged(check)])[0]


def next_steps(
    assembly: Assembly,
    bench_now: Mapping[str, str],
    blamed: Sequence[RankedPart],
    picked: Sequence[Judged],
) -> tuple[NextCheck, ...]:
    """The picked checks in their order, each from the set-up that the one before left (`bench_now` before the first)."""
    bench = assembly.book.bench
    now: Mapping[str, str] = dict(bench_now)
    shown = []
    for j in picked:
        check = j.placed.check
        minutes, changes, cautions = setup_cost(bench, now, check.setup)
        now = after(now, check.setup)
        hazard = bench.hazards[check.hazard] if check.hazard else None
        shown.append(
            NextCheck(
                check=j.placed.id,
                title=check.title,
                how=check.how.strip(),
                instrument=_titled(bench, check.instrument),
                good=check.good,
                minutes=check.minutes,
                setup_minutes=minutes,
                setup_changes=changes,
                minutes_saved=j.saved - check.minutes - minutes,
                gain_bits=j.bits,
                hazard=hazard.title if hazard else "",
                separates=_separates(blamed, j.outlook),
                cautions=(*cautions, *(hazard.cautions if hazard else ()), *_hands_in(bench, j.placed)),
                outcomes=_outcomes(assembly, blamed, j.outlook),
                swap_warning=_swap_warning(assembly, j.placed, blamed),
                proves=bench.safety.get(check.proves, ""),
            )
        )
    return tuple(shown)


def _hands_in(bench: Bench, check: PlacedCheck) -> tuple[str, ...]:
    """What to mind where a part is put in and the set is then tried with power."""
    return (HANDS_IN,) if check.check.swaps and is_live(bench, check) else ()


def _titled(bench: Bench, id: str) -> str:
    """An instrument in words; one that the bench does not declare by its id."""
    return bench.instruments[id].title if id in bench.instruments else id


def _separates(blamed: Sequence[RankedPart], view: Outlook | None) -> tuple[str, ...]:
    """The parts whose blame the check is expected to move most."""
    if view is None:
        return ()
    now = view.chance @ view.blame  # before it
    moved = view.chance @ np.abs(view.blame - now)
    order = np.argsort(-moved, kind="stable")
    return tuple(blamed[i].id for i in order[:4] if moved[i] > 0.01)


def _outcomes(assembly: Assembly, blamed: Sequence[RankedPart], view: Outlook | None) -> tuple[Outcome, ...]:
    if view is None:
        return ()
    outcomes = []
    for row, states in enumerate(view.states):
        chance = float(view.chance[row])
        if chance < 0.005:
            continue
        leader = int(np.argmax(view.blame[row]))
        text = ", ".join(f"{assembly.indications[name].indication.title}: {state}" for name, state in states)
        outcomes.append(
            Outcome(
                states,
                text,
                chance,
                blamed[leader].id,
                blamed[leader].title,
                float(view.blame[row, leader]),
            )
        )
    outcomes.sort(key=lambda o: -o.probability)
    return tuple(outcomes)


def _swap_warning(assembly: Assembly, placed: PlacedCheck, blamed: Sequence[RankedPart]) -> str:
    """Warn when a fault that would kill the spare is likely enough in the same stage."""
    if not placed.swaps:
        return ""
    dangers = []
    for part in blamed:
        if part.stage != placed.stage or part.id == placed.swaps:
            continue
        for cause in part.causes:
            warning = assembly.cause(cause.id)[1].endangers_spare
            if warning and cause.probability > 0.03:
                dangers.append(f"{cause.title}: {warning}")
    return "; ".join(dangers)
