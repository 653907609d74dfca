"""Reports of invented jobs, for every test of reports."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest


@pytest.fixture(scope="session")
def made() -> ModuleType:
    """The module that makes the reports."""
    path = Path(__file__).with_name("the_reports.py")
    spec = importlib.util.spec_from_file_location("the_reports", path)
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
