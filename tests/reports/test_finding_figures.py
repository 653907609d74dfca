"""The figures of a finding: no cause is sure, and no question is praised that tells little."""

from dataclasses import replace
from pathlib import Path

from diagnose.reports.finding_json import finding_from_json
from diagnose.reports.finding_words import finding_blocks, together
from diagnose.reports.markdown import markdown
from diagnose.walk.finding import AnswerGiven

STORED = Path(__file__).parent.parent / "golden" / "finding-not-settled.json"


def finding():
    return finding_from_json(STORED.read_text("utf-8"))


def text_of(made):
    return markdown(finding_blocks(made))


def test_a_cause_is_never_said_to_be_sure():
    made = finding()
    sure = tuple(replace(made.causes[0], probability=chance) for chance in (0.9998, 0.41))
    text = text_of(replace(made, singly=sure))
    assert "over 99 in 100" in text
    assert "100 in 100" not in text


def test_questions_that_would_move_little_are_called_so():
    made = finding()
    now = made.likeliest.probability
    far = tuple(replace(line, hope=now + 0.2) for line in made.would_settle)
    near = tuple(replace(line, hope=now + 0.01) for line in made.would_settle)
    assert "would tell most about it" in text_of(replace(made, would_settle=far))
    assert "No single question is likely" in text_of(replace(made, would_settle=near))


def test_a_note_that_ends_its_sentence_gets_no_second_stop():
    made = finding()
    noted = AnswerGiven("note-1", "Noted:", (), ("Nobody was at home.",))
    text = text_of(replace(made, answers=(noted,)))
    assert "Noted: Nobody was at home.\n" in text


def test_names_of_causes_run_on_in_small_letters():
    assert together(("Cut edges never sealed", "Too little adhesive")) == (
        "Cut edges never sealed together with too little adhesive"
    )
    assert together(()) == "A cause the rules do not know"
