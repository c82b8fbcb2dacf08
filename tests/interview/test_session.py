"""The dialogue, driven line by line: what is shown and asked, and the words that may be used at any prompt."""

from __future__ import annotations

import io
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from diagnose.files.read_case import read_case
from diagnose.interview.course import Course
from diagnose.interview.dialogue import Ended
from diagnose.interview.keep import Changed, NotWritten
from diagnose.interview.keeping import Keeping
from diagnose.interview.named import heard
from diagnose.interview.record import SAFE, record_of
from diagnose.interview.session import Session
from diagnose.interview.verbs import VERBS
from diagnose.interview.which_one import elsewhere
from diagnose.model.case import Case
from tests.interview.bench import book, course, dialogue, entered, safety_asked


@dataclass
class Shelf:
    """A keeper in memory, which may be made to fail."""

    kept: list[Case] = field(default_factory=list)
    failing: str = ""
    changed: Case | None = None

    def write(self, case: Case) -> None:
        """Keeps a case."""
        if self.changed is not None:
            found, self.changed = self.changed, None
            raise Changed(found)
        if self.failing:
            raise NotWritten(self.failing)
        self.kept.append(case)


def held(begun: Course, lines: Iterable[str], shelf: Shelf | None = None) -> tuple[Session, str]:
    """A session that has taken these lines, and what it showed, on one line."""
    spoken, stream = dialogue(lines)
    session = Session(spoken, begun, Keeping(spoken, shelf or Shelf()), VERBS, elsewhere)
    with pytest.raises(Ended):
        session.run(fresh=False)
    return session, _one_line(stream)


def _one_line(stream: io.StringIO) -> str:
    return " ".join(stream.getvalue().split())


def weak() -> Course:
    """A set with too little output."""
    return entered(course(), output_network__power="low", final__plate_current="low")


def test_one_turn_is_one_screen() -> None:
    """Who leads, what comes next, and what a good set shows: within the lines of a terminal."""
    spoken, stream = dialogue([])
    with pytest.raises(Ended):
        Session(spoken, weak(), Keeping(spoken, Shelf()), VERBS, elsewhere).run(fresh=False)
    lines = stream.getvalue().splitlines()
    assert len(lines) <= 24
    assert max(map(len, lines)) <= 80
    shown = _one_line(stream)
    for word in ("So far", "Next", "Why", "Set up", "Danger", "Do", "Good", "of 100"):
        assert word in shown


def test_an_answer_is_kept_and_the_change_is_shown() -> None:
    """After each answer: written, ranked anew, with what went up and down."""
    shelf = Shelf()
    now = weak()
    step = now.proposal
    assert step is not None
    session, shown = held(now, ["low"], shelf)
    assert [o.name for o in shelf.kept[-1].observations][-1] == step.names[0]
    assert shelf.kept[-1].bench
    assert " up +" in shown
    assert " down -" in shown
    assert session.course.case == shelf.kept[-1]


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ("3 V", "`3 V` is a voltage, but a current (mA) is wanted"),
        ("9 A", "9000 mA is not between 0 and 200 mA"),
        ("n", "`n` is no value in mA"),
        ("gibberish", "`gibberish` is no value in mA"),
        ("", "Answer, or type `help`"),
    ],
)
def test_what_cannot_be_used_is_asked_again(line: str, reason: str) -> None:
    """With the reason, and nothing is entered."""
    shelf = Shelf()
    now = _asked("final.grid_current", "final.read_grid_current")
    _, shown = held(now, [line], shelf)
    assert reason in shown
    assert shelf.kept == []


def _asked(name: str, check: str) -> Course:
    """A course whose proposal asks for this."""
    now = weak()
    step = now.step(check)
    assert name in step.names
    now.__dict__["options"] = (step,)
    return now


def test_any_reading_out_of_order() -> None:
    """By its full name, by its words, with or without a sign between; what is doubtful is asked."""
    lines = ["final.screen_voltage = 95 V", "plate current 60 mA", "hv.voltage low"]
    session, _ = held(weak(), lines)
    found = {o.name: o.value or o.state for o in session.course.case.observations}
    assert found["final.screen_voltage"] == 95.0
    assert found["final.plate_current"] == 60.0
    assert found["hv.voltage"] == "low"
    session, shown = held(weak(), ["plate relay chatters", "none", "voltage 300 V", "finish"][:2])
    assert "A number, or `none`." in shown
    assert len(session.course.case.observations) == 2


def test_taking_back_and_changing_any_entry() -> None:
    """Also one of the intake, and not only the last."""
    now = entered(course(mains=117.0, mode="cw"), output_network__power="low", final__plate_current="90 mA")
    session, shown = held(now, ["record", "amend 2 110 V", "amend 4 95 mA", "strike 3", "strike 1", "record"])
    case = session.course.case
    assert (case.mode, case.mains) == ("", 110.0)
    assert [(o.name, o.value) for o in case.observations] == [("final.plate_current", 95.0)]
    assert "Struck out: pi network: RF power in the load: low." in shown
    assert "Changed: final amplifier: plate current of the final: 95 mA." in shown


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("strike", "Say which, by its number"),
        ("strike 99", "The record has no entry 99."),
        ("amend 1", "Say also what it should be"),
        ("amend 1 7 V", "neither"),
        ("take 99", "N from 1 to"),
        ("suppose", "Say what to suppose"),
        ("did 99", "The list has no 99"),
        ("grounds xyzzy", "No part of this rig goes by `xyzzy`."),
    ],
)
def test_a_word_without_its_sense_says_how_it_is_used(line: str, said: str) -> None:
    """And changes nothing."""
    shelf = Shelf()
    now = entered(course(), final__red_plates="n", output_network__power="low")
    _, shown = held(now, [line], shelf)
    assert said in shown
    assert shelf.kept == []


def test_supposing_enters_nothing() -> None:
    """It shows what would follow."""
    shelf = Shelf()
    session, shown = held(weak(), ["suppose final.grid_current 0.2 mA"], shelf)
    assert "nothing is entered" in shown
    assert "next check would be" in shown
    assert shelf.kept == []
    assert len(session.course.case.observations) == 2


@pytest.mark.parametrize(
    ("line", "shown"),
    [
        ("grounds", "What each answer would do"),
        ("grounds check", "bits of what is still open"),
        ("grounds 1", "Before anything was seen"),
        ("grounds final tube", "final.final_tube."),
        ("readings", "Readings as understood"),
        ("record", "The record"),
        ("others", "What may be done now"),
        ("HELP", "the words"),
        ("rec", "The record"),
    ],
)
def test_what_can_be_asked_for_at_any_time(line: str, shown: str) -> None:
    """Reasons, readings, record, other checks, help; by unique beginnings too."""
    _, seen = held(weak(), [line])
    assert shown.split(maxsplit=1)[0] in seen
    assert shown in seen or line == "HELP"


def test_another_check_may_be_taken() -> None:
    """It is asked for until it is answered."""
    now = weak()
    second = now.options[1]
    session, shown = held(now, ["take 2"])
    assert session.step is not None
    assert session.step.id == second.id
    assert second.advised.title[1:] in shown


def test_not_being_able_leaves_the_check_out() -> None:
    """Its number in the record takes that back."""
    now = weak()
    step = now.proposal
    assert step is not None
    session, shown = held(now, ["can't measure"])
    assert session.course.case.cannot
    assert session.step is not None
    assert session.step.id != step.id
    assert "Left out on this bench" in shown
    session, _ = held(now, ["cannot", "strike 3"])
    assert session.course.case.cannot == ()


def test_work_is_entered_with_its_part() -> None:
    """Found by its words and confirmed; then what proves it is asked for."""
    session, shown = held(weak(), ["did replaced the final tube", "1"])
    work = session.course.case.work[0]
    assert (work.did, work.parts) == ("replaced the final tube", ("final.final_tube",))
    assert "To see whether the work was the cure" in shown
    session, _ = held(weak(), ["did 1"])
    assert session.course.case.work[0].parts == (weak().standing.parts[0].id,)


def test_a_cure_is_told_with_the_final_readings() -> None:
    """Once, with what a good set shows for each."""
    done = weak().did("replaced the final tube", ["final.final_tube"])
    lines = ["normal"] * len(done.to_prove)
    _, shown = held(done, [*lines, "again"])
    assert shown.count("Nothing is wrong any more: replaced the final tube was the cure.") == 1
    assert "high-voltage supply: supply voltage under load: 600 V" in shown


def test_trouble_after_work_names_the_work() -> None:
    """What was touched last is the first suspect."""
    done = weak().did("replaced the filter capacitors", ["hv.input_capacitor"])
    _, shown = held(done, ["hv.unsteady y"])
    assert "New since the last work: supply voltage jumps" in shown or "New since the last work:" in shown
    assert "Look first at what was touched last: replaced the filter capacitors." in shown


def test_a_stop_order_comes_first_and_ends_with_the_work_that_answers_it() -> None:
    """Nothing is asked meanwhile; cold checks come first after it."""
    shelf = Shelf()
    now = entered(course(), modulator__red_plates="y")
    lines = ["ok", "others", "did switched off and discharged", "y", ""]
    session, shown = held(now, lines, shelf)
    assert shown.index("STOP. Remove power now.") < shown.index("did switched off")
    assert "It comes before any check." in shown
    assert session.course.case.work[0].answers == "modulator.red_plates"
    assert "modulator.red_plates" in session.course.abnormal
    assert session.step is not None
    assert session.step.placed.check.setup.get("power", "off") != "hv"


def test_a_file_changed_elsewhere_is_taken_up() -> None:
    """The entry is made again on what stands there now."""
    now = weak()
    shelf = Shelf(changed=entered(now, hv__voltage="low").case)
    session, shown = held(now, ["final.screen_voltage = 95 V"], shelf)
    assert "changed elsewhere" in shown
    names = [o.name for o in shelf.kept[-1].observations]
    assert names[-2:] == ["hv.voltage", "final.screen_voltage"]
    assert session.course.case == shelf.kept[-1]


def test_what_cannot_be_written_is_said_once_and_kept_in_memory() -> None:
    """It is tried again at the next entry."""
    shelf = Shelf(failing="set.yaml: no space left on device")
    session, shown = held(weak(), ["final.screen_voltage = 95 V", "hv.voltage low"], shelf)
    assert shown.count("Not written: set.yaml: no space left on device.") == 1
    assert session.keeping.unwritten
    assert len(session.course.case.observations) == 4
    shelf.failing = ""
    session.keep()
    assert session.keeping.unwritten == ""
    assert shelf.kept[-1] == session.course.case


def test_every_word_of_the_help_is_one_that_is_known() -> None:
    """And every known one is in the help."""
    from diagnose.interview.verbs import HELP

    told = " ".join(HELP)
    assert all(verb in told for verb in VERBS)


def test_a_demo_case_can_be_gone_on_with(tmp_path: Path) -> None:
    """Every rig: a file that a person wrote is taken up where it is."""
    folder = Path(__file__).parents[2] / "cases"
    for name in ("gannet_weak_rectifier", "kestrel_tired_807", "petrel_high_line", "skua_two_troubles"):
        case, _ = read_case(folder / f"{name}.yaml", book())
        assert case is not None
        from diagnose.interview.course import begin

        _, shown = held(begin(book(), case), ["record"])
        assert "So far" in shown


def test_what_begins_with_how_much_names_nothing() -> None:
    """`jumps between 1 and 2` is an answer, not the name of what is said to jump."""
    for line in ("jumps between 1 and 2", "between 60 and 80 Hz", "about 7 Hz"):
        assert heard(line, weak()).said == ()


def test_a_name_that_several_go_by_is_narrowed_by_the_unit() -> None:
    """`output 40 W` is the power, though other stages have an output too; a clear name is never exchanged."""
    found = heard("output 40 W", weak()).said
    assert found[0].name == "output_network.power"
    assert all(weak().assembly.indications[said.name].indication.unit == "W" for said in found)
    assert heard("plate current 14500", weak()).refused is not None


def test_a_value_that_is_hard_to_believe_is_said_twice() -> None:
    """The first time the reason is told; the same once more is taken, another one is judged anew."""
    shelf = Shelf()
    _, shown = held(weak(), ["final.grid_current = 145 mA"], shelf)
    assert "145 mA is 48 times what a good set shows here (3 mA). Say it once more if it is so." in shown
    assert shelf.kept == []
    session, _ = held(weak(), ["final.grid_current = 145 mA"] * 2)
    assert session.course.case.observations[-1].value == 145.0
    session, shown = held(weak(), ["final.grid_current = 145 mA", "final.grid_current = 150 mA"])
    assert shown.count("Say it once more") == 2
    session, _ = held(weak(), ["final.grid_current = 145 mA", "final.grid_current = 3.1 mA"])
    assert session.course.case.observations[-1].value == 3.1


def test_what_stands_can_be_seen_at_any_question() -> None:
    """In the intake and at the question to which part; the question is asked again, and nothing is entered by it."""
    lines = [
        "weak output",
        "record",
        "1",
        "",
        "",
        "cw",
        "40m",
        "readings",
        "117",
        "grounds 1",
        "skip",
        "record",
    ]
    spoken, stream = dialogue([*lines, *["n"] * len(safety_asked())])
    begun = course(safe=False, band="", mains=None)
    session = Session(spoken, begun, Keeping(spoken, Shelf()), VERBS, elsewhere)
    with pytest.raises(Ended):
        session.run(fresh=True)
    shown = _one_line(stream)
    assert shown.count("The record") == 2
    assert shown.count("Is it one of these?") == 1
    assert shown.count("What is the line voltage, at the set under load") == 2
    case = session.course.case
    assert (case.about, case.band, case.mains) == ("weak output", "40m", 117.0)
    assert [o.name for o in case.observations] == ["output_network.power"]
    done, shown = held(weak(), ["did frobbed the widget", "record", "none"])
    assert "The record" in shown
    assert [work.did for work in done.course.case.work] == ["frobbed the widget"]


def test_take_goes_by_the_list_that_stands_on_the_screen() -> None:
    """Whatever was entered since: the numbers are those that were shown."""
    now = weak()
    listed = [step.id for step in now.options]
    later = entered(now, final__grid_current="normal")
    assert [step.id for step in later.options] != listed
    for number, check in enumerate(listed[:4], start=1):
        session, shown = held(now, ["others", "final.grid_current = normal", f"take {number}"])
        assert session.listed == tuple(listed)
        possible = {placed.id for placed in later.possible}
        assert (session.step is not None and session.step.id == check) or check not in possible, shown


def test_a_check_of_the_list_that_cannot_be_done_any_more_is_not_taken() -> None:
    """It is said so."""
    now = weak()
    live = next(
        n for n, step in enumerate(now.options, 1) if step.id not in {c.id for c in bare(now).possible}
    )
    _, shown = held(now, ["others", *[f"strike {n}" for n in unproven(now)], f"take {live}"])
    assert "that cannot be done as things stand now" in shown


def bare(now: Course) -> Course:
    """The same with nothing proven."""
    return now.amended(safety=())


def unproven(now: Course) -> list[int]:
    """The numbers of the record that strike out what is proven, one after the other."""
    first = min(n for n, e in enumerate(record_of(now.case), 1) if e.kind == SAFE)
    return [first] * len(now.case.safety)


def test_the_record_says_once_what_was_before_the_last_work() -> None:
    """Over the entries of that time, and over those since."""
    done = weak().did("replaced the final tube", ["final.final_tube"])
    _, shown = held(done, ["output_network.power = 50 W", "record"])
    shown = shown.rpartition("The record")[2]
    assert shown.count("Before the last work:") == shown.count("Since then:") == 1
    assert shown.index("Before the last work:") < shown.index("Work: replaced") < shown.index("Since then:")
    _, shown = held(weak(), ["record"])
    assert "Before the last work:" not in shown
    assert "Since then:" not in shown


def test_switching_off_alone_is_no_time_that_is_over() -> None:
    """What was seen is still so, and the order that was answered has no name of a file in it."""
    now = entered(course(), modulator__red_plates="y")
    _, shown = held(now, ["did switched off", "y", "1", "record"])
    assert "Before the last work:" not in shown
    assert "Work: switched off (answers a stop order)" in shown


def test_what_is_not_known_is_said_once_among_the_readings() -> None:
    """The answer is the reason too."""
    _, shown = held(weak(), ["readings"])
    assert "not known" not in shown.rpartition("Readings as understood")[2].partition("?")[0]
    now = entered(weak(), final__heater_measures_open="not sure")
    _, shown = held(now, ["readings"])
    told = shown.rpartition("Readings as understood")[2]
    assert told.count("not known") == 1
    assert "heater of the final measures open: not known (not counted)" in told
