"""What the ids of a rig are called, for screens that get values without their titles."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field

from diagnose.model.assembly import Assembly

_ID = re.compile(r"\b[a-z][a-z0-9_]*\.[a-z][a-z0-9_]*\b")


@dataclass(frozen=True)
class Words:
    """Titles by id. What has no title is called by its id, with blanks for underscores."""

    stages: Mapping[str, str] = field(default_factory=dict)
    indications: Mapping[str, str] = field(default_factory=dict)
    states: Mapping[tuple[str, str], str] = field(default_factory=dict)
    good: Mapping[str, str] = field(default_factory=dict)  # the good state of each indication
    sides: Mapping[str, frozenset[str]] = field(default_factory=dict)  # on which an indication can be bad
    parts: Mapping[str, str] = field(default_factory=dict)
    modes: Mapping[str, str] = field(default_factory=dict)
    safety: Mapping[str, str] = field(default_factory=dict)
    hazards: Mapping[str, str] = field(default_factory=dict)
    instruments: Mapping[str, str] = field(default_factory=dict)
    figures: Mapping[str, str] = field(default_factory=dict)  # what is read only to work out others
    alike: frozenset[str] = frozenset()  # stages of a kind that the rig has more than once

    def stage_of(self, name: str) -> str:
        """Title of the stage that an id on the rig belongs to."""
        stage = name.partition(".")[0]
        return self.stages.get(stage, unscored(stage))

    def indication(self, name: str) -> str:
        """Title of an indication, without its stage."""
        return self.indications.get(name, unscored(name.rpartition(".")[2]))

    def placed(self, name: str) -> str:
        """Title of an indication with its stage; what is no indication stays as it is."""
        return f"{self.stage_of(name)}: {self.indications[name]}" if name in self.indications else name

    def spoken(self, text: str) -> str:
        """A text in which indications of the rig are named by their titles instead of their ids."""
        titles = {**self.figures, **self.indications}
        return _ID.sub(lambda match: titles.get(match.group(), match.group()), text)

    def origin(self, name: str) -> str:
        """What an uncertainty comes from, in words: a reading, a part, a figure of a tube or of a formula."""
        told = _ID.sub(lambda match: unscored(match.group().partition(".")[2]), self.spoken(name))
        return f"the figure {told}" if told[:1].isdigit() else told

    def told_apart(self, id: str, title: str) -> str:
        """The title of a check or part; with its stage where another stage has the same."""
        return f"{title} ({self.stage_of(id)})" if id.partition(".")[0] in self.alike else title

    def instrument(self, name: str) -> str:
        """An instrument of the rig or the bench by what it shows: the meter itself, or what a panel shows."""
        stage = name.partition(".")[0]
        return self.instruments.get(stage) or self.indications.get(name) or self.stage_of(name)

    def state(self, name: str, state: str) -> str:
        """An indication's state in words; "not known" for none."""
        if not state:
            return "not known"
        return self.states.get((name, state)) or unscored(state)

    def part(self, name: str) -> str:
        """Title of a part with its stage, as `driver: driver tube`."""
        return f"{self.stage_of(name)}: {self.parts.get(name, unscored(name.rpartition('.')[2]))}"

    def condition(self, part: str, found: str) -> str:
        """What an examined part was found to be."""
        return self.modes.get(f"{part}.{found}", unscored(found))


def unscored(id: str) -> str:
    """An id as words."""
    return id.replace("_", " ")


def words_of(assembly: Assembly) -> Words:
    """The titles of everything on a rig and its bench."""
    bench, kinds = assembly.book.bench, assembly.book.kinds
    often = Counter(stage.kind for stage in assembly.rig.stages.values())
    return Words(
        stages={id: stage.title for id, stage in assembly.rig.stages.items()},
        indications={id: placed.indication.title for id, placed in assembly.indications.items()},
        states={
            (id, state.id): state.title
            for id, placed in assembly.indications.items()
            for state in placed.indication.states
            if state.title
        },
        good={id: placed.indication.states[0].id for id, placed in assembly.indications.items()},
        sides={
            id: frozenset(state.side for state in placed.indication.states)
            for id, placed in assembly.indications.items()
        },
        parts={id: placed.part.title for id, placed in assembly.parts.items()},
        modes={id: mode.title for id, _, mode in assembly.causes()},
        safety=bench.safety,
        hazards={id: hazard.title for id, hazard in bench.hazards.items()},
        instruments={id: instrument.title for id, instrument in bench.instruments.items()},
        figures={
            f"{id}.{figure.id}": figure.title
            for id, stage in assembly.rig.stages.items()
            for figure in kinds[stage.kind].figures.values()
        },
        alike=frozenset(id for id, stage in assembly.rig.stages.items() if often[stage.kind] > 1),
    )
