"""The question that a case puts to its rig's network."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from diagnose.evidence.collect import Findings
from diagnose.inference.instruments import Readings, readings_of
from diagnose.inference.network import Network
from diagnose.inference.question import Question, too_wide
from diagnose.inference.rig_network import (
    Skeleton,
    finding_likelihood,
    inspected_likelihood,
    network_for,
    skeleton,
)
from diagnose.inference.scale import Array
from diagnose.inference.through_time import UNLIKELY, Time, through_time
from diagnose.inference.trust import WIDE, none_trusted, some_trusted, with_dials
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case

READ_WIDENS = 10  # how many times wider dials make a network, about


def ask(assembly: Assembly, case: Case, findings: Findings) -> Question:
    """The question that a case puts to its rig's network.

    Of a set that was worked on modes are ruled out, and of the instruments some are taken as true, only where the network
    is too wide with all of them.
    """
    bones = skeleton(assembly)
    network = network_for(bones, case.history)
    if not findings.periods.touched and not findings.periods.before:
        question, readings = _read(assembly, findings, _asked(case, findings, bones, network))
        return with_dials(question, readings)
    shares = UNLIKELY if findings.earlier else ()
    for number, time in enumerate(through_time(bones, network, findings, shares)):
        asked = _asked(case, findings, time.bones, time.bones.network, time)
        question, readings = _read(assembly, findings, asked)
        whole = none_trusted(question, readings) if time.whole else None
        if whole is not None:
            return whole
        if number == len(shares) or not too_wide(asked, WIDE / READ_WIDENS):
            break
    return some_trusted(question, readings) if time.whole else with_dials(question, readings)


def _asked(
    case: Case, findings: Findings, bones: Skeleton, network: Network, time: Time | None = None
) -> Question:
    """The question with every instrument true."""
    likelihood: dict[int, Array] = {}
    abnormal = set()
    said = [(bones.index[name], finding, True) for name, finding in findings.counted.items()]
    said += [
        (bones.at(name, copy), found[0], findings.latest(name, copy))
        for (name, copy), found in findings.earlier.items()
    ]
    for node, finding, stands in said:
        likelihood[node] = finding_likelihood(bones, finding)
        if finding.abnormal and stands:
            abnormal.add(node)
    for part, found in case.inspected.items():
        node, values = inspected_likelihood(bones, part, found)
        likelihood[node] = values
    if time is None:
        return Question(bones, network, likelihood, frozenset(abnormal))
    for node, values in time.ruled_out.items():
        likelihood[node] = values * likelihood.get(node, np.ones(len(values)))
    left_out = time.left_out
    return Question(bones, network, likelihood, frozenset(abnormal), {}, frozenset(time.ruled_out), left_out)


def _read(assembly: Assembly, findings: Findings, question: Question) -> tuple[Question, Readings]:
    """The question without what was read through instruments, and these readings."""
    readings = readings_of(assembly, question.bones, findings)
    read = {reading.node for reading in readings.readings}
    kept = {node: values for node, values in question.likelihood.items() if node not in read}
    return replace(question, likelihood=kept, abnormal=question.abnormal - read), readings
