"""From posteriors to the ranked lists a person reads: parts by blame, causes, and what is also due."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from diagnose.inference.answer import Answer
from diagnose.model.assembly import Assembly, PlacedPart, resolve
from diagnose.model.knowledge import Remedy
from diagnose.model.result import RankedCause, RankedPart, Ranking

_BLAMELESS = 0.25  # of its own probability: a cause blamed less than this has little to do with it


def rank(assembly: Assembly, answer: Answer) -> Ranking:
    """Every part of the rig, by blame, then by how probably it is bad."""
    local = _local_causes(assembly)
    parts = []
    for placed in assembly.parts.values():
        parts.append(_rank_part(assembly, answer, placed, local))
    parts.sort(key=lambda p: (-p.blame, -p.probability, p.id))
    causes = sorted(
        (cause for part in parts for cause in part.causes),
        key=lambda c: (-c.blame, -c.probability, c.id),
    )
    threshold = assembly.book.bench.advice["also_due"]
    due = [
        part.causes[0]
        for part in sorted(parts, key=lambda p: (-p.probability, p.id))
        if part.probability >= threshold and part.blame < _BLAMELESS * part.probability and not part.unnamed
    ]
    return Ranking(tuple(parts), tuple(causes), tuple(due))


def _rank_part(
    assembly: Assembly,
    answer: Answer,
    placed: PlacedPart,
    local: Mapping[str, bool],
) -> RankedPart:
    node = answer.question.bones.index[placed.id]
    prior = answer.question.bones.prior_now(answer.question.network, placed.id)
    presence = answer.solution.presence.get(node)
    blame = answer.solution.blame.get(node)
    states = prior if presence is None else presence[0]
    blamed = np.zeros(len(prior)) if blame is None else blame[0]
    stage = assembly.rig.stages[placed.stage]
    causes = []
    for number, mode in enumerate(placed.part.modes, start=1):
        cause_id = placed.cause_id(mode)
        causes.append(
            RankedCause(
                id=cause_id,
                part=placed.id,
                title=_title(placed, mode.title),
                part_title=placed.part.title,
                mode_title=mode.title,
                stage=placed.stage,
                stage_title=stage.title,
                probability=float(states[number]),
                blame=float(blamed[number]),
                prior=float(prior[number]),
                remedy=_on_rig(assembly, placed, placed.remedy(mode)),
                local=local.get(cause_id, False),
                unnamed=placed.part.unnamed,
                first_aid=placed.part.first_aid,
            )
        )
    causes.sort(key=lambda c: (-c.blame, -c.probability, c.id))
    return RankedPart(
        id=placed.id,
        title=placed.part.title,
        stage=placed.stage,
        stage_title=stage.title,
        probability=float(1.0 - states[0]),
        blame=float(blamed[1:].sum()),
        causes=tuple(causes),
        unnamed=placed.part.unnamed,
    )


def _on_rig(assembly: Assembly, placed: PlacedPart, remedy: Remedy | None) -> Remedy | None:
    """The remedy with what to read again as ids on the rig; what this rig does not have is left out."""
    if remedy is None or not remedy.read_again:
        return remedy
    names = [resolve(assembly.rig.stages[placed.stage], name) for name in remedy.read_again]
    here = tuple(name for name in names if name is not None and name in assembly.indications)
    return replace(remedy, read_again=here)


def _title(placed: PlacedPart, mode_title: str) -> str:
    if placed.part.unnamed:
        return placed.part.title
    return f"{placed.part.title}: {mode_title}"


def _local_causes(assembly: Assembly) -> dict[str, bool]:
    """Causes that a rule of the shop folder speaks of."""
    return {
        f"{link.parent}.{link.parent_state}": True
        for link in assembly.links
        if link.rule.local and link.parent in assembly.parts
    }
