"""Where things stand, on the screen: the verdict, the leading parts, and what the last entry changed."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from diagnose.interview.course import Course
from diagnose.model.result import Diagnosis, RankedPart
from diagnose.render import numbers
from diagnose.render.first import verdict_sentence
from diagnose.render.page import Page, capital, listed, sentence, styled

MOST, FEWEST = 5, 2  # parts that are shown
LABEL: Final = 7  # width of the labels at the left
_LEAST = 0.01  # blame of any part that is shown
_WORTH = 0.02  # blame from which a part beyond the fewest is shown
_COLUMNS_FROM = 60  # width of the page
_SAME = 0.005  # a change of blame that is none


def standing(page: Page, course: Course, most: int = MOST, *, verdict: bool = True) -> None:
    """The verdict, the leading parts, and what the last entry changed."""
    now, before = course.standing, course.earlier
    shown = leaders(now, most)
    said = verdict_sentence(now, leading=bool(shown)) if verdict else capital(sentence(now.verdict.word))
    page.say(said, first=styled(("So far", "label")), indent=LABEL)
    if course.fresh_trouble:
        _after_work(page, course)
    if not shown:
        return
    was = {part.id: part.blame for part in before.parts} if before is not None else None
    for number, part in enumerate(shown, start=1):
        _row(page, f"{number}.", part, "" if was is None else changed(was.get(part.id, 0.0), part.blame))
    if before is not None and before.parts:
        _row_of_former(page, now, before, shown)


def _row(page: Page, first: str, part: RankedPart, change: str) -> None:
    """One part with its blame and what the last entry changed."""
    named = f"{part_title(part)}" + ("" if part.unnamed else f" ({part.stage_title})")
    if page.width < _COLUMNS_FROM:
        said = styled(f"{numbers.chance(part.blame)} ", (named, "suspect"), f" {change}")
        page.say(said, first=first, indent=3)
        return
    cells = (numbers.chance(part.blame), styled((named, "suspect")), change)
    page.row(cells, (-10, page.width - 32, 12), first=first, indent=3)


def _row_of_former(page: Page, now: Diagnosis, before: Diagnosis, shown: tuple[RankedPart, ...]) -> None:
    """The part that led before, where the last entry put it off the list."""
    former = before.parts[0]
    if former.blame < _LEAST or any(part.id == former.id for part in shown):
        return
    left = next((part for part in now.parts if part.id == former.id), replace(former, blame=0.0))
    _row(page, "-", replace(former, blame=left.blame), changed(former.blame, left.blame))


def _after_work(page: Page, course: Course) -> None:
    """What was touched last is the first suspect."""
    signs = listed(course.assembly.indications[n].indication.title for n in course.fresh_trouble[:3])
    work = course.last_change.did if course.last_change else ""
    said = f"New since the last work: {signs}. Look first at what was touched last: {work}."
    page.say(styled((said, "caution")), indent=LABEL)


def leaders(diagnosis: Diagnosis, most: int = MOST) -> tuple[RankedPart, ...]:
    """The parts that are worth naming, in their order: what `did 1` and `grounds 1` count."""
    blamed = tuple(part for part in diagnosis.parts if part.blame >= _LEAST)
    worth = sum(part.blame >= _WORTH for part in blamed)
    return blamed[: min(max(worth, FEWEST), most)]


def part_title(part: RankedPart) -> str:
    """A part with the mode that speaks for it, if one does."""
    lead = part.causes[0]
    if part.unnamed or (len(part.causes) > 1 and lead.blame < 0.9 * part.blame):
        return part.title
    return f"{part.title}, {lead.mode_title}"


def changed(was: float, now: float) -> str:
    """A change of blame in words and signs: `up +12`, `down -8`, `same`."""
    points = round(100 * now) - round(100 * was)
    if abs(now - was) < _SAME or not points:
        return "same"
    return f"up +{points}" if points > 0 else f"down {points}"
