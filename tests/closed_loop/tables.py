"""A table of the page: one line for each group of sets, by what became of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from statistics import median

from tests.closed_loop.results import Results, Row, cured, worst_tenth


def table(
    head: str, rows: Iterable[tuple[str, Sequence[Row]]], results: Results, *, pairs: bool = False
) -> str:
    """The groups under a head; `pairs` are sets with two faults."""
    columns: dict[str, Callable[[Sequence[Row]], str]] = {
        "sets": lambda found: str(len(found)),
        "first": lambda found: _share(found, lambda row: bool(row["first_right"])),
        ("one" if pairs else "end"): lambda found: _share(
            found, lambda row: bool(row["found"]) if pairs else bool(row["end_right"])
        ),
        "cured": lambda found: _share(found, cured),
        "checks": lambda found: _spread(found, lambda row: row["checks"]),
        "minutes": lambda found: _spread(found, results.minutes),
        "to a working set": lambda found: _spread(found, results.to_working),
        "set-up changes": lambda found: _spread(found, lambda row: row["setup_changes"]),
        "wrong": lambda found: f"{sum(row['wrong_remedies'] for row in found) / len(found):.1f}",
        "exact": lambda found: _share(found, lambda row: bool(row["exact"])),
    }
    lines = [f"| {head} | {' | '.join(columns)} |", f"| --- |{' ---: |' * len(columns)}"]
    lines += [
        f"| {name} | {' | '.join(column(found) for column in columns.values())} |"
        for name, found in rows
        if found
    ]
    return "\n".join(lines) + "\n"


def _share(rows: Sequence[Row], holds: Callable[[Row], bool]) -> str:
    return f"{100 * sum(map(holds, rows)) / len(rows):.0f} %"


def _spread(rows: Sequence[Row], value: Callable[[Row], float]) -> str:
    values = [value(row) for row in rows]
    return f"{median(values):.0f}, {worst_tenth(values):.0f}"
