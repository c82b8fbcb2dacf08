"""Features that a stage of a rig, or an instrument of the bench, states of its kind."""

from __future__ import annotations

from diagnose.files import values
from diagnose.files.document import Node
from diagnose.files.faults import Faults
from diagnose.model.knowledge import StageKind


def stated_features(section: Node | None, kind: StageKind, faults: Faults) -> dict[str, str]:
    """The features stated that the kind has, with words that they may take; the rest are problems."""
    features: dict[str, str] = {}
    for name, entry in (section.entries if section is not None else {}).items():
        word = values.text(entry)
        if name not in kind.features:
            said = f"`{name}` is no feature of the kind {kind.id}"
            faults.unknown(entry.key_place, "unknown-feature", said, name, kind.features)
        elif word not in kind.features[name]:
            said = f"`{word}` is no value of the feature {name}"
            faults.unknown(entry, "unknown-value", said, word, kind.features[name])
        else:
            features[name] = word
    return features
