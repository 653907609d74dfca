"""A headless Chromium, spoken to over its driver, and pages of reports to look at."""

from __future__ import annotations

import importlib.util
import json
import os
import shutil
import socket
import subprocess
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

ARGUMENTS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
)
AXE_RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


class Browser:
    """One session of Chromium."""

    def __init__(self, address: str, profile: str) -> None:
        self.address = address
        options = {"args": [*ARGUMENTS, f"--user-data-dir={profile}"]}
        wanted = {
            "browserName": "chrome",
            "goog:chromeOptions": options,
            "goog:loggingPrefs": {"performance": "ALL", "browser": "ALL"},
        }
        made = self._call("POST", "/session", {"capabilities": {"alwaysMatch": wanted}})
        self.session = f"/session/{made['sessionId']}"

    def open(self, page: Path, *, width: int, scheme: str) -> None:
        """Open a page of ours at a width, in light or dark, and forget what came before."""
        metrics = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": False}
        self.devtools("Emulation.setDeviceMetricsOverride", metrics)
        feature = {"name": "prefers-color-scheme", "value": scheme}
        self.devtools("Emulation.setEmulatedMedia", {"features": [feature]})
        self.log("performance")
        self.log("browser")
        self._call("POST", f"{self.session}/url", {"url": page.as_uri()})

    def run(self, script: str, *arguments: Any) -> Any:
        """Run a function body in the page and return what it returns."""
        given = {"script": script, "args": list(arguments)}
        return self._call("POST", f"{self.session}/execute/sync", given)

    def axe(self, source: str) -> list[dict[str, Any]]:
        """Return the violations that axe-core finds."""
        self.run(source)
        script = (
            "const done = arguments[arguments.length - 1];"
            "axe.run(document, {runOnly: arguments[0]}).then(r => done(r.violations));"
        )
        given = {"script": script, "args": [AXE_RULES]}
        found: list[dict[str, Any]] = self._call("POST", f"{self.session}/execute/async", given)
        return found

    def requests(self) -> list[str]:
        """Return the address of every request since the page was opened."""
        sent = []
        for line in self.log("performance"):
            message = json.loads(line["message"])["message"]
            if message["method"] == "Network.requestWillBeSent":
                sent.append(str(message["params"]["request"]["url"]))
        return sent

    def log(self, kind: str) -> list[dict[str, Any]]:
        """Return and empty one of the logs of the browser."""
        found: list[dict[str, Any]] = self._call("POST", f"{self.session}/se/log", {"type": kind})
        return found

    def devtools(self, command: str, given: dict[str, Any]) -> Any:
        """Send a command of the developer tools."""
        body = {"cmd": command, "params": given}
        return self._call("POST", f"{self.session}/goog/cdp/execute", body)

    def close(self) -> None:
        """End the session."""
        self._call("DELETE", self.session, None)

    def _call(self, method: str, path: str, body: dict[str, Any] | None) -> Any:
        data = None if body is None else json.dumps(body).encode()
        asked = urllib.request.Request(self.address + path, data, method=method)
        asked.add_header("Content-Type", "application/json")
        try:
            with urllib.request.urlopen(asked, timeout=120) as answer:
                return json.load(answer)["value"]
        except urllib.error.HTTPError as error:
            raise AssertionError(error.read().decode()) from None


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """A running Chromium; the tests that need one are skipped where there is none."""
    driver = shutil.which("chromedriver")
    if driver is None or shutil.which("chromium") is None:
        pytest.skip("Chromium and its driver are not installed")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    with tempfile.TemporaryDirectory() as profile:
        process = subprocess.Popen(
            [driver, f"--port={port}"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        try:
            address = f"http://127.0.0.1:{port}"
            _wait_for(address)
            found = Browser(address, profile)
            yield found
            found.close()
        finally:
            process.terminate()
            process.wait(timeout=20)


def _wait_for(address: str) -> None:
    for _ in range(200):
        try:
            with urllib.request.urlopen(f"{address}/status", timeout=5):
                return
        except OSError:
            time.sleep(0.05)
    raise AssertionError("the driver of Chromium did not start")


@pytest.fixture(scope="session")
def axe() -> str:
    """The source of axe-core."""
    named = os.environ.get("AXE_CORE_JS", "")
    if not named or not Path(named).is_file():
        pytest.skip("AXE_CORE_JS does not name a file of axe-core")
    return Path(named).read_text("utf-8")


@pytest.fixture(scope="session")
def made() -> ModuleType:
    """The module that makes the reports."""
    path = Path(__file__).parents[1] / "reports" / "the_reports.py"
    spec = importlib.util.spec_from_file_location("the_reports", path)
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def pages(made: ModuleType, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Every report as a page on disk, by name."""
    from diagnose.reports.html import html_page

    folder = tmp_path_factory.mktemp("pages")
    found = {}
    for name, report in made.all_reports().items():
        found[name] = folder / f"{name}.html"
        found[name].write_text(html_page(report), "utf-8")
    return found
