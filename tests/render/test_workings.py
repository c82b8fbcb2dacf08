"""How a reading became evidence, on the screen."""

from __future__ import annotations

from dataclasses import replace

import pytest

from diagnose.model.case import Observation
from diagnose.model.result import Diagnosis, Finding, Path
from diagnose.render.first import View
from diagnose.render.screen import report
from diagnose.render.workings import LEGEND, ohms
from tests.render import values

WORKINGS = View(values.WORDS, workings=True)


def shown(*findings: Finding, view: View = WORKINGS, width: int = 80) -> str:
    """The readings of a report, on one line each word after the other."""
    text = report(replace(values.MEASURED, findings=findings), view, width).text()
    return " ".join(text[text.index("Readings as understood") : text.index("Worked out")].split())


def carried(path: Path | None, mains: float) -> Path:
    """A path of 668 V at some mains, in proportion."""
    assert path is not None
    return replace(
        path, as_read=668.0, corrected=668.0, at_chart=668.0 * 117.0 / mains, mains=mains, notes=("carried",)
    )


def readings(*mains: float) -> tuple[Finding, ...]:
    """Readings, each taken at its own mains."""
    paths = [carried(values.LOADED.path, volts) for volts in mains]
    return tuple(
        replace(values.LOADED, path=path, at_chart=path.at_chart, notes=path.notes) for path in paths
    )


def test_the_load_of_the_meter_is_shown_as_arithmetic_that_comes_out() -> None:
    """Source and meter in series: 200 V x (50 + 100) / 100."""
    text = shown(values.LOADED)
    assert "200 V x (50 kohm + 100 kohm) / 100 kohm = 300 V without the load of the old test set" in text
    assert 200 * (50 + 100) == 300 * 100


def test_the_way_to_the_mains_of_the_chart_is_shown_as_arithmetic_that_comes_out() -> None:
    assert "300 V x 117/130 = 270 V at the chart's mains" in shown(values.LOADED)
    assert 300 * 117 == 270 * 130


def test_a_power_that_is_not_one_is_written_as_one() -> None:
    path = replace(values.LOADED.path or Path(0, 0, 0), at_chart=300 * 0.9**2, follows=2.0)
    assert "300 V x (117/130)^2 = 243 V at the chart's mains" in shown(replace(values.LOADED, path=path))


def test_a_regulated_voltage_that_has_dropped_out_is_not_a_power() -> None:
    path = replace(values.LOADED.path or Path(0, 0, 0), at_chart=350.0, follows=0.0, mains=90.0)
    text = shown(replace(values.LOADED, path=path))
    assert "300 V is 350 V at the chart's mains: at 90 V of mains its regulation has dropped out" in text


def test_what_a_good_set_has_is_told_where_the_chart_was_made_with_a_meter_that_loads() -> None:
    assert "a good set 240 V, which the meter that the chart was made with shows as 210 V" in shown(
        values.LOADED
    )


def test_a_computed_expectation_says_how_and_how_well() -> None:
    path = replace(
        values.LOADED.path or Path(0, 0, 0),
        expected_raw=240.0,
        expected_by="computed: a divider",
        expected_within=0.08,
    )
    assert "a good set 240 V, known to 8 %, computed: a divider" in shown(replace(values.LOADED, path=path))


def test_an_expectation_of_the_chart_is_not_told_twice() -> None:
    path = replace(values.LOADED.path or Path(0, 0, 0), expected_raw=240.0)
    assert "a good set 240 V" not in shown(replace(values.LOADED, path=path))


def test_uncertainty_names_its_largest_origins_only() -> None:
    """0.04 and 0.03 make 25 of 26 parts of the variance; the hundredth is not worth a word."""
    text = shown(values.LOADED)
    assert (
        "give or take 14 V (5.1 %): accuracy of the old test set 4 %, load of the meter 3 % likelihood"
        in text
    )
    assert "reading it" not in text


def test_the_likeliest_state_comes_first_and_what_cannot_be_is_left_out() -> None:
    assert "likelihood: high 1, normal 0.2 What" in shown(values.LOADED)


def test_a_state_that_stands_alone_needs_no_likelihood() -> None:
    sure = replace(values.LOADED, likelihood=(0.0002, 0.0, 1.0))
    assert "likelihood:" not in shown(sure)
    assert LEGEND in shown(sure)


def test_what_does_not_count_fits_nothing() -> None:
    assert "likelihood:" not in shown(replace(values.LOADED, counted=False))


def test_what_the_workings_say_is_not_said_beside_them() -> None:
    """The remark of another origin stays."""
    text = shown(values.LOADED)
    assert "read at 130 V" not in text
    assert "told by owner" in text
    plain = shown(values.LOADED, view=View(values.WORDS))
    assert "300 V without the load of the old test set" in plain
    assert "read at 130 V of mains" in plain
    assert "give or take" not in plain


def test_instruments_are_listed_with_what_hangs_on_them() -> None:
    words = replace(values.WORDS, instruments={"line_meter": "meter on the line"})
    text = shown(*readings(121.0, 117.0), view=View(words, workings=True))
    assert "- old test set: screen voltage -" in text
    assert "- meter on the line: the mains for 2 readings" in text
    assert "old test set" not in shown(*readings(121.0), view=View(words)).replace("of the old test set", "")


def test_readings_of_one_title_are_told_apart_by_their_stage() -> None:
    other = replace(
        values.LOADED,
        name="driver.screen_voltage",
        observation=Observation("driver.screen_voltage", value=1.0, meter="old_set"),
    )
    text = shown(values.LOADED, other)
    assert "screen voltage (final amplifier) and screen voltage (driver)" in text


def test_a_quantity_read_several_times_is_named_once() -> None:
    assert "- old test set: screen voltage -" in shown(values.LOADED, values.LOADED)


def test_many_readings_at_one_mains_say_so_once_and_stand_in_brackets() -> None:
    text = shown(*readings(121.0, 121.0, 121.0), view=View(values.WORDS))
    assert text.count("Read at 121 V of mains; in brackets as it would be at the chart's 117 V.") == 1
    assert text.count("200 V (646)") == 3
    assert "carried" not in text


def test_a_reading_at_another_mains_keeps_its_remark() -> None:
    text = shown(*readings(121.0, 121.0, 121.0, 40.0), view=View(values.WORDS))
    assert text.count("(646)") == 3
    assert text.count("carried") == 1


def test_a_few_readings_keep_their_remarks() -> None:
    text = shown(*readings(121.0, 121.0), view=View(values.WORDS))
    assert text.count("carried") == 2
    assert "(646)" not in text


@pytest.mark.parametrize("width", [60, 72, 80, 120])
@pytest.mark.parametrize("diagnosis", [values.MEASURED, values.FAULTY], ids=["measured", "faulty"])
def test_workings_keep_to_the_width(diagnosis: Diagnosis, width: int) -> None:
    for line in report(diagnosis, WORKINGS, width).text().splitlines():
        assert len(line) <= width
        assert line == line.rstrip()


def test_resistances_are_told_in_the_usual_size() -> None:
    assert [ohms(x) for x in (470.0, 47e3, 10e6)] == ["470 ohm", "47 kohm", "10 Mohm"]


def test_an_answer_that_readings_give_is_shown_as_the_answer() -> None:
    """A sign that was worked out has a state, though nobody reported one."""
    made = replace(
        values.FINDINGS[4],
        observation=Observation("final.hum", likelihood=(0.3, 1.0), made_of=("hv.ripple",)),
        likelihood=(0.3, 1.0),
        state="yes",
        abnormal=True,
        counted=True,
        notes=("worked out: 2 % cold, 4 % warm",),
    )
    text = shown(made)
    assert "* hum on the carrier: yes worked out: 2 % cold, 4 % warm likelihood: yes 1, no 0.3" in text


def test_a_load_that_moves_nothing_is_not_worth_a_line() -> None:
    path = replace(values.LOADED.path or Path(0, 0, 0), corrected=200.02, meter_ohms=10e6)
    assert "without the load" not in shown(replace(values.LOADED, path=path))


def test_the_share_of_a_value_near_nothing_is_not_told() -> None:
    path = replace(values.LOADED.path or Path(0, 0, 0), spread=4.1)
    text = shown(replace(values.LOADED, path=path))
    assert "give or take 1100 V: accuracy" in text


def test_why_many_readings_do_not_count_is_said_once() -> None:
    note = "not counted: another reading of the same counts"
    others = tuple(replace(finding, counted=False, notes=(note,)) for finding in values.FINDINGS[:4])
    text = shown(*others, view=View(values.WORDS))
    assert text.count("another reading of the same counts") == 1
    assert "Not counted: another reading of the same counts: 4 of these." in text
    few = shown(*others[:2], view=View(values.WORDS))
    assert few.count("another reading of the same counts") == 2


def test_nothing_read_is_give_or_take_nothing() -> None:
    path = replace(values.LOADED.path or Path(0, 0, 0), as_read=0.0, corrected=0.0, at_chart=0.0)
    assert "give or take" not in shown(replace(values.LOADED, path=path))
