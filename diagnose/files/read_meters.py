"""Meters: what each loads a circuit with, and how well it reads."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from diagnose.files import values
from diagnose.files.document import Node
from diagnose.files.faults import Faults
from diagnose.files.frozen import Frozen
from diagnose.model.measuring import Instrument, Meter
from diagnose.units import UnitError, dimension, parse_quantity, split_quantity

_PER_VOLT = re.compile(r"\s*(?:/\s*v(?:olts?)?|(?:per|a)\s+v(?:olts?)?)\.?\Z", re.IGNORECASE)


def read_meters(
    section: Node | None, instruments: Mapping[str, Instrument], faults: Faults
) -> Frozen[str, Meter]:
    """The meters of a shop, a case or a chart, by id; `instruments` are the sorts that the bench knows."""
    entries = section.entries if section is not None else {}
    return Frozen({id: read_meter(id, node, instruments, faults) for id, node in entries.items()})


def read_meter(
    id: str, node: Node, instruments: Mapping[str, Instrument], faults: Faults, *, of: str = ""
) -> Meter:
    """One meter; `of` is the instrument of the bench whose usual meter it is."""
    sort = of or _instrument(id, node, instruments, faults)
    unit = _unit(node, instruments.get(sort), faults)
    of_full_scale, of_reading, digits = _accuracy(node.get("accuracy"), faults)
    resolution = _positive(node.get("resolution"), unit, faults)
    if digits and not resolution:
        said = f"the meter {id} counts digits, and does not say how large one is"
        faults.error(
            node.key_place, "missing-key", said, "add `resolution:`, the smallest step that it shows"
        )
    per_volt = _per_volt(node.get("ohms_per_volt"), faults)
    input_ohms = _positive(node.get("input_resistance"), "ohm", faults)
    if per_volt and input_ohms:
        said = f"the meter {id} has both `ohms_per_volt` and `input_resistance`"
        faults.error(node.entries["input_resistance"].key_place, "meter", said, "remove one of them")
    impedance = _positive(node.get("impedance"), "ohm", faults)
    if impedance and unit and dimension(unit) != "a power":
        said = f"the meter {id} has an `impedance`, and no scale of power"
        hint = "`impedance` is the line that a wattmeter is marked for; ohms between leads are `input_resistance`"
        faults.error(node.entries["impedance"].key_place, "meter", said, hint)
    return Meter(
        id=id,
        title=values.text(node, "title", instruments[of].title if of else id.replace("_", " ")),
        instrument=sort,
        unit=unit,
        ranges=_ranges(node.get("ranges"), unit, faults),
        ohms_per_volt=per_volt,
        input_resistance=input_ohms,
        impedance=impedance,
        of_full_scale=of_full_scale,
        of_reading=of_reading,
        digits=digits,
        resolution=resolution,
        place=node.key_place,
    )


def _instrument(id: str, node: Node, instruments: Mapping[str, Instrument], faults: Faults) -> str:
    """The instrument of the bench that a meter is; its own id may say it."""
    entry, word = node.get("instrument"), values.text(node, "instrument")
    if word in instruments:
        return word
    if entry is not None and word:
        said = f"`{word}` is no instrument of the bench"
        faults.unknown(entry, "unknown-instrument", said, word, instruments)
    elif id in instruments:
        return id
    elif entry is None and not isinstance(node.value, (str, int, float)):
        said = f"the meter {id} wants `instrument`, which is not here"
        faults.error(node.key_place, "missing-key", said, "add `instrument:`, the bench's word for its sort")
    return ""


def _unit(node: Node, instrument: Instrument | None, faults: Faults) -> str:
    """The unit of the scale: as stated, else that of a range, of what loads by the volt, of its sort."""
    entry = node.get("unit")
    if entry is not None:
        return values.unit(entry, faults) or ""
    for full in values.scalars(node, "ranges"):
        try:
            _, unit = split_quantity(full.written)
            if unit and dimension(unit):
                return unit
        except UnitError:
            continue  # said where the ranges are read
    if node.get("ohms_per_volt") is not None:
        return "V"
    return instrument.reads[0] if instrument is not None and instrument.reads else ""


def _ranges(node: Node | None, unit: str, faults: Faults) -> tuple[float, ...]:
    """Full scales in the unit, in the order of size."""
    full = (_positive(member, unit, faults) for member in (values.scalars(node) if node is not None else ()))
    return tuple(sorted({value for value in full if value}))


def _per_volt(node: Node | None, faults: Faults) -> float:
    """Ohms for each volt: `20000`, `20 kohm`, `20 kohm/V`."""
    if node is None or not node.is_scalar:
        return 0.0
    try:
        ohms = parse_quantity(_PER_VOLT.sub("", node.written.strip()), "ohm")
    except UnitError as error:
        faults.error(node, "unit", error.text, "write it like `20000` or `20 kohm`")
        return 0.0
    return _above_zero(node, ohms, faults)


def _accuracy(node: Node | None, faults: Faults) -> tuple[float, float, float]:
    """Limits of error: of full scale, of the reading, and in digits."""
    if node is None or not node.entries:
        return 0.0, 0.0, 0.0
    of_full_scale = values.share(node.get("of_full_scale"), faults)
    of_reading = values.share(node.get("of_reading"), faults)
    return of_full_scale or 0.0, of_reading or 0.0, values.number(node, "digits") or 0.0


def _positive(node: Node | None, unit: str, faults: Faults) -> float:
    """A value above zero; 0 where there is none."""
    value = values.quantity(node, unit, faults)
    return 0.0 if node is None or value is None else _above_zero(node, value, faults)


def _above_zero(node: Node, value: float, faults: Faults) -> float:
    if value > 0:
        return value
    faults.error(node, "range", f"`{node.written}` should be more than 0")
    return 0.0


def range_in_use(
    node: Node, meter: Meter | None, unit: str, faults: Faults, *, described: bool
) -> float | None:
    """Full scale in use, in the unit of the meter (without one, in `unit`).

    It is one of the meter's where the person described that; the usual meter of a bench may have others.
    """
    if meter is not None and not fits(meter, unit):
        meter = None  # a meter of several sorts is described by one scale, and this is another
    scale = meter.unit if meter is not None and meter.unit else unit
    full = _positive(node, scale, faults)
    if not full:
        return None
    if described and meter is not None and meter.ranges and not _among(full, meter.ranges):
        said = f"`{node.written}` is no range of {meter.id}"
        known = ", ".join(f"{value:g}" for value in meter.ranges)
        faults.error(node, "unknown-range", said, f"its ranges are {known} {scale}".rstrip())
        return None
    return full


def _among(value: float, known: Iterable[float]) -> bool:
    return any(abs(value - other) <= 1e-6 * other for other in known)


def fits(meter: Meter, unit: str) -> bool:
    """Whether the scale of a meter is one for what is given in `unit`; one that is not told is."""
    try:
        return not meter.unit or dimension(meter.unit) == dimension(unit)
    except UnitError:
        return False
