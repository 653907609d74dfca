"""Write invented jobs into a folder: sheet, climate log, complaint, and their casebook."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.errors import StoreError

if TYPE_CHECKING:
    from diagnose.practice.draw import PracticeCase
    from diagnose.practice.job.sampled import SampledJob
    from diagnose.rulebook.model import Rules
    from diagnose.store.journal import Casebook

BOOK = "casebook.db"


def write_jobs(rules: Rules, folder: Path, cases: Sequence[PracticeCase], *, key: bool) -> Path:
    """Write the jobs of some cases, and a casebook that holds them; return its path.

    The values stand in the casebook as if entered when the case says so.

    Raises
    ------
    StoreError
        The folder is there already and not empty, or cannot be written.
    """
    from diagnose.cli.where import open_casebook

    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise StoreError(f"{folder} is there already and not empty; name another folder")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for case in cases:
            _write_files(rules, folder / case.sampled.job.id, case, key=key)
    except OSError as error:
        reason = error.strerror or "no reason given"
        raise StoreError(f"{folder} cannot be written: {reason.lower()}") from None
    with open_casebook(folder / BOOK, create=True) as book:
        for case in cases:
            _enter(book, case.sampled, folder / case.sampled.job.id)
    return folder / BOOK


def next_steps(path: Path, cases: Sequence[PracticeCase]) -> list[str]:
    """Return commands that look at the first job."""
    case = cases[0]
    job, book = case.sampled.job.id, f"--casebook {path}"
    symptoms = " ".join(f"--symptom {symptom}" for symptom in case.symptoms)
    complaints = case.sampled.job.complaints.values()
    days = [each.made_at.date() for each in complaints if each.made_at]
    on = f" --on {days[0] + timedelta(days=3)}" if days else ""
    return [
        f"diagnose job show {job} {book}",
        f"diagnose check {job} {book}",
        f"diagnose walk {job} {symptoms} --at {case.sampled.place}{on} {book}",
    ]


def _write_files(rules: Rules, folder: Path, case: PracticeCase, *, key: bool) -> None:
    from diagnose.practice.job.written import log_name, sheet_text, worked_text
    from diagnose.practice.wording import INVENTED, complaint_words, facts_words

    folder.mkdir()
    words = complaint_words(rules, case)
    texts = {
        "job.yaml": sheet_text(case.sampled),
        log_name(case.sampled): case.sampled.log_text,
        "complaint.txt": f"{INVENTED}\n\n{words}\n{facts_words(case)}\n",
    }
    if key:
        call = words.split("\n", 1)[0]
        texts["key.yaml"] = worked_text(case.sampled, call, case.answers, case.truth)
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8")


def _enter(book: Casebook, sampled: SampledJob, folder: Path) -> None:
    from diagnose.cli.job_import import import_climate, import_sheet
    from diagnose.practice.job.written import log_name, steps

    first, *later = steps(sampled)
    entry = next((sampled.job.origins.get(f"climate.{each}") for each in sampled.job.climate), None)
    logged = entry.entered_at if entry else None
    path, log = folder / "job.yaml", folder / log_name(sampled)
    import_sheet(book, path, first.sheet.encode("utf-8"), said_by="fitter", at=first.at)
    import_climate(
        book,
        sampled.job.id,
        log,
        log.read_bytes(),
        area=next(iter(sampled.job.areas)),
        dates="day-first",
        said_by="fitter",
        at=logged or first.at + timedelta(minutes=5),
    )
    for step in later:
        import_sheet(book, path, step.sheet.encode("utf-8"), said_by="office", at=step.at)
