"""Cases of a rig with everything that a case may say, drawn at random."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from hypothesis import strategies as st

from diagnose.files.desk import Desk
from diagnose.files.faults import Faults
from diagnose.files.plausible import odd_magnitude
from diagnose.files.read_case import assembly_of
from diagnose.files.read_meters import fits
from diagnose.files.rig_names import RigNames, names_on
from diagnose.model.case import Case, Drift, Observation, Work
from diagnose.model.knowledge import Book, Indication, Rig
from diagnose.model.measuring import Meter
from diagnose.problems import NOWHERE

texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=30).map(str.strip)
spoken = st.sampled_from(["yes", "no", "null", "~", "12", "0.5", "true", "- a", "a: b", "#", "it's", "?", "60 to 80", "über"]) | texts  # fmt: skip
sizes = st.floats(1e-6, 1e6) | st.integers(1, 2000).map(float)
shares = st.floats(0.001, 0.999) | st.integers(1, 99).map(lambda percent: percent / 100)


def some(draw: st.DrawFn, known: Any, most: int = 3) -> list[Any]:
    """A few different ones of those known."""
    known = list(known)
    return draw(st.lists(st.sampled_from(known), max_size=most, unique=True)) if known else []


def maybe(values: st.SearchStrategy[Any], nothing: Any = None) -> st.SearchStrategy[Any]:
    """Nothing said, or one of these."""
    return st.just(nothing) | values


def _meter(draw: st.DrawFn, book: Book, id: str) -> Meter:
    """A meter as a case may describe it."""
    instrument = book.bench.instruments[draw(st.sampled_from(sorted(book.bench.instruments)))]
    unit = draw(st.sampled_from(["V", "mA", "kohm", "W", "kHz"]))
    loads = draw(st.sampled_from(["", "ohms_per_volt", "input_resistance"]))
    digits = draw(maybe(st.floats(0.5, 9), 0.0))
    return Meter(
        id,
        draw(texts) or id.replace("_", " "),
        instrument.id,
        unit,
        tuple(sorted(draw(st.lists(sizes, max_size=4, unique=True)))),
        of_full_scale=draw(maybe(shares, 0.0)),
        of_reading=draw(maybe(shares, 0.0)),
        digits=digits,
        resolution=draw(sizes) if digits else draw(maybe(sizes, 0.0)),
        ohms_per_volt=draw(sizes) if loads == "ohms_per_volt" else 0.0,
        input_resistance=draw(sizes) if loads == "input_resistance" else 0.0,
    )


def _logged(book: Book, rig: Rig) -> list[str]:
    """The stages that take a drift log."""
    return [id for id, stage in rig.stages.items() if book.kinds[stage.kind].drift_log is not None]


def _drift(draw: st.DrawFn, rig: Rig, stage: str) -> Drift:
    """A log written out in the case, with gaps in what was read beside the frequency."""
    rows = draw(st.integers(1, 6))

    def column(values: st.SearchStrategy[float]) -> tuple[float, ...]:
        found = draw(
            st.lists(maybe(values.map(lambda v: round(v, 6)), float("nan")), min_size=rows, max_size=rows)
        )
        return tuple(found) if not all(map(math.isnan, found)) else ()

    times = draw(st.lists(st.floats(0, 1e5).map(lambda v: round(v, 6)), min_size=rows, max_size=rows))
    hertz = st.floats(1e5, 5e7).map(lambda v: round(v, 6)) | st.integers(10**6, 10**7).map(float)
    return Drift(
        stage,
        tuple(sorted(times)),
        tuple(draw(st.lists(hertz, min_size=rows, max_size=rows))),
        column(st.floats(1, 300)),
        column(st.floats(-20, 90)),
        draw(st.booleans()),
        draw(maybe(st.sampled_from(rig.bands), "")) if rig.bands else "",
    )


def _observation(draw: st.DrawFn, desk: Desk) -> Observation:
    """A reading or an answer: a value, a range, a state or not known, in the person's words or without any."""
    name = draw(st.sampled_from(sorted(desk.names.readable())))
    subject = desk.names.indications.get(name) or desk.names.figures[name]
    found = draw(st.sampled_from([_measured, _graded]))(draw, name, desk)
    instrument = draw(maybe(st.sampled_from(sorted(desk.instruments)), ""))
    return replace(
        found, meter=instrument, range=_range(draw, desk, instrument, subject.unit), **_made(draw, desk)
    )


def _graded(draw: st.DrawFn, name: str, desk: Desk) -> Observation:
    subject = desk.names.indications.get(name)
    states = [state.id for state in subject.states] if subject is not None else []
    state = draw(st.sampled_from(["", *states]))
    words = draw(st.sampled_from(["", state or "not known", (state or "not known").upper()]) | spoken)
    return Observation(name, state=state, as_written=words)


def _measured(draw: st.DrawFn, name: str, desk: Desk) -> Observation:
    subject = desk.names.indications.get(name) or desk.names.figures[name]
    if isinstance(subject, Indication) and subject.sort != "quantity":
        return _graded(draw, name, desk)
    usual = [row.value for row in desk.rig.chart if row.quantity == name and row.value] or [50.0]
    value = draw(st.sampled_from(usual)) * draw(st.floats(0.8, 1.2))
    other = value * draw(st.floats(1.01, 1.2))
    if isinstance(subject, Indication) and any(
        odd_magnitude(name, v, subject, desk.rig.chart) for v in (value, other)
    ):
        return _graded(draw, name, desk)
    unit = subject.unit
    within = draw(maybe(shares))
    if draw(st.booleans()):
        low, high = sorted((value, other))
        words = draw(
            st.sampled_from(["", f"{low!r} to {high!r} {unit}", f"between {low!r} and {high!r}"]) | spoken
        )
        return Observation(name, value=(low + high) / 2, low=low, high=high, as_written=words, within=within)
    roughly = draw(st.booleans())
    words = draw(st.sampled_from(["", f"{value!r} {unit}", f"{value!r}"]) | spoken)
    if roughly:
        words, within = f"about {value!r} {unit}", within or 0.1
    return Observation(name, value=value, as_written=words.strip(), within=within)


def _range(draw: st.DrawFn, desk: Desk, instrument: str, unit: str) -> float | None:
    """Full scale in use: one of the meter's where the case or the shop describes it."""
    meter = desk.meter(instrument)
    if instrument in desk.meters and meter is not None and meter.ranges and fits(meter, unit):
        full: float | None = draw(maybe(st.sampled_from(meter.ranges)))
        return full
    return draw(maybe(sizes))  # type: ignore[no-any-return]


def _made(draw: st.DrawFn, desk: Desk) -> dict[str, Any]:
    """Under which circumstances."""
    rig = desk.rig
    return {
        "mode": draw(st.sampled_from(["", *rig.features.get("modes", ())])),
        "band": draw(st.sampled_from(["", *rig.bands])),
        "mains": draw(maybe(st.floats(0.1, 1.2).map(lambda ratio: ratio * rig.mains_voltage))),
        "mains_frequency": draw(maybe(st.floats(45, 65))),
        "warmth": draw(st.sampled_from(["", "cold", "warm"])),
        "minutes": draw(maybe(st.floats(0, 600))),
        "period": draw(maybe(st.integers(0, desk.works))),
        "told_by": draw(st.sampled_from(sorted(desk.bench.reports))),
        "while_showing": draw(maybe(st.booleans())),
    }


def _history(draw: st.DrawFn, book: Book) -> dict[str, Any]:
    values: dict[str, Callable[[Any], Any]] = {
        "number": lambda fact: draw(st.integers(0, 80) | st.floats(0, 80)),
        "yes_no": lambda fact: draw(st.sampled_from(["yes", "no"])),
        "choice": lambda fact: draw(st.sampled_from(sorted(fact.values))),
        "set": lambda fact: tuple(some(draw, fact.values)),
    }
    return {
        id: values[book.bench.facts[id].kind](book.bench.facts[id]) for id in some(draw, book.bench.facts)
    }


class Held:
    """A book that is not printed with everything drawn from it."""

    def __init__(self, book: Book) -> None:
        self.book = book

    def __repr__(self) -> str:
        return "Held(book)"


def _work(draw: st.DrawFn, names: RigNames) -> Work:
    """A piece of work; what it cures is among its parts."""
    cures = tuple(some(draw, names.causes()))
    parts = dict.fromkeys([*some(draw, names.modes), *(cause.rpartition(".")[0] for cause in cures)])
    answers = draw(st.sampled_from(["", *names.stops]))
    return Work(draw(texts) or "-", answers, tuple(parts), cures, bool(parts) or draw(st.booleans()))


@st.composite
def cases(draw: st.DrawFn, held: Held) -> Case:
    """A case of one of the rigs of the book."""
    book = held.book
    rig = book.rigs[draw(st.sampled_from(sorted(book.rigs)))]
    described = {id: _meter(draw, book, id) for id in some(draw, ["vom", "old_probe", "9"], 2)}
    assembly = assembly_of(book, rig.id, tuple(described.values()))
    names: RigNames = names_on(book, assembly.rig)
    work = tuple(_work(draw, names) for _ in range(draw(st.integers(0, 3))))
    desk = Desk(rig, names, book.bench, Faults(), {**book.meters, **described}, len(work))
    setups = book.bench.setups
    cannot = tuple(some(draw, (*names.checks, *names.readable())))
    return Case(
        draw(texts) or "x",
        rig.id,
        draw(texts),
        draw(maybe(st.floats(0.1, 1.2).map(lambda ratio: ratio * rig.mains_voltage))),
        draw(maybe(st.floats(45, 65))),
        draw(st.sampled_from(["", *rig.features.get("modes", ())])),
        draw(st.sampled_from(["", *rig.bands])),
        described,
        tuple(
            _drift(draw, rig, stage)
            for stage in some(draw, _logged(book, rig))
            for _ in range(draw(st.integers(0, 2)))
        ),
        draw(maybe(st.just(tuple(some(draw, book.bench.instruments))))),
        _history(draw, book),
        tuple(some(draw, book.bench.safety)),
        {group: draw(st.sampled_from(sorted(setups[group].states))) for group in some(draw, setups)},
        cannot,
        draw(st.booleans()),
        tuple(_observation(draw, desk) for _ in range(draw(st.integers(0, 6)))),
        {part: draw(st.sampled_from(["good", *names.modes[part]])) for part in some(draw, names.modes)},
        work,
        draw(maybe(st.just(tuple(some(draw, names.causes()))))),
        {name: draw(texts) for name in some(draw, cannot)},
    )


def bare(case: Case, like: Case | None = None) -> Case:
    """A case without its places and problems, and without words where the one it is compared with has none."""
    words = [o.as_written for o in (like or case).observations]
    words += [""] * (len(case.observations) - len(words))
    return replace(
        case,
        place=NOWHERE,
        problems=(),
        observations=tuple(
            replace(o, place=NOWHERE, as_written=o.as_written if word else "")
            for o, word in zip(case.observations, words, strict=False)
        ),
        work=tuple(replace(work, place=NOWHERE) for work in case.work),
        drift=tuple(replace(log, place=NOWHERE) for log in case.drift),
        meters={id: replace(meter, place=NOWHERE) for id, meter in case.meters.items()},
    )
