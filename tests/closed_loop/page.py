"""The page docs/closed-loop.md, made of the results that are kept beside this module."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from typing import Any, Final

from tests.closed_loop.answering import CANNOT, WRONG
from tests.closed_loop.loop import BROKEN_OFF, MOST_WRONG
from tests.closed_loop.perturbed import DEVIATION
from tests.closed_loop.ways import ADVISED, LOOK, WAYS

PAGE: Final = Path(__file__).parents[2] / "docs" / "closed-loop.md"
RESULTS: Final = Path(__file__).parent / "results.jsonl"
WIDTH: Final = 108
WORST: Final = 10  # causes listed as the slowest

Row = dict[str, Any]


@dataclass(frozen=True)
class Results:
    """What was run, and one row for each set and way of asking."""

    head: Row
    rows: tuple[Row, ...]

    @classmethod
    def read(cls, path: Path = RESULTS) -> Results:
        """Those that are kept."""
        head, *rows = (json.loads(line) for line in path.read_text(encoding="utf-8").splitlines())
        return cls(head, tuple(rows))

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


def page(results: Results) -> str:
    """The text of the page."""
    pieces = [
        _wrapped(_INTRODUCTION),
        _wrapped(_SIMULATED.format(
            deviation=DEVIATION, wrong=f"{100 * WRONG:g}", cannot=f"{100 * CANNOT:g}",
            most_wrong=MOST_WRONG, cap=results.head["cap"], look=LOOK, search=f"{results.head['search_minutes']:g}",
        )),
        *_run_of(results),
        *_singles(results),
        *_compared(results),
        *_pairs(results),
        *_speed(results),
        *_missed(results),
    ]  # fmt: skip
    return "\n".join(pieces)


_INTRODUCTION = """\
# Closed loop

How well the interview finds a fault can be tried without a bench: a simulated set has a known cause, its owner
tells two signs, and every check that is proposed is answered by the set, until the interview closes. This page says how
often the remedy that was needed came out on top, what it took, and how asking in a fixed order does.

It is a trial of the program against sets that behave roughly as the book says, not against real ones: it can
show that the advice asks well and stops well, not that the book is right."""

_SIMULATED = """\
## What is simulated

**The set.** Every set is drawn from a book of its own, in which the log-odds of every frequency and every
leak are shifted at random (normal, standard deviation {deviation:g}). Frequencies that exclude each other and would pass
certainty keep their shares of it. From that book one complete set is drawn through the rig's whole network: the
given cause is bad, every other part good, and every push is drawn once and stays as long as the part does. Leaks put
stray signs into every set, as they do in the book. A meter that has gone astray shifts what is read with it.

**The start.** Two signs that the cause makes and a good set would not show, drawn at random from those that an owner
notices: with no instrument but the set's own, and the set closed. Where there are fewer than two, the least telling
of the others stand in, those that the most parts can cause. Sets are drawn until one shows two; some causes never make
more than one. Of two faults one sign each is told. Nothing is told of the history, and all that safety asks for is
proven.

**The answers.** Each is the state that the set shows; {wrong} % of the answers name another state, {cannot} % of what is
asked cannot be measured. All ways of asking meet the same slips. A slip is one of a single look: what the interview has
looked at once more, because it is sooner a slip than a sign, slips for itself. Values are told as states, not as figures.

**The end.** A remedy that is proposed is done and costs its minutes. If it is not the needed one it is entered as
work, the signs stay, and the interview goes on, up to {most_wrong} remedies that were not needed and {cap} checks. Where
nothing more would tell, the first remedy of the list that was not done yet is tried. Stop orders are answered and the interview goes on. The
needed remedy is the one of the cause; the same work on another part of that stage counts as the same.

**The minutes** are those of the book for checks, changes of set-up and remedies, needed or not. A set that was not put
right costs the {search} minutes of a search on top (*to a working set*).

**The other orders.** *By stage* takes the stages of the rig in its order and the checks of each in that of the book;
*at random* mixes them all. Both close by the same rule, ask the same answers at the same minutes, read again what
proves a piece of work or is sooner a slip, and pass over a check of which everything is known. Whether a check still pays is worked out for
them only once the leading part has the share from which a remedy is proposed, and at every {look}th check: that can only
delay the close where nothing more would tell, and their minutes are cut off at {cap} checks."""


def _run_of(results: Results) -> Iterator[str]:
    head = results.head
    singles, pairs = results.of(1, ADVISED), results.of(2, ADVISED)
    silent = [row for row in results.rows if not row["way"]]
    all_causes = sum(head["causes"].values())
    broken = [row for row in results.rows if row["end"] == BROKEN_OFF]
    few = sum(len(row["facts"]) < 2 for row in singles)
    said = f"""\
## What was run

{len(singles)} sets with one fault, of the {all_causes} causes that the {len(head["rigs"])} rigs can have, and {len(pairs)} with two,
taken in an order of all causes, and of {head["pairs"]} pairs on each rig, that seed {head["seed"]} mixes. {_time(head)}
{few} of the sets had only one sign to start from, {len(silent)} showed nothing at all and were left out. An interview is broken off after {head["patience"]:g} seconds of the processor, and
then counts as one that did not find the fault: {len(broken)} of {len(results.rows)}. All causes, which takes hours, and the page
anew from the results that are kept:"""
    yield _wrapped(said)
    yield """```sh
python -m tests.closed_loop.run --orders 8 --write
python -m tests.closed_loop.run --page
```
"""


def _time(head: Row) -> str:
    if head.get("note"):
        return str(head["note"])
    if not head["minutes"]:
        return f"Every {head['share']}. of them was run." if head["share"] > 1 else "All were run."
    return f"No set was begun after {head['minutes']:g} minutes, on a machine busy with other work."


def _singles(results: Results) -> Iterator[str]:
    yield "## One fault\n"
    rigs = [rig for rig in results.head["rigs"] if results.of(1, ADVISED, rig)]
    rows = [(rig, results.of(1, ADVISED, rig)) for rig in rigs]
    yield _table("rig", [*rows, ("all", results.of(1, ADVISED))], results)
    yield _wrapped("""\
*First* and *end*: the needed remedy was the top one when the interview closed for the first time, and at its end.
*Cured*: it was proposed and done. *Checks*, *minutes*, *to a working set* and *set-up changes*: median, and what
the worst tenth reaches. *Wrong*: remedies done without need, for each set.""")


def _compared(results: Results) -> Iterator[str]:
    yield "## Against other orders\n"
    yield _wrapped(
        "Asking in the other orders takes far longer to compute, so that fewer sets were asked in them."
    )
    yield from _against(results, 1)


def _pairs(results: Results) -> Iterator[str]:
    yield "## Two faults\n"
    pairs = results.of(2, ADVISED)
    shown = [row for row in pairs if len(row["facts"]) > 1]
    hidden = [row for row in pairs if len(row["facts"]) < 2]
    yield _table(
        "of the two",
        [("each shows a sign", shown), ("one shows none", hidden), ("all", pairs)],
        results,
        pairs=True,
    )
    yield _wrapped("""\
*First*: the first remedy was that of one of the two. *One*: at least one of them was put right, *cured*: both. A fault
that shows no sign beside the other is found only by chance: the complaint is gone, and the readings that prove the set are
good.""")
    yield from _against(results, 2)


def _against(results: Results, faults: int) -> Iterator[str]:
    """The interview beside each other order, over the sets that were asked in both."""
    advised = {(row["rig"], *row["causes"]): row for row in results.of(faults, ADVISED)}
    for way in WAYS[1:]:
        others = [row for row in results.of(faults, way) if (row["rig"], *row["causes"]) in advised]
        if not others:
            yield _wrapped(f"None of these sets was asked {way}.")
            continue
        rows = [(ADVISED, [advised[row["rig"], *row["causes"]] for row in others]), (way, others)]
        yield _wrapped(f"{len(others)} of these sets were asked {way} too{_cut_off(others, results)}:")
        yield _table("way", rows, results, pairs=faults > 1)
        ours, theirs = (list(map(results.to_working, found)) for _, found in rows)
        yield _wrapped(f"""\
Minutes to a working set, of those {way}: {median(ours) / median(theirs):.2f} in the median, {sum(ours) / sum(theirs):.2f} over
all of them together.""")


def _cut_off(rows: Sequence[Row], results: Results) -> str:
    cut = sum(row["checks"] >= results.head["cap"] for row in rows)
    return f" ({cut} of them up to the {results.head['cap']} checks that are the most)" if cut else ""


def _table(
    head: str, rows: Iterable[tuple[str, Sequence[Row]]], results: Results, *, pairs: bool = False
) -> str:
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


def _speed(results: Results) -> Iterator[str]:
    yield "## Speed\n"
    times = [each for row in results.rows if row["way"] == ADVISED for each in row["milliseconds"]]
    yield _wrapped(f"""\
From an answer to the next question {median(times):.0f} ms in the median, {worst_tenth(times):.0f} ms in the worst tenth,
{max(times)} ms at the worst, over {len(times)} answers, on the machine it was run on, which did other work at the time (there
were several programs to each of its two cores). `python -m tests.benchmark` measures the parts of it alone.""")


def _missed(results: Results) -> Iterator[str]:
    singles = results.of(1, ADVISED)
    missed = [row for row in singles if not row["end_right"]]
    yield "## Not found\n"
    yield _wrapped(f"""\
{len(missed)} of {len(singles)} sets with one fault ended with another remedy on top. Beside each the remedies that were done, what led in
the end with its blame, the blame of the part that was to be found, and what was answered wrongly.""")
    if missed:
        yield (
            "\n".join(_miss(row) for row in sorted(missed, key=lambda row: (row["rig"], row["causes"])))
            + "\n"
        )
    yield "## The slowest\n"
    slow = sorted((row for row in singles if cured(row)), key=results.minutes)[-WORST:]
    lines = ["| cause | minutes | checks | wrong remedies |", "| --- | ---: | ---: | ---: |"]
    lines += [
        f"| {row['rig']}: `{row['causes'][0]}` | {results.minutes(row):.0f} | {row['checks']} | {row['wrong_remedies']} |"
        for row in reversed(slow)
    ]
    yield "\n".join(lines) + "\n"


def _miss(row: Row) -> str:
    lead, _, own = row["left"].partition("; ")
    said = [f"{row['rig']}: `{row['causes'][0]}`, {row['end']} after {row['checks']} checks"]
    if row["proposed"]:
        said.append("done: " + ", ".join(f"`{cause}`" for cause in row["proposed"]))
    if row["left"]:
        said.append(f"in the end {lead}; of the part {own.rpartition(' ')[2]}")
    if row["slips"]:
        said.append("answered wrongly: " + ", ".join(f"`{name}`" for name in row["slips"]))
    return textwrap.fill(
        f"- {'; '.join(said)}.", WIDTH, subsequent_indent="  ", break_on_hyphens=False, break_long_words=False
    )


def _share(rows: Sequence[Row], holds: Callable[[Row], bool]) -> str:
    return f"{100 * sum(map(holds, rows)) / len(rows):.0f} %"


def _spread(rows: Sequence[Row], value: Callable[[Row], float]) -> str:
    values = [value(row) for row in rows]
    return f"{median(values):.0f}, {worst_tenth(values):.0f}"


def _wrapped(text: str) -> str:
    paragraphs = text.strip().split("\n\n")
    made = (
        p if p.startswith("#") else textwrap.fill(" ".join(p.split()), WIDTH, break_on_hyphens=False)
        for p in paragraphs
    )
    return "\n\n".join(made) + "\n"
