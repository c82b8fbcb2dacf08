"""Readings, figures worked out of them, and what is beyond a limit, as plain data."""

from __future__ import annotations

from diagnose.model.result import DerivedFigure, Finding, Flag, Path
from diagnose.render.json_text import Record, number


def reading_record(finding: Finding) -> Record:
    """A reading or sign as it was understood; values in `unit`, uncertainties of the path as shares."""
    observation = finding.observation
    return {
        "quantity": finding.name,
        "title": finding.title,
        "value": number(observation.value),
        "unit": finding.unit,
        "as_written": observation.as_written,
        "at_chart": number(finding.at_chart),
        "expected": number(finding.expected),
        "state": finding.state,
        "abnormal": finding.abnormal,
        "likelihood": {
            state: number(value) for state, value in zip(finding.states, finding.likelihood, strict=True)
        },
        "counted": finding.counted,
        "weight": number(finding.weight),
        "notes": list(finding.notes),
        "mode": observation.mode,
        "band": observation.band,
        "limits": None if finding.limits is None else [number(edge) for edge in finding.limits],
        "made_of": list(observation.made_of),
        "read_with": [{"instrument": name, "power": number(power)} for name, power in finding.read_with],
        "path": None if finding.path is None else _path(finding.path),
    }


def _path(path: Path) -> Record:
    return {
        "as_read": number(path.as_read),
        "meter": path.meter,
        "meter_ohms": number(path.meter_ohms) or None,
        "source_ohms": number(path.source_ohms) or None,
        "corrected": number(path.corrected),
        "mains": number(path.mains),
        "chart_mains": number(path.chart_mains),
        "follows_mains": number(path.follows),
        "at_chart": number(path.at_chart),
        "expected": number(path.expected),
        "expected_on_chart_meter": number(path.expected_raw),
        "expected_by": path.expected_by,
        "expected_within": number(path.expected_within),
        "uncertainty": number(path.spread),
        "budget": [{"from": name, "share": number(share)} for name, share in path.budget],
    }


def derived_record(figure: DerivedFigure) -> Record:
    """A derived figure; its value and uncertainties (standard) in `unit`."""
    return {
        "figure": figure.id,
        "title": figure.title,
        "stage": figure.stage,
        "value": number(figure.value),
        "unit": figure.unit,
        "uncertainty": None if figure.value is None else number(figure.standard),
        "mode": figure.mode,
        "band": figure.band,
        "arithmetic": figure.shown,
        "budget": [{"from": name, "uncertainty": number(part)} for name, part in figure.budget],
        "inputs": list(figure.inputs),
        "gives": figure.gives,
        "source": figure.source,
        "notes": list(figure.notes),
    }


def flag_record(flag: Flag) -> Record:
    """What is beyond a limit or near it; value and limit in `unit`."""
    return {
        "name": flag.name,
        "title": flag.title,
        "value": number(flag.value),
        "unit": flag.unit,
        "side": flag.side,
        "limit": number(flag.limit),
        "limit_title": flag.limit_title,
        "beyond": not flag.near,
        "chance": number(flag.chance),
        "text": flag.text,
        "source": flag.source,
        "mode": flag.mode,
        "band": flag.band,
    }
