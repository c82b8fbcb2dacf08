"""The page docs/closed-loop.md, made of the results that are kept."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from pathlib import Path
from statistics import median
from typing import Final

from tests.closed_loop.loop import BROKEN_OFF
from tests.closed_loop.results import Results, Row, cured, worst_tenth
from tests.closed_loop.tables import table
from tests.closed_loop.told import introduction, simulated
from tests.closed_loop.ways import ADVISED, WAYS
from tests.paragraphs import WIDTH, wrapped

PAGE: Final = Path(__file__).parents[2] / "docs" / "closed-loop.md"
WORST: Final = 10  # causes listed as the slowest


def page(results: Results) -> str:
    """The text of the page."""
    pieces = [
        introduction(),
        simulated(results.head["cap"], results.head["search_minutes"]),
        *_run_of(results),
        *_singles(results),
        *_compared(results),
        *_pairs(results),
        *_speed(results),
        *_missed(results),
    ]
    return "\n".join(pieces)


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
then counts as one that did not find the fault: {len(broken)} of {len(results.rows)}. All of them anew, which takes more than
an hour on two cores; what is missing in a run that was broken off; and the page from the results that are kept:"""
    yield wrapped(said)
    yield f"""```sh
python -m tests.closed_loop.run --orders {head["orders"]} --pairs {head["pairs"]} --write
python -m tests.closed_loop.run --go-on
python -m tests.closed_loop.run --page
```
"""


def _time(head: Row) -> str:
    note = f" {head['note']}" if head.get("note") else ""
    if head["minutes"]:
        return f"No set was begun after {head['minutes']:g} minutes.{note}"
    return f"Every {head['share']}. of them was run.{note}" if head["share"] > 1 else f"All were run.{note}"


def _singles(results: Results) -> Iterator[str]:
    yield "## One fault\n"
    rigs = [rig for rig in results.head["rigs"] if results.of(1, ADVISED, rig)]
    rows = [(rig, results.of(1, ADVISED, rig)) for rig in rigs]
    yield table("rig", [*rows, ("all", results.of(1, ADVISED))], results)
    yield wrapped("""\
*First* and *end*: the needed remedy was the top one when the interview closed for the first time, and at its end.
*Cured*: it was proposed and done. *Checks*, *minutes*, *to a working set* and *set-up changes*: median, and what
the worst tenth reaches. *Wrong*: remedies done without need, for each set.""")


def _compared(results: Results) -> Iterator[str]:
    yield "## Against other orders\n"
    yield wrapped(
        "Asking in the other orders takes far longer to compute, so that fewer sets were asked in them."
    )
    yield from _against(results, 1)


def _pairs(results: Results) -> Iterator[str]:
    yield "## Two faults\n"
    pairs = results.of(2, ADVISED)
    shown = [row for row in pairs if len(row["facts"]) > 1]
    hidden = [row for row in pairs if len(row["facts"]) < 2]
    kinds = [("each shows a sign", shown), ("one shows none", hidden)] if hidden else []
    yield table("of the two", [*kinds, ("all", pairs)], results, pairs=True)
    yield wrapped("""\
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
            yield wrapped(f"None of these sets was asked {way}.")
            continue
        rows = [(ADVISED, [advised[row["rig"], *row["causes"]] for row in others]), (way, others)]
        yield wrapped(f"{len(others)} of these sets were asked {way} too{_cut_off(others, results)}:")
        yield table("way", rows, results, pairs=faults > 1)
        ours, theirs = (list(map(results.to_working, found)) for _, found in rows)
        yield wrapped(f"""\
Minutes to a working set, of those {way}: {median(ours) / median(theirs):.2f} in the median, {sum(ours) / sum(theirs):.2f} over
all of them together.""")


def _cut_off(rows: Sequence[Row], results: Results) -> str:
    cut = sum(row["checks"] >= results.head["cap"] for row in rows)
    return f" ({cut} of them up to the {results.head['cap']} checks that are the most)" if cut else ""


def _speed(results: Results) -> Iterator[str]:
    yield "## Speed\n"
    times = [each for row in results.rows if row["way"] == ADVISED for each in row["milliseconds"]]
    yield wrapped(f"""\
From an answer to the next question {median(times):.0f} ms in the median, {worst_tenth(times):.0f} ms in the worst tenth,
{max(times)} ms at the worst, over {len(times)} answers, on the machine it was run on, which did other work at the time. `python -m tests.benchmark` measures the parts of it alone.""")


def _missed(results: Results) -> Iterator[str]:
    singles = results.of(1, ADVISED)
    missed = [row for row in singles if not row["end_right"]]
    yield "## Not found\n"
    yield wrapped(f"""\
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
