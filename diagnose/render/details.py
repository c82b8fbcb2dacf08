"""What stands below the readings and the next checks of a report, section by section."""

from __future__ import annotations

from diagnose.model.result import Diagnosis, RankedCause, Repair
from diagnose.render import numbers
from diagnose.render.first import FEW, View
from diagnose.render.page import Page, capital, listed, sentence, styled
from diagnose.render.problems import problem_text
from diagnose.render.words import Words

BOUNDS = 8  # told where a result is not exact
WORTH_A_BOUND = 0.01  # upper bound from which it is told
WORTH_A_REMEDY = 0.05  # blame from which it is said how to put a part right
_WORTH_A_MODE = 0.05  # chance of having been bad from which it is said how


def unproven(page: Page, diagnosis: Diagnosis, view: View) -> None:
    """What has still to be proven safe on this bench."""
    missing = [view.words.safety[id] for id in diagnosis.unproven]
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
