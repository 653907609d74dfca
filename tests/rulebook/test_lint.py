"""Each broken set of rules gives exactly the messages that stand beside it.

A set is the sound one with the files of its folder laid over it.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from diagnose.errors import InputError, Problem
from diagnose.rulebook.cases import load_cases
from diagnose.rulebook.lint import LOOKS, lint, lint_by_name
from diagnose.rulebook.lint.pairs import hardest_pairs, separations
from diagnose.rulebook.lint.telling import check_gain, gain_bits, question_gain
from diagnose.rulebook.load import load_rules
from diagnose.rulebook.model import Rules

BROKEN = Path(__file__).parents[1] / "broken" / "rules"
SOUND = BROKEN / "sound"
NAMES = sorted(path.name for path in BROKEN.iterdir() if path.is_dir() and path != SOUND)


def laid_over(name: str, folder: Path) -> Path:
    """Return a copy of the sound rules with one broken set laid over them."""
    rules = folder / "rules"
    shutil.copytree(SOUND, rules)
    shutil.copytree(BROKEN / name, rules, dirs_exist_ok=True)
    return rules


def problems_of(folder: Path) -> tuple[Problem, ...]:
    try:
        rules = load_rules(folder)
        return lint(rules, load_cases(folder, rules))
    except InputError as error:
        return error.problems


@pytest.fixture(scope="module")
def sound() -> Rules:
    return load_rules(SOUND)


def test_sound_rules_are_sound(sound: Rules) -> None:
    assert not lint(sound, load_cases(SOUND, sound))


@pytest.mark.parametrize("name", NAMES)
def test_a_broken_set_says_what_is_wrong(name: str, tmp_path: Path) -> None:
    found = "\n".join(str(problem) for problem in problems_of(laid_over(name, tmp_path)))
    assert f"{found}\n" == (BROKEN / f"{name}.expected.txt").read_text("utf-8")


def test_every_expectation_has_its_set() -> None:
    expected = {path.name.removesuffix(".expected.txt") for path in BROKEN.glob("*.txt")}
    assert expected == set(NAMES)


def test_every_rule_of_soundness_has_a_broken_set(tmp_path: Path) -> None:
    told: set[str] = set()
    for name in NAMES:
        folder = laid_over(name, tmp_path / name)
        try:
            rules = load_rules(folder)
            found = lint_by_name(rules, load_cases(folder, rules))
        except InputError:
            continue
        told |= {rule for rule, problems in found.items() if problems}
    assert told == {look.__name__ for look in LOOKS}


@pytest.mark.parametrize("look", LOOKS, ids=lambda look: look.__name__)
def test_every_rule_of_soundness_says_what_it_holds(look: object) -> None:
    assert (look.__doc__ or "").strip().endswith(".")


def test_information_of_a_fair_and_a_useless_answer() -> None:
    assert gain_bits((1, 0), (0, 1)) == 1
    assert gain_bits((0.3, 0.7), (0.3, 0.7)) == pytest.approx(0)
    # by hand: H(0.325) - (H(0.6) + H(0.05)) / 2 with the binary entropy H
    assert gain_bits((0.6, 0.4), (0.05, 0.95)) == pytest.approx(0.2811, abs=5e-5)


def test_a_question_parts_the_causes_it_speaks_of(sound: Rules) -> None:
    asked = sound.questions["shape-of-the-ridge"]
    gain = question_gain(sound.scale, asked, "edges-too-full", "blade-blunt", {})
    assert gain > 0.05
    assert question_gain(sound.scale, asked, "blade-blunt", "blade-blunt", {}) == 0


def test_a_check_parts_what_it_backs_from_what_it_does_not(sound: Rules) -> None:
    check = sound.checks["blade-changed"]
    # by hand: 0.85 against the false alarms of 0.05
    gain = check_gain(sound.scale, check, "blade-blunt", "edges-too-full")
    assert gain == pytest.approx(gain_bits((0.85, 0.15), (0.05, 0.95)))
    assert check_gain(sound.scale, check, "edges-too-full", "no-such-cause") == 0


def test_a_pair_is_looked_at_only_where_both_can_be(sound: Rules) -> None:
    found = list(separations(sound))
    assert [(each.symptom, each.method) for each in found] == [("seam-peaking", "adhered")]
    assert found[0].pair == ("blade-blunt", "edges-too-full")


def test_the_hardest_pairs_come_with_the_look_that_parts_them_best(tmp_path: Path) -> None:
    rules = load_rules(laid_over("not-parted", tmp_path))
    (pair,) = hardest_pairs(rules, 3)
    assert pair.bits < 0.05
    assert pair.best in rules.questions
