"""What the chart has for one mode only is not judged in another by what could be computed."""

from __future__ import annotations

from diagnose.evidence.collect import collect
from diagnose.files.find import rules_folder
from diagnose.files.read_book import load_book
from diagnose.files.read_case import assembly_of
from diagnose.model.case import Case, Observation


def test_idle_of_the_modulators_is_no_reading_of_a_set_on_cw() -> None:
    book, _ = load_book(rules_folder(), None)
    assert book is not None
    assembly = assembly_of(book, "gannet_60")
    rows = [row for row in assembly.rig.chart if row.quantity == "modulator.idle_current"]
    assert {row.mode for row in rows} == {"phone"}
    idle = Observation("modulator.idle_current", value=rows[0].value)
    for mode, counts in (("phone", True), ("cw", False), ("", True)):
        (finding,) = collect(assembly, Case("c", "gannet_60", mode=mode, observations=(idle,))).all
        assert finding.counted == counts
        assert not finding.abnormal
