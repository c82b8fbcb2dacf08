"""Before a hand goes in: how the bench is made safe is said after a stop order, and when a case is taken up again."""

from __future__ import annotations

from pathlib import Path

from diagnose.interview.dangers import AFTER_ORDER
from tests.interview.bench import book, course, entered
from tests.interview.terminal import piped
from tests.interview.test_session import held
from tests.interview.test_terminal import BEGUN, begun

SAFE = tuple(c for group in book().bench.setups.values() for c in group.states[group.first].cautions)


def test_power_off_is_not_discharged() -> None:
    """What answers an order took the power away, and no more: before the cold checks the rest is said."""
    assert any("discharge" in caution for caution in SAFE)
    now = entered(course(bench={"power": "hv"}), modulator__red_plates="y")
    session, shown = held(now, ["did switched the plates off", "y", "1"])
    assert session.course.case.work[0].answers == "modulator.red_plates"
    after = shown.partition("Entered: work, switched the plates off")[2].partition("Next")[0]
    assert "Before a hand goes in:" in after
    for caution in SAFE:
        assert caution in after


def test_other_work_was_done_with_the_hands_in_already() -> None:
    """Nothing is said of it twice."""
    now = entered(course(), output_network__power="low")
    _, shown = held(now, ["did replaced the final tube", "1"])
    assert "Before a hand goes in:" not in shown


def test_a_case_that_is_taken_up_again_says_it_too(tmp_path: Path) -> None:
    """Nobody knows what was done to the set meanwhile."""
    begun(tmp_path, BEGUN.replace("bench: {power: off}", "bench: {power: hv, cover: 'off'}"))
    for _ in range(2):
        words = " ".join(piped(tmp_path, "", "interview", "set.yaml").stdout.split())
        before = words.partition("`bench` puts that right.")[2].partition("So far")[0]
        for caution in SAFE:
            assert caution in before


def test_power_after_a_stop_order_is_warned_of_until_its_sign_was_looked_at() -> None:
    """A repair may have missed: the sign is as likely there as it was."""
    warning = AFTER_ORDER.format("key-up current of the final")
    ill = entered(course("petrel_90", bench={"power": "hv"}), final__key_up_current="250 mA")
    assert ill.standing.stop_orders
    session, shown = held(ill, ["did plate supply off", "y", "1", "did 1"])
    assert session.course.case.work[-1].parts
    assert session.step is not None
    assert "final.key_up_current" in session.step.names
    assert warning in shown.rpartition("Entered: work,")[2]
    _, shown = held(session.course, ["final.key_up_current = 5 mA", "n"])
    assert warning not in shown.partition("Entered: final amplifier: key-up current")[2]


def test_before_a_repair_the_cold_checks_come_first() -> None:
    """Nothing is said of power there."""
    ill = entered(course(bench={"power": "hv"}), final__key_up_current="300 mA")
    _, shown = held(ill, ["did plate supply off", "y", "1"])
    assert "There was a stop order before the work" not in shown
