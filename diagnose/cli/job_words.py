"""What the commands on a job say of its values: changed, replaced, doubtful."""

from __future__ import annotations

from typing import TYPE_CHECKING

from diagnose.cli.where import now

if TYPE_CHECKING:
    from diagnose.record.difference import Change
    from diagnose.record.model import Job
    from diagnose.store.fold import Step


def tell(changes: tuple[Change, ...], what: str) -> None:
    """Say how many values of a sheet differ, and what they were."""
    if not changes:
        say("Nothing differs from the casebook.")
        return
    from diagnose.cli.screen import Screen

    screen = Screen()
    count = "1 value" if len(changes) == 1 else f"{len(changes)} values"
    screen.text(f"{count} {what}.")
    for change in changes[:20] if any(change.old is not None for change in changes) else ():
        say_change(change.path, change.old, change.new)


def say_change(path: str, old: str | None, new: str | None) -> None:
    """Say what a value was and what it is now."""
    from diagnose.cli.screen import Screen

    before = "nothing" if old is None else old
    Screen().text(f"{path}: {before} -> {'taken out' if new is None else new}", mark="-")


def marks(step: Step) -> tuple[str, ...]:
    """Return how a value was entered, where it was not simply recorded, why, and by which entry."""
    return (
        "statement" if step.entry.body.get("statement") is True else "",
        str(step.entry.body.get("reason", "")),
        _withdrawn(step),
        f"entry {step.entry.device[:8]}/{step.entry.seq}",
    )


def _withdrawn(step: Step) -> str:
    if step.withdrawal is None:
        return ""
    body = step.withdrawal.body
    by = f" by {body['said_by']}" if body.get("said_by") else ""
    why = f": {body['reason']}" if body.get("reason") else ""
    return f"withdrawn {step.withdrawal.entered_at:%Y-%m-%d}{by}{why}"


def doubt(job: Job) -> None:
    """Say which times cannot be so; worked examples may lie in days to come."""
    from diagnose.record.contradictions import contradictions
    from diagnose.reports.amiss_words import paths_of

    found = contradictions(job, None if job.invented else now())
    if found:
        say("This cannot be so as it is recorded:")
    for each in found:
        say(f"- {each.text} ({paths_of(each)})")


def say(text: str) -> None:
    """Write one paragraph."""
    from diagnose.cli.screen import Screen

    Screen().text(text)
