"""Do the rules make sense beside each other: contradictions, short cuts, degrees, repeated reasons."""

from __future__ import annotations

import re
from collections.abc import Iterator

from diagnose.model.assembly import Link
from diagnose.model.knowledge import Rule
from diagnose.problems import ERROR, WARNING, Problem
from diagnose.review.survey import Appearance, Laid, Survey

MIDDLING = (0.3, 0.7)
MANY = 3  # middling links in one direction from which a cause is really two
OFTEN = 0.3  # both directions this often call for a look
SAME = 1e-9


def contradictions(survey: Survey) -> Iterator[Problem]:
    """Nothing pushes an indication down and up more often than there are sets to show it.

    Each chance counts, of the sets that have this and nothing else, those that show that; low and high
    exclude each other, so the two cannot add up to more than all.
    """
    said: set[tuple[str, str]] = set()
    for laid in survey.laid.values():
        for links in laid.out_of.values():
            for down, up in _opposed(laid, links):
                pair = (down.rule.id, up.rule.id)
                if pair in said:
                    continue
                said.add(pair)
                if down.chance + up.chance > 1 + SAME:
                    yield _opposition(down, up, ERROR, "contradiction", "together more than all sets")
                elif min(down.chance, up.chance) >= OFTEN:
                    yield _opposition(down, up, WARNING, "both-ways", "so that it says next to nothing")


def _opposed(laid: Laid, links: tuple[Link, ...]) -> Iterator[tuple[Link, Link]]:
    for down in links:
        if laid.side(down) != "down":
            continue
        for up in links:
            if up.child == down.child and laid.side(up) == "up":
                yield down, up


def _opposition(down: Link, up: Link, level: str, id: str, so: str) -> Problem:
    first, second = sorted((down.rule, up.rule), key=lambda rule: rule.place)
    return Problem(
        second.place,
        level,
        id,
        f"{second.id} pushes {second.to_name} the other way than {first.id} ({first.place}), {so}",
        "keep one of them, or tell them apart by `when` or by two modes",
    )


def doubled_rules(survey: Survey) -> Iterator[Problem]:
    """One arrow is stated by one rule only on any rig: two would be counted twice."""
    said: set[str] = set()
    for laid in survey.laid.values():
        for links in laid.out_of.values():
            first: dict[tuple[str, str], Link] = {}
            for link in links:
                other = first.setdefault((link.child, link.child_state), link)
                if other is not link and link.rule.id not in said:
                    said.add(link.rule.id)
                    yield Problem(
                        link.rule.place,
                        ERROR,
                        "doubled-rule",
                        f"{link.rule.id} states the same arrow as {other.rule.id} ({other.rule.place})",
                        "keep one, or give them `when`s that exclude each other",
                    )


def short_cuts(survey: Survey) -> Iterator[Problem]:
    """A rule leads to the nearest consequence: no A to C where A to B and B to C exist wherever it applies."""
    around: dict[str, list[Link | None]] = {}
    rules: dict[str, tuple[Rule, Link]] = {}
    for laid in survey.laid.values():
        for links in laid.out_of.values():
            for link in links:
                if not link.rule.damages:
                    around.setdefault(link.rule.id, []).append(_way_round(laid, link, links))
                    rules[link.rule.id] = (link.rule, link)
    for id, ways in around.items():
        found = [way for way in ways if way is not None]
        if len(found) == len(ways):
            rule, _ = rules[id]
            first = found[0]
            yield Problem(
                rule.place,
                WARNING,
                "short-cut",
                f"{id} passes over {first.parent}: {first.rule.id} leads on from there to {rule.to_name}",
                "lead only to the nearest consequence",
            )


def _way_round(laid: Laid, link: Link, siblings: tuple[Link, ...]) -> Link | None:
    """The second arrow of a way over another indication to the same end, in the same direction.

    Only over the stages of the rule's own ends, for a rule cannot know what else hangs on its source; and only
    where the way round accounts for half of what the rule claims, for there may be a second mechanism.
    """
    ends = {link.parent.partition(".")[0], link.child.partition(".")[0]}
    for step in siblings:
        if step.rule.damages or step.child == link.child or step.child.partition(".")[0] not in ends:
            continue
        for onward in laid.from_state(step.child, step.child_state):
            same_end = onward.child == link.child and laid.side(onward) == laid.side(link)
            if same_end and step.chance * onward.chance >= link.chance / 2:
                return onward
    return None


def missing_degrees(survey: Survey) -> Iterator[Problem]:
    """A cause that shows at three or more places about half the time is two causes: mild and severe."""
    for cause in survey.causes:
        middling = max((_middling(cause, side) for side in ("down", "up", "over")), key=len)
        if len(middling) >= MANY:
            yield Problem(
                cause.mode.place,
                WARNING,
                "missing-degrees",
                f"{cause.name} has {len(middling)} middling chances in one direction: {', '.join(middling)}",
                "split it into a mild and a severe mode, each with clear chances",
            )


def _middling(cause: Appearance, side: str) -> tuple[str, ...]:
    """The most rules of one place of the cause that push to one side with a middling chance."""
    most: tuple[str, ...] = ()
    for laid, placed in cause.places:
        found = tuple(
            link.rule.id
            for link in laid.from_state(placed.id, cause.mode.id)
            if laid.side(link) == side and MIDDLING[0] <= link.chance <= MIDDLING[1]
        )
        if len(found) > len(most):
            most = found
    return most


def repeated_sentences(survey: Survey) -> Iterator[Problem]:
    """No sentence stands in the reasons of two rules; a whole reason that repeats is found on reading."""
    first: dict[str, Rule] = {}
    whole: set[str] = set()
    for kind in survey.book.kinds.values():
        for rule in kind.rules.values():
            reason = _tidy(rule.because)
            if reason in whole:
                continue
            whole.add(reason)
            for sentence in dict.fromkeys(_sentences(rule.because)):
                other = first.setdefault(sentence, rule)
                if other is not rule:
                    yield Problem(
                        rule.place,
                        WARNING,
                        "same-sentence",
                        f"{rule.id} repeats a sentence of {other.id} ({other.place}): {sentence}",
                        "give the reason of this rule",
                    )


def _sentences(text: str) -> Iterator[str]:
    for sentence in re.split(r"(?<=[.;!?])\s+", _tidy(text)):
        if len(sentence.split()) > 2:
            yield sentence.rstrip(".;!?")


def _tidy(text: str) -> str:
    return " ".join(text.lower().split())
