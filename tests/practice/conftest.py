"""The rules that ship, and rounds played by three kinds of learner."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from diagnose.data import data_folder
from diagnose.practice.best import best_path
from diagnose.practice.chance import shuffled, stream
from diagnose.practice.draw import Order, PracticeCase, draw_case, network_of
from diagnose.practice.fault import Curriculum, Difficulty
from diagnose.practice.play import MoveError, Round, Stated, ask, start, stop
from diagnose.rulebook.load import load_rules
from diagnose.rulebook.model import Rules


@pytest.fixture(scope="session")
def rules() -> Rules:
    """The rules that ship with the program."""
    return load_rules(data_folder("rules"))


@pytest.fixture(scope="session")
def case(rules: Rules) -> Callable[..., PracticeCase]:
    """Draw a case by seed, difficulty and causes."""

    def drawn(
        seed: int, difficulty: str = "one-cause", *, about: tuple[str, ...] = ()
    ) -> PracticeCase:
        return draw_case(rules, Order(seed, Difficulty(difficulty), Curriculum(causes=about)))

    return drawn


@pytest.fixture(scope="session")
def by_policy(rules: Rules) -> Callable[[PracticeCase], Round]:
    """Play a case as the engine would, and state what it finds."""

    def played(case: PracticeCase) -> Round:
        network = network_of(rules, case)
        path = best_path(rules, network, start(case))
        round_ = start(case)
        for question in path.questions:
            round_ = ask(rules, network, round_, question)
        causes = path.found.causes or (next(iter(network.causes)),)
        remedy = next(iter(rules.causes[causes[0]].remedies), "")
        return stop(rules, round_, Stated(causes, round(100 * path.found.probability), remedy))

    return played


@pytest.fixture(scope="session")
def at_random(rules: Rules) -> Callable[[PracticeCase], Round]:
    """Ask anything, skip every caution, guess a cause and be sure of it."""

    def played(case: PracticeCase) -> Round:
        network = network_of(rules, case)
        rng = stream("at random", case.name)
        round_ = start(case)
        for question in shuffled(rng, network.questions)[:8]:
            try:
                round_ = ask(rules, network, round_, question, caution_read=False)
            except MoveError:
                continue
        guess = network.causes[shuffled(rng, sorted(network.candidates))[0]]
        return stop(rules, round_, Stated((guess,), 90))

    return played
