"""The invented jobs as they were when the fitters left."""

from __future__ import annotations

from functools import cache

import pytest

from diagnose.data import data_folder
from diagnose.forecast.leave_site import leave_site
from diagnose.record.fold import fold
from diagnose.record.sheet import read_sheet
from diagnose.rulebook.load import load_rules


@cache
def the_rules():
    return load_rules(data_folder("rules"))


@cache
def the_job(name):
    sheet = read_sheet((data_folder("casebook") / name / "job.yaml").read_bytes(), "job.yaml")
    return fold(sheet.job_id, sheet.texts(), {})


@pytest.fixture(scope="session")
def rules():
    return the_rules()


@pytest.fixture(scope="session")
def job():
    return the_job


@cache
def the_check(name):
    return leave_site(the_rules(), the_job(name))


@pytest.fixture(scope="session")
def checked():
    """The check before leaving site of a whole job."""
    return the_check
