"""`diagnose batch`: order, broken cases, formats, files."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path

import pytest

from diagnose.commands import many
from tests.commands import bench
from tests.commands.bench import run
from tests.commands.conftest import Call


@pytest.fixture
def folder(cases: Path) -> Path:
    """Cases and a broken one, in folders, with names whose order is not that of their making."""
    return bench.write_cases(
        cases,
        {
            "b/2.yml": bench.SAGGING,
            "c.yaml": bench.DIM.replace("case: dim", "case: third"),
            "a.yaml": bench.DIM.replace("case: dim", "case: first"),
            "b/1.yaml": bench.BROKEN,
            "b/notes.txt": "no case",
            ".hidden/x.yaml": bench.BROKEN,
        },
    )


ORDER = ["first", "sagging", "third"]


def test_files_are_taken_in_the_order_given_and_each_once(folder: Path) -> None:
    found = many.case_files([folder / "c.yaml", folder])
    assert [path.relative_to(folder).as_posix() for path in found] == [
        "c.yaml",
        "a.yaml",
        "b/1.yaml",
        "b/2.yml",
    ]


def test_jsonl_has_a_line_for_each_usable_case_in_order(call: Call, folder: Path) -> None:
    ran = call("batch", folder, "--format", "jsonl", "--jobs", 1)
    assert ran.status == 1
    assert [json.loads(line)["case"] for line in ran.out.splitlines()] == ORDER
    assert str(folder / "b/1.yaml") in ran.err
    assert "3 cases diagnosed; 1 file could not be used." in ran.err


def test_json_is_one_list(call: Call, folder: Path) -> None:
    assert [made["case"] for made in json.loads(call("batch", folder, "--format", "json").out)] == ORDER


def test_json_of_nothing_usable_is_an_empty_list(call: Call, cases: Path) -> None:
    bench.write_cases(cases, {"b.yaml": bench.BROKEN})
    ran = call("batch", cases, "--format", "json")
    assert (ran.status, json.loads(ran.out)) == (1, [])


def test_csv_has_a_row_for_each_case(call: Call, folder: Path) -> None:
    bench.write_cases(folder, {"d.yaml": bench.HOT})
    ran = call("batch", folder, "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(ran.out)))
    assert ran.status == 3
    assert [row["case"] for row in rows] == [*ORDER, "hot"]
    assert rows[0]["top_cause"] == "light.lamp.blackened"
    assert rows[1]["top_cause"] == "light.cell.flat"
    assert 0.5 < float(rows[0]["blame"]) < 1
    assert [row["stop_orders"] for row in rows] == ["", "", "", "light.hot_cell"]


def test_the_table_is_for_people(call: Call, folder: Path) -> None:
    lines = call("batch", folder).out.splitlines()
    assert lines[0].split() == ["case", "verdict", "of", "100", "leading", "part"]
    assert [line.split()[0] for line in lines[1:]] == ORDER
    assert lines[1].endswith("  lamp, signal lantern")
    assert max(len(line) for line in lines) <= 80


def test_advice_is_worked_out_only_when_asked_for(call: Call, folder: Path) -> None:
    for arguments, advised in (((), False), (("--advice",), True)):
        line = call("batch", folder, "--format", "jsonl", *arguments).out.splitlines()[0]
        record = json.loads(line)
        assert record["advised"] is advised
        assert (record["conflict"]["tail"] is not None) is advised  # as costly, and asked for with it


def test_many_processes_give_what_one_gives(tmp_path: Path) -> None:
    """More chunks than processes, so that answers could arrive out of order."""
    texts = {f"{n:03}.yaml": bench.DIM.replace("case: dim", f"case: n{n}") for n in range(70)}
    texts["035.yaml"] = bench.BROKEN
    bench.write_cases(tmp_path, texts)
    several = run("batch", tmp_path, "--format", "jsonl", "--jobs", 3)
    one = run("batch", tmp_path, "--format", "jsonl", "--jobs", 1)
    assert several.out == one.out
    assert several.status == one.status == 1
    assert several.err.count("035.yaml") == 1
    assert len(several.out.splitlines()) == 69


def test_output_takes_the_place_of_a_file_only_as_a_whole(call: Call, folder: Path, tmp_path: Path) -> None:
    target = tmp_path / "out.csv"
    target.write_text("old", encoding="utf-8")
    ran = call("batch", folder, "--format", "csv", "--output", target)
    assert ran.out == ""
    assert target.read_text(encoding="utf-8").startswith("file,case,rig,")
    assert [path.name for path in tmp_path.iterdir() if path.is_file()] == ["out.csv"]


def test_a_batch_that_fails_leaves_the_old_file_alone(
    call: Call, folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(self: many.Worker, path: Path) -> many.Done:
        raise KeyboardInterrupt

    monkeypatch.setattr(many.Worker, "done", broken)
    target = tmp_path / "out.csv"
    target.write_text("old", encoding="utf-8")
    ran = call("batch", folder, "--format", "csv", "--output", target, "--jobs", 1)
    assert ran.status == 130
    assert target.read_text(encoding="utf-8") == "old"
    assert [path.name for path in tmp_path.iterdir() if path.is_file()] == ["out.csv"]


def test_a_fault_of_the_program_costs_one_case_and_is_named(
    call: Call, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from diagnose.diagnosis import diagnose

    def faulty(assembly: object, case: object, **more: object) -> object:
        if getattr(case, "id", "") == "sagging":
            raise ZeroDivisionError("by nothing")
        return diagnose(assembly, case, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(many, "diagnose", faulty)
    ran = call("batch", folder, "--format", "jsonl", "--jobs", 1)
    assert [json.loads(line)["case"] for line in ran.out.splitlines()] == ["first", "third"]
    assert "a fault of the program itself (ZeroDivisionError: by nothing)" in ran.err
    assert ran.status == 1


@pytest.mark.parametrize(
    ("output", "said"), [("", "is a folder; name a file"), ("nowhere/out.csv", "there is no folder")]
)
def test_an_output_that_cannot_be_written_is_said_plainly(
    call: Call, folder: Path, tmp_path: Path, output: str, said: str
) -> None:
    ran = call("batch", folder, "--output", tmp_path / output)
    assert ran.status == 1
    assert said in " ".join(ran.err.split())


def test_a_folder_without_cases_is_said_to_be_empty(call: Call, tmp_path: Path) -> None:
    ran = call("batch", tmp_path)
    assert ran.status == 1
    assert "there are no case files" in ran.err


def test_a_missing_path_is_named_and_the_rest_goes_on(call: Call, folder: Path) -> None:
    ran = call("batch", folder / "nobody.yaml", folder / "a.yaml", "--format", "jsonl")
    assert ran.status == 1
    assert len(ran.out.splitlines()) == 1
    assert "nobody.yaml: error: there is no such file" in ran.err


def test_a_worker_that_dies_ends_the_batch_with_a_next_step(
    call: Call, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def killed(*arguments: object) -> Iterator[many.Done]:
        raise BrokenProcessPool
        yield

    monkeypatch.setattr(many, "_in_processes", killed)
    monkeypatch.setattr(many, "CHUNK", 1)
    ran = call("batch", folder, "--jobs", 2)
    assert ran.status == 1
    assert "Try --jobs 1." in ran.err


def test_json_of_a_batch_is_the_record_of_a_report(call: Call, folder: Path) -> None:
    """Joint explanations and conflict included, though a table or CSV goes without the work for them."""
    line = call("batch", folder / "b/2.yml", "--format", "jsonl", "--advice").out
    assert json.loads(line) == json.loads(call("report", folder / "b/2.yml", "--format", "json").out)
