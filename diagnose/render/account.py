"""Why one cause ranks where it does, as a page."""

from __future__ import annotations

from diagnose.explanation.account import Account, ChainStep, Contribution
from diagnose.model.result import Diagnosis
from diagnose.render import numbers
from diagnose.render.page import Page, sentence, styled
from diagnose.render.words import Words


def explained(diagnosis: Diagnosis, account: Account, words: Words, width: int) -> Page:
    """The whole account of one cause."""
    page = Page(width)
    _orders(page, diagnosis)
    _belief(page, diagnosis, account)
    _chain(page, account, words)
    _evidence(page, account, words)
    if account.would_change:
        page.heading("What would change it")
        for line in account.would_change:
            page.say(line, first="  -", indent=4)
    if account.contrast:
        page.heading("Beside the others")
        page.say(account.contrast, indent=2)
    return page


def _orders(page: Page, diagnosis: Diagnosis) -> None:
    for order in diagnosis.stop_orders:
        page.say(
            styled((f"Remove power now. {order.text}", "stop")), first=styled(("STOP", "stop")), indent=6
        )
    page.blank()


def _belief(page: Page, diagnosis: Diagnosis, account: Account) -> None:
    cause = account.cause
    page.say(styled((cause.title, "heading"), (f"  ({cause.stage_title})", "quiet")))
    page.say(styled((f"{cause.id}, case {diagnosis.case.id}", "quiet")))
    page.blank()
    page.say(
        styled(
            "Behind the complaint in ",
            (numbers.chance(cause.blame), "suspect"),
            f" such sets; there at all in {numbers.chance(cause.probability)}.",
        )
    )
    because = f" ({account.prior_because})" if account.prior_because else ""
    page.say(f"Before anything was seen: {numbers.rate(account.prior)}{because}.")


def _chain(page: Page, account: Account, words: Words) -> None:
    if not account.chain:
        page.heading("How it would show")
        page.say("Nothing that was seen as abnormal lies downstream of it.", indent=2)
        return
    page.heading("How it shows")
    before = ""
    for step in account.chain:
        if before not in ("", step.from_title):
            page.blank()  # the chain starts again at the cause
        before = step.to_title
        _step(page, step)


def _step(page: Page, step: ChainStep) -> None:
    page.say(
        styled(
            f"{step.from_title}, {step.from_state}",
            (" gives ", "quiet"),
            f"{step.to_title}, {step.to_state}",
            (f"  in {numbers.rate(step.chance)}", "suspect"),
        ),
        indent=2,
    )
    page.say(sentence(step.because), indent=6)
    local = ("; local rule", "local") if step.local else ""
    where = f", {step.place}" if step.place.file else ""
    page.say(styled((f"[{step.rule_id}{where}; {step.source}", "quiet"), local, ("]", "quiet")), indent=6)


def _evidence(page: Page, account: Account, words: Words) -> None:
    page.heading("For (+) and against (-), in bits: one bit doubles or halves the odds")
    for line in account.evidence:
        _contribution(page, line, words)
    page.row((numbers.signed(account.residual), "what they say only together"), (-6, page.width - 10))
    total = sum(line.bits for line in account.evidence) + account.residual
    page.row(
        (
            numbers.signed(total),
            f"in all: from {numbers.rate(account.prior)} to {numbers.chance(account.cause.probability)}",
        ),
        (-6, page.width - 10),
    )


def _contribution(page: Page, line: Contribution, words: Words) -> None:
    rules = f"  [{', '.join(line.rule_ids)}]" if line.rule_ids else ""
    state = words.state(line.name, line.state)
    page.row(
        (
            styled((numbers.signed(line.bits), "suspect")),
            styled(f"{line.title}, {state}", (rules, "quiet")),
        ),
        (-6, page.width - 10),
    )
