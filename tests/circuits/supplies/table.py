"""The tables of docs/supplies.md: what the method makes of supplies that were simulated or published.

python -m tests.circuits.supplies.table            prints them
python -m tests.circuits.supplies.table --write    puts them into the page
"""

from __future__ import annotations

import sys

from tests.circuits.supplies.kept import makers, supplies
from tests.circuits.supplies.pairs import COMPARED, Pair, all_by_formula, all_makers, all_simulated, of_supply
from tests.circuits.tables import DOCS, Tables, root_mean_square, table
from tests.circuits.tube_rows import rows, source

HEADS = {
    "voltage": "volts",
    "voltage_unloaded": "bleeder only",
    "ripple": "ripple, V rms",
    "peak_current": "peak, mA",
}
_LEFT = ("supply", "what it is", "figure", "tube", "source")


def deviations(result: str) -> list[float]:
    """Of one result, over all simulated supplies."""
    return [pair.deviation for pair in all_simulated() if pair.result == result]


def _figure(pair: Pair) -> tuple[str, str]:
    unit = 1000.0 if pair.result == "peak_current" else 1.0
    return f"{pair.method * unit:.4g} / {pair.other * unit:.4g}", f"{100 * pair.deviation:+.1f} %"


def what() -> str:
    """The simulated supplies in words."""
    lines = [
        (f"`{name}`", supply["title"], f"{supply['given']['mains_frequency']} Hz")
        for name, supply in supplies().items()
    ]
    return table(("supply", "what it is", "mains"), lines, _LEFT)


def simulated() -> str:
    """Each simulated supply: computed / simulated, and the deviation."""
    lines = [
        (f"`{name}`", *(cell for pair in of_supply(name) for cell in _figure(pair))) for name in supplies()
    ]
    return table(("supply", *(cell for result, *_ in COMPARED for cell in (HEADS[result], ""))), lines, _LEFT)


def spread() -> str:
    """Root mean square and largest deviation over the simulated supplies."""
    found = [(HEADS[result], deviations(result)) for result, *_ in COMPARED]
    found.append(("ripple by formula", [pair.deviation for pair in all_by_formula()]))
    lines = [
        (title, f"{100 * root_mean_square(off):.2f} %", f"{100 * max(off, key=abs):+.2f} %", str(len(off)))
        for title, off in found
    ]
    return table(("figure", "root mean square", "largest", "supplies"), lines, _LEFT)


def sheets() -> str:
    """Each point of a maker's sheet: computed / published, and the deviation."""
    lines = [
        (
            pair.supply,
            f"{point['winding_volts']}",
            f"{point['source_ohms']}",
            f"{1e6 * point['capacitance']:.0f}",
            f"{1e3 * point['load_current']:.0f}",
            *_figure(pair),
            makers()[pair.supply]["source"],
        )
        for point, pair in all_makers()
    ]
    return table(("tube", "V rms", "ohm", "uF", "mA", "volts", "", "source"), lines, _LEFT)


def drops() -> str:
    """The drop of each rectifier of the tube data."""
    lines = [
        (tube, row["kind"].replace("_", " "), row["drop"]["volts"], row["drop"]["at"], source(tube, "drop"))
        for tube, row in rows().items()
        if "drop" in row
    ]
    return table(("tube", "what it is", "drop", "at", "source"), lines, _LEFT)


TABLES = Tables(
    DOCS / "supplies.md",
    {"what": what, "simulated": simulated, "spread": spread, "sheets": sheets, "drops": drops},
)


if __name__ == "__main__":
    TABLES.main(sys.argv[1:])
