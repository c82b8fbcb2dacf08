"""A shop folder over what the book says of measuring: meters, values, figures, formulas, sockets."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from diagnose.files.read_book import load_book
from diagnose.model.knowledge import Book
from tests.files.measured import FILES, METERS
from tests.files.small import said, write


def overlaid(folder: Path, shop: Mapping[str, str]) -> tuple[Book | None, list[str]]:
    """The book with a shop folder over it, and what is said of the shop."""
    book, problems = load_book(write(folder / "rules", FILES), write(folder / "shop", shop))
    return book, [line.removeprefix(f"{folder}/shop/") for line in said(problems)]


def good(folder: Path, shop: Mapping[str, str]) -> Book:
    """The same, without problems."""
    book, lines = overlaid(folder, shop)
    assert lines == []
    assert book is not None
    return book


def test_meters_of_the_shop(tmp_path: Path) -> None:
    """Files of meters add up, and one may amend or withdraw what another has."""
    changes = "meters: {third: {instrument: bridge}}\namend: {meters: {vom: {ohms_per_volt: 1000}}}\nwithdraw: {meters: counter}\n"
    book = good(tmp_path, {"a_meters.yaml": METERS, "b_meters.yaml": changes})
    assert list(book.meters) == ["vom", "third"]
    assert (book.meters["vom"].ohms_per_volt, book.meters["vom"].of_full_scale) == (1000, 0.03)
    assert book.withdrawn == ("meters/counter",)


def test_a_kind_gains_what_the_shop_adds(tmp_path: Path) -> None:
    """Values, figures, formulas and meters of a stage beside the built-in ones."""
    text = (
        "kind: feed\n"
        "values: {choke: {title: choke, unit: H}}\n"
        "figures: {hum: {title: hum, ask: How much?, unit: mV}}\n"
        "derived: {hum_share: {title: hum, unit: percent, formula: a / b, from: {a: hum, b: voltage}, source: from memory}}\n"
        "instruments: {needle: {title: needle}}\n"
    )
    kind = good(tmp_path, {"feed.yaml": text}).kinds["feed"]
    assert list(kind.values) == ["dropper", "turns", "first_capacitor", "choke"]
    assert list(kind.figures) == ["envelope_max", "envelope_min", "hum"]
    assert list(kind.derived) == ["modulation", "hum_share"]
    assert kind.indications["needle"].sort == "instrument"


def test_a_reference_is_put_in_the_place_of_another(tmp_path: Path) -> None:
    """A limit, a resistance and the inputs of a formula say one thing each, and are not mixed."""
    text = (
        "kind: feed\n"
        "amend:\n"
        "  quantities:\n"
        "    voltage: {limit: {most: {amount: 700 V}}, source_resistance: {amount: 1 kohm}, follows_mains: 1}\n"
        "    ripple: {computed: {from: {capacitance: {amount: 8 mfd}, voltage: {quantity: voltage, expected: yes}}}}\n"
        "  derived: {modulation: {from: {top: {amount: 10 V}}, limit: {most: {amount: 90 %}}}}\n"
    )
    kind = good(tmp_path, {"feed.yaml": text}).kinds["feed"]
    voltage, ripple = kind.indications["voltage"], kind.indications["ripple"]
    assert voltage.limit is not None
    assert voltage.limit.most is not None
    assert (voltage.limit.most.amount, voltage.limit.most.tube, voltage.limit.says) == (
        700,
        "",
        "the tube arcs",
    )
    assert voltage.source_resistance is not None
    assert (voltage.source_resistance.amount, voltage.source_resistance.other) == (1, None)
    assert (voltage.follows_mains, voltage.drops_out_below) == (1, 0)
    assert ripple.computed[0].inputs["capacitance"].amount == 8
    assert ripple.computed[0].inputs["voltage"].expected
    assert ripple.computed[0].inputs["circuit"].feature == "circuit"
    modulation = kind.derived["modulation"]
    assert modulation.inputs["top"].amount == 10
    assert modulation.inputs["bottom"].quantity == "envelope_min"
    assert modulation.limit is not None
    assert modulation.limit.most is not None
    assert modulation.limit.most.amount == 90


def test_a_rig_gains_sockets_values_and_meters(tmp_path: Path) -> None:
    """A value may be amended into a stage that states none; an id that is there is not added twice."""
    text = (
        "rig: finch\n"
        "sockets: {V3: {stage: lv, pins: {2: lv.voltage}}}\n"
        "chart_meters: {ours: {instrument: bridge}}\n"
        "multiplication: {20m: 4}\n"
        "amend:\n"
        "  stages: {hv: {values: {dropper: 22 K, turns: 2}}}\n"
        "  sockets: {V1: {pins: {3: }}}\n"
        "  chart_meter: ours\n"
    )
    rig = good(tmp_path, {"finch.yaml": text}).rigs["finch"]
    assert list(rig.sockets) == ["V1", "V2", "V3"]
    assert rig.sockets["V1"].pins == {"1": "hv.voltage"}
    assert (rig.chart_meter, rig.multiplication["20m"]) == ("ours", 4)
    assert {name: value.amount for name, value in rig.stages["hv"].values.items()} == {
        "dropper": 22,
        "turns": 2,
    }


def test_withdrawals(tmp_path: Path) -> None:
    """Formulas, figures, sockets and chart meters go like rules."""
    shop = {
        "feed.yaml": "kind: feed\nwithdraw: {derived: modulation, figures: [envelope_min]}\n",
        "finch.yaml": "rig: finch\nwithdraw: {sockets: V1}\n",
    }
    book = good(tmp_path, shop)
    assert list(book.kinds["feed"].figures) == ["envelope_max"]
    assert book.kinds["feed"].derived == {}
    assert list(book.rigs["finch"].sockets) == ["V2"]
    assert book.withdrawn == ("feed/derived/modulation", "feed/figures/envelope_min", "finch/sockets/V1")


FAULTS = {
    "a meter that is there already": (
        {"m.yaml": METERS, "n.yaml": "meters: {vom: {instrument: bridge}}\n"},
        "n.yaml:1:10 error duplicate-id: `vom` is there already ({folder}/shop/m.yaml:2:3)"
        " | change it under `amend: {meters: {vom: ...}}`",
    ),
    "an amended figure that is not there": (
        {"f.yaml": "kind: feed\namend: {figures: {envelope: {unit: V}}}\n"},
        "f.yaml:2:19 error overlay-unknown: `envelope` is not there to be amended | did you mean `envelope_min`?",
    ),
    "a withdrawn figure that a formula needs": (
        {"f.yaml": "kind: feed\nwithdraw: {figures: envelope_min}\n"},
        "rules/stages/feed.yaml:58:39 error unknown-name: `envelope_min` is no quantity, figure or derived figure of"
        " the kind feed | did you mean `envelope_max`?",
    ),
    "a file of meters with more in it": (
        {"m.yaml": "meters: {vom: {instrument: bridge}}\nreports: {bench: 1}\n"},
        "m.yaml:2:1 error unknown-key: `reports` is no key of a file of meters | known here: amend, withdraw",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("shop", "line"), FAULTS.values(), ids=FAULTS.keys())
def test_a_fault_of_the_shop_is_said_in_the_shops_file(
    shop: dict[str, str], line: str, tmp_path: Path
) -> None:
    """Place, id, text and suggestion, and no book."""
    book, lines = overlaid(tmp_path, shop)
    assert book is None
    assert lines == [line.replace("{folder}", str(tmp_path))]
