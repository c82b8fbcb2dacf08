"""What is kept of supplies, read from the files of this folder: simulated ones, and those of makers' sheets."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

FOLDER = Path(__file__).parent
NETLISTS = FOLDER / "netlists"
PARTS, SIMULATED, MAKERS = (FOLDER / f"{name}.yaml" for name in ("parts", "simulated", "makers"))
RUNS = {"loaded": True, "unloaded": False}


@lru_cache(maxsize=3)
def read(path: Path) -> Mapping[str, Any]:
    """A file of this folder as plain data."""
    data: Mapping[str, Any] = yaml.safe_load(path.read_text(encoding="utf-8"))
    return data


def supplies() -> Mapping[str, Any]:
    """The supplies by id: title, where the simulation starts, and the figures that are given."""
    return read(PARTS)


def simulated() -> Mapping[str, Any]:
    """What the simulator found, by supply and run: volts and amperes."""
    return read(SIMULATED)


def makers() -> Mapping[str, Any]:
    """Rectifiers by type: mains frequency, source, and the points that the sheet gives."""
    return read(MAKERS)


def netlist_file(name: str, run: str) -> Path:
    """Where the netlist of a supply is kept; run is `loaded` or `unloaded`."""
    return NETLISTS / f"{name}_{run}.cir"
