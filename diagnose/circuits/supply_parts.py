"""The parts of a supply as the method is given them: read, judged, and completed where they may be left out."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from diagnose.circuits.method import Argument, CannotCompute, Value
from diagnose.circuits.rectifier import CIRCUITS, RECTIFIERS, Circuit, Law, law_of
from diagnose.circuits.supply_filter import Filter, Section

CAPACITOR_INPUT, CHOKE_INPUT = "capacitor_input", "choke_input"

# Rise of a winding's volts from full load to no load, where nothing is said of the transformer. Usual for
# 50 to 300 VA. From memory.
USUAL_REGULATION = 0.07

ARGUMENTS: Mapping[str, Argument] = {
    "winding_volts": Argument(
        "winding, rms at no load and at the chart's mains; each half of a centre tap", "V"
    ),
    "circuit": Argument("how the winding is rectified", words=tuple(CIRCUITS)),
    "rectifier": Argument("kind of rectifier", words=RECTIFIERS),
    "filter": Argument("first element of the filter", words=(CAPACITOR_INPUT, CHOKE_INPUT)),
    "capacitance": Argument("first filter capacitor; each of the two of a doubler", "F"),
    "load_current": Argument("direct current that the load draws, without the bleeder", "A"),
    "mains_frequency": Argument("mains frequency", "Hz"),
    "drop_volts": Argument("drop of one plate, diode, or plate of a selenium stack", "V", optional=True),
    "drop_current": Argument("current at which it has that drop", "A", optional=True),
    "in_series": Argument("diodes, or plates of a stack, in series in one leg", optional=True, default=1.0),
    "in_parallel": Argument("plates tied together in one leg", optional=True, default=1.0),
    "source_ohms": Argument("winding and reflected primary, as seen by one leg", "ohm", optional=True),
    "secondary_ohms": Argument("direct resistance of the winding (one half of it)", "ohm", optional=True),
    "primary_ohms": Argument("direct resistance of the primary", "ohm", optional=True),
    "primary_volts": Argument("volts of the primary", "V", optional=True),
    "regulation": Argument(
        "rise of the winding's volts from full load to no load, as a ratio", optional=True
    ),
    "rated_current": Argument("direct current at which that regulation holds", "A", optional=True),
    "choke_inductance": Argument("input choke, at the load current", "H", optional=True),
    "choke_inductance_unloaded": Argument("input choke at the bleeder's current", "H", optional=True),
    "choke_ohms": Argument("direct resistance of the input choke", "ohm", optional=True, default=0.0),
    "section_inductance": Argument("choke of a further section; none in an R-C section", "H", optional=True),
    "section_ohms": Argument("resistance of that choke, or of the R-C section", "ohm", optional=True),
    "section_capacitance": Argument("capacitor of the further section", "F", optional=True),
    "bleeder_ohms": Argument("bleeder and dividers across the output", "ohm", optional=True),
}


@dataclass(frozen=True)
class Parts:
    """A supply ready to be computed: volts rms, ohms, amperes, hertz. Equal ones give equal results."""

    winding: float
    circuit: Circuit
    law: Law
    in_parallel: float
    ohms: float
    filter: Filter
    load: float
    mains: float

    @property
    def peak(self) -> float:
        """Volts at the top of the winding's wave."""
        return math.sqrt(2.0) * self.winding

    def with_bleeder_only(self, inductance: float | None) -> Parts:
        """The same without its load; its input choke swings to that inductance in henries, if it is given."""
        smoothing = self.filter if inductance is None else self.filter.with_choke(inductance)
        return replace(self, load=0.0, filter=smoothing)


class Given:
    """The arguments of a method, asked for one at a time; every fault is a CannotCompute that names it."""

    def __init__(self, values: Mapping[str, Value]) -> None:
        self.values = values

    def word(self, name: str, words: tuple[str, ...]) -> str:
        """One of the words."""
        found = self.values.get(name)
        if not isinstance(found, str) or found not in words:
            raise CannotCompute(f"{name} is one of {', '.join(words)}, not {found}")
        return found

    def optional(self, name: str, zero: bool = False) -> float | None:
        """A finite number above zero (or zero, where that makes sense), or None where nothing is given."""
        found = self.values.get(name)
        if found is None:
            return None
        if isinstance(found, str) or not math.isfinite(found):
            raise CannotCompute(f"{name} is no number: {found}")
        if found < 0 or (found == 0 and not zero):
            raise CannotCompute(f"{name} cannot be {found:g}")
        return float(found)

    def number(self, name: str, zero: bool = False) -> float:
        """A number that must be given."""
        found = self.optional(name, zero)
        if found is None:
            raise CannotCompute(f"{name} is not given")
        return found

    def default(self, name: str, value: float, zero: bool = False) -> float:
        """A number, or that value."""
        found = self.optional(name, zero)
        return value if found is None else found

    def count(self, name: str) -> float:
        """How many there are of something: one, where nothing is said."""
        found = self.default(name, 1.0)
        if found < 1.0:
            raise CannotCompute(f"{name} is a count, and cannot be {found:g}")
        return found


def parts_of(values: Mapping[str, Value]) -> tuple[Parts, Parts]:
    """The supply that the arguments describe: with its load, and with its bleeder only.

    Raises CannotCompute where they describe none.
    """
    given = Given(values)
    winding, mains = given.number("winding_volts"), given.number("mains_frequency")
    circuit = CIRCUITS[given.word("circuit", tuple(CIRCUITS))]
    load = given.number("load_current", zero=True)
    smoothing = filter_of(given, circuit)
    if load == 0.0 and smoothing.bleeder == 0.0:
        raise CannotCompute("no current is drawn, by a load or by a bleeder: the output floats at the peak")
    usual = load + smoothing.bleeder * winding * circuit.tiers
    in_series, in_parallel = given.count("in_series"), given.count("in_parallel")
    unit = law_of(
        given.word("rectifier", RECTIFIERS),
        given.optional("drop_volts"),
        given.optional("drop_current"),
        usual,
    )
    loaded = Parts(
        winding=winding,
        circuit=circuit,
        law=unit.joined(circuit.legs * in_series, in_parallel),
        in_parallel=in_parallel,
        ohms=source_ohms(given, winding, usual),
        filter=smoothing,
        load=load,
        mains=mains,
    )
    return loaded, loaded.with_bleeder_only(given.optional("choke_inductance_unloaded"))


def source_ohms(given: Given, winding: float, usual: float) -> float:
    """Source resistance of one leg in ohms: as given, or from the windings' resistances, or from regulation.

    Two windings: R2 + R1 (V2 / V1)**2. Regulation r at a direct current I: r V / I, which takes the rms
    current of the winding for its direct current; so it is an estimate, good to a third.
    """
    known = given.optional("source_ohms", zero=True)
    if known is not None:
        return known
    secondary = given.optional("secondary_ohms")
    if secondary is not None:
        primary = given.optional("primary_ohms")
        reflected = 0.0 if primary is None else primary * (winding / given.number("primary_volts")) ** 2
        return secondary + reflected
    ratio = given.default("regulation", USUAL_REGULATION, zero=True)
    if ratio >= 1.0:
        raise CannotCompute(f"regulation is a ratio, 0.07 for 7 percent, and cannot be {ratio:g}")
    return ratio * winding / given.default("rated_current", usual)


def filter_of(given: Given, circuit: Circuit) -> Filter:
    """The filter, its input choke with the inductance that it has under load."""
    choke = None
    if given.word("filter", (CAPACITOR_INPUT, CHOKE_INPUT)) == CHOKE_INPUT:
        if circuit.pulses == 1:
            raise CannotCompute(
                "a choke at the input needs full-wave rectification: nothing carries its current on"
            )
        choke = Section(given.number("choke_inductance"), given.default("choke_ohms", 0.0, zero=True), 0.0)
    elif given.optional("choke_inductance") is not None:
        raise CannotCompute("a capacitor-input filter has no input choke; its choke is section_inductance")
    bleeder = given.optional("bleeder_ohms")
    return Filter(
        capacitance=given.number("capacitance"),
        choke=choke,
        section=section_of(given),
        bleeder=0.0 if bleeder is None else 1.0 / bleeder,
        tiers=circuit.tiers,
    )


def section_of(given: Given) -> Section | None:
    """The further section of the filter, or None without one."""
    capacitance = given.optional("section_capacitance")
    if capacitance is None:
        if given.optional("section_inductance") is not None:
            raise CannotCompute("the choke of a further filter section has no section_capacitance after it")
        return None
    series = given.default("section_inductance", 0.0, zero=True)
    section = Section(series, given.default("section_ohms", 0.0, zero=True), capacitance)
    if series == 0.0 and section.ohms == 0.0:
        raise CannotCompute("a filter section needs a choke or a resistor before its capacitor")
    return section
