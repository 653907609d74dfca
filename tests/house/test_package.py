"""The built wheel works on its own: installed elsewhere, run from another folder."""

from __future__ import annotations

import os
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [
            sys.executable,
            "-m",
            "build",
            "--wheel",
            "--no-isolation",
            "--outdir",
            str(out),
            str(ROOT),
        ],
        check=True,
        capture_output=True,
        text=True,
    )
    return next(out.glob("*.whl"))


@pytest.mark.package
def test_the_wheel_carries_rules_and_casebook_but_no_cases(wheel: Path) -> None:
    names = zipfile.ZipFile(wheel).namelist()
    assert any(name.startswith("diagnose/_data/rules/causes/") for name in names)
    assert any(name.startswith("diagnose/_data/casebook/") for name in names)
    assert not [name for name in names if name.endswith(".cases.yaml")]
    tops = {name.split("/")[0] for name in names}
    assert "rules" not in tops
    assert "casebook" not in tops


@pytest.mark.package
def test_the_demo_runs_from_the_installed_wheel_in_another_folder(
    wheel: Path, tmp_path: Path
) -> None:
    home = tmp_path / "env"
    venv.create(home, with_pip=False, system_site_packages=False)
    python = home / "bin" / "python"
    install = [sys.executable, "-m", "pip", "--python", str(python), "install", "--quiet"]
    subprocess.run([*install, str(wheel)], check=True, capture_output=True, text=True)
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    clean = {key: value for key, value in os.environ.items() if not key.startswith("PYTHON")}
    clean |= {"COLUMNS": "100", "XDG_DATA_HOME": str(tmp_path), "XDG_CACHE_HOME": str(tmp_path)}
    done = subprocess.run(
        [str(home / "bin" / "diagnose"), "demo", str(tmp_path / "demo")],
        cwd=elsewhere,
        env=clean,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert "invented" in done.stdout.lower()
    import_rules = subprocess.run(
        [str(python), "-c", "import rules"],
        cwd=elsewhere,
        env=clean,
        capture_output=True,
        check=False,
    )
    assert import_rules.returncode != 0
