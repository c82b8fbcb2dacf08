"""What the method makes of every supply that is kept, beside what the simulator or the maker says."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from diagnose.circuits.supply import rectified_supply
from diagnose.circuits.supply_ripple import METHODS
from tests.circuits.supplies.kept import makers, simulated, supplies
from tests.circuits.tube_rows import number, rows

(RIPPLE,) = METHODS

# What is compared: result of the method, run and name of what the simulator found.
COMPARED = (
    ("voltage", "loaded", "dc"),
    ("voltage_unloaded", "unloaded", "dc"),
    ("ripple", "loaded", "ripple"),
    ("peak_current", "loaded", "peak"),
)


@dataclass(frozen=True)
class Pair:
    """One figure of one supply, in SI units; `other` is the simulator's or the maker's."""

    supply: str
    result: str
    other: float
    method: float

    @property
    def deviation(self) -> float:
        """Of the method from the other, as a ratio."""
        return self.method / self.other - 1.0


def of_supply(name: str) -> Iterator[Pair]:
    """The figures of one simulated supply."""
    given = supplies()[name]["given"]
    results = rectified_supply(given)
    for result, run, found in COMPARED:
        # the simulator's meter stands in the winding, which feeds all plates that are tied together
        plates = given.get("in_parallel", 1) if result == "peak_current" else 1
        yield Pair(name, result, simulated()[name][run][found] / plates, results[result])


def by_formula(name: str) -> Pair | None:
    """The ripple of one supply by the handbook's formula, from its own volts; None where that does not hold."""
    given = supplies()[name]["given"]
    loaded = rectified_supply(given)
    if loaded.get("choke_margin", 1.0) < 1.0:
        return None
    parts = {argument: given[argument] for argument in RIPPLE.arguments if argument in given}
    drawn = given["load_current"] + loaded["voltage"] / given["bleeder_ohms"]
    made = RIPPLE.run({**parts, "voltage": loaded["voltage"], "current": drawn})
    return Pair(name, "ripple", simulated()[name]["loaded"]["ripple"], made["ripple"])


def all_by_formula() -> list[Pair]:
    """Of all simulated supplies for which the formula holds."""
    return [pair for pair in map(by_formula, supplies()) if pair is not None]


def all_simulated() -> list[Pair]:
    """The figures of all simulated supplies."""
    return [pair for name in supplies() for pair in of_supply(name)]


def of_maker(tube: str, point: Mapping[str, Any]) -> Pair:
    """The volts of a point of a maker's sheet; the drop of the tube is that of the tube data."""
    sheet, drop = makers()[tube], rows()[tube]["drop"]
    given = {name: value for name, value in point.items() if name != "gives"}
    results = rectified_supply({
        **given, "circuit": "centre_tap", "rectifier": "vacuum", "filter": "capacitor_input",
        "mains_frequency": sheet["mains_frequency"],
        "drop_volts": number("volts", drop["volts"]), "drop_current": number("current", drop["at"]),
    })  # fmt: skip
    return Pair(tube, "voltage", point["gives"], results["voltage"])


def all_makers() -> list[tuple[Mapping[str, Any], Pair]]:
    """All points of the sheets, and their volts."""
    return [(point, of_maker(tube, point)) for tube, sheet in makers().items() for point in sheet["points"]]
