"""Which checks could tell the suspects apart: a screening, before the few best are judged one by one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from diagnose.inference.question import Question
from diagnose.model.assembly import Assembly, PlacedCheck

WORTH_JUDGING = 0.005  # difference in reach below which a check tells nothing


@dataclass(frozen=True)
class Prospect:
    """A check worth judging, with what it reveals that could tell the suspects apart, best first."""

    check: PlacedCheck
    names: tuple[str, ...]
    score: float


def reach(question: Question, part: int) -> dict[int, float]:
    """How strongly a part can show at each indication: best product of chances along the arrows."""
    found = {part: 1.0}
    network = question.network
    for node in range(part + 1, len(network.nodes)):
        best = 0.0
        for arrow in network.into[node]:
            if arrow.parent in found and arrow.carries_blame:
                chance = 1.0 - float(arrow.draws[1:, 0].min())
                best = max(best, found[arrow.parent] * chance)
        if best > 0.01:
            found[node] = best
    return found


def promising(
    assembly: Assembly,
    question: Question,
    checks: Iterable[PlacedCheck],
    blame: Sequence[tuple[int, float]],
    most: int,
) -> list[Prospect]:
    """The checks that could best tell the blamed parts apart, by how differently these reach what they show.

    A screening only: what it lets through is then judged by a posterior for each outcome.
    """
    reaches = [(weight, reach(question, part)) for part, weight in blame]
    total = sum(weight for weight, _ in reaches) or 1.0
    found = []
    for check in checks:
        scores = []
        for name in check.reveals:
            node = question.bones.index[name]
            if question.observed(node):
                continue
            shows = [(weight / total, reached.get(node, 0.0)) for weight, reached in reaches]
            mean = sum(weight * value for weight, value in shows)
            score = sum(weight * abs(value - mean) for weight, value in shows)
            if score > WORTH_JUDGING:
                scores.append((-score, name))
        if scores:
            scores.sort()
            names = tuple(name for _, name in scores[:2])
            found.append(Prospect(check, names, -scores[0][0]))
    found.sort(key=lambda p: (-p.score, p.check.check.minutes, p.check.id))
    return found[:most]
