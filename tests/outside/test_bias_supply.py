"""A bias supply with a rectifier tube, from its parts, against a circuit simulation of the same."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from diagnose.evidence.figures import computed_values
from diagnose.files.frozen import Frozen
from diagnose.files.yaml_parse import read_document
from diagnose.model.assembly import Assembly, assemble
from diagnose.model.measuring import Reference
from tests.outside.bench import book

SIMULATED = Path(__file__).parents[1] / "circuits" / "supplies" / "simulated.yaml"
PARTS = {
    "winding": (140.0, "V"),
    "winding_ohms": (150.0, "ohm"),
    "first_capacitor": (8.0, "uF"),
    "second_capacitor": (16.0, "uF"),
    "series_ohms": (2.2, "kohm"),
    "shunt_ohms": (15.0, "kohm"),
}


def rig(tubes: tuple[str, ...]) -> Assembly:
    """A rig at 50 Hz whose bias supply has these parts, and no row in the chart."""
    whole = book().rigs["gannet_60"]
    values = Frozen({name: Reference(amount=amount, unit=unit) for name, (amount, unit) in PARTS.items()})
    own = whole.stages["bias"]
    features = {**own.features, "rectifier": "vacuum", "circuit": "half_wave"}
    bias = replace(own, values=values, tubes=tubes, features=features)
    chart = tuple(row for row in whole.chart if not row.quantity.startswith("bias."))
    return assemble(
        book(), replace(whole, stages={**whole.stages, "bias": bias}, chart=chart, mains_frequency=50.0)
    )


def test_a_rectifier_tube_in_a_bias_supply_is_reckoned_with() -> None:
    """Half-wave 6X4 at 140 V and 50 Hz: the simulator's direct voltage behind the filter, within one percent."""
    document, _ = read_document(SIMULATED)
    assert document is not None
    wanted = document.data["bias_vacuum_50_hertz"]["loaded"]["dc"]
    found = computed_values(rig(("6X4",)), "cw")["bias.voltage"]
    assert found.value == pytest.approx(wanted, rel=0.01)
    assert found.within < 0.1


def test_a_rectifier_tube_whose_drop_is_not_known_gives_no_bias() -> None:
    """Nothing is claimed of a tube that has no row of its drop."""
    assert "bias.voltage" not in computed_values(rig(("6SN7GT",)), "cw")
