"""What the first screens must not import."""

import subprocess
import sys

import pytest

HEAVY = {"numpy", "networkx", "jinja2", "shapely", "fsrs", "psycopg", "typst", "PIL", "yaml"}


@pytest.mark.parametrize("arguments", [["--help"], ["--version"], []])
def test_help_imports_nothing_heavy(arguments):
    code = (
        "import sys; sys.argv = ['diagnose', *sys.argv[1:]]\n"
        "from diagnose.__main__ import main\n"
        "try: main()\n"
        "except SystemExit: pass\n"
        "print('loaded:', *sorted({name.split('.')[0] for name in sys.modules}), file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, *arguments], capture_output=True, text=True, check=True
    )
    loaded = set(done.stderr.split("loaded:")[1].split())
    assert not loaded & HEAVY
    assert "diagnose" in done.stdout


def test_a_job_is_listed_without_the_engine(demo):
    code = (
        "import sys; from diagnose.__main__ import main\n"
        "try: main()\n"
        "except SystemExit: pass\n"
        "print('loaded:', *sorted({name.split('.')[0] for name in sys.modules}), file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, "job", "list", "--json", "--casebook", str(demo)],
        capture_output=True,
        text=True,
        check=True,
    )
    assert not set(done.stderr.split("loaded:")[1].split()) & (HEAVY - {"yaml"})
