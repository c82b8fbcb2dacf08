"""How long things take on this machine: `python -m tests.benchmark [SECTION...]`.

Sections: case, abnormal, soft, book, batch, start, library. Without one, all of them.
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
from pathlib import Path
from statistics import median

import numpy as np

from diagnose.commands.opening import open_book
from diagnose.diagnosis import diagnose
from diagnose.evidence.collect import collect
from diagnose.files.find import rules_folder
from diagnose.files.read_book import load_book
from diagnose.files.read_case import assembly_of
from diagnose.inference.contraction import TooWide
from diagnose.inference.question import Question, answer, ask
from diagnose.model.assembly import Assembly
from tests.library_rig import presence_by_library
from tests.sampled_cases import Wanted, sampled_case, write_case

ROOT = Path(__file__).parents[1]
SEEDS = int(os.environ.get("SEEDS", "8"))
BATCH = 200
LIBRARY_SECONDS = 120
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
        yield (
            lambda case=case: (
                diagnose(  # type: ignore[misc]
                    assembly, case, advice=advice, details=details
                ).exact
            )
        )


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
            name: median(seconds(lambda w=w: _python(*w)) for _ in range(9)) for name, w in words.items()
        }  # type: ignore[misc]
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


SECTIONS: dict[str, Callable[[], None]] = {
    "case": per_case,
    "abnormal": growth_with_abnormal,
    "soft": growth_with_soft,
    "book": size_of_the_book,
    "batch": batch,
    "start": start_up,
    "library": library,
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
