"""How long things take on this machine: `python -m tests.benchmark [SECTION...]`.

Sections: case, abnormal, soft, book, batch, start, library, next, evidence. Without one, all of them.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from itertools import islice
from pathlib import Path
from statistics import median

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the command does, before numpy is imported

import numpy as np

from diagnose.commands.opening import assembly_for, open_book, open_case
from diagnose.diagnosis import diagnose
from diagnose.evidence.collect import collect
from diagnose.evidence.expected import expectation
from diagnose.evidence.grade import good_limits
from diagnose.evidence.path import path_of
from diagnose.files.find import rules_folder
from diagnose.files.read_book import load_book
from diagnose.files.read_case import assembly_of
from diagnose.inference.answer import answer
from diagnose.inference.asking import ask
from diagnose.inference.contraction import TooWide
from diagnose.inference.question import Question
from diagnose.model.assembly import Assembly, PlacedIndication
from diagnose.model.case import Case, Observation, Work
from tests.library_rig import presence_by_library
from tests.sampled_cases import Wanted, sampled_case, write_case

ROOT = Path(__file__).parents[1]
SEEDS = int(os.environ.get("SEEDS", "8"))
BATCH = 200
LIBRARY_SECONDS = 120
NEXT_MS = 200.0  # what is aimed at on an idle machine: from an answer to the next question
EVIDENCE_MS = 5.0  # the same, for the evidence of READINGS readings
READINGS = 60
DEPENDENCIES = "import yaml, jsonschema, rich.console, rich.text, pint, numpy"


def assemblies() -> dict[str, Assembly]:
    """The networks of all rigs of the built-in book."""
    book = open_book(None)
    return {id: assembly_of(book, id) for id in book.rigs}


def seconds(work: Callable[[], object]) -> float:
    """How long a piece of work takes."""
    started = time.perf_counter()
    work()
    return time.perf_counter() - started


def processor_seconds(work: Callable[[], object]) -> float:
    """The processor time that a piece of work takes, whatever else the machine does."""
    started = time.process_time()
    work()
    return time.process_time() - started


def against(times: list[float], aim: float) -> str:
    """Median and worst in milliseconds, and each as a ratio to what is aimed at."""
    middle, worst = 1e3 * median(times), 1e3 * max(times)
    return (
        f"median {middle:7.1f} ms ({middle / aim:5.2f} of {aim:g} ms)"
        f"   worst {worst:7.1f} ms ({worst / aim:5.2f})"
    )


def spread(times: list[float]) -> str:
    """Median and worst in milliseconds."""
    return f"median {1e3 * median(times):8.1f} ms   worst {1e3 * max(times):8.1f} ms"


def measured(label: str, works: Iterable[Callable[[], bool]]) -> None:
    """Runs each piece of work twice, times the second run, and prints a line; the work says if it was exact.

    What the engine gives up as too wide is counted, not timed.
    """
    times: list[float] = []
    exact = wide = 0
    for work in works:
        try:
            exact += work()
            times.append(seconds(work))
        except TooWide:
            wide += 1
    told = spread(times) if times else "nothing solved"
    print(f"{label:34} {told}   exact {exact}, bounded {len(times) - exact}, too wide {wide}", flush=True)


def per_case() -> None:
    """One case of 20 readings, 8 of them abnormal: ranking, with advice, and with sets and conflict too."""
    for id, assembly in assemblies().items():
        for soft, told in ((0, "certain"), (20, "doubted")):
            for label, advice, details in (
                ("rank", False, False),
                ("rank and advise", True, False),
                ("whole report", True, True),
            ):
                works = _diagnoses(assembly, Wanted(soft=soft), advice, details)
                measured(f"{id} {told} {label}", works)


def _diagnoses(
    assembly: Assembly, wanted: Wanted, advice: bool, details: bool
) -> Iterator[Callable[[], bool]]:
    for seed in range(SEEDS):
        case = sampled_case(assembly, seed, wanted)
        yield lambda case=case: diagnose(assembly, case, advice=advice, details=details).exact  # type: ignore[misc]


def _answers(assembly: Assembly, wanted: Wanted) -> Iterator[Callable[[], bool]]:
    for seed in range(SEEDS):
        question = _question(assembly, seed, wanted)
        yield lambda question=question: answer(question).exact  # type: ignore[misc]


def growth_with_abnormal() -> None:
    """The same number of readings, more and more of them abnormal."""
    assembly = next(iter(assemblies().values()))
    for abnormal in (0, 2, 4, 8, 12, 16):
        measured(f"{abnormal} of 24 abnormal", _answers(assembly, Wanted(24, abnormal)))


def growth_with_soft() -> None:
    """The same readings, more and more of them told by the owner, who may be wrong."""
    assembly = next(iter(assemblies().values()))
    for soft in (0, 5, 10, 15, 20):
        measured(f"{soft} of 20 doubted", _answers(assembly, Wanted(20, 8, soft)))


def _question(assembly: Assembly, seed: int, wanted: Wanted) -> Question:
    case = sampled_case(assembly, seed, wanted)
    return ask(assembly, case, collect(assembly, case))


def size_of_the_book() -> None:
    """Loading a book with copies of all kinds of stage, and one case on rigs of every size."""
    for copies in (0, 1, 2, 4):
        with _copied_kinds(copies) as shop:
            fresh = seconds(lambda: load_book(rules_folder(), shop))
            with _environment(DIAGNOSE_CACHE=str(shop.parent / "cache"), DIAGNOSE_SHOP=str(shop)):
                open_book(None)
                kept = seconds(lambda: open_book(None))
        print(f"book x {1 + copies}: read {1e3 * fresh:7.0f} ms, compiled {1e3 * kept:6.0f} ms")
    for id, assembly in sorted(assemblies().items(), key=lambda item: len(item[1].order)):
        measured(f"{id}, {len(assembly.order)} nodes", _answers(assembly, Wanted()))


@contextmanager
def _copied_kinds(copies: int) -> Iterator[Path]:
    with tempfile.TemporaryDirectory() as place:
        shop = Path(place) / "shop"
        shop.mkdir()
        for number in range(copies):
            for path in sorted((rules_folder() / "stages").glob("*.yaml")):
                text = path.read_text(encoding="utf-8").replace("\nkind: ", f"\nkind: copy_{number}_", 1)
                (shop / f"{path.stem}_{number}.yaml").write_text(text, encoding="utf-8")
        yield shop


@contextmanager
def _environment(**values: str) -> Iterator[None]:
    before = {name: os.environ.get(name) for name in values}
    os.environ.update(values)
    try:
        yield
    finally:
        for name, value in before.items():
            os.environ.pop(name, None)
            if value is not None:
                os.environ[name] = value


def batch() -> None:
    """Cases a second through the command, files and start of the processes included."""
    found = assemblies()
    with tempfile.TemporaryDirectory() as place:
        for seed in range(BATCH):
            assembly = list(found.values())[seed % len(found)]
            write_case(sampled_case(assembly, seed, Wanted(12, 3)), Path(place))
        for jobs in sorted({1, os.cpu_count() or 1}):
            for form in ("csv", "jsonl"):
                words = ["-m", "diagnose", "batch", place, "--format", form, "--jobs", str(jobs)]
                taken = seconds(lambda w=words: _python(*w))  # type: ignore[misc]  # bound at once
                print(
                    f"{jobs} processes, {form:5}: {BATCH / taken:6.1f} cases a second ({BATCH} in {taken:.1f} s)"
                )


def start_up() -> None:
    """A report on a case without readings, against the bare import of what it depends on."""
    with tempfile.TemporaryDirectory() as place:
        case = Path(place) / "nothing_yet.yaml"
        case.write_text(f"case: nothing_yet\nrig: {next(iter(assemblies()))}\n", encoding="utf-8")
        words = {
            "bare import": ("-c", DEPENDENCIES),
            "rigs list": ("-m", "diagnose", "rigs", "list"),
            "report": ("-m", "diagnose", "report", str(case)),
        }
        _python(*words["report"])  # compiles the book
        times = {
            name: median(seconds(partial(_python, *each)) for _ in range(9)) for name, each in words.items()
        }
    for name, taken in times.items():
        print(f"{name:12} {1e3 * taken:5.0f} ms   {taken / times['bare import']:.2f} times the bare import")


def _python(*words: str) -> None:
    subprocess.run([sys.executable, *words], cwd=ROOT, capture_output=True, check=False, timeout=3600)


def library() -> None:
    """The same networks and evidence through a general-purpose library, each within a limit of time."""
    for id in assemblies():
        for readings, abnormal in ((6, 1), (12, 3), (20, 8)):
            words = ["-m", "tests.benchmark", "one", id, str(readings), str(abnormal)]
            said = said_by(words, LIBRARY_SECONDS)
            print(f"{id:12} {readings:2} readings, {abnormal} abnormal: {said}")


def said_by(words: list[str], within: float) -> str:
    """What a Python program prints; where it prints nothing, its last complaint or how it ended."""
    try:
        done = subprocess.run(
            [sys.executable, *words], cwd=ROOT, capture_output=True, text=True, check=False, timeout=within
        )
    except subprocess.TimeoutExpired:
        return f"no answer in {within:g} s"
    said = done.stdout.strip() or "".join(done.stderr.strip().splitlines()[-1:])
    if said:
        return said
    if done.returncode < 0:  # for want of memory, most likely
        return f"nothing; killed by {signal.Signals(-done.returncode).name}"
    return f"nothing; exit status {done.returncode}"


def one(rig: str, readings: str, abnormal: str) -> None:
    """One comparison, in a process of its own so that it can be ended."""
    question = _question(assemblies()[rig], 1, Wanted(int(readings), int(abnormal)))
    ours = answer(question)
    taken = seconds(lambda: answer(question))
    started = time.perf_counter()
    log_evidence, presence = presence_by_library(question.network, question.likelihood)
    theirs = time.perf_counter() - started
    assert ours.exact
    gaps = [
        float(np.abs(presence[node] - values[0]).max()) for node, values in ours.solution.presence.items()
    ]
    gap = max([abs(log_evidence - float(ours.solution.log_evidence[0])), *gaps])
    print(
        f"ours {1e3 * taken:7.1f} ms, library {1e3 * theirs:8.1f} ms, ratio {theirs / taken:6.1f}, differ by {gap:.1e}"
    )


def next_question() -> None:
    """From an answer to the next question over the demo cases and their beginnings, the answer before not timed.

    Processor time of this process, against what is aimed at on an idle machine. With work done: all that was
    observed lies before work on the leading part, and some of it is read again.
    """
    book = open_book(None)
    times: dict[str, dict[str, float]] = {"before any work": {}, "with work done": {}}
    for path in sorted((ROOT / "cases").glob("*.yaml")):
        case = open_case(path, book).case
        if case is None:
            raise AssertionError(f"{path} is no case")
        assembly = assembly_for(case, book)
        for kind, cases in zip(times, (_beginnings(case), _worked_on(assembly, case)), strict=True):
            for each in cases:
                before = replace(each, observations=each.observations[:-1])
                diagnose(assembly, before, details=False)
                taken = processor_seconds(partial(diagnose, assembly, each, details=False))
                times[kind][f"{case.id}, {len(each.observations)} answers"] = taken
    for kind, found in times.items():
        worst = max(found, key=found.__getitem__)
        print(
            f"next question, {kind:16} {against(list(found.values()), NEXT_MS)}, {len(found)} cases; worst {worst}"
        )


def _beginnings(case: Case) -> Iterator[Case]:
    """The first 2, 5, 10 answers of a case, and all."""
    count = len(case.observations)
    for first in sorted({n for n in (2, 5, 10, count) if n <= count}):
        yield replace(case, observations=case.observations[:first])


def _worked_on(assembly: Assembly, case: Case) -> Iterator[Case]:
    """The case with its leading part worked on, and its first 2, 5 or all observations made again after that."""
    parts = diagnose(assembly, case, advice=False, details=False).parts
    lead = next((part.id for part in parts if not part.unnamed), None)
    if case.work or lead is None:
        return
    before = tuple(replace(o, period=0) for o in case.observations)
    count = len(before)
    for again in sorted({n for n in (2, 5, count) if n <= count}):
        now = tuple(replace(o, period=1) for o in case.observations[:again])
        yield replace(case, observations=(*before, *now), work=(Work("done", parts=(lead,)),))


def evidence() -> None:
    """Findings of a case with 60 readings of a good set, read on as many bands as it takes (processor time)."""
    for id, assembly in assemblies().items():
        case = _good_readings(assembly, READINGS)
        collect(assembly, case)
        times = [processor_seconds(partial(collect, assembly, case)) for _ in range(SEEDS)]
        print(f"{id:12} {len(case.observations)} readings  {against(times, EVIDENCE_MS)}")


def _good_readings(assembly: Assembly, count: int) -> Case:
    case = Case("good", assembly.rig.id, mains=assembly.rig.mains_voltage)
    read = (
        replace(observation, value=value)
        for band in ("", *assembly.rig.bands)
        for name, placed in assembly.indications.items()
        if placed.indication.unit and placed.indication.sort != "instrument"
        for observation in [Observation(name, value=1.0, band=band)]
        if (value := _good_value(assembly, case, placed, observation)) is not None
    )
    return replace(case, observations=tuple(islice(read, count)))


def _good_value(
    assembly: Assembly, case: Case, placed: PlacedIndication, observation: Observation
) -> float | None:
    """What the meter shows on a good set; None where nothing is known of that."""
    if placed.indication.scale != "ratio":
        limits = good_limits(placed.indication.states)
        return sum(limits) / 2.0 if limits else None
    expected = expectation(assembly, case, observation)
    return path_of(assembly, case, placed, observation, expected, None).expected if expected else None


SECTIONS: dict[str, Callable[[], None]] = {
    "case": per_case,
    "abnormal": growth_with_abnormal,
    "soft": growth_with_soft,
    "book": size_of_the_book,
    "batch": batch,
    "start": start_up,
    "library": library,
    "next": next_question,
    "evidence": evidence,
}


def main(words: list[str]) -> int:
    """The sections named, or all."""
    if words[:1] == ["one"]:
        one(*words[1:])
        return 0
    unknown = [word for word in words if word not in SECTIONS]
    if unknown:
        print(f"no section {', '.join(unknown)}; the sections are {', '.join(SECTIONS)}", file=sys.stderr)
        return 2
    for name in words or list(SECTIONS):
        print(f"\n{name}: {SECTIONS[name].__doc__}")
        SECTIONS[name]()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
