"""A case as the text of a case file: the same case comes out when it is read again.

What the person wrote stays as it was written, wherever it is still understood as what it was taken for;
else the understood value stands there with the person's words under `said`. Readings and answers keep their
order: under `readings` and `symptoms` where all answers come last, else all under `readings` as one list.
Not kept are tables and sockets as such (their readings are written out), and remarks.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby

from diagnose.files.desk import Desk
from diagnose.files.document import Node
from diagnose.files.faults import Faults
from diagnose.files.read_meters import fits
from diagnose.files.read_seen import Subject, seen
from diagnose.files.rig_names import RigNames, names_on
from diagnose.files.write_bench import drift_lines, meter_lines
from diagnose.files.yaml_text import amount, block, listing, mapping, number, read_back, share, word
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case, Observation, Work
from diagnose.model.knowledge import Indication
from diagnose.problems import NOWHERE

TOLD_BY = "bench"  # what a reading has that does not say who told it
ANSWERS = ("symptom", "pattern")  # sorts of indications that are answered and not read

# Types that the schema lets stand in the place of a text.
_VALUE, _ANSWER = (int, float), (bool,)


def case_text(case: Case, assembly: Assembly) -> str:
    """The YAML text of a case of this rig, one line for each entry."""
    desk = _desk(case, assembly)
    lines = [
        *_head(case),
        *block("meters", meter_lines(case.meters)),
        *_bench(case),
        *block("drift", drift_lines(case.drift)),
        *_observed([_Entry.of(observation, desk) for observation in case.observations]),
        *block("inspected", (f"{word(part)}: {word(found)}" for part, found in case.inspected.items())),
        *block("work", (f"- {_work(work)}" for work in case.work)),
    ]
    if case.confirmed is not None:
        lines.append(f"confirmed: {listing(map(word, case.confirmed))}")
    return "\n".join(lines) + "\n"


def _desk(case: Case, assembly: Assembly) -> Desk:
    book = assembly.book
    meters = {**book.meters, **case.meters}
    rig = book.rigs.get(case.rig, assembly.rig)  # without the instruments beside it, as when it is read
    return Desk(rig, _names(assembly), book.bench, Faults(), meters, len(case.work))


@lru_cache(maxsize=8)
def _names(assembly: Assembly) -> RigNames:
    return names_on(assembly.book, assembly.rig)


def _head(case: Case) -> Iterator[str]:
    yield f"case: {word(case.id)}"
    yield f"rig: {word(case.rig)}"
    if case.about:
        yield f"about: {word(case.about)}"
    if case.mains is not None:
        yield f"mains: {amount(case.mains, 'V')}"
    if case.mains_frequency is not None:
        yield f"mains_frequency: {amount(case.mains_frequency, 'Hz')}"
    if case.mode:
        yield f"mode: {word(case.mode)}"
    if case.band:
        yield f"band: {word(case.band)}"


def _bench(case: Case) -> Iterator[str]:
    if case.instruments is not None:
        yield f"instruments: {listing(map(word, case.instruments))}"
    yield from block("history", (f"{word(fact)}: {_fact(value)}" for fact, value in case.history.items()))
    if case.safety:
        yield f"safety: {listing(map(word, case.safety))}"
    if case.bench:
        yield f"bench: {mapping({group: word(state) for group, state in case.bench.items()})}"
    if case.cannot:
        yield f"cannot: {listing(map(word, case.cannot))}"
    if case.has_none:
        yield f"has_none: {mapping({word(name): word(said) for name, said in case.has_none.items()})}"
    if case.intermittent:
        yield "intermittent: yes"


def _fact(value: object) -> str:
    if isinstance(value, (int, float)):
        return number(value)
    if isinstance(value, (tuple, list)):
        return listing(word(str(member)) for member in value)
    return word(str(value))


def _work(work: Work) -> str:
    if work.changed and not (work.answers or work.parts or work.cures):
        return word(work.did)
    entries = {"did": word(work.did)}
    if work.parts:
        entries["parts"] = listing(map(word, work.parts))
    if work.cures:
        entries["cures"] = listing(map(word, work.cures))
    if work.answers:
        entries["answers"] = word(work.answers)
    if not work.changed:
        entries["changed"] = "no"
    return mapping(entries)


@dataclass(frozen=True)
class _Entry:
    """One observation as YAML text: its name, what was read, and under which circumstances."""

    name: str
    is_answer: bool
    said: str
    further: dict[str, str]

    @classmethod
    def of(cls, observation: Observation, desk: Desk) -> _Entry:
        subject = desk.names.indications.get(observation.name) or desk.names.figures.get(observation.name)
        # a width and a range are those of a measurement, even of one that was graded by a look at it
        measured = observation.within is not None or observation.range is not None
        is_answer = isinstance(subject, Indication) and subject.sort in ANSWERS and not measured
        unquoted = _ANSWER if is_answer else _VALUE
        unit = subject.unit if subject is not None else ""
        understood = _understood(observation, subject, unquoted, desk)
        said = _value(observation, unit) if understood is None else observation.as_written
        own = {"said": word(observation.as_written)} if understood is None and observation.as_written else {}
        within = understood.within if understood is not None else None
        if observation.within is not None and observation.within != within:
            own["within"] = share(observation.within)
        return cls(
            observation.name,
            is_answer,
            word(said, unquoted),
            {**own, **_circumstances(observation, unit, desk)},
        )

    def value(self) -> str:
        """What stands behind its name."""
        if not self.further:
            return self.said
        return mapping({"answer" if self.is_answer else "value": self.said, **self.further})

    def member(self) -> str:
        """The same as a member of a list with its name in it."""
        name, value = ("symptom", "answer") if self.is_answer else ("quantity", "value")
        return mapping({name: word(self.name), value: self.said, **self.further})


def _understood(
    observation: Observation, subject: Subject | None, unquoted: tuple[type, ...], desk: Desk
) -> Observation | None:
    """What the reader makes of the person's words, if that is what they were taken for."""
    written = observation.as_written
    if not written or subject is None:
        return None
    node = Node(read_back(written, unquoted), NOWHERE, NOWHERE, written)
    found = seen(observation.name, subject, node, desk)
    if found is None:
        return None
    if found.within is not None and observation.within is None:
        return None  # no key says that a value is better than its words
    wanted = (observation.state, observation.value, observation.low, observation.high, written)
    return found if (found.state, found.value, found.low, found.high, found.as_written) == wanted else None


def _value(observation: Observation, unit: str) -> str:
    """What was understood, in words of the file."""
    if observation.low is not None and observation.high is not None:
        return f"{number(observation.low)} to {amount(observation.high, unit)}"
    if observation.value is not None:
        return amount(observation.value, unit)
    return observation.state or "not known"


def _circumstances(observation: Observation, unit: str, desk: Desk) -> dict[str, str]:
    o = observation
    meter = desk.meter(o.meter)
    scale = meter.unit if meter is not None and meter.unit and fits(meter, unit) else unit
    found = {
        "with": word(o.meter) if o.meter else "",
        "range": amount(o.range, scale) if o.range is not None else "",
        "mode": word(o.mode) if o.mode else "",
        "band": word(o.band) if o.band else "",
        "mains": amount(o.mains, "V") if o.mains is not None else "",
        "mains_frequency": amount(o.mains_frequency, "Hz") if o.mains_frequency is not None else "",
        "warmth": word(o.warmth) if o.warmth else "",
        "minutes": amount(o.minutes, "min") if o.minutes is not None else "",
        "period": str(o.period) if o.period is not None else "",
        "told_by": word(o.told_by) if o.told_by != TOLD_BY else "",
        "while_showing": {None: "", True: "yes", False: "no"}[o.while_showing],
    }
    return {key: text for key, text in found.items() if text}


def _observed(entries: Sequence[_Entry]) -> Iterator[str]:
    """The sections of readings and symptoms, in which the order of the observations is kept."""
    first_answer = next((at for at, entry in enumerate(entries) if entry.is_answer), len(entries))
    readings, answers = entries[:first_answer], entries[first_answer:]
    if not all(entry.is_answer for entry in answers) or not _together(answers):
        yield from block("readings", (f"- {entry.member()}" for entry in entries))
        return
    if _together(readings):
        yield from block("readings", _by_name(readings))
    else:
        yield from block("readings", (f"- {entry.member()}" for entry in readings))
    yield from block("symptoms", _by_name(answers))


def _together(entries: Sequence[_Entry]) -> bool:
    """Whether what bears one name stands together, so that a mapping keeps the order."""
    names = [name for name, _ in groupby(entry.name for entry in entries)]
    return len(names) == len(set(names))


def _by_name(entries: Iterable[_Entry]) -> Iterator[str]:
    for name, group in groupby(entries, key=lambda entry: entry.name):
        values = [entry.value() for entry in group]
        if len(values) == 1:
            yield f"{word(name)}: {values[0]}"
        else:
            yield from block(word(name), (f"- {value}" for value in values))
