"""What stands below the first screen of a report, section by section."""

from __future__ import annotations

from collections.abc import Iterable

from rich.text import Text

from diagnose.model.result import Diagnosis, NextCheck, Outcome, RankedCause, Repair
from diagnose.render import numbers
from diagnose.render.first import FEW, View, why
from diagnose.render.page import Page, capital, listed, sentence, styled
from diagnose.render.problems import problem_text
from diagnose.render.words import Words

_WORTH_A_MODE = 0.05  # chance of having been bad from which it is said how

CHECKS = 5  # described when nothing else is asked for
BOUNDS = 8  # told where a result is not exact
WORTH_A_BOUND = 0.01  # upper bound from which it is told
NO_CHANGE = 0.02  # of the leader's blame: what moves it less changes nothing
WORTH_A_REMEDY = 0.05  # blame from which it is said how to put a part right


def unproven(page: Page, diagnosis: Diagnosis, view: View) -> None:
    """What has still to be proven safe on this bench."""
    missing = [title for id, title in view.words.safety.items() if id not in diagnosis.case.safety]
    if len(missing) <= FEW:
        return  # named on the first screen
    page.heading("Not proven yet on this bench")
    for title in missing:
        page.say(title, first="  -", indent=4)


def remedies(page: Page, diagnosis: Diagnosis, view: View) -> None:
    """What would put the leading parts right; a remedy that several modes share is told once."""
    leading = [part for part in diagnosis.parts if part.blame >= WORTH_A_REMEDY]
    told: set[tuple[str, str]] = set()
    for cause in (cause for part in leading[: view.top or 3] for cause in part.causes):
        key = (cause.part, cause.remedy.do if cause.remedy is not None else "")
        if cause.remedy is None or key in told or cause.blame < WORTH_A_REMEDY:
            continue
        if not told:
            page.heading("What would put it right")
        told.add(key)
        shared = sum(other.remedy == cause.remedy for other in diagnosis.causes if other.part == cause.part)
        _remedy(page, cause, cause.part_title if shared > 1 else cause.title)


def _remedy(page: Page, cause: RankedCause, title: str) -> None:
    remedy = cause.remedy
    assert remedy is not None
    page.say(styled((title, "suspect"), (f" ({cause.stage_title})", "quiet")), indent=2)
    parts = f" Parts: {remedy.parts}." if remedy.parts else ""
    page.say(
        f"{sentence(remedy.do)} {numbers.minutes(remedy.minutes)}; cures it in "
        f"{numbers.rate(remedy.works)}.{parts}",
        indent=4,
    )
    if remedy.moves:
        page.say(f"It also moves: {'; '.join(remedy.moves)}.", indent=4)


def also_due(page: Page, diagnosis: Diagnosis, view: View) -> None:
    """Parts that are probably bad without any part in the complaint."""
    if not diagnosis.also_due:
        return
    page.heading("Also due: probably bad, but not behind what was seen")
    for cause in diagnosis.also_due[: view.top or len(diagnosis.also_due)]:
        aid = (" (first aid)", "caution") if cause.first_aid else ""
        page.row(
            (numbers.chance(cause.probability), styled(cause.title, aid), cause.stage_title),
            (-10, page.width - 40, 24),
        )


def explanations(page: Page, diagnosis: Diagnosis, view: View) -> None:
    """Which parts may share the blame, each set of them with its chance."""
    if not diagnosis.explanations:
        return
    page.heading("What may be wrong together")
    titles = {cause.id: cause.title for cause in diagnosis.causes}
    parts = {part.id: part.title for part in diagnosis.parts}
    for explanation in diagnosis.explanations[: view.top or 5]:
        names = [view.words.told_apart(id, titles.get(id, id)) for id in explanation.causes]
        names = names or [parts.get(id, id) for id in explanation.parts]
        page.row(
            (
                numbers.chance(explanation.probability),
                listed(names) or "none of these: chance signs, or parts further down the list",
            ),
            (-10, page.width - 14),
        )


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


def conflict(page: Page, diagnosis: Diagnosis, view: View) -> None:
    """Whether the readings go together, and what no part in the book explains."""
    page.heading("How sure this is")
    page.say(diagnosis.conflict.text or "The readings go together.", indent=2)
    _unlisted(page, diagnosis, view.words)
    _exactness(page, diagnosis)
    if view.workings:
        page.say(
            f"Probability of all that was observed: ten to the power {diagnosis.log10_evidence:.1f}.",
            indent=2,
        )


def _unlisted(page: Page, diagnosis: Diagnosis, words: Words) -> None:
    stages = [(id, share) for id, share in diagnosis.unexplained_stages if share >= 0.01]
    where = listed(f"{numbers.chance(share)} in the {words.stages.get(id, id)}" for id, share in stages[:3])
    page.say(
        f"A fault that is not in this book takes part in {numbers.chance(diagnosis.unexplained)} "
        f"such sets{': ' + where if where else ''}.",
        indent=2,
    )


def _exactness(page: Page, diagnosis: Diagnosis) -> None:
    if diagnosis.exact:
        page.say(
            "The chances are exact for this book and these readings: of a hundred sets with this history "
            "that show the same, in so many the part is bad and has a hand in it.",
            indent=2,
        )
        return
    page.say("The case is too large to be solved exactly; the chances lie within bounds.", indent=2)
    titles = {cause.id: f"{cause.title} ({cause.stage_title})" for cause in diagnosis.causes}
    wide = [row for row in diagnosis.intervals if row[2] >= WORTH_A_BOUND]
    for cause, low, high in sorted(wide, key=lambda row: (-row[2], row[0]))[:BOUNDS]:
        page.say(f"{titles.get(cause, cause)}: {numbers.chance(low)} to {numbers.chance(high)}", indent=4)


def messages(page: Page, diagnosis: Diagnosis, view: View) -> None:
    """What was read around, and other remarks."""
    if diagnosis.messages:
        page.heading("Messages")
        for problem in diagnosis.messages:
            page.say(problem_text(problem), first="  -", indent=4)


def local_rules(page: Page, diagnosis: Diagnosis, view: View) -> None:
    """The rules of the shop folder that had a hand in this result, and what it took out."""
    for title, ids in (
        ("Local rules that took part", diagnosis.local_rules),
        ("Withdrawn by the shop folder", diagnosis.withdrawn_rules),
    ):
        if ids:
            page.heading(title)
        for id in ids:
            page.say(styled((id, "local")), first="  -", indent=4)


def work(page: Page, diagnosis: Diagnosis, view: View) -> None:
    """Work recorded on this set, what it cured as far as can be told, and what to look at again."""
    if not diagnosis.case.work:
        return
    page.heading("Work recorded")
    for number, piece in enumerate(diagnosis.case.work, start=1):
        answers = f" (answers {piece.answers})" if piece.answers else ""
        page.say(f"{piece.did}{answers}", first=f"{number:3}.", indent=5)
        for repair in diagnosis.repairs:
            if repair.work == number:
                page.say(_repaired(repair), indent=5)
    if diagnosis.see_again:
        titles = ", ".join(view.words.indication(name) for name in diagnosis.see_again)
        page.say(f"To be looked at again since the work: {titles}.", indent=2)


def _repaired(repair: Repair) -> str:
    """What the observations say of the work on one part, in a sentence."""
    before = f"bad before in {numbers.chance(repair.bad_before)}"
    if repair.bad_before >= _WORTH_A_MODE:
        before += f" ({repair.cause_title})"
    return f"{capital(repair.title)} ({repair.stage_title}): {before}, after it in {numbers.chance(repair.bad_after)}."
