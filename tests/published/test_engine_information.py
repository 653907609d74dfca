"""Published figures of information and words."""

from __future__ import annotations

import math
import shutil

import pytest

from diagnose.data import data_folder
from diagnose.engine.posterior import infer
from diagnose.engine.ranking import rank
from diagnose.engine.words import probability_word, weight_word
from diagnose.rulebook.load import load_rules
from tests.engine.by_hand import finding, network, question

# Fourteen days, nine with play and five without (Quinlan; Mitchell): counts of each value
# (play, no play).  From memory, to be verified; the gains are recomputed from the counts.
DAYS = {
    "outlook": ([(2, 3), (4, 0), (3, 2)], 0.2467),
    "humidity": ([(3, 4), (6, 1)], 0.1518),
    "wind": ([(6, 2), (3, 3)], 0.0481),
    "temperature": ([(2, 2), (4, 2), (3, 1)], 0.0292),
}


def test_gain_of_the_fourteen_days_by_ranking():
    asked = []
    for name, (counts, _) in DAYS.items():
        play = [yes / 9 for yes, _ in counts]
        none = [no / 5 for _, no in counts]
        answers = [f"value-{n}" for n in range(1, len(counts))]
        asked.append(
            question(name, answers, finding(f"question:{name}", {0: play}, none, mixture=True))
        )
    symptom = finding("symptom:s", {0: (0.5, 0.0, 0.5)}, (0.5, 0.0, 0.5))
    net = network({"play": 9 / 14}, symptoms={"s": symptom}, questions=asked)
    worths = {worth.question: worth.gain_bit for worth in rank(infer(net, []), DAYS)}
    assert worths == pytest.approx({name: gain for name, (_, gain) in DAYS.items()}, abs=5e-5)


def test_a_question_that_tells_everything_gains_the_whole_uncertainty():
    # H(9/14) = .9403 bit, same source.
    tells = question("tells", ["yes"], finding("question:tells", {0: (0, 1)}, (1, 0), mixture=True))
    symptom = finding("symptom:s", {0: (0.5, 0.0, 0.5)}, (0.5, 0.0, 0.5))
    net = network({"play": 9 / 14}, symptoms={"s": symptom}, questions=[tells])
    worth = rank(infer(net, []), ["tells"])[0]
    assert worth.gain_bit == pytest.approx(0.9403, abs=5e-5)
    assert worth.hope == pytest.approx(1.0, abs=1e-12)


# scikit-learn 1.9.1 documentation, mutual_info_score and its kind: the example of the user guide,
# labels (0, 0, 1, 1, 0, 1) and (0, 0, 0, 1, 1, 1): .0566 nat.
def test_mutual_information_of_six_labels():
    counted = {(0, 0): 2, (0, 1): 1, (1, 0): 1, (1, 1): 2}
    ones = [counted[1, 0] / 3, counted[1, 1] / 3]
    noughts = [counted[0, 0] / 3, counted[0, 1] / 3]
    label = question("label", ["one"], finding("question:l", {0: ones}, noughts, mixture=True))
    symptom = finding("symptom:s", {0: (0.5, 0.0, 0.5)}, (0.5, 0.0, 0.5))
    net = network({"true": 0.5}, symptoms={"s": symptom}, questions=[label])
    worth = rank(infer(net, []), ["label"])[0]
    assert worth.gain_bit * 0.6931471805599453 == pytest.approx(0.0566, abs=5e-5)


@pytest.fixture(scope="module")
def scale(tmp_path_factory):
    folder = tmp_path_factory.mktemp("rules")
    shutil.copy(data_folder("rules") / "scale.yaml", folder / "scale.yaml")
    return load_rules(folder).scale


# ENFSI guideline for evaluative reporting (2015), verbal equivalents of likelihood ratios;
# second-hand, the original was not opened.
@pytest.mark.parametrize(
    ("ratio", "word"),
    [
        (2, "weak"),
        (10, "weak"),
        (11, "moderate"),
        (500, "moderately strong"),
        (5_000, "strong"),
        (500_000, "very strong"),
        (5_000_000, "extremely strong"),
    ],
)
def test_words_of_likelihood_ratios(scale, ratio, word):
    log10 = math.log10(ratio)
    assert weight_word(scale, log10) == word
    assert weight_word(scale, -log10) == word


# Renooij and Witteman (1999), IJAR 22, 169-194: (almost) certain 100, probable 85, expected 75,
# fifty-fifty 50, uncertain 25, improbable 15, (almost) impossible 0 %; values second-hand.
@pytest.mark.parametrize(
    ("percent", "word"),
    [
        (100, "almost certain"),
        (85, "probable"),
        (75, "expected"),
        (50, "fifty-fifty"),
        (25, "uncertain"),
        (15, "improbable"),
        (0, "almost impossible"),
    ],
)
def test_words_of_probabilities(scale, percent, word):
    assert probability_word(scale, percent / 100) == word
