"""The interview on a real terminal: keys typed, the screen read, the file looked into."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest

from diagnose.files.read_case import read_case
from diagnose.model.case import Case
from tests.interview.bench import book, safety_asked
from tests.interview.terminal import Terminal, piped, terminal

SAFE = ["y"] * len(safety_asked())
WEAK = ["weak output", "1", "", "", "cw", "20m", "117", "skip", *SAFE]
BEGUN = """\
case: set
rig: gannet_60
mains: 117 V
safety: [bleeder_proven, discharge_stick, dummy_load, earthed, fused, brought_up]
bench: {power: off}
readings:
  output_network.power: 30 W
"""
STEERING = re.compile(r"\x1b(?!\[[0-9;]*m)|[\x00-\x08\x0b\x0c\x0e-\x1a\x1c-\x1f\x7f]")


def case_in(path: Path) -> Case:
    """The case in a file, which is a good one."""
    case, problems = read_case(path, book())
    assert case is not None
    assert problems == ()
    return case


def begun(folder: Path, text: str = BEGUN) -> Path:
    """A case file that a person wrote."""
    path = folder / "set.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def at_prompt(shown: Terminal, lines: list[str]) -> None:
    """Types lines, each when it is asked for; the last one is answered too."""
    shown.until()
    for line in lines:
        shown.type(line)


def test_a_set_is_taken_in(tmp_path: Path) -> None:
    """From the rig to the first check, with a wrong line voltage asked again; each answer is in the file at once."""
    with terminal(tmp_path, "interview", "set.yaml") as shown:
        at_prompt(shown, ["gannet", "weak output on 20 meters", "1", "", "", "phone", "20"])
        assert case_in(tmp_path / "set.yaml").band == "20m"
        said = shown.type("117 A")
        assert "is a current, but a voltage (V) is wanted" in said
        shown.type("117")
        assert case_in(tmp_path / "set.yaml").mains == 117.0
        shown.type("skip")
        for _ in SAFE[:-1]:
            shown.type("y")
        said = shown.type("y")
        for label in ("So far", "Next", "Why", "Do", "Good"):
            assert label in said
        shown.send("finish\n")
        assert shown.end() == 0
        assert "diagnose interview set.yaml" in shown.screen
    case = case_in(tmp_path / "set.yaml")
    assert case.about == "weak output on 20 meters"
    assert [(o.name, o.state) for o in case.observations] == [("output_network.power", "low")]
    assert set(case.safety) == set(safety_asked())


def test_answers_wrong_taken_back_and_changed(tmp_path: Path) -> None:
    """A wrong unit and an absurd value are asked again; an entry is changed, then struck out."""
    path = begun(tmp_path)
    with terminal(tmp_path, "interview", "set.yaml") as shown:
        at_prompt(shown, ["final.plate_current = 95 mA"])
        assert "a current, but a voltage (V) is wanted" in shown.type("hv.voltage = 95 mA")
        assert "was another prefix meant, 145 mA?" in " ".join(
            shown.type("final.plate_current 145 A").split()
        )
        assert case_in(path).observations[-1].value == 95.0
        record = shown.type("record")
        number = re.search(r"(\d+) +final amplifier: plate current of the final: 95 mA", record)
        assert number is not None
        shown.type(f"amend {number.group(1)} about 120")
        changed = case_in(path).observations[-1]
        assert (changed.value, changed.within) == (120.0, 0.1)
        assert "Struck out" in shown.type(f"strike {number.group(1)}")
        assert [o.name for o in case_in(path).observations] == ["output_network.power"]


def test_kill_costs_at_most_the_answer_being_typed(tmp_path: Path) -> None:
    """Killed in the middle of typing: a second run goes on there, with all that was entered."""
    path = begun(tmp_path)
    with terminal(tmp_path, "interview", "set.yaml") as shown:
        at_prompt(shown, ["hv.voltage = 590 V", "did cleaned the band switch", "?"])
        shown.send("final.plate_current = 9")
        shown.kill()
    case = case_in(path)
    assert [o.name for o in case.observations] == ["output_network.power", "hv.voltage"]
    assert case.work[0].did == "cleaned the band switch"
    assert (tmp_path / "set.yaml.kept").read_text(encoding="utf-8") == BEGUN
    with terminal(tmp_path, "interview", "set.yaml") as shown:
        assert "Going on with set.yaml" in shown.until()
        assert "cleaned the band switch" in shown.type("record")


def test_a_second_run_says_how_the_bench_is_taken_to_stand(tmp_path: Path) -> None:
    """Overnight it may have been switched off; under a stop order nothing comes before that."""
    path = begun(tmp_path, BEGUN.replace("bench: {power: off}", "bench: {power: hv, cover: 'off'}"))
    words = " ".join(piped(tmp_path, "", "interview", "set.yaml").stdout.split())
    assert "The bench is taken to stand with power off: power off, plug out, discharged; covers off;" in words
    assert "So far" in words
    assert case_in(path).bench == {"power": "off", "cover": "off"}
    words = " ".join(piped(tmp_path, "", "interview", "set.yaml").stdout.split())
    assert "The bench is taken to stand as it was left: power off, plug out, discharged; covers off;" in words
    begun(tmp_path, BEGUN)
    assert "is taken to stand" not in piped(tmp_path, "", "interview", "set.yaml").stdout
    path.write_text(
        BEGUN.replace("power: off", "power: hv") + "symptoms:\n  final.red_plates: yes\n", encoding="utf-8"
    )
    words = " ".join(piped(tmp_path, "", "interview", "set.yaml").stdout.split())
    assert "STOP. Remove power now." in words
    assert "is taken to stand" not in words


def test_killed_with_power_on_the_next_run_sets_up_and_cautions_anew(tmp_path: Path) -> None:
    """Nobody knows what was done to the set meanwhile: the same live check is set up for once more, in full."""
    path = begun(tmp_path)
    with terminal(tmp_path, "interview", "set.yaml") as shown:
        at_prompt(shown, ["hv.voltage = 500 V", "final.plate_current = 60 mA"])
        for _ in range(12):
            if case_in(path).bench.get("power") == "hv":
                break
            shown.type("not sure")
        shown.kill()
    assert case_in(path).bench["power"] == "hv"
    with terminal(tmp_path, "interview", "set.yaml") as shown:
        shown.until()
        words = shown.words
        assert "The bench is taken to stand with power off" in words
        for number in range(2, 9):
            if _is_live(words):
                break
            words = " ".join(shown.type(f"take {number}").split())
        assert _is_live(words)


def _is_live(words: str) -> bool:
    """Whether a check is shown with high voltage to be set up for and its caution in full."""
    return bool(re.search(r"Set up[^.]*[Hh]igh voltage on", words)) and "Lethal voltage. Meters are" in words


def test_killed_during_the_intake_it_goes_on_there(tmp_path: Path) -> None:
    """What was answered is not asked again."""
    with terminal(tmp_path, "interview", "set.yaml", "--rig", "gannet_60") as shown:
        at_prompt(shown, ["weak output", "1", "", "", "cw", "20m"])
        shown.kill()
    with terminal(tmp_path, "interview", "set.yaml") as shown:
        said = shown.until()
        assert "line voltage" in said
        assert "own words" not in said


def test_a_stop_order_outranks_everything(tmp_path: Path) -> None:
    """It breaks off the intake, stands until work answers it, and gives the exit status."""
    with terminal(tmp_path, "interview", "set.yaml", "--rig", "gannet_60") as shown:
        at_prompt(shown, ["modulator plates glow red", "1", ""])
        said = shown.type("")
        assert "STOP. Remove power now." in said
        assert "line voltage" not in said
        shown.send("\x04")
        assert shown.end() == 3
        assert "A stop order stands: remove power now." in shown.screen
    with terminal(tmp_path, "interview", "set.yaml") as shown:
        assert "STOP. Remove power now." in shown.until()
        shown.type("did switched off and discharged")
        shown.type("y")
        shown.type("")
        assert case_in(tmp_path / "set.yaml").work[0].answers == "modulator.red_plates"
        shown.send("\x04")
        assert shown.end() == 0


def test_a_healthy_set_is_proven_good(tmp_path: Path) -> None:
    """Asked for its proof readings until none is missing."""
    text = BEGUN.replace("gannet_60", "kestrel_30").replace("30 W", "normal")
    begun(tmp_path, text)
    with terminal(tmp_path, "interview", "set.yaml") as shown:
        said = shown.until()
        for _ in range(60):
            if "Proven good." in said:
                break
            said = shown.type("normal")
        assert "Proven good." in said
        assert "Every proof reading was taken" in " ".join(said.split())
        shown.send("finish\n")
        assert shown.end() == 0


@pytest.mark.parametrize("keys", ["\x03", "\x04", "final.pl\x03"])
@pytest.mark.parametrize("when", ["rig", "intake", "check"])
def test_it_ends_cleanly(tmp_path: Path, keys: str, when: str) -> None:
    """On Ctrl-C and Ctrl-D, at any prompt: where it is kept, how to go on, no traceback."""
    words = ["interview", "set.yaml"]
    if when == "check":
        begun(tmp_path)
    elif when == "intake":
        words += ["--rig", "gannet_60"]
    with terminal(tmp_path, *words) as shown:
        shown.until()
        shown.send(keys)
        assert shown.end(keys) == 0
        assert "Traceback" not in shown.screen
        said = "nothing is kept" if when == "rig" else "diagnose interview set.yaml"
        assert said in shown.words


def test_a_closed_terminal_leaves_a_whole_file_and_no_lock(tmp_path: Path) -> None:
    """What was entered is kept, and the next run may take it up."""
    path = begun(tmp_path)
    with terminal(tmp_path, "interview", "set.yaml") as shown:
        at_prompt(shown, ["hv.voltage = 590 V"])
        os.close(shown.master)
        shown.process.wait()
        shown.master = os.open(os.devnull, os.O_RDONLY)
    assert [o.name for o in case_in(path).observations] == ["output_network.power", "hv.voltage"]


def test_two_programs_do_not_write_one_case(tmp_path: Path) -> None:
    """The second is refused in plain words."""
    begun(tmp_path)
    with terminal(tmp_path, "interview", "set.yaml") as first:
        first.until()
        refused = piped(tmp_path, "", "interview", "set.yaml")
        assert refused.returncode == 1
        assert "set.yaml is open in another interview" in refused.stderr
        assert "Going on" not in refused.stdout


@pytest.mark.parametrize("plain", [False, True])
def test_a_plain_terminal_can_follow_it(tmp_path: Path, plain: bool) -> None:
    """No line over 80 columns, nothing that steers the cursor; with NO_COLOR no colour either."""
    begun(tmp_path)
    environ = {"NO_COLOR": "1"} if plain else {}
    with terminal(tmp_path, "interview", "set.yaml", **environ) as shown:
        at_prompt(shown, ["grounds", "others", "record", "readings", "help", "grounds 1", "low", "again"])
        assert max(len(line) for line in shown.screen.splitlines()) <= 80
        assert not STEERING.search(shown.raw)
        assert ("\x1b" in shown.raw) is not plain


def test_a_script_of_answers_reads_as_a_session(tmp_path: Path) -> None:
    """The answers stand behind the prompts, remarks are left out, and its end ends it cleanly."""
    lines = ["# a demonstration", *WEAK, "not sure", "record"]
    (tmp_path / "answers.txt").write_text("\n".join(lines), encoding="utf-8")
    done = piped(tmp_path, "", "interview", "set.yaml", "--rig", "gannet", "--answers", "answers.txt")
    assert (done.returncode, done.stderr) == (0, "")
    assert "> weak output\n" in done.stdout
    assert "demonstration" not in done.stdout
    assert "The record" in done.stdout
    assert "\x1b" not in done.stdout
    other = tmp_path / "other"
    other.mkdir()
    piped_in = piped(other, "\n".join(lines[1:]), "interview", "set.yaml", "--rig", "gannet")
    assert (piped_in.returncode, piped_in.stdout) == (0, done.stdout)


def test_the_first_power_of_a_stored_set_is_the_bring_up(tmp_path: Path) -> None:
    """35 years on a shelf: nothing with power is proposed before it; done, the live checks come."""
    begun = ["weak output", "1", "", "", "40m", "117", "35", "skip", *SAFE[:-1]]
    answers = "\n".join([*begun, "n", *["not sure"] * 60])
    shown = piped(tmp_path, answers, "interview", "set.yaml", "--rig", "kestrel").stdout
    proposed = [" ".join(each.split()) for each in shown.split("\nNext ")[1:]]
    first = next(n for n, each in enumerate(proposed) if "Set up Plugged in through a series lamp" in each)
    assert proposed[first].startswith("Bring the set up slowly")
    assert first > 0
    for each in proposed[:first]:
        assert "High voltage on" not in each
        assert "Heaters and low voltage on" not in each
    assert "Held" in shown[: shown.index("Bring the set up slowly")]
    done = "\n".join(["y", "finish"])
    shown = piped(tmp_path, done, "interview", "set.yaml").stdout
    assert "brought_up" in case_in(tmp_path / "set.yaml").safety
    assert "High voltage on" in shown


def test_a_current_far_over_its_limit_stops_the_work(tmp_path: Path) -> None:
    """The order is on the screen at once and is the status; a current only over its limit is asked on."""
    begun(tmp_path)
    far = piped(tmp_path, "final.key_up_current = 145 mA\nfinish\n", "interview", "set.yaml")
    assert far.returncode == 3
    assert "Plate supply off now." in far.stdout
    assert far.stdout.index("Plate supply off now.") < far.stdout.index("Where it stands")
    assert piped(tmp_path, "", "report", "set.yaml").returncode == 3
    off = "did switched off and discharged\ny\n1\nfinish\n"
    answered = piped(tmp_path, off, "interview", "set.yaml")
    assert answered.returncode == 0
    begun(tmp_path)
    over = piped(tmp_path, "final.key_up_current = 60 mA\nfinish\n", "interview", "set.yaml")
    assert over.returncode == 0
    assert "Plate supply off now." not in over.stdout


def test_what_cannot_be_opened_is_said(tmp_path: Path) -> None:
    """A rig that is none, a folder that is not there, a file that is no case, answers that are not there."""
    (tmp_path / "bad.yaml").write_text("case: [", encoding="utf-8")
    begun(tmp_path).rename(tmp_path / "begun.yaml")
    for words, said in (
        (["set.yaml", "--rig", "narwhal"], "`narwhal` is no rig of the book"),
        (["none/set.yaml", "--rig", "gannet"], "there is no folder none"),
        (["bad.yaml"], "bad.yaml cannot be gone on with."),
        (["set.yaml", "--answers", "no.txt"], "no such file"),
        (["begun.yaml", "--rig", "kestrel"], "begun.yaml is a case of the rig gannet_60, not kestrel."),
    ):
        done = piped(tmp_path, "", "interview", *words)
        assert done.returncode == 1
        assert said in done.stderr
        assert "Traceback" not in done.stderr


def test_without_a_path_the_file_is_named_after_rig_and_day(tmp_path: Path) -> None:
    """And a second one of the day gets another name."""
    for _ in range(2):
        done = piped(tmp_path, "weak output\n1\n", "interview", "--rig", "kestrel_30")
        assert done.returncode == 0
    names = sorted(path.name for path in tmp_path.glob("*.yaml"))
    assert len(names) == 2
    assert all(re.fullmatch(r"kestrel_30-\d{4}-\d\d-\d\d(-2)?\.yaml", name) for name in names)
