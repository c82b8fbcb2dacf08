"""A diagnosis or an account as plain data for JSON. A field once published keeps its meaning."""

from __future__ import annotations

import json
import math
from typing import Any, Final

from diagnose.explanation.account import Account
from diagnose.model.knowledge import Remedy
from diagnose.model.result import (
    DerivedFigure,
    Diagnosis,
    Explanation,
    Finding,
    Flag,
    NextCheck,
    Path,
    RankedCause,
    Repair,
)
from diagnose.problems import Problem

SCHEMA: Final = 1
Record = dict[str, Any]


def record(diagnosis: Diagnosis, top: int | None = None) -> Record:
    """One case as data. `top` cuts the lists that rank; null stands for what is not known."""
    advice = diagnosis.advice
    return {
        "schema": SCHEMA,
        "case": diagnosis.case.id,
        "file": diagnosis.case.place.file,
        "rig": diagnosis.case.rig,
        "verdict": diagnosis.verdict.word,
        "verdict_text": diagnosis.verdict.text,
        "exact": diagnosis.exact,
        "stop_orders": [
            {"id": order.id, "text": order.text, "because": list(order.because)}
            for order in diagnosis.stop_orders
        ],
        "readings": [_reading(finding) for finding in diagnosis.findings],
        "derived": [_derived(figure) for figure in diagnosis.derived],
        "flags": [_flag(flag) for flag in diagnosis.flags],
        "causes": [_cause(cause) for cause in diagnosis.causes[:top]],
        "also_due": [cause.id for cause in diagnosis.also_due[:top]],
        "explanations": [_explanation(found) for found in diagnosis.explanations[:top]],
        "advised": advice is not None,
        "remedy": _advised_remedy(diagnosis),
        "first_aid": [] if advice is None else [cause.id for cause in advice.first_aid],
        "minutes_expected": None if advice is None else number(advice.minutes_expected),
        "next": [] if advice is None else [_check(check) for check in advice.next[:top]],
        "withheld": []
        if advice is None
        else [{"check": w.check, "title": w.title, "because": w.because} for w in advice.withheld],
        "unexplained": {
            "probability": number(diagnosis.unexplained),
            "stages": {stage: number(share) for stage, share in diagnosis.unexplained_stages},
        },
        "conflict": {
            "tail": number(diagnosis.conflict.tail),
            "least_believable": diagnosis.conflict.least_believable,
            "text": diagnosis.conflict.text,
        },
        "log10_evidence": number(diagnosis.log10_evidence),
        "intervals": [
            {"cause": cause, "lowest": number(low), "highest": number(high)}
            for cause, low, high in diagnosis.intervals
        ],
        "left_out": number(diagnosis.left_out),
        "set_aside": diagnosis.set_aside,
        "repairs": [_repair(repair) for repair in diagnosis.repairs],
        "see_again": list(diagnosis.see_again),
        "local_rules": list(diagnosis.local_rules),
        "withdrawn_rules": list(diagnosis.withdrawn_rules),
        "messages": [message(problem) for problem in diagnosis.messages],
    }


def account_record(diagnosis: Diagnosis, account: Account) -> Record:
    """The account of one cause as data."""
    return {
        "schema": SCHEMA,
        "case": diagnosis.case.id,
        "file": diagnosis.case.place.file,
        "rig": diagnosis.case.rig,
        "stop_orders": [order.id for order in diagnosis.stop_orders],
        "cause": _cause(account.cause),
        "prior": number(account.prior),
        "prior_because": account.prior_because,
        "chain": [
            {
                "from": step.from_title,
                "from_state": step.from_state,
                "to": step.to_title,
                "to_state": step.to_state,
                "chance": number(step.chance),
                "rule": step.rule_id,
                "because": step.because,
                "source": step.source,
                "where": str(step.place),
                "local": step.local,
            }
            for step in account.chain
        ],
        "evidence": [
            {
                "indication": line.name,
                "title": line.title,
                "state": line.state,
                "bits": number(line.bits),
                "rules": list(line.rule_ids),
            }
            for line in account.evidence
        ],
        "residual_bits": number(account.residual),
        "would_change": list(account.would_change),
        "contrast": account.contrast,
    }


def message(problem: Problem) -> Record:
    """A problem as data."""
    return {
        "level": problem.level,
        "id": problem.id,
        "text": problem.text,
        "suggestion": problem.suggestion,
        "where": str(problem.place),
    }


def as_line(data: object) -> str:
    """Data as one line of JSON."""
    return json.dumps(data, allow_nan=False, separators=(", ", ": "))


def as_text(data: object) -> str:
    """Data as JSON for people to look at."""
    return json.dumps(data, allow_nan=False, indent=2)


def number(value: float | None) -> float | None:
    """A number to eight figures; null for what is not finite, because JSON has no word for it."""
    if value is None or not math.isfinite(value):
        return None
    return float(f"{value:.8g}")


def _repair(repair: Repair) -> Record:
    return {
        "work": repair.work,
        "did": repair.did,
        "part": repair.part,
        "bad_before": number(repair.bad_before),
        "cause": repair.cause,
        "cause_chance": number(repair.cause_chance),
        "bad_after": number(repair.bad_after),
    }


def _reading(finding: Finding) -> Record:
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


def _derived(figure: DerivedFigure) -> Record:
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


def _flag(flag: Flag) -> Record:
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


def _cause(cause: RankedCause) -> Record:
    return {
        "id": cause.id,
        "part": cause.part,
        "title": cause.title,
        "stage": cause.stage,
        "probability": number(cause.probability),
        "blame": number(cause.blame),
        "prior": number(cause.prior),
        "remedy": _remedy(cause.remedy),
        "local": cause.local,
        "unnamed": cause.unnamed,
    }


def _remedy(remedy: Remedy | None) -> Record | None:
    if remedy is None:
        return None
    return {
        "do": remedy.do,
        "minutes": number(remedy.minutes),
        "parts": remedy.parts,
        "works": number(remedy.works),
        "read_again": list(remedy.read_again),
        "moves": list(remedy.moves),
    }


def _advised_remedy(diagnosis: Diagnosis) -> Record | None:
    if diagnosis.advice is None or diagnosis.advice.remedy is None:
        return None
    return {"cause": diagnosis.advice.remedy.id, "because": diagnosis.advice.remedy_reason}


def _explanation(found: Explanation) -> Record:
    return {
        "causes": list(found.causes),
        "parts": list(found.parts),
        "probability": number(found.probability),
    }


def _check(check: NextCheck) -> Record:
    return {
        "check": check.check,
        "title": check.title,
        "minutes_saved": number(check.minutes_saved),
        "gain_bits": number(check.gain_bits),
        "minutes": number(check.minutes),
        "setup_minutes": number(check.setup_minutes),
        "setup_changes": list(check.setup_changes),
        "instrument": check.instrument,
        "how": check.how,
        "good": check.good,
        "hazard": check.hazard,
        "separates": list(check.separates),
        "cautions": list(check.cautions),
        "swap_warning": check.swap_warning,
        "outcomes": [
            {
                "states": dict(outcome.states),
                "text": outcome.text,
                "probability": number(outcome.probability),
                "leader": outcome.leader,
                "leader_blame": number(outcome.leader_blame),
            }
            for outcome in check.outcomes
        ],
    }
