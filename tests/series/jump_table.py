"""The table of docs/drift.md: at which scatter a jump is found, and how often one is seen that is not there.

python -m tests.series.jump_table            prints it
python -m tests.series.jump_table --write    puts it into the page
"""

from __future__ import annotations

import re
import sys
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from diagnose.series.drift import fit_drift
from tests.series.logs import HOUR, MINUTE, Truth

PAGE = Path(__file__).parents[2] / "docs" / "drift.md"
MARK = re.compile(r"(<!-- table: jumps -->\n).*?(<!-- end -->)", re.DOTALL)
JUMP = 50.0  # Hz: the smallest that is too large for a VFO
SCATTERS = (1.0, 2.0, 3.0, 5.0, 8.0, 12.0)  # Hz rms about the smooth curve
EVERY = (10.0, 5.0, 2.0, 1.0)  # minutes between readings
LOGS = 50
HOURS = 2.0


def _jumps(minutes: float, scatter: float, seed: int, jump: float) -> tuple[float, list[float]]:
    """Where a log of a warm-up of 300 Hz steps by `jump`, and where the fit finds steps (s)."""
    rng = np.random.default_rng(seed)
    time = np.arange(0.0, HOURS * HOUR + 1.0, minutes * MINUTE)
    place = int(rng.integers(4, len(time) - 3))
    truth = Truth(warm_up=-300.0, tau=float(rng.uniform(600.0, 1800.0)), residual=20.0, scatter=scatter)
    hertz = truth.log(time, seed)
    hertz[place:] += jump * float(rng.choice([-1.0, 1.0]))
    found = fit_drift(time, np.round(hertz)).jumps  # a counter read to the hertz
    return float(time[place - 1] + time[place]) / 2.0, [step.time for step in found]


def found_of_fifty(minutes: float, scatter: float) -> int:
    """In how many logs the jump is found between the two readings where it is."""
    logs = (_jumps(minutes, scatter, seed, JUMP) for seed in range(LOGS))
    return sum(any(abs(time - there) < 1.0 for time in times) for there, times in logs)


def seen_without(minutes: float, scatter: float) -> int:
    """In how many logs without a jump one is seen."""
    return sum(bool(_jumps(minutes, scatter, LOGS + seed, 0.0)[1]) for seed in range(LOGS))


def table() -> str:
    """Of fifty logs, in how many the jump is found; the last column: where none is, in how many one is seen."""
    heads = ["read every", "readings", *(f"{scatter:g} Hz" for scatter in SCATTERS), "seen, none there"]
    lines = [heads, ["---", *["---:"] * (len(heads) - 1)]]
    for minutes in EVERY:
        found = [str(found_of_fifty(minutes, scatter)) for scatter in SCATTERS]
        seen = sum(seen_without(minutes, scatter) for scatter in SCATTERS)
        count = round(60.0 * HOURS / minutes) + 1
        lines.append([f"{minutes:g} min", str(count), *found, f"{seen} of {LOGS * len(SCATTERS)}"])
    return "".join(f"| {' | '.join(cells)} |\n" for cells in lines)


def made_anew(page: str) -> str:
    """The page with the table as it is now."""
    made = table()
    return MARK.sub(lambda found: f"{found[1]}\n{made}\n{found[2]}", page)


def main(words: Sequence[str]) -> None:
    """Prints the table, or puts it into the page."""
    if list(words) == ["--write"]:
        PAGE.write_text(made_anew(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
        return
    print(table())


if __name__ == "__main__":
    main(sys.argv[1:])
