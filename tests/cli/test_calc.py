"""`diagnose calc`: every calculation shows working that a pocket calculator reproduces."""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from diagnose.cli import calc, calc_limits
from diagnose.cli.app import run
from diagnose.physics.worked import CALCULATIONS

# Invented, but for those whose result is published and asserted below.
EXAMPLES: dict[str, list[list[str]]] = json.loads(
    Path(__file__).with_name("calc_examples.json").read_text("utf-8")
)
CALLS = [(name, args) for name, rows in EXAMPLES.items() for args in rows]


@pytest.fixture
def call(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Any:
    """Run the command line and return exit code, standard output and standard error."""

    def at(*args: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["diagnose", "calc", *args])
        with pytest.raises(SystemExit) as ended:
            run()
        out, err = capsys.readouterr()
        code = ended.value.code
        return (0 if code is None else int(code)), out, err

    return at


NAMES: dict[str, Any] = {
    **{name: getattr(math, name) for name in ("sqrt", "exp", "log", "log2", "pi", "ceil", "floor")},
    "max": max,
    "min": min,
    "abs": abs,
    "__builtins__": {},
}


def pocket_calculator(expression: str) -> float:
    """Work out an expression as it is printed, with nothing but what is printed."""
    for printed, typed in (
        ("√", "sqrt"),
        ("×", "*"),
        ("−", "-"),
        ("^", "**"),
        ("π", "pi"),
        ("ln(", "log("),
        (" mod ", " % "),
    ):
        expression = expression.replace(printed, typed)
    return float(eval(expression, NAMES))


def test_every_calculation_has_an_example() -> None:
    assert set(EXAMPLES) == set(CALCULATIONS)


@pytest.mark.parametrize(("name", "args"), CALLS)
def test_working_can_be_redone_from_what_is_printed(call: Any, name: str, args: list[str]) -> None:
    code, out, err = call(name, *args, "--json")
    assert (code, err) == (0, "")
    data = json.loads(out)
    assert data["calculation"] == name
    assert data["formula"]
    redone = 0
    for line in data["working"]:
        label, *expressions, value = line.split(" = ")
        printed = float(value.split()[0])
        for expression in expressions:
            # Six digits are carried from line to line.
            assert pocket_calculator(expression) == pytest.approx(printed, rel=2e-5, abs=2e-4), (
                label
            )
            redone += 1
    if isinstance(data["result"], float):
        assert math.isfinite(data["result"])
    elif name not in ("alkalinity", "porosity", "trip-height"):
        assert redone


@pytest.mark.parametrize(("name", "args"), CALLS)
def test_text_tells_result_inputs_and_formula(call: Any, name: str, args: list[str]) -> None:
    code, out, err = call(name, *args)
    assert (code, err) == (0, "")
    assert out.startswith("result   ")
    assert "\ngiven    " in out
    assert "\nformula  " in out


@pytest.mark.parametrize("name", sorted(CALCULATIONS))
def test_help_of_every_calculation(call: Any, name: str) -> None:
    code, out, _ = call(name, "--help")
    assert code == 0
    assert "--json" in out
    for each in calc.inputs_of(CALCULATIONS[name]):
        assert each.option in out or each.option.upper() in out


@pytest.mark.parametrize(
    ("name", "args", "result"),
    [
        # Kit supplier's page showing ASTM F1869-16a.
        ("emission-rate", ["--gain", "3g", "--exposure", "3days"], 4.9555),
        # Sharma, Wu, Dalal (2005), pair 1.
        ("colour-difference", ["50/2.6772/-79.7751", "50/0/-82.7485"], 2.0425),
        # ISO 105-A02 (1993): a difference of 1.7 is step 4.
        ("grey-scale-grade", ["--difference", "1.7"], 4.0),
        # A German trade article: 1.8 cm too wide.
        ("width-to-trim", ["--width", "392 cm", "--repeat", "195,1 cm"], 18.0),
        # Trade guide: 75 mm sand-cement up to 100 days.
        ("drying-time", ["cement-screed", "--thickness", "75 mm"], 100.0),
    ],
)
def test_published_results(call: Any, name: str, args: list[str], result: float) -> None:
    _, out, _ = call(name, *args, "--json")
    assert json.loads(out)["result"] == pytest.approx(result, abs=5e-5)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (["--air", "68F", "--humidity", "65%"], ["--air", "20", "--humidity", "65 % RH"]),
        (["--air", "20 °C", "--humidity", "65,5"], ["--air", "20", "--humidity", "65.5"]),
    ],
)
def test_units_are_read(call: Any, one: list[str], other: list[str]) -> None:
    assert call("dew-point", *one)[1] == call("dew-point", *other)[1]


REFUSED = [
    (["dew-point", "--air", "20", "--humidity", "640"], "relative humidity in % is 640"),
    (["dew-point", "--air", "20", "--humidity", "0"], "allowed is above 0"),
    (["dew-point", "--air", "20kg", "--humidity", "50"], "'kg' is no unit for this; allowed is °C"),
    (["dew-point", "--air", "warm", "--humidity", "50"], "'warm' is not a number"),
    (["dew-point", "--air", "nan", "--humidity", "50"], "'nan' is not a number"),
    (["dew-point", "--humidity", "50"], "Missing option '--air'"),
    (["roll-mass", "--length", "1,000", "--width", "4", "--mass", "1"], "can be read in two ways"),
    (["stretch", "--before", "1/0", "--after", "4"], "divides by nought"),
    (["drying-time", "mud", "--thickness", "50"], "'mud' is not one of 'cement-screed'"),
    (["notch-spread-rate", "3 by 3"], "not readable; write it as"),
    (["colour-difference", "50/2", "50/0/0"], "is not a colour"),
    (["colour-difference", "50/2/400", "50/0/0"], "b* is 400"),
    (["seam-to-light", "0 4 9 4", "0,0 6,0"], "is not a line"),
    (["seam-to-light", "0,4 0,4", "0,0 6,0"], "a line has no length"),
    (["bow-and-skew", "--breadth", "4000"], "neither bow nor skew"),
    (["grey-scale-grade"], "give the difference, or both colours"),
    (["grey-scale-grade", "--difference", "1", "--one", "50/0/0"], "not both"),
    (["convert", "2", "CM-%", "% RH"], "cannot become"),
    (["convert", "2", "ell", "m"], "unit 'ell' is not known"),
    (["open-time", "--latest", "10", "--earliest", "20"], "earliest in min is 20"),
    (["readings-needed", "as-1884", "--area", "0"], "area in m2 is 0"),
]


@pytest.mark.parametrize(("args", "words"), REFUSED)
def test_impossible_input_gives_one_plain_message(call: Any, args: list[str], words: str) -> None:
    code, out, err = call(*args)
    assert code in (1, 2)
    assert out == ""
    assert words in " ".join(err.split())
    assert "Traceback" not in err
    assert "unexpectedly" not in err


TEXTS = st.one_of(
    st.text(max_size=12),
    st.floats().map(str),
    st.floats(-1e12, 1e12).map(lambda value: f"{value:.3f}"),
    st.sampled_from(["", "-", "1e400", "0", "-0", "1/3 in", "50/0/0", "0,0 1,1", "\x1b[2J", "½"]),
)


@pytest.mark.parametrize("name", sorted(CALCULATIONS))
@settings(
    max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data())
def test_no_text_ends_in_a_traceback(
    call: Any, monkeypatch: pytest.MonkeyPatch, name: str, data: st.DataObject
) -> None:
    monkeypatch.setattr(calc_limits, "limits_of", lambda ids, known: [])
    args = list(data.draw(st.sampled_from(EXAMPLES[name])))
    places = [place for place, arg in enumerate(args) if not arg.startswith("--")]
    for place in data.draw(st.sets(st.sampled_from(places), min_size=1)):
        args[place] = data.draw(TEXTS)
    code, out, err = call(name, *args)
    assert code in (0, 1, 2)
    assert "unexpectedly" not in err
    assert "\x1b" not in out
    assert "nan" not in out.lower()
    if code:
        assert out == ""
        assert "rror: " in err


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["74", "75", "76", "--limit", "75"], "above 75 % RH: does not pass"),
        (["74", "75", "75", "--limit", "75"], "at most 75 % RH: every reading passes"),
    ],
)
def test_the_mean_does_not_decide(call: Any, args: list[str], words: str) -> None:
    assert words in call("highest-reading", *args)[1]


def test_nothing_heavy_is_imported() -> None:
    script = (
        "import sys; from diagnose.cli import calc; "
        "print([name for name in ('numpy', 'shapely', 'networkx', 'rich', 'jinja2') if name in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


def test_no_one_falls_over_a_flush_floor(call: Any) -> None:
    assert "fall" not in call("trip-height", "--height", "0")[1]
    assert "Someone can fall here" in call("trip-height", "--height", "0.5")[1]


def test_a_surplus_from_a_peak_is_a_lower_estimate(call: Any) -> None:
    _, out, _ = call("peak-surplus", "--height", "6")
    assert "at least" in out
    assert "lower estimate" in out
    assert "upper estimate" not in out
    assert "upper estimate" in call("peak-height", "--surplus", "1")[1]


def test_piped_lines_are_no_longer_than_a_piped_screen(call: Any) -> None:
    for name, args in CALLS:
        _, out, _ = call(name, *args)
        assert max(map(len, out.splitlines())) <= 100, name


@pytest.mark.parametrize("columns", [40, 60, 100])
def test_lines_wrap_at_the_width_of_the_screen(columns: int, root: Path) -> None:
    pexpect = pytest.importorskip("pexpect")
    out = pexpect.run(
        f"{sys.executable} -m diagnose calc stretch --before 6000 --after 6048",
        cwd=str(root),
        env={**os.environ, "TERM": "xterm", "COLUMNS": str(columns)},
        timeout=60,
        dimensions=(40, columns),
    ).decode("utf-8")
    lines = [line.rstrip("\r") for line in out.split("\n")]
    assert max(map(len, lines)) <= columns
    assert lines[0] == "result   0.80 %"
    assert any(line.startswith(" " * 9) for line in lines)
