"""What only the one who answers needs is left out of a finding."""

from diagnose.walk.steps import in_short


def test_the_hint_to_tick_several_is_left_out_and_nothing_else_is():
    assert in_short("What was tried? Tick all that fit.") == "What was tried?"
    assert in_short("Is it one room?") == "Is it one room?"
