"""What closed and open cases say together, in plain words."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta

import pytest

from diagnose.store.cases import close_case, open_case
from diagnose.store.jobs import import_changes
from diagnose.store.journal import Casebook

START = datetime(2026, 3, 2, 8, tzinfo=UTC)


@pytest.fixture
def year(tmp_path):
    """Forty invented jobs: of batch BAD nearly all came back, of GOOD hardly any."""
    path = tmp_path / "year.db"
    with Casebook.open(path, create=True) as book:
        for number in range(40):
            at = START + timedelta(days=number)
            bad = number < 10
            values = {
                "rolls.R1.batch": "BAD" if bad else "GOOD",
                "lots.A1.batch": f"lot {number % 3}",
                "method": "adhered",
                "product.name": f"cord {number // 2}",
            }
            import_changes(book, f"job-{number}", values, said_by="AB", at=at)
            if (bad and number != 0) or number == 30:
                case = open_case(
                    book, symptoms=["seam-peaking"], at=at, said_by="client", job=f"job-{number}"
                )
                if number < 3:
                    close_case(book, case, ["seam-compression"], how="lifted", said_by="IN", at=at)
    return path


def test_a_batch_that_came_back_stands_out(diagnose, year):
    seen = diagnose("trends", "--casebook", year)
    assert (seen.code, seen.err) == (0, "")
    top, _, rest = seen.out.partition("These can well be chance")
    assert top.splitlines()[0] == "These stand out"
    assert "batch BAD: 9 of 10 jobs with a case, 1 of 30 elsewhere; more than chance" in " ".join(
        top.split()
    )
    assert "fewer than chance explains" in top
    chance, _, few = rest.partition("Too few to say")
    assert "lot LOT 0" in chance
    assert "product cord 0" in few
    assert "product" not in chance + top
    assert "batch BAD" not in chance + few


def test_a_long_list_is_cut_unless_all_is_wanted(diagnose, year):
    seen = diagnose("trends", "--casebook", year)
    assert "more; --all shows them" in seen.out
    every = diagnose("trends", "--all", "--casebook", year)
    assert "--all" not in every.out
    assert every.out.count("product cord") == 20


def test_figures_for_machines(diagnose, year):
    told = json.loads(diagnose("trends", "--json", "--casebook", year).out)
    first = told["groups"][0]
    assert (first["kind"], first["value"], first["stands_out"]) == ("batch", "BAD", True)
    assert (first["cases"], first["jobs"], first["other_cases"], first["other_jobs"]) == (
        9,
        10,
        1,
        30,
    )
    few = [group for group in told["groups"] if group["kind"] == "product"]
    assert all(group["chance"] is None for group in few)
    assert all(group["sentence"].endswith("too few to say") for group in few)
    assert sum(told["established_causes"].values()) == 2


def test_five_jobs_are_too_few_to_say(diagnose, demo):
    seen = diagnose("trends", "--casebook", demo)
    assert seen.code == 0
    assert "Nothing stands out." in seen.out
    assert "Too few to say" in seen.out


def test_one_symptom_alone(diagnose, year):
    none = json.loads(
        diagnose("trends", "--symptom", "fraying-edge", "--json", "--casebook", year).out
    )
    assert all(group["cases"] == 0 for group in none["groups"])
    wrong = diagnose("trends", "--symptom", "fraying-egde", "--casebook", year)
    assert wrong.code == 3
    assert "did you mean fraying-edge" in wrong.err


def test_an_empty_casebook_says_so(diagnose, tmp_path):
    with Casebook.open(tmp_path / "e.db", create=True):
        pass
    seen = diagnose("trends", "--casebook", tmp_path / "e.db")
    assert "No job in the casebook names a batch" in seen.out


def test_stages_are_compared_with_the_other_stages_of_their_jobs(diagnose, year):
    # The cause that the year's closed cases name is none that the rules know.
    told = json.loads(diagnose("trends", "--json", "--casebook", year).out)
    assert not [group for group in told["groups"] if group["kind"] == "stage"]
    with Casebook.open(year) as book:
        for number in range(3, 10):
            values = {"seams.S1.drops": '["D1"]'}
            import_changes(book, f"job-{number}", values, said_by="AB", at=START)
            case = open_case(
                book, symptoms=["fraying-edge"], at=START, said_by="client", job=f"job-{number}"
            )
            close_case(book, case, ["sealer-omitted"], how="lifted", said_by="IN", at=START)
    seen = diagnose("trends", "--casebook", year)
    top = " ".join(seen.out.partition("These can well be chance")[0].split())
    assert "stage sealing: at fault in 7 of 7 jobs that had it" in top
    assert "stage bonding: at fault in 0 of 40 jobs that had it" in " ".join(seen.out.split())
    only = json.loads(
        diagnose("trends", "--symptom", "fraying-edge", "--json", "--casebook", year).out
    )
    (sealing,) = [group for group in only["groups"] if group["value"] == "sealing"]
    assert (sealing["cases"], sealing["jobs"], sealing["other_cases"]) == (7, 7, 0)
