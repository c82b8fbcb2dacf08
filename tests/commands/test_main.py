"""The command line as a whole: usage, help, the funnel, streams and statuses."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from diagnose.commands import main as program
from diagnose.commands import status
from diagnose.commands.output import Output
from tests.commands import bench
from tests.commands.bench import environment, run
from tests.commands.conftest import Call

HELPS = [
    (),
    ("report",),
    ("explain",),
    ("batch",),
    ("rules",),
    ("rules", "check"),
    ("rules", "list"),
    ("rules", "show"),
    ("rigs",),
    ("rigs", "list"),
    ("rigs", "show"),
]


@pytest.mark.parametrize("words", HELPS, ids=lambda words: " ".join(words) or "diagnose")
def test_every_help_has_an_example_and_the_statuses(call: Call, words: tuple[str, ...]) -> None:
    ran = call(*words, "--help")
    assert ran.status == 0
    assert "example" in ran.out
    assert f"diagnose {' '.join(words)}".strip() in ran.out.partition("example")[2]
    assert "exit status: 0 done" in ran.out


@pytest.mark.parametrize(
    "words",
    [
        (),
        ("repotr", "x.yaml"),
        ("report",),
        ("report", "x.yaml", "--top", "0"),
        ("report", "x.yaml", "--top", "many"),
        ("report", "x.yaml", "--format", "xml"),
        ("batch", "x", "--jobs", "-1"),
        ("rules",),
        ("rigs", "show", "no_such_rig"),
        ("rules", "show", "no/such-rule"),
    ],
    ids=" ".join,
)
def test_wrong_usage_is_status_two_in_few_words(call: Call, words: tuple[str, ...]) -> None:
    ran = call(*words)
    assert (ran.status, ran.out) == (2, "")
    assert 1 <= len(ran.err.splitlines()) <= 3
    assert "diagnose" in ran.err


def test_the_program_runs_as_a_module_with_the_right_statuses(cases: Path) -> None:
    """The statuses as a shell sees them."""
    bench.write_cases(cases, {"dim.yaml": bench.DIM, "hot.yaml": bench.HOT, "b.yaml": bench.BROKEN})
    assert run("report", cases / "dim.yaml").status == 0
    assert run("report", cases / "b.yaml").status == 1
    assert run("report").status == 2
    assert run("report", cases / "b.yaml", cases / "hot.yaml").status == 3


def test_results_and_messages_keep_to_their_streams(cases: Path) -> None:
    bench.write_cases(cases, {"dim.yaml": bench.DIM, "b.yaml": bench.BROKEN})
    ran = run("report", cases / "dim.yaml", cases / "b.yaml")
    assert "b.yaml" not in ran.out
    assert "lamp" not in ran.err


def test_a_reader_that_stops_reading_is_no_error(cases: Path) -> None:
    """As `diagnose batch ... | head -1` does it: the pipe is closed while there is more to write."""
    bench.write_cases(cases, {f"{n}.yaml": bench.DIM for n in range(40)})
    process = subprocess.Popen(
        [sys.executable, "-m", "diagnose", "batch", str(cases), "--format", "jsonl", "--jobs", "1"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=environment(),
    )
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.readline()
    process.stdout.close()
    complaint = process.stderr.read()
    process.stderr.close()
    assert process.wait(timeout=60) == status.PIPE_CLOSED
    assert complaint == b""


def failing(error: BaseException) -> program.Command:
    """A command that ends in this error."""

    def command(options: object, output: Output) -> int:
        raise error

    return command


@pytest.mark.parametrize(
    ("error", "ended", "said"),
    [
        (KeyboardInterrupt(), 130, "interrupted"),
        (PermissionError(13, "Permission denied", "x.yaml"), 1, "x.yaml: permission denied."),
        (
            ZeroDivisionError("by nothing"),
            70,
            "a fault of the program itself (ZeroDivisionError: by nothing)",
        ),
        (RecursionError(), 70, "a fault of the program itself (RecursionError)"),
    ],
    ids=["interrupt", "file", "fault", "fault without words"],
)
def test_the_funnel_says_what_happened_and_what_to_do(
    call: Call, monkeypatch: pytest.MonkeyPatch, error: BaseException, ended: int, said: str
) -> None:
    monkeypatch.setattr(program, "_command", lambda name: failing(error))
    ran = call("rigs", "list")
    assert ran.status == ended
    assert said in ran.err
    assert "Traceback" not in ran.err


def test_a_traceback_is_shown_on_request_only(call: Call, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(program, "_command", lambda name: failing(ZeroDivisionError("by nothing")))
    assert "DIAGNOSE_DEBUG=1" in call("rigs", "list").err
    monkeypatch.setenv("DIAGNOSE_DEBUG", "1")
    assert "Traceback" in call("rigs", "list").err


def test_a_shop_that_is_not_there_is_said_plainly(call: Call, tmp_path: Path) -> None:
    ran = call("rigs", "list", "--shop", tmp_path / "none")
    assert ran.status == 1
    assert "--shop" in ran.err
    assert "Traceback" not in ran.err


def test_a_shop_with_a_fault_names_its_place(call: Call, tmp_path: Path) -> None:
    (tmp_path / "bad.yaml").write_text("kind: lantern\ntitle: [x\n", encoding="utf-8")
    ran = call("rigs", "list", "--shop", tmp_path)
    assert ran.status == 1
    assert "bad.yaml:" in ran.err
    assert "diagnose rules check" in ran.err


def test_one_program_per_command_is_imported() -> None:
    """A report must not wait for the rule checker, the batch or the unit registry."""
    code = (
        "import sys; import diagnose.commands.report; "
        "print(sorted({'pint', 'diagnose.review.checks', 'diagnose.commands.many'} & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, check=True, env=environment(), text=True
    )
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize(("several", "one"), [((0, 1, 3), 3), ((0, 1, 0), 1), ((0, 0), 0), ((), 0)], ids=str)
def test_a_stop_order_wins_then_unusable_input(several: tuple[int, ...], one: int) -> None:
    assert status.worst(several) == one
