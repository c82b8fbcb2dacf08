"""Is everything connected: causes to what shows them, indications to causes, checks to both."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.model.assembly import PlacedPart
from diagnose.model.knowledge import Mode
from diagnose.problems import ERROR, NOTE, WARNING, Problem
from diagnose.review.survey import Laid, Survey, on_rigs


def hidden_causes(survey: Survey) -> Iterator[Problem]:
    """Every cause shows at an indication, itself or through a part that it ruins, on every rig."""
    for cause in survey.causes:
        hidden = [
            laid.assembly.rig.id
            for laid, placed in cause.places
            if not _shows(laid, placed, cause.mode, frozenset())
        ]
        if hidden:
            yield Problem(
                cause.mode.place,
                ERROR,
                "hidden-cause",
                f"no indication can reveal {cause.name} {on_rigs(hidden, len(survey.book.rigs))}",
                f"add a rule from {{{cause.part.id}: {cause.mode.id}}}",
            )


def _shows(laid: Laid, placed: PlacedPart, mode: Mode, seen: frozenset[str]) -> bool:
    cause = placed.cause_id(mode)
    if cause in seen:
        return False
    for link in laid.from_state(placed.id, mode.id):
        if not link.rule.damages:
            return True
        ruined = laid.assembly.parts[link.child]
        for other in ruined.part.modes:
            if other.id == link.child_state and _shows(laid, ruined, other, seen | {cause}):
                return True
    return False


def unexplained_indications(survey: Survey) -> Iterator[Problem]:
    """Every indication is the consequence of something, on some rig at least."""
    for sign in survey.signs:
        if sign.places and not any(laid.into.get(name) for laid, name in sign.places):
            text, hint = (
                f"nothing explains {sign.indication.id} but its leak",
                "add a rule that leads to it, or remove it",
            )
            yield Problem(sign.indication.place, WARNING, "unexplained-indication", text, hint)


def empty_checks(survey: Survey) -> Iterator[Problem]:
    """Every check reveals something that a cause can bring about, or proves the bench safe."""
    for kind in survey.book.kinds.values():
        for check in kind.checks.values():
            if check.proves:
                continue
            if not check.reveals:
                text = f"the check {check.id} reveals nothing"
                yield Problem(check.place, ERROR, "empty-check", text, "name what it reveals")
                continue
            placed = [
                (laid, found)
                for laid in survey.laid.values()
                for found in laid.assembly.checks.values()
                if found.check is check
            ]
            told = any(laid.into.get(name) for laid, found in placed for name in found.reveals)
            if placed and not told:
                yield Problem(
                    check.place,
                    WARNING,
                    "idle-check",
                    f"the check {check.id} reveals only what nothing explains",
                    "add rules that lead to what it reveals",
                )


def unrevealed_indications(survey: Survey) -> Iterator[Problem]:
    """Every indication is revealed by some check, so that it can be asked for."""
    revealed = {
        rig: {name for check in laid.assembly.checks.values() for name in check.reveals}
        for rig, laid in survey.laid.items()
    }
    for sign in survey.signs:
        if sign.indication.sort == "instrument":  # shows itself in what is read with it
            continue
        rigs = [
            laid.assembly.rig.id for laid, name in sign.places if name not in revealed[laid.assembly.rig.id]
        ]
        if rigs:
            text = f"no check reveals {sign.indication.id} {on_rigs(rigs, len(survey.book.rigs))}"
            hint = "add a check, or name it in one"
            yield Problem(sign.indication.place, WARNING, "unrevealed-indication", text, hint)


def causes_without_remedy(survey: Survey) -> Iterator[Problem]:
    """Every cause has a remedy, its own or its part's."""
    for kind in survey.book.kinds.values():
        for part in kind.parts.values():
            for mode in part.modes:
                if not part.unnamed and mode.remedy is None and part.remedy is None:
                    yield Problem(
                        mode.place,
                        ERROR,
                        "no-remedy",
                        f"nothing is said to put {part.id}.{mode.id} right",
                        "add a `remedy` to the mode or to its part",
                    )


def rules_without_place(survey: Survey) -> Iterator[Problem]:
    """Every rule of a kind that is in use applies on some rig; told once for each kind."""
    used = {link.rule.id for laid in survey.laid.values() for link in laid.assembly.links}
    present = {stage.kind for rig in survey.book.rigs.values() for stage in rig.stages.values()}
    for kind in survey.book.kinds.values():
        idle = [rule for rule in kind.rules.values() if rule.id not in used]
        if idle and kind.id in present:
            yield Problem(
                kind.place,
                NOTE,
                "idle-rules",
                f"{len(idle)} of {len(kind.rules)} rules of {kind.id} apply on no rig of the book: "
                + ", ".join(rule.id.rpartition("/")[2] for rule in idle),
                "look at their `when`, if that is not meant",
            )
