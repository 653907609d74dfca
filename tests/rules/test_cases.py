"""Every case beside the rules comes out as it says.

Check: the expected causes are the trade's own, from the sources named in the
rules or from common practice, no source; they were written before the engine
ran on them.
"""

from functools import cache
from pathlib import Path

import pytest

from diagnose.data import data_folder
from diagnose.engine.evidence import Answered, NotMentioned, SymptomSeen
from diagnose.engine.network import build
from diagnose.engine.posterior import infer
from diagnose.model import Floor
from diagnose.rulebook.cases import read_cases
from diagnose.rulebook.load import load_rules

RULES = Path(__file__).parents[2] / "rules"
HEADLINE = (
    "seam-peaking",
    "fraying-edge",
    "adhesive-bleed",
    "edge-lift-at-seam",
    "edge-lift-at-perimeter",
    "shading",
)


@cache
def rules():
    return load_rules(data_folder("rules"))


def cases_of(path):
    return read_cases(path.read_bytes(), str(path.relative_to(RULES.parent)), rules())


def leading(case):
    network = build(rules(), Floor(case.floor), symptoms=case.seen, place_kind=case.place)
    seen = [SymptomSeen(symptom) for symptom in case.seen]
    answers = [Answered(question, given) for question, given in case.answers.items()]
    return infer(network, [*seen, NotMentioned(), *answers]).explanations[0].causes


@pytest.mark.parametrize(
    "path",
    sorted(RULES.rglob("*.cases.yaml")),
    ids=lambda path: str(path.relative_to(RULES)).removesuffix(".cases.yaml"),
)
def test_cases_come_out(path):
    wrong = []
    for case in cases_of(path):
        causes = leading(case)
        for word, cause in case.expect.items():
            if (cause in causes) != (word == "first"):
                wrong.append(f"{case.at}: {case.name}: came out {', '.join(causes) or 'nothing'}")
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("symptom", HEADLINE)
def test_a_headline_symptom_has_cases_both_ways(symptom):
    found = [c for p in RULES.rglob("*.cases.yaml") for c in cases_of(p) if symptom in c.seen]
    expected = {word for case in found for word in case.expect}
    assert expected == {"first", "not_first"}


def test_answers_change_what_comes_first():
    case = next(iter(cases_of(RULES / "causes" / "cutting.cases.yaml")))
    bare = build(rules(), Floor(case.floor), symptoms=case.seen, place_kind=case.place)
    posterior = infer(bare, [*map(SymptomSeen, case.seen), NotMentioned()])
    assert posterior.explanations[0].probability < 0.6
