"""The next checks in full, what each outcome would do, and those that are withheld."""

from __future__ import annotations

from collections.abc import Iterable

from rich.text import Text

from diagnose.model.result import Diagnosis, NextCheck, Outcome
from diagnose.render import numbers
from diagnose.render.first import View, why
from diagnose.render.page import Page, capital, listed, styled
from diagnose.render.words import Words

CHECKS = 5  # described when nothing else is asked for
NO_CHANGE = 0.02  # of the leader's blame: what moves it less changes nothing


def next_checks(page: Page, diagnosis: Diagnosis, view: View) -> None:
    """The best few checks in the order to do them; each set-up is paid and warned of once."""
    if diagnosis.advice is None or not diagnosis.advice.next:
        return
    page.heading("Next checks")
    shown = diagnosis.advice.next[: view.top or CHECKS]
    said: set[str] = set()
    for number, check in enumerate(shown, start=1):
        if check.setup_changes or number == 1:
            said.clear()
            _setup(page, check)
        _cautions(page, [caution for caution in check.cautions if caution not in said])
        said.update(check.cautions)
        _check(page, number, check, diagnosis, view.words)


def _setup(page: Page, check: NextCheck) -> None:
    page.blank()
    if check.setup_changes:
        minutes = numbers.minutes(check.setup_minutes)
        changes = "; ".join(check.setup_changes)
        page.say(styled(("Set up: ", "label"), f"{changes} ({minutes})."), indent=2)
    else:
        page.say(styled(("As the set stands:", "label")), indent=2)


def _cautions(page: Page, cautions: Iterable[str]) -> None:
    for caution in dict.fromkeys(cautions):
        page.say(styled((caution, "caution")), first=Text("  !", style="caution"), indent=4)


def _check(page: Page, number: int, check: NextCheck, diagnosis: Diagnosis, words: Words) -> None:
    page.blank()
    title = styled(
        (words.told_apart(check.check, capital(check.title)), "suspect"),
        f": {numbers.minutes(check.minutes)}",
    )
    instrument = f", {check.instrument}." if check.instrument else "."
    danger = (f" {capital(check.hazard)}.", "caution") if check.hazard else ""
    page.say(styled(title, instrument, danger), first=f"  {number}.", indent=5)
    reason = why(diagnosis, check, words)
    if reason:
        page.say(f"{reason} Gain: {numbers.bits(check.gain_bits)}.", indent=5)
    if check.how:
        page.say(check.how, indent=5)
    if check.good:
        page.say(styled(("A good set: ", "label"), check.good), indent=5)
    if check.swap_warning:
        page.say(styled((check.swap_warning, "caution")), indent=5)
    _outcomes(page, check.outcomes, words)


def _outcomes(page: Page, outcomes: tuple[Outcome, ...], words: Words) -> None:
    """What each outcome would do to the ranking; one line where none would do anything."""
    if not outcomes:
        return
    blames = [outcome.leader_blame for outcome in outcomes]
    leaders = {_leader(outcome, words) for outcome in outcomes}
    if len(outcomes) > 1 and len(leaders) == 1 and max(blames) - min(blames) <= NO_CHANGE:
        page.say(f"Whatever it shows, {leaders.pop()} goes on leading.", indent=5)
        return
    for outcome in outcomes:
        _outcome(page, outcome, words)


def _outcome(page: Page, outcome: Outcome, words: Words) -> None:
    then = (
        f"then {_leader(outcome, words)} leads with {numbers.chance(outcome.leader_blame)}"
        if outcome.leader_title
        else "then nothing leads"
    )
    page.row(
        (numbers.chance(outcome.probability), f"{_shown(outcome, words)}: {then}"),
        (-10, page.width - 17),
        indent=5,
    )


def _leader(outcome: Outcome, words: Words) -> str:
    return words.told_apart(outcome.leader, outcome.leader_title) if outcome.leader_title else ""


def _shown(outcome: Outcome, words: Words) -> str:
    """What was found, the good answers left out; several may hide behind one check."""
    bad = [(name, state) for name, state in outcome.states if words.good.get(name) != state]
    if not bad:
        return "nothing abnormal"
    return ", ".join(f"{words.indication(name)} {words.state(name, state)}" for name, state in bad)


def withheld(page: Page, diagnosis: Diagnosis, view: View) -> None:
    """Checks that would tell something but are not safe yet."""
    if diagnosis.advice is None or not diagnosis.advice.withheld:
        return
    page.heading("Withheld until it is safe")
    for reason, group in _by_reason(
        (w.because, view.words.told_apart(w.check, w.title)) for w in diagnosis.advice.withheld
    ):
        page.say(f"{listed(group)}: {reason}", first="  -", indent=4)


def _by_reason(pairs: Iterable[tuple[str, str]]) -> list[tuple[str, list[str]]]:
    """Titles gathered under their common reason, in order."""
    gathered: dict[str, list[str]] = {}
    for reason, title in pairs:
        gathered.setdefault(reason, []).append(title)
    return list(gathered.items())
