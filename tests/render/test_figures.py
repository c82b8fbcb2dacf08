"""Figures worked out from readings, and what is beyond its limit today, on the screen."""

from __future__ import annotations

from dataclasses import replace

from diagnose.model.result import DerivedFigure, Flag
from diagnose.render.first import View
from diagnose.render.screen import report
from tests.render import values

PLAIN, WORKINGS = View(values.WORDS), View(values.WORDS, workings=True)


def lines(view: View = PLAIN, case_mode: str = "", case_band: str = "", **more: tuple[object, ...]) -> str:
    """A report without advice."""
    case = replace(values.CASE, mode=case_mode, band=case_band)
    diagnosis = replace(values.MEASURED, advice=None, case=case, **more)  # type: ignore[arg-type]
    return report(diagnosis, view, 80).text()


def words(text: str) -> str:
    return " ".join(text.split())


def test_a_figure_beyond_its_limit_says_by_how_much_and_what_follows() -> None:
    text = words(lines())
    assert (
        "Heat in the plate (final amplifier, 40m): 31.2 W; at most 25 W, the plate dissipation of the 6146."
        in text
    )
    assert "The plate glows and the tube goes soft." in text


def test_a_limit_that_is_a_plain_amount_needs_no_title() -> None:
    plain = replace(values.HOT, limit_title="")
    assert "31.2 W; at most 25 W. The plate" in words(lines(flags=(plain,)))


def test_a_rating_comes_before_the_readings_and_what_is_beyond_before_what_is_near() -> None:
    text = lines()
    assert (
        text.index("Beyond its limit today")
        < text.index("31.2 W")
        < text.index("Close to its limit today")
        < text.index("107 V")
        < text.index("Readings as understood")
    )


def test_a_figure_near_its_limit_says_how_sure_that_is() -> None:
    text = words(lines())
    assert "Line voltage: 107 V; at least 107.6 V, 8 % below the 117 V that this set is made for." in text
    assert "Beyond it in 31 of 100, by the uncertainty of the reading." in text


def test_marks_tell_beyond_from_near_without_colour() -> None:
    """Monochrome and piped: a mark stands where colour would."""
    text = lines()
    assert "\n  ! Heat in the plate" in text
    assert "\n  ? Line voltage" in text


def test_without_flags_there_is_no_heading() -> None:
    assert "limit" not in lines(flags=()).lower().replace("within limits", "")


def test_value_and_uncertainty_are_told_to_the_same_place() -> None:
    """87.04 with 3.72 is 87.0 and 3.7: two figures of the uncertainty are enough."""
    assert "plate input (cw) 87.0 W, give or take 3.7" in words(lines())


def test_mode_and_band_are_told_where_they_are_not_those_of_the_case() -> None:
    text = words(lines(case_mode="cw"))
    assert "plate input 87.0 W" in text
    assert "Heat in the plate (final amplifier, 40m): 31.2 W" in text
    assert "Heat in the plate (final amplifier): 31.2 W" in words(lines(case_band="40m"))


def test_regulation_that_is_sure_has_no_uncertainty() -> None:
    assert "regulation 9 % " in words(lines()) + " "


def test_a_figure_that_cannot_be_had_is_told_with_the_workings_only() -> None:
    assert "efficiency" not in lines()
    assert "efficiency: none the output over supply voltage under load has no value" in words(lines(WORKINGS))


def test_workings_show_the_arithmetic_and_the_largest_origins_by_their_names() -> None:
    text = words(lines(WORKINGS))
    assert "595 V x (160 mA - 14 mA) = 87.04 W" in text
    assert "uncertain by reading supply voltage under load 3 W and accuracy of the panel meter 2.2 W" in text
    assert "screen current 0.04" not in text
    assert "595 V x" not in words(lines())


def test_figures_of_a_stage_stand_together_in_the_order_of_the_stages() -> None:
    text = lines(WORKINGS)
    part = text[text.index("Worked out") : text.index("Work recorded")]
    assert part.index("final amplifier") < part.index("efficiency") < part.index("high-voltage supply")
    assert part.count("  final amplifier\n") == 1


def test_nothing_worked_out_needs_no_heading() -> None:
    assert "Worked out" not in lines(derived=())
    assert "Worked out" not in lines(derived=(values.NO_EFFICIENCY,))


def test_odd_texts_are_no_markup() -> None:
    """Titles come from files of people."""
    odd = DerivedFigure(id="final.odd", title="[bold]odd[/]", stage="final", unit="W", value=1.0)
    flag = Flag("final.odd", "[/etc]", 2.0, "W", 1.0, "[x]", "most", 1.0, near=False)
    text = lines(WORKINGS, derived=(odd,), flags=(flag,))
    assert "[bold]odd[/]" in text
    assert "[/etc]" in text


def test_a_reading_under_another_name_is_no_arithmetic() -> None:
    """What hangs on the supply has its voltage; that is flagged where it is too much, and not told twice."""
    same = replace(values.INPUT, title="plate voltage", shown="597 V = 597 V")
    assert "plate voltage" not in lines(WORKINGS, derived=(same, values.REGULATION))
    assert "plate voltage" in lines(derived=(replace(same, shown="2 x 597 V = 1194 V"),))


def test_origins_of_an_uncertainty_are_told_in_words() -> None:
    """Readings, figures of tubes and plain amounts; a figure that is sure to nothing has none."""
    budget = (("0.93", 3.0), ("ratings.plate_dissipation of the 6146", 2.9), ("reading hv.voltage", 2.8))
    text = words(lines(WORKINGS, derived=(replace(values.INPUT, budget=(*budget, ("line", 2.7))),)))
    assert (
        "uncertain by the figure 0.93 3 W, plate dissipation of the 6146 2.9 W and reading supply voltage under"
        " load 2.8 W" in text
    )
    assert "uncertain by" not in lines(WORKINGS, derived=(replace(values.INPUT, budget=(("line", 0.0),)),))


def test_a_part_of_the_same_stage_goes_without_its_stage() -> None:
    budget = (("grid leak, final amplifier", 3.0), ("bleeder, high-voltage supply", 2.9))
    text = words(lines(WORKINGS, derived=(replace(values.INPUT, budget=budget),)))
    assert "uncertain by grid leak 3 W and bleeder, high-voltage supply 2.9 W" in text
