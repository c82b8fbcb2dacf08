"""Causes with their remedies, and checks, as plain data."""

from __future__ import annotations

from diagnose.model.knowledge import Remedy
from diagnose.model.result import NextCheck, RankedCause
from diagnose.render.json_text import Record, number


def cause_record(cause: RankedCause) -> Record:
    """A cause with its chances (from 0 to 1) and its remedy."""
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


def check_record(check: NextCheck) -> Record:
    """A next step with what it costs (minutes), what it tells (bits), and what each outcome would do."""
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
