"""Simulator against method for every supply: `python -m tests.circuits.supplies.table` prints it as markdown."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from diagnose.circuits.supply import rectified_supply
from tests.circuits.supplies.kept import simulated, supplies

# What is compared: heading, result of the method, run and name of what the simulator found.
COLUMNS = (
    ("volts", "voltage", "loaded", "dc"),
    ("bleeder only", "voltage_unloaded", "unloaded", "dc"),
    ("ripple, V rms", "ripple", "loaded", "ripple"),
    ("peak, mA", "peak_current", "loaded", "peak"),
)


@dataclass(frozen=True)
class Pair:
    """One figure of one supply, in SI units."""

    supply: str
    result: str
    simulator: float
    method: float

    @property
    def deviation(self) -> float:
        """Of the method from the simulator, as a ratio."""
        return self.method / self.simulator - 1.0


def pairs() -> Iterator[Pair]:
    """Every figure of every supply, supply by supply in the order of the columns."""
    for name, supply in supplies().items():
        results = rectified_supply(supply["given"])
        for _, result, run, found in COLUMNS:
            peak = result == "peak_current"
            simulator = simulated()[name][run][found] / (supply["given"].get("in_parallel", 1) if peak else 1)
            yield Pair(name, result, simulator, results[result])


def largest() -> Mapping[str, float]:
    """The largest deviation of each result, without its sign."""
    found: dict[str, float] = {}
    for pair in pairs():
        found[pair.result] = max(found.get(pair.result, 0.0), abs(pair.deviation))
    return found


def cell(pair: Pair) -> str:
    """Simulator, method, deviation in percent."""
    unit = 1000.0 if pair.result == "peak_current" else 1.0
    return f"{pair.simulator * unit:.4g} / {pair.method * unit:.4g} | {100 * pair.deviation:+.1f}"


def table() -> str:
    """The table of docs/supplies.md."""
    heads = "".join(f" {head} | % |" for head, *_ in COLUMNS)
    lines = [f"| supply |{heads}", "|---|" + "---:|---:|" * len(COLUMNS)]
    row: list[Pair] = []
    for pair in pairs():
        row.append(pair)
        if len(row) == len(COLUMNS):
            lines.append(f"| `{pair.supply}` | " + " | ".join(cell(one) for one in row) + " |")
            row = []
    most = largest()
    lines.append("| largest | " + " | ".join(f"| {100 * most[result]:.1f}" for _, result, *_ in COLUMNS) + " |")
    return "\n".join(lines)


if __name__ == "__main__":
    print(table())
