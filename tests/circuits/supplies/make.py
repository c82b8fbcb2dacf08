"""Makes the netlists and the simulator's numbers anew: `python -m tests.circuits.supplies.make [SUPPLY ...]`.

Needs the command `ngspice` (the Debian package of that name; version 39 made what is kept). Takes about
40 seconds. Without names all supplies are simulated; with names, only these, and the others stay as they are.
"""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import yaml

from tests.circuits.supplies.kept import NETLISTS, RUNS, SIMULATED, netlist_file, simulated, supplies
from tests.circuits.supplies.netlist import netlist_of

SETTLED = 2e-4  # of the direct volts: the most that may be left of the way to the steady state
HEAD = """\
# What ngspice found for the supplies of parts.yaml, in volts and amperes. Made by
# `python -m tests.circuits.supplies.make`; not to be edited. `unloaded` is with the bleeder only.

"""


def simulate(netlist: Path) -> Mapping[str, float]:
    """What the simulator prints for a netlist. Raises ValueError where that is not settled or not complete."""
    done = subprocess.run(["ngspice", "-b", str(netlist)], capture_output=True, text=True, check=False)
    found = {
        name: float(value) for name, value in re.findall(r"^RESULT (\w+) (\S+)$", done.stdout, re.MULTILINE)
    }
    if set(found) != {"before", "dc", "ripple", "peak"}:
        raise ValueError(f"{netlist.name}: {done.stdout}{done.stderr}")
    if abs(found["dc"] - found["before"]) > SETTLED * found["dc"]:
        raise ValueError(f"{netlist.name} has not settled: {found}")
    return {name: float(f"{found[name]:.6g}") for name in ("dc", "ripple", "peak")}


def write(data: Mapping[str, Any]) -> None:
    """The file of results, one line for each run."""
    SIMULATED.write_text(
        HEAD + yaml.safe_dump(dict(data), sort_keys=False, default_flow_style=None, width=110),
        encoding="utf-8",
    )


def main(names: list[str]) -> None:
    """Writes the netlists, runs the simulator, and writes what it found."""
    NETLISTS.mkdir(exist_ok=True)
    data = dict(simulated()) if SIMULATED.exists() else {}
    for name in names or supplies():
        found = {}
        for run, loaded in RUNS.items():
            file = netlist_file(name, run)
            file.write_text(netlist_of(name, supplies()[name], loaded), encoding="utf-8")
            found[run] = simulate(file)
            print(name, run, found[run], flush=True)
        data[name] = found
        write({one: data[one] for one in supplies() if one in data})


if __name__ == "__main__":
    main(sys.argv[1:])
