"""One observation as a finding: the likelihood of each state, by what was said, measured or worked out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from diagnose.evidence.expected import Expectation, expectation
from diagnose.evidence.figures import ohms_of
from diagnose.evidence.grade import (
    density,
    good_limits,
    likelihoods,
    report_likelihoods,
    softened,
    with_tolerance,
)
from diagnose.evidence.path import path_of
from diagnose.evidence.read_with import powers_of
from diagnose.model.assembly import Assembly, PlacedIndication
from diagnose.model.case import Case, Observation
from diagnose.model.knowledge import State
from diagnose.model.result import Finding, Measured, Path

_UNDECIDED = 0.9  # likelihood of the good state from which a reading is none of a fault


def finding_of(assembly: Assembly, case: Case, placed: PlacedIndication, observation: Observation) -> Finding:
    """What an observation says by itself; "not known", or a value that nothing is expected of, counts for nothing."""
    states = tuple(state.id for state in placed.indication.states)
    right = assembly.book.bench.reports[observation.told_by]
    blank = Finding(
        observation=observation,
        name=placed.id,
        title=placed.indication.title,
        states=states,
        likelihood=(1.0,) * len(states),
        state="",
        abnormal=False,
        counted=False,
        unit=placed.indication.unit,
        right=right,
        graded=placed.indication.states,
        notes=(observation.made_by,) if observation.made_by else (),
    )
    if observation.likelihood:
        return _by_likelihood(blank, observation.likelihood)
    if observation.value is not None:
        return _measured(assembly, case, placed, blank)
    if not observation.state:
        return replace(blank, notes=("not known",))
    said = placed.indication.state_index(observation.state)
    notes = blank.notes if right >= 1 else (*blank.notes, f"told by {observation.told_by}")
    read_with = powers_of(assembly, case, placed, observation) if placed.indication.unit else ()
    return replace(
        blank,
        likelihood=report_likelihoods(len(states), said, right),
        state=observation.state,
        abnormal=said != 0,
        counted=True,
        notes=notes,
        read_with=read_with,
    )


def _by_likelihood(blank: Finding, given: Sequence[float]) -> Finding:
    """A finding whose likelihood was worked out from several readings."""
    top = max(given)
    values = tuple(value / top for value in given)
    best = _leading(values)
    blank = replace(blank, likelihood=values, state=blank.states[best], abnormal=best != 0, counted=True)
    observation = blank.observation
    if not observation.through:
        return blank
    low, high, dead = observation.through
    read_with = tuple(zip(observation.read_with, observation.read_powers, strict=True))
    return replace(blank, read_with=read_with, through=(low, high, dead))


def _measured(assembly: Assembly, case: Case, placed: PlacedIndication, blank: Finding) -> Finding:
    indication, observation = placed.indication, blank.observation
    expected: Expectation | None = None
    if indication.scale == "ratio":
        expected = expectation(assembly, case, observation)
    source = ohms_of(assembly, placed.stage, indication.source_resistance)
    path = path_of(assembly, case, placed, observation, expected, source)
    notes = _path_notes(path, indication.unit)
    path = replace(path, notes=notes) if notes else path
    known: dict[str, Any] = {
        "path": path,
        "at_chart": path.at_chart,
        "read_with": powers_of(assembly, case, placed, observation),
        "notes": (*blank.notes, *notes),
    }
    states: Sequence[State] = indication.states
    unit_size = 1.0
    if indication.scale == "ratio":
        if expected is None or not path.expected:
            unknown = "nothing is known of what a good set shows"
            return replace(blank, **{**known, "notes": (*blank.notes, *notes, unknown)})
        unit_size = path.expected
        if expected.tolerance is not None:
            states = with_tolerance(states, indication.tolerance, expected.tolerance)
    value = path.at_chart / unit_size
    limits = good_limits(states)
    limit = path.limit / unit_size
    spread = math.sqrt(max((path.spread * value) ** 2 - limit**2 / 3.0, 0.0))  # all but the meter
    if spread <= 0:
        spread = 1e-3 * (limits[1] if limits else 1.0)
    values = softened(likelihoods(states, value, spread, limit), blank.right)
    best = _leading(values)
    return replace(
        blank,
        **known,
        likelihood=values,
        state=states[best].id,
        abnormal=best != 0,
        counted=True,
        expected=path.expected,
        limits=(limits[0] * unit_size, limits[1] * unit_size) if limits else None,
        graded=tuple(states),
        measured=Measured(
            value, spread, max(density(state, value, spread, limit) for state in states), limit
        ),
    )


def _leading(likelihood: Sequence[float]) -> int:
    """The most likely state; the good one where it is nearly as likely."""
    return 0 if likelihood[0] >= _UNDECIDED else max(range(len(likelihood)), key=likelihood.__getitem__)


def _path_notes(path: Path, unit: str) -> tuple[str, ...]:
    notes: list[str] = []
    unit = f" {unit}" if unit and unit != "dimensionless" else ""
    if path.corrected != path.as_read:
        why = f"without the load of the {path.meter}"
        if path.marked_ohms:
            why = f"on {path.source_ohms:g} ohm: the {path.meter} is marked for {path.marked_ohms:g} ohm"
        notes.append(f"{path.corrected:.4g}{unit} {why}")
    if path.at_chart != path.corrected and path.mains is not None:
        notes.append(
            f"read at {path.mains:g} V of mains: {path.at_chart:.4g}{unit} at the chart's {path.chart_mains:g} V"
        )
    if path.expected_by.startswith("computed") and path.expected is not None:
        notes.append(
            f"a good set shows about {path.expected:.4g}{unit}, {path.expected_by},"
            f" to {100 * path.expected_within:.2g} %"
        )
    return tuple(notes)
