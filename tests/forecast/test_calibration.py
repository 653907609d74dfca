"""Forecasts keep their word on jobs drawn from the network itself.

Causes are drawn by their priors, the record and the symptoms by the causes;
the forecast sees the record alone.
"""

import numpy as np
import pytest

from diagnose.engine.evidence import CheckSaid
from diagnose.engine.nodes import level_chances
from diagnose.engine.scores import scores
from diagnose.forecast.at_place import at_place, with_few_questions
from diagnose.model import Outcome
from diagnose.record.place import find_place

JOBS = 2500


def drawn_jobs(spot, rng, count):
    """Draw the record (checks in their order) and what shows (symptoms) of many jobs."""
    network = spot.network
    figures = network.figures
    missing = {
        False: figures.number("not_recorded_in_order"),
        True: figures.number("not_recorded_deviation"),
    }
    present = np.zeros((count, network.size), dtype=bool)
    present[:, : network.roots] = rng.random((count, network.roots)) < network.prior
    shows = np.column_stack(
        [
            rng.random(count) >= level_chances(network.symptoms[s], present)[:, 0]
            for s in spot.symptoms
        ]
    )
    records = [[] for _ in range(count)]
    for check, finding in network.checks.items():
        slipped = rng.random(count) >= level_chances(finding, present)[:, 0]
        lost = rng.random(count)
        for record, slip, luck in zip(records, slipped.tolist(), lost, strict=True):
            if luck < missing[slip]:
                record.append(CheckSaid(check, Outcome.NOT_RECORDED))
            else:
                record.append(CheckSaid(check, Outcome.DEVIATES if slip else Outcome.IN_ORDER))
    return records, shows


@pytest.fixture(scope="module")
def said_and_shown(rules, job):
    record = job("larch-house")
    spot = at_place(with_few_questions(rules), record, find_place(record, "seam:S2"))
    records, shows = drawn_jobs(spot, np.random.default_rng(7), JOBS)
    said = np.array([list(spot.forecast_given(each).values()) for each in records])
    return said, shows


def test_forecasts_of_drawn_jobs_are_calibrated(said_and_shown):
    said, shows = said_and_shown
    found = scores(said, shows)
    assert found.count == said.size > 40_000
    assert found.ece <= 0.01
    assert abs(found.z) < 3.5


def test_forecasts_tell_jobs_apart(said_and_shown):
    """Saying the same of every job would be calibrated too, and worth nothing."""
    said, shows = said_and_shown
    usual = np.broadcast_to(shows.mean(axis=0), shows.shape)
    assert scores(said, shows).log_score < 0.97 * scores(usual, shows).log_score


@pytest.mark.parametrize("bend", [0.7, 1.5])
def test_bent_forecasts_are_found_out(said_and_shown, bend):
    said, shows = said_and_shown
    assert scores(said**bend, shows).ece > 0.01
