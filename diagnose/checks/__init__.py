"""The record at a place compared with limits: each check gives a result with its working.

`run_checks` asks every check of the rules at a place; `run_check` asks one
check of one part; `choose_limit` says which source's figure counts.
"""

from diagnose.checks.limits import Chosen, choose_limit
from diagnose.checks.parts import Part, select_parts
from diagnose.checks.registry import CALCULATIONS
from diagnose.checks.run import check_at, run_check, run_checks

__all__ = [
    "CALCULATIONS",
    "Chosen",
    "Part",
    "check_at",
    "choose_limit",
    "run_check",
    "run_checks",
    "select_parts",
]
