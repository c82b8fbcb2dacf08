"""The first screen of a report: is it safe, what is probably wrong, what to do next."""

from __future__ import annotations

from dataclasses import dataclass

from rich.text import Text

from diagnose.model.result import (
    FAULT,
    GOOD,
    STOP,
    Advice,
    Diagnosis,
    NextCheck,
    RankedCause,
    RankedPart,
)
from diagnose.problems import errors
from diagnose.render import numbers
from diagnose.render.page import Page, capital, listed, plain, sentence, styled
from diagnose.render.words import Words

LABEL = 9  # columns of the labels at the left
LINES = 24  # of a first screen
FEW = 2  # safety facts that are named in the first line
FEWEST, MOST = 3, 5  # parts on the first screen
WORTH_NAMING = 0.02  # blame from which a part beyond the fewest is named
WORTH_A_MODE = 0.01  # blame from which a mode is named below its part
ONE_MODE = 0.9  # share of a part's blame from which one mode speaks for it


@dataclass(frozen=True)
class View:
    """What a report is to show, and the titles it needs."""

    words: Words
    top: int | None = None
    workings: bool = False


def first_screen(page: Page, diagnosis: Diagnosis, view: View) -> None:
    """The three answers, in their order, with as many parts as the lines of a screen hold."""
    most = MOST if view.top is None else view.top
    least = most if view.top is not None else FEWEST
    for parts in range(most, least - 1, -1):
        screen = Page(page.width)
        _answers(screen, diagnosis, view, parts)
        if len(screen.lines) <= LINES:
            break
    page.lines.extend(screen.lines)


def _answers(page: Page, diagnosis: Diagnosis, view: View, most: int) -> None:
    _head(page, diagnosis)
    page.blank()
    _safety(page, diagnosis, view.words)
    page.blank()
    _suspects(page, diagnosis, view, most)
    page.blank()
    _next(page, diagnosis, view.words)


def _head(page: Page, diagnosis: Diagnosis) -> None:
    title, case = plain(diagnosis.rig_title), plain(diagnosis.case.id)
    gap = page.width - len(title) - len(case)
    if gap >= 2:
        page.lines.append(styled((title, "heading")) + Text(" " * gap + case, style="quiet"))
    else:
        page.say(styled((title, "heading")))
        page.say(styled((case, "quiet")))
    if diagnosis.case.about:
        page.say(diagnosis.case.about)
    unused = len(errors(diagnosis.messages))
    if unused:
        entries = numbers.count(unused, "entry", "entries")
        page.say(styled((f"{capital(entries)} of the case could not be used; see Messages.", "error")))


def _safety(page: Page, diagnosis: Diagnosis, words: Words) -> None:
    if diagnosis.stop_orders:
        page.say(styled(("Remove power now.", "stop")), first=styled(("STOP", "stop")), indent=LABEL)
        for order in diagnosis.stop_orders:
            page.say(styled((order.text, "stop")), indent=LABEL)
            if order.because:
                because = "; ".join(words.placed(name) for name in order.because)
                page.say(styled((f"Because of {because}.", "quiet")), indent=LABEL)
        return
    page.say(_short_safety(diagnosis, words), first=styled(("Safe?", "label")), indent=LABEL)
    beyond = list(dict.fromkeys(flag.title for flag in diagnosis.flags if not flag.near))
    if beyond:
        more = f" and {len(beyond) - FEW} more" if len(beyond) > FEW else ""
        said = f"Beyond its limit today: {', '.join(beyond[:FEW])}{more}; see below."
        page.say(styled((said, "caution")), indent=LABEL)


def _short_safety(diagnosis: Diagnosis, words: Words) -> Text:
    clear = "Nothing seen so far calls for power off."
    missing = [words.safety[id] for id in diagnosis.unproven]
    if not missing:
        if not words.safety:
            return styled((clear, "safe"))
        return styled((clear, "safe"), " All that this bench asks to be proven is proven.")
    named = "; ".join(missing) if len(missing) <= FEW else f"{len(missing)} things (listed below)"
    return styled(
        (clear, "safe"),
        (f" Not proven yet on this bench: {named}. What is not proven is taken as live.", "unproven"),
    )


def _suspects(page: Page, diagnosis: Diagnosis, view: View, most: int) -> None:
    page.say(verdict_sentence(diagnosis), first=styled(("Wrong?", "label")), indent=LABEL)
    if diagnosis.verdict.word == GOOD and view.top is None:
        return
    for part in leading_parts(diagnosis, view.top, most):
        suspect_line(page, part)


def verdict_sentence(diagnosis: Diagnosis, *, leading: bool = True) -> Text:
    """The verdict's sentence, headed by its word where the sentence does not say it already.

    `leading`: parts that lead are listed below it.
    """
    word, text = diagnosis.verdict.word, diagnosis.verdict.text
    style = {FAULT: "suspect", GOOD: "good"}.get(word, "unproven")
    if word == STOP:
        return styled(f"Not judged before that is done.{' So far these lead:' if leading else ''}")
    if text.lower().startswith(word.lower()):
        return styled((text[: len(word)], style), text[len(word) :])
    return styled((f"{word[:1].upper()}{word[1:]}.", style), f" {text}" if text else "")


def leading_parts(diagnosis: Diagnosis, top: int | None, most: int = MOST) -> tuple[RankedPart, ...]:
    """The parts to name: so many as asked for, or three and up to `most` with a share of the blame."""
    if top is not None:
        return diagnosis.parts[:top]
    blamed = tuple(part for part in diagnosis.parts if part.blame > 0)
    worth = sum(part.blame >= WORTH_NAMING for part in blamed)
    return blamed[: min(max(worth, FEWEST), most)]


def suspect_line(page: Page, part: RankedPart) -> None:
    """One part with its blame, and its modes where no single one stands for it."""
    blame = f"{numbers.chance(part.blame):>10}"
    modes = [cause for cause in part.causes if cause.blame >= WORTH_A_MODE] or list(part.causes[:1])
    title, below = part.title, ""
    if len(part.causes) > 1:
        if modes[0].blame >= ONE_MODE * part.blame:
            title = f"{part.title}, {modes[0].mode_title}"
        else:
            below = ", ".join(f"{m.mode_title} {numbers.chance(m.blame)}" for m in modes[:3])
    elif not part.unnamed and part.causes:
        title = f"{part.title}, {part.causes[0].mode_title}"
    where = "" if part.unnamed else f" ({part.stage_title})"
    local = (", local rule", "local") if any(c.local for c in part.causes) else ""
    indent = LABEL + 12
    lead = Text(" " * LABEL) + Text(blame, style="suspect")
    page.say(styled((title, "suspect"), (where, "quiet"), local), first=lead, indent=indent)
    if below:
        page.say(styled((below, "quiet")), indent=indent)


def _next(page: Page, diagnosis: Diagnosis, words: Words) -> None:
    label = styled(("Next", "label"))
    lines = list(_next_steps(diagnosis, words))
    for number, line in enumerate(lines):
        page.say(line, first=label if number == 0 else "", indent=LABEL)


def _next_steps(diagnosis: Diagnosis, words: Words) -> tuple[Text, ...]:
    advice = diagnosis.advice
    if diagnosis.stop_orders:
        ids = listed(f"`{order.id}`" for order in diagnosis.stop_orders)
        return (
            styled("Carry out what stands above before anything else."),
            styled(f"Then enter it in the case under `work`, answering {ids}, and ask again."),
        )
    if advice is None:
        return (styled("No advice was asked for."),)
    steps = _best_step(diagnosis, advice, words)
    if advice.first_aid:
        named = listed(f"{c.part_title} ({c.stage_title})" for c in advice.first_aid[:3])
        more = len(advice.first_aid) - 3
        rest = f", and {more} more below" if more > 0 else ""
        steps += (styled(f"First aid of an old set, due in any case: {named}{rest}."),)
    return steps


def _best_step(diagnosis: Diagnosis, advice: Advice, words: Words) -> tuple[Text, ...]:
    if advice.remedy is not None and advice.remedy.remedy is not None:
        return _remedy_step(advice.remedy, advice.remedy_reason)
    if advice.next:
        return _check_step(diagnosis, advice.next[0], words)
    if advice.withheld:
        first = advice.withheld[0]
        return (
            styled(
                "What would tell more is not safe yet: ",
                (words.told_apart(first.check, first.title), "suspect"),
                ".",
            ),
            styled(first.because),
        )
    if diagnosis.verdict.word == GOOD:
        return (styled("Nothing more to check: sign it off and keep the readings."),)
    return (styled("No check in the book would tell more at this point."),)


def _remedy_step(cause: RankedCause, reason: str) -> tuple[Text, ...]:
    remedy = cause.remedy
    assert remedy is not None
    needs = f"; {remedy.parts}" if remedy.parts else ""
    step = styled(
        (capital(remedy.do), "suspect"),
        f" ({cause.stage_title}): {numbers.minutes(remedy.minutes)}{needs}.",
    )
    return (step, styled(sentence(reason))) if reason else (step,)


def _check_step(diagnosis: Diagnosis, check: NextCheck, words: Words) -> tuple[Text, ...]:
    danger = (f" {capital(check.hazard)}: see its cautions below.", "caution") if check.hazard else ""
    title = words.told_apart(check.check, capital(check.title))
    step = styled((title, "suspect"), f": {time_needed(check)}.", danger)
    reason = why(diagnosis, check, words)
    return (step, styled(reason)) if reason else (step,)


def time_needed(check: NextCheck) -> str:
    """Minutes of a check, and of the set-up before it."""
    own = numbers.minutes(check.minutes)
    if check.setup_minutes <= 0:
        return own
    return f"{own}, and {numbers.minutes(check.setup_minutes)} to set up"


def why(diagnosis: Diagnosis, check: NextCheck, words: Words) -> str:
    """In one line what the check is good for."""
    parts = {part.id: part for part in diagnosis.parts}
    named = sorted((parts[id] for id in check.separates if id in parts), key=lambda part: part.unnamed)
    told = [part.title if part.unnamed else words.told_apart(part.id, part.title) for part in named[:3]]
    saved = f"saves about {numbers.minutes(check.minutes_saved)}"
    if len(told) > 1:
        apart = f"It tells apart {listed(told)}"
    elif told:
        apart = f"It convicts or clears {told[0]}"
    else:
        return f"Live checks ask for it: {check.proves}." if check.proves else ""
    return f"{apart}; {saved}." if check.minutes_saved >= 1 else f"{apart}."
