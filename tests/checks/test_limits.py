"""Which limit counts: data sheet, contract, code, common practice; others are named."""

from __future__ import annotations

import pytest

from diagnose.checks import choose_limit
from diagnose.errors import Position
from diagnose.record.model import Contract, Job, Lot, Product, Range
from diagnose.rulebook.model import Cite, Limit, LimitValue, Rules

AT = Position("limits.yaml", 1)


def value(
    low: float | None = None,
    high: float | None = None,
    *,
    by: str = "common-practice",
    code: str = "",
    sure: str = "seen",
    when: dict[str, tuple[str, ...]] | None = None,
    ref: str = "a-source",
) -> LimitValue:
    return LimitValue(low, high, by, code, when or {}, sure, Cite(ref, "7.2"), AT)


def limit(*values: LimitValue) -> Limit:
    return Limit("open-time", "open time", "minutes", "min", values, "", AT)


THREE = limit(
    value(high=40, by="common-practice", ref="practice"),
    value(high=30, by="code", ref="general"),
    value(high=20, by="contract-code", code="code-a", ref="code-a"),
)


def test_the_sheet_of_the_lot_comes_first() -> None:
    lot = Lot(id="A1", data_sheet="sheet 7", limits={"open-time": Range(high=25, unit="min")})
    job = Job(id="j", contract=Contract(codes=("code-a",)))
    chosen = choose_limit(THREE, job, (lot,))
    assert chosen is not None
    assert (chosen.high, chosen.used.set_by, chosen.used.source) == (25, "data-sheet", "sheet 7")
    assert chosen.used.sure == "data-sheet"


def test_the_sheet_of_the_carpet_counts_too() -> None:
    job = Job(id="j", product=Product(limits={"open-time": Range(low=5)}))
    chosen = choose_limit(THREE, job)
    assert chosen is not None
    assert (chosen.low, chosen.high, chosen.used.set_by) == (5, None, "data-sheet")


def test_a_code_of_the_contract_comes_before_a_code_in_general() -> None:
    chosen = choose_limit(THREE, Job(id="j", contract=Contract(codes=("code-a",))))
    assert chosen is not None
    assert (chosen.high, chosen.used.set_by) == (20, "contract-code")


def test_a_contract_code_that_is_not_in_the_contract_is_only_named() -> None:
    chosen = choose_limit(THREE, Job(id="j"))
    assert chosen is not None
    assert (chosen.high, chosen.used.set_by) == (30, "code")
    assert chosen.used.others == (
        "at most 40 min (practice, 7.2; seen)",
        "at most 20 min (code-a, 7.2; seen)",
    )


def test_a_general_code_named_in_the_contract_counts_as_the_contract() -> None:
    two = limit(value(high=30, by="code"), value(high=20, by="code", code="code-b"))
    chosen = choose_limit(two, Job(id="j", contract=Contract(codes=("code-b",))))
    assert chosen is not None
    assert (chosen.high, chosen.used.set_by) == (20, "contract-code")


def test_common_practice_is_the_last_resort_and_none_is_none() -> None:
    chosen = choose_limit(limit(value(high=40)), Job(id="j"))
    assert chosen is not None
    assert chosen.used.set_by == "common-practice"
    only = limit(value(high=20, by="contract-code", code="code-a"))
    assert choose_limit(only, Job(id="j")) is None


def test_conditions_choose_among_figures_of_one_rank() -> None:
    two = limit(
        value(high=70, when={"reading": ("hood",)}), value(high=75, when={"reading": ("probe",)})
    )
    for word, high in (("hood", 70), ("probe", 75)):
        chosen = choose_limit(two, Job(id="j"), (), {"reading": word})
        assert chosen is not None
        assert chosen.high == high
    assert choose_limit(two, Job(id="j"), (), {"reading": "box"}) is None


def test_a_figure_whose_conditions_are_known_beats_one_that_is_open() -> None:
    two = limit(value(high=1, when={"edition": ("2011",)}), value(high=2))
    chosen = choose_limit(two, Job(id="j"))
    assert chosen is not None
    assert chosen.high == 2
    chosen = choose_limit(two, Job(id="j"), (), {"edition": "2011"})
    assert chosen is not None
    assert chosen.high == 1


def test_a_side_that_the_sheet_does_not_give_comes_from_the_next_rank() -> None:
    lot = Lot(id="A1", limits={"open-time": Range(low=10)})
    chosen = choose_limit(THREE, Job(id="j"), (lot,), side="high")
    assert chosen is not None
    assert (chosen.high, chosen.used.set_by) == (30, "code")


def test_a_sheet_in_another_unit_is_converted_or_said_not_to_be_comparable() -> None:
    warm = Limit("air", "air", "temperature", "°C", (value(low=18, by="code"),), "", AT)
    sheet = {"air": Range(low=65, unit="°F")}
    chosen = choose_limit(warm, Job(id="j", product=Product(limits=sheet)))
    assert chosen is not None
    assert chosen.low == pytest.approx(18.333, abs=0.001)
    strange = {"air": Range(low=3, unit="CM-%")}
    chosen = choose_limit(warm, Job(id="j", product=Product(limits=strange)))
    assert chosen is not None
    assert (chosen.low, chosen.used.set_by) == (18, "code")
    assert "not comparable" in chosen.used.others[0]


def test_bounds_are_inclusive_and_in_words() -> None:
    chosen = choose_limit(limit(value(5, 30)), Job(id="j"))
    assert chosen is not None
    assert chosen.text() == "5 to 30 min"
    assert chosen.text("high") == "at most 30 min"
    assert chosen.holds(30)
    assert not chosen.holds(30.1)
    assert chosen.holds(30.1, "low")


def test_in_the_rules_sources_that_disagree_are_named(rules: Rules) -> None:
    """CRI Standard (2011) and CRI 105, clauses 9.5 and 6.3, both seen as page copies."""
    chosen = choose_limit(rules.limits["surface-ph-residue"], Job(id="j"))
    assert chosen is not None
    assert chosen.used.text == "at least pH 7"
    assert any("pH 8.5" in other for other in chosen.used.others)
