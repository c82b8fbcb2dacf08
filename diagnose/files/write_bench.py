"""The meters and drift logs of a case as lines of its file."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from diagnose.files.read_drift import COLUMNS
from diagnose.files.yaml_text import listing, mapping, number, share, word
from diagnose.model.case import Drift
from diagnose.model.measuring import Meter
from diagnose.units import convert

# Units in which a column of a log reads well; the first that gives every number exactly is taken.
_WELL_READ = {"time": ("min",), "frequency": ("kHz",)}
_LONGEST = 12  # characters of a number that reads well


def meter_lines(meters: Mapping[str, Meter]) -> Iterator[str]:
    """One line for each meter; bare numbers are in its unit."""
    for id, meter in meters.items():
        yield f"{word(id)}: {mapping(_meter(id, meter))}"


def _meter(id: str, meter: Meter) -> dict[str, str]:
    limits = {
        "of_full_scale": share(meter.of_full_scale) if meter.of_full_scale else "",
        "of_reading": share(meter.of_reading) if meter.of_reading else "",
        "digits": number(meter.digits) if meter.digits else "",
    }
    accuracy = {key: text for key, text in limits.items() if text}
    entries = {
        "title": word(meter.title) if meter.title and meter.title != id.replace("_", " ") else "",
        "instrument": word(meter.instrument) if meter.instrument else "",
        "unit": word(meter.unit) if meter.unit else "",
        "ranges": listing(map(number, meter.ranges)) if meter.ranges else "",
        "ohms_per_volt": number(meter.ohms_per_volt) if meter.ohms_per_volt else "",
        "input_resistance": number(meter.input_resistance) if meter.input_resistance else "",
        "impedance": number(meter.impedance) if meter.impedance else "",
        "accuracy": mapping(accuracy) if accuracy else "",
        "resolution": number(meter.resolution) if meter.resolution else "",
    }
    return {key: text for key, text in entries.items() if text}


def drift_lines(drift: Sequence[Drift]) -> Iterator[str]:
    """The logs, each with the name of its file where it is in one, else with its rows."""
    for log in drift:
        entries = {"stage": word(log.stage)}
        if log.at_output:
            entries["at"] = "output"
        if log.band:
            entries["band"] = word(log.band)
        if log.file:
            yield "- " + mapping({**entries, "file": word(log.file)})
            continue
        lines = [f"{key}: {value}" for key, value in entries.items()]
        yield f"- {lines[0]}"
        yield from (f"  {line}" for line in (*lines[1:], "log:"))
        yield from (f"    - {row}" for row in _rows(log))


def _rows(log: Drift) -> Iterator[str]:
    """The rows of a log, the unit of a column in the first row that has a number there."""
    read = zip(COLUMNS, (log.times, log.frequencies, log.mains, log.temperatures), strict=True)
    columns = [
        _column(column.name, column.unit, values) if values else [""] * len(log.times)
        for column, values in read
    ]
    for row in zip(*columns, strict=True):
        cells = list(row)
        while not cells[-1]:
            cells.pop()
        yield listing(cell or "null" for cell in cells)


def _column(name: str, unit: str, values: Sequence[float]) -> list[str]:
    """The numbers of a column, "" where nothing was read."""
    for other in (*_WELL_READ.get(name, ()), unit):
        texts = ["" if math.isnan(value) else _in(other, unit, value) for value in values]
        if other == unit or all(
            _same(text, other, unit, value) for text, value in zip(texts, values, strict=True)
        ):
            break
    first = next((at for at, text in enumerate(texts) if text), None)
    if first is not None:
        texts[first] = f"{texts[first]} {other}"
    return texts


def _in(other: str, unit: str, value: float) -> str:
    return number(round(convert(value, unit, other), 9)) if other != unit else number(value)


def _same(text: str, other: str, unit: str, value: float) -> bool:
    """Whether a number in another unit is short, and is read as the same."""
    return len(text) <= _LONGEST and round(convert(float(text), other, unit), 6) == value
