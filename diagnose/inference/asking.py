"""The question that a case puts to its rig's network."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from diagnose.evidence.collect import Findings
from diagnose.inference.instruments import readings_of
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
from diagnose.inference.trust import WIDE, with_dials
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case

READ_WIDENS = 10  # how many times wider dials make a network, about


def ask(assembly: Assembly, case: Case, findings: Findings) -> Question:
    """The question that a case puts to its rig's network."""
    bones = skeleton(assembly)
    network = network_for(bones, case.history)
    if not findings.periods.touched and not findings.periods.before:
        return _read(assembly, findings, _asked(case, findings, bones, network))
    for time in through_time(bones, network, findings, UNLIKELY if findings.earlier else ()):
        question = _asked(case, findings, time.bones, time.bones.network, time)
        if not too_wide(question, WIDE / READ_WIDENS):
            break
    return _read(assembly, findings, question)


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


def _read(assembly: Assembly, findings: Findings, question: Question) -> Question:
    """The question with what was read through instruments as evidence on their dials."""
    readings = readings_of(assembly, question.bones, findings)
    read = {reading.node for reading in readings.readings}
    if not read:
        return question
    kept = {node: values for node, values in question.likelihood.items() if node not in read}
    return with_dials(replace(question, likelihood=kept, abnormal=question.abnormal - read), readings)
