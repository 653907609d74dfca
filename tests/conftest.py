"""Settings for the whole suite: no hidden environment, and no quiet skips in CI."""

from __future__ import annotations

import os
from collections.abc import Generator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SERVICES = ("shared", "browser", "package")


def pytest_addoption(parser: pytest.Parser) -> None:
    """`--golden-update` writes the golden files anew instead of comparing with them."""
    parser.addoption("--golden-update", action="store_true", default=False)


@pytest.fixture(autouse=True)
def _plain_surroundings(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Tests see no casebook, colour or width of the person who runs them."""
    for name in ("DIAGNOSE_CASEBOOK", "DIAGNOSE_WHO", "FORCE_COLOR", "TTY_COMPATIBLE", "NO_COLOR"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.setenv("TERM", "dumb")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.getbasetemp() / "cache"))


@pytest.hookimpl(hookwrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item, call: pytest.CallInfo[None]
) -> Generator[None, pytest.TestReport, None]:
    """Where TESTS_MAY_NOT_SKIP is set, a test that needs a service fails instead of skipping."""
    outcome = yield
    report = outcome.get_result()  # type: ignore[attr-defined]
    needs_service = any(item.get_closest_marker(name) for name in SERVICES)
    if report.skipped and needs_service and os.environ.get("TESTS_MAY_NOT_SKIP"):
        report.outcome = "failed"
        report.longrepr = f"skipped where it may not: {report.longrepr}"


@pytest.fixture(scope="session")
def root() -> Path:
    """The checkout."""
    return ROOT
