"""What a run of the closed loop gave, as it is kept beside this module: a line on the run, then one for each set."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

RESULTS: Final = Path(__file__).parent / "results.jsonl"

Row = dict[str, Any]


@dataclass(frozen=True)
class Results:
    """What was run, and one row for each set and way of asking."""

    head: Row
    rows: tuple[Row, ...]

    @classmethod
    def read(cls, path: Path) -> Results:
        """Those that are kept."""
        head, *rows = (json.loads(line) for line in path.read_text(encoding="utf-8").splitlines())
        return cls(head, tuple(rows))

    def write(self, path: Path) -> None:
        """Keeps them."""
        lines = (json.dumps(row, separators=(",", ":")) for row in (self.head, *self.rows))
        path.write_text("".join(f"{line}\n" for line in lines), encoding="utf-8")

    def of(self, causes: int, way: str, rig: str = "") -> list[Row]:
        """Rows of sets with so many faults asked in one way, of one rig or of all."""
        return [
            row
            for row in self.rows
            if len(row["causes"]) == causes and row["way"] == way and rig in ("", row["rig"])
        ]

    def minutes(self, row: Row) -> float:
        """Minutes of checks, set-up changes and remedies."""
        return float(row["check_minutes"] + row["setup_minutes"] + row["remedy_minutes"])

    def to_working(self, row: Row) -> float:
        """The same, and the search that a set costs whose faults were not all put right."""
        return self.minutes(row) + (0.0 if cured(row) else float(self.head["search_minutes"]))


def cured(row: Row) -> bool:
    """Whether all its causes were put right."""
    return set(row["found"]) == set(row["causes"])


def worst_tenth(values: Sequence[float]) -> float:
    """The value that one in ten reaches or passes."""
    return sorted(values)[-max(1, round(len(values) / 10))]
