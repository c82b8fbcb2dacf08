"""Whether words are nearly those of an indication: all that its title or a synonym says, and nothing that it lacks.

Words that only have much in common may mean the opposite: `relay clicks` is not `relay does not click`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from diagnose.interview.stems import directions, stems
from diagnose.model.assembly import Assembly, PlacedIndication


def nearly(words: str, assembly: Assembly, names: Iterable[str]) -> tuple[str, ...]:
    """Of these names the one that the words fit best; all that they fit, the best first, if no single one is best.

    The tail of an id, the title (its stage may be left unsaid) and a synonym each speak for a name; where several
    fit as well, a stage that was said tells them apart.
    """
    said = frozenset(stems(words))
    fits: dict[str, tuple[int, int]] = {}
    for name in names:
        placed = assembly.indications[name]
        fit = _fits(words, assembly, placed)
        if fit:
            fits[name] = fit, len(said & _stage(assembly, placed))
    ranked = sorted(fits, key=lambda name: fits[name], reverse=True)
    if len(ranked) > 1 and fits[ranked[0]] > fits[ranked[1]]:
        return (ranked[0],)
    return tuple(ranked)


def _fits(words: str, assembly: Assembly, placed: PlacedIndication) -> int:
    """How many of its names the words fit."""
    said, turned = frozenset(stems(words)), directions(words)
    if not said:
        return 0
    stage = _stage(assembly, placed)
    return sum(
        needed <= said <= needed | may | stage and turned == directions(text)
        for text, needed, may in _names(placed, stage)
    )


def _names(
    placed: PlacedIndication, stage: frozenset[str]
) -> Iterator[tuple[str, frozenset[str], frozenset[str]]]:
    """What it goes by: the text, the stems that have to be said, and those that may be said beside its stage."""
    title = frozenset(stems(placed.indication.title))
    texts = (placed.id.rpartition(".")[2].replace("_", " "), *placed.indication.words)
    for text in texts:
        own = frozenset(stems(text))
        if own:
            yield text, own, frozenset()
    if title:
        yield placed.indication.title, (title - stage) or title, title


def _stage(assembly: Assembly, placed: PlacedIndication) -> frozenset[str]:
    title = assembly.rig.stages[placed.stage].title
    return frozenset(stems(f"{title} {placed.stage.replace('_', ' ')}"))
