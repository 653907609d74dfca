"""Floors that two rules share, and the facet that parts them."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from diagnose.model import FACET_VALUES, Facet, Floor
from diagnose.rulebook.applies import apart, applies_to, overlap

conditions = st.dictionaries(
    st.sampled_from([Facet.METHOD, Facet.PILE, Facet.HEATING]), st.none(), max_size=3
).flatmap(
    lambda facets: st.fixed_dictionaries(
        {
            facet: st.lists(
                st.sampled_from(FACET_VALUES[facet]), min_size=1, max_size=3, unique=True
            ).map(tuple)
            for facet in facets
        }
    )
)
floors = st.fixed_dictionaries(
    {facet: st.sampled_from(FACET_VALUES[facet]) for facet in (Facet.METHOD, Facet.PILE)}
).map(Floor)


@given(conditions, conditions, floors)
def test_a_floor_of_both_is_a_floor_of_the_overlap(one, other, floor):
    both = overlap(one, other)
    if applies_to(one, floor) and applies_to(other, floor) and both is not None:
        assert applies_to(both, floor)
    if both is not None and applies_to(both, floor):
        assert applies_to(one, floor)
        assert applies_to(other, floor)


@given(conditions, conditions)
def test_there_is_no_overlap_exactly_where_a_facet_parts_them(one, other):
    assert (overlap(one, other) is None) == (apart(one, other) is not None)


def test_the_facet_that_parts_two_rules_is_named():
    one, other = {Facet.METHOD: ("tile",)}, {Facet.METHOD: ("adhered",), Facet.PILE: ("loop",)}
    assert apart(one, other) is Facet.METHOD
