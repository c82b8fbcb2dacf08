"""The posterior on whole rigs of the built-in book against an independent library."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.evidence.collect import collect
from diagnose.files.find import rules_folder
from diagnose.files.read_book import load_book
from diagnose.inference.answer import answer
from diagnose.inference.asking import ask
from diagnose.model.assembly import assemble
from tests.library_rig import presence_by_library
from tests.sampled_cases import Wanted, sampled_case


@pytest.mark.parametrize(("rig", "seed", "soft"), [("kestrel_30", 1, 0), ("skua_150", 2, 2)])
def test_every_part_of_a_whole_rig_agrees_with_the_library(rig: str, seed: int, soft: int) -> None:
    """Hundreds of nodes, six readings of a world drawn from the book itself; every part's states to nine digits."""
    book, problems = load_book(rules_folder())
    assert book is not None, "\n".join(map(str, problems))
    assembly = assemble(book, book.rigs[rig])
    case = sampled_case(assembly, seed, Wanted(6, 1, soft))
    question = ask(assembly, case, collect(assembly, case))
    ours = answer(question)
    assert ours.exact
    log_evidence, presence = presence_by_library(question.network, question.likelihood)
    assert float(ours.solution.log_evidence[0]) == pytest.approx(log_evidence, abs=1e-9)
    assert len(ours.solution.presence) > 10
    for node, states in ours.solution.presence.items():
        assert np.allclose(states[0], presence[node], atol=1e-9), question.bones.names[node]
