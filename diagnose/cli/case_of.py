"""From the id of a case, or from a file of a worked complaint, to its inspection."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.cli.where import now

if TYPE_CHECKING:
    from diagnose.rulebook.model import Rules
    from diagnose.store.journal import Casebook
    from diagnose.walk.inspection import Inspection


def inspection_of(casebook: Casebook, rules: Rules, name: str) -> Inspection:
    """Return the inspection of a stored case as it stands with today's rules and record.

    A name that ends in .yaml is a file of a worked complaint about a job of the
    casebook, like those beside the invented jobs.

    Raises
    ------
    NotFoundError
        There is no such case, job or place.
    InputError
        The file does not read as a complaint.
    """
    from diagnose.cli.walk_start import on_record, resumed
    from diagnose.store.cases import show_case
    from diagnose.walk.inspection import begin

    if Path(name).suffix in (".yaml", ".yml"):
        from diagnose.cli.where import read_file
        from diagnose.walk.complaint import read_complaint

        told = read_complaint(read_file(Path(name)), name, rules)
        started = on_record(
            casebook, rules, told.job, told.symptoms, told.at, told.inspected_at.date()
        )
        return begin(rules, started.intake, told.steps)
    found = show_case(casebook, name)
    last = found.findings[-1].at if found.findings else now().isoformat()
    started, steps = resumed(casebook, rules, found, last)
    return begin(rules, started.intake, steps, older=True)
