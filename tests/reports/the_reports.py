"""The reports that the tests look at: the invented jobs, and hostile ones."""

from __future__ import annotations

import importlib.util
from dataclasses import replace
from functools import cache
from pathlib import Path
from types import ModuleType

from diagnose.checks.run import run_checks
from diagnose.data import data_folder
from diagnose.forecast.leave_site import leave_site
from diagnose.model import Floor, Place
from diagnose.record.climate import read_climate
from diagnose.record.fold import flatten, fold
from diagnose.record.model import Job
from diagnose.record.place import find_place, floor_of, words_at
from diagnose.record.sheet import read_sheet
from diagnose.reports.check_report import check_report
from diagnose.reports.finding_report import finding_report
from diagnose.reports.pack import Pack
from diagnose.reports.pack_words import pack_of, pack_report
from diagnose.reports.report import Report
from diagnose.rulebook.load import load_rules
from diagnose.rulebook.model import Rules
from diagnose.walk.complaint import read_complaint
from diagnose.walk.conclude import conclude
from diagnose.walk.finding import AnswerGiven, Finding
from diagnose.walk.inspection import Intake, begin

MADE_AT = "2026-05-04T09:00:00+01:00"
HEAD = "0f0e0d0c-0000-4000-8000-000000000001/21/00112233aabbccdd"
EDITION = "0123456789abcdef0123456789abcdef"
"""Stands for the edition of the rules, so that golden files outlive a new rule."""


@cache
def rules() -> Rules:
    """The rules of the checkout."""
    return load_rules(data_folder("rules"))


@cache
def invented_job(name: str) -> Job:
    """One of the jobs that ship with the program, with its climate log."""
    folder = data_folder("casebook") / name
    sheet = read_sheet((folder / "job.yaml").read_bytes(), "job.yaml")
    values = sheet.texts()
    for path in sorted(folder.glob("climate-*.csv")):
        area = path.stem.removeprefix("climate-")
        log_id = values[f"areas.{area}.climate"]
        log = read_climate(
            path.read_bytes(), path.name, zone=values["zone"], dates="day-first", log_id=log_id
        )
        values |= flatten(Job(id=sheet.job_id, climate={log.id: log}))
    return fold(sheet.job_id, values, {})


@cache
def finding_of(name: str, *, told_only: bool = False) -> Finding:
    """What is found of the complaint of an invented job; `told_only`, by the complaint alone."""
    path = data_folder("casebook") / name / "complaint.yaml"
    told = read_complaint(path.read_bytes(), path.name, rules())
    job = invented_job(name)
    place = find_place(job, told.at)
    if told_only:
        intake = Intake(told.symptoms, Place(place.kind), Floor())
    else:
        floor = floor_of(job, place, told.inspected_at.date())
        checks = run_checks(rules(), job, place)
        intake = Intake(told.symptoms, place, floor, checks, job.id, words_at(job, place))
    finding = conclude(
        begin(rules(), intake, () if told_only else told.steps),
        made_at=MADE_AT,
        made_by="inspector",
        title="" if told_only else job.title or "",
        invented=job.invented,
        casebook_head=HEAD,
        case="case-1",
    )
    return replace(finding, edition=EDITION)


def report_of(name: str) -> Report:
    """The report of that finding."""
    return finding_report(finding_of(name), invented_job(name))


def not_settled() -> Report:
    """A finding of a floor without a record, before any question."""
    return finding_report(finding_of("larch-house", told_only=True))


def pack_value(job: Job, call: str = "") -> Pack:
    """The handover pack of a job."""
    made = pack_of(job, rules(), head=HEAD, made_at=MADE_AT, made_by="fitter", call=call)
    return replace(made, edition=EDITION)


def pack_report_of(name: str) -> Report:
    """The report of the handover pack of an invented job."""
    return pack_report(pack_value(invented_job(name)))


@cache
def a_job() -> ModuleType:
    """The module that makes a job by hand."""
    spec = importlib.util.spec_from_file_location("a_job", Path(__file__).with_name("a_job.py"))
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def hostile_pack() -> Report:
    """A pack with hostile text wherever a person may write freely."""
    text = str(a_job().HOSTILE)
    return pack_report(pack_value(a_job().hostile_job(), call=text))


def hostile_finding() -> Report:
    """A finding whose notes, names and title are hostile."""
    text = str(a_job().HOSTILE)
    found = finding_of("larch-house")
    given = AnswerGiven("when-first-seen", text, ("x",), (text,), note=text)
    found = replace(
        found,
        title=text,
        made_by=text,
        answers=(given, *found.answers),
        reasons=tuple(replace(reason, text=text) for reason in found.reasons),
    )
    return finding_report(found, invented_job("larch-house"))


def all_reports() -> dict[str, Report]:
    """Every report that pages are tested with, by name."""
    return {
        "finding": report_of("quayside-office"),
        "not-settled": not_settled(),
        "pack": pack_report_of("larch-house"),
        "bare-pack": pack_report(pack_value(Job(id="bare"))),
        "hostile-pack": hostile_pack(),
        "hostile-finding": hostile_finding(),
        "check": check_report(leave_site(rules(), invented_job("larch-house")), rules()),
    }
