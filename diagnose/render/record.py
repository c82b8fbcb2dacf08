"""A diagnosis or an account as plain data for JSON. A field once published keeps its meaning."""

from __future__ import annotations

from typing import Final

from diagnose.explanation.account import Account
from diagnose.model.result import Diagnosis, Explanation, Repair
from diagnose.problems import Problem
from diagnose.render.json_text import Record, number
from diagnose.render.record_advice import cause_record, check_record
from diagnose.render.record_readings import derived_record, flag_record, reading_record

SCHEMA: Final = 1


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
        "readings": [reading_record(finding) for finding in diagnosis.findings],
        "derived": [derived_record(figure) for figure in diagnosis.derived],
        "flags": [flag_record(flag) for flag in diagnosis.flags],
        "causes": [cause_record(cause) for cause in diagnosis.causes[:top]],
        "also_due": [cause.id for cause in diagnosis.also_due[:top]],
        "explanations": [_explanation(found) for found in diagnosis.explanations[:top]],
        "advised": advice is not None,
        "remedy": _advised_remedy(diagnosis),
        "first_aid": [] if advice is None else [cause.id for cause in advice.first_aid],
        "minutes_expected": None if advice is None else number(advice.minutes_expected),
        "next": [] if advice is None else [check_record(check) for check in advice.next[:top]],
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
        "cause": cause_record(account.cause),
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
