"""Evidence falls into groups by what it asks for."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from firstoff.records.groups import groups


def test_a_chain_is_one_group_and_what_stands_alone_another() -> None:
    assert groups([{"a", "b"}, {"z"}, {"b", "c"}, set(), {"c"}]) == [[0, 2, 4], [1]]


def test_nothing_asked_is_no_group() -> None:
    assert groups([]) == [] and groups([set(), set()]) == []


@given(st.lists(st.sets(st.integers(0, 12), max_size=4), min_size=1, max_size=12))
def test_groups_are_what_powers_of_the_shared_figures_reach(asked: list[set[int]]) -> None:
    tied = np.array([[bool(one & other) for other in asked] for one in asked], dtype=float)
    reached = np.linalg.matrix_power(tied, len(asked)) > 0.0
    found = groups(asked)
    assert sorted(i for group in found for i in group) == [i for i, names in enumerate(asked) if names]
    for group in found:
        assert list(np.flatnonzero(reached[group[0]])) == group
