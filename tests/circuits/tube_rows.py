"""The tube data as numbers in SI base units: the published working points that the circuits are held against."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import Any

from diagnose.files.find import rules_folder
from diagnose.files.yaml_parse import read_document
from diagnose.units import parse_quantity

Figures = Mapping[str, float]

_UNITS = {"drive": "W", "output": "W", "load": "ohm", "transconductance": "S", "heater": "A"}


@lru_cache(maxsize=1)
def rows() -> dict[str, Any]:
    """The rows of the tube data as they stand in the file."""
    document, problems = read_document(rules_folder() / "tubes.yaml")
    assert document is not None
    assert not problems
    tubes: dict[str, Any] = document.data["tubes"]
    return tubes


def number(name: str, text: object) -> float:
    """A figure of a row in the base unit that its name calls for; a plain number as it stands."""
    if isinstance(text, (int, float)):
        return float(text)
    unit = _UNITS.get(name) or ("A" if "current" in name else "V")
    return parse_quantity(str(text), unit)


def figures(block: Mapping[str, object]) -> Figures:
    """The figures of a block of a row as numbers; words are left out."""
    return {name: number(name, text) for name, text in block.items() if name != "output_at"}


def points(tube: str) -> Iterator[tuple[str, Figures]]:
    """The working points of a tube with their names."""
    for name, block in rows()[tube].get("typical", {}).items():
        yield name, figures(block)


def characteristics(tube: str) -> Figures:
    """What makes the law of a tube; empty where the row gives nothing."""
    return figures(rows()[tube].get("characteristics", {}))


def source(tube: str, block: str) -> str:
    """Where a block of a row is from: the row's source, or memory."""
    row = rows()[tube]
    remembered = row.get("from_memory", [])
    covered = any(block == name or block.startswith(f"{name}.") for name in remembered)
    return "from memory" if covered else str(row["source"])
