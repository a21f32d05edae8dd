"""Rows of a belief: margins, parents, choices, and that nothing moves that should not."""

from __future__ import annotations

from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.belief import (
    DERIVED,
    Belief,
    Choice,
    Column,
    Level,
    LogNormal,
    Normal,
    Rows,
    low_median_high,
    watched,
)
from firstoff.errors import NameUnknown

STEEL = Column("material:steel", "tangential", "Pa", Level.SHOP, LogNormal(2e9, 1.3), (("material:steel", "batch"),))
BATCH = Column("material:steel", "batch", "1", Level.BATCH, LogNormal(1.0, 1.1))
BRASS = Column("material:brass", "tangential", "Pa", Level.SHOP, LogNormal(1e9, 1.5))
SQUARE = Column("machine:mill", "squareness", "1", Level.MACHINE, Normal(0.0, 2e-4))
BOTH = Column("material:bar", "which", "1", Level.BATCH, Choice(("material:steel", "material:brass"), (3.0, 1.0)))
ALL = (STEEL, BATCH, BRASS, SQUARE, BOTH)

names = st.text("abcdefgh:_", min_size=1, max_size=12)


@given(names, names, st.integers(0, 2**31), st.sampled_from([64, 256, 1001]))
def test_a_new_column_moves_no_other_row(entity: str, parameter: str, seed: int, rows: int) -> None:
    belief = Belief.of(ALL, rows, seed)
    more = belief.extend([Column(entity, parameter, "1", Level.SHOP, Normal(0.0, 1.0))])
    first = Belief.of([Column(entity, parameter, "1", Level.SHOP, Normal(0.0, 1.0)), *reversed(ALL)], rows, seed)
    for column in ALL:
        assert np.array_equal(more.value(*column.key), belief.value(*column.key))
        assert np.array_equal(first.value(*column.key), belief.value(*column.key))
        assert more.digest_of([column.key]) == belief.digest_of([column.key])


@given(st.integers(0, 2**31))
def test_the_same_seed_gives_the_same_rows(seed: int) -> None:
    one, other = Belief.of(ALL, 256, seed), Belief.of(ALL, 256, seed)
    assert one.digest == other.digest
    for column in ALL:
        assert np.array_equal(one.value(*column.key), other.value(*column.key))


def test_another_seed_gives_other_rows_of_the_same_margin() -> None:
    one, other = Belief.of(ALL, seed=1).z(BRASS.key), Belief.of(ALL, seed=2).z(BRASS.key)
    assert not np.array_equal(one, other)
    assert np.array_equal(np.sort(one), np.sort(other))


def test_every_margin_is_exactly_stratified() -> None:
    rows = 1000
    scores = [NormalDist().inv_cdf((i + 0.5) / rows) for i in range(rows)]
    belief = Belief.of(ALL, rows)
    for column in ALL:
        assert np.sort(belief.z(column.key)) == pytest.approx(scores, abs=1e-12)


def test_columns_are_not_tied_to_each_other() -> None:
    belief = Belief.of(ALL, 4096)
    z = np.array([belief.z(column.key) for column in ALL])
    beside = np.corrcoef(z) - np.eye(len(ALL))
    assert np.abs(beside).max() < 4.0 / np.sqrt(4096)


def test_parents_multiply_a_log_normal_and_are_added_to_a_normal() -> None:
    tilt = Column("setting:1", "tilt", "1", Level.SETTING, Normal(1e-4, 1e-5), (SQUARE.key,))
    belief = Belief.of([*ALL, tilt])
    own = STEEL.transform.value(belief.z(STEEL.key))
    assert belief.value(*STEEL.key) == pytest.approx(own * belief.value(*BATCH.key), rel=1e-14)
    own = tilt.transform.value(belief.z(tilt.key))
    assert belief.value(*tilt.key) == pytest.approx(own + belief.value(*SQUARE.key), rel=1e-14)


def test_the_spread_of_parents_and_child_adds_in_the_log() -> None:
    belief = Belief.of(ALL, 2**15)
    sd = float(np.log(belief.value(*STEEL.key)).std())
    assert sd == pytest.approx(np.hypot(np.log(1.3), np.log(1.1)), rel=0.01)


@given(st.lists(st.floats(0.05, 1.0), min_size=2, max_size=6))
def test_a_choice_comes_as_often_as_its_weight(weights: list[float]) -> None:
    rows = 2000
    choice = Choice(tuple(f"material:{i}" for i in range(len(weights))), tuple(weights))
    belief = Belief.of([Column("material:bar", "which", "1", Level.BATCH, choice)], rows)
    index = belief.value("material:bar", "which")
    for i, weight in enumerate(weights):
        assert np.count_nonzero(index == i) == pytest.approx(rows * weight / sum(weights), abs=1.01)


def test_a_mixture_takes_each_row_from_the_one_that_is_chosen() -> None:
    belief = Belief.of(ALL)
    which = belief.value("material:bar", "which")
    expected = np.where(which == 0, belief.value(*STEEL.key), belief.value(*BRASS.key))
    assert np.array_equal(belief.value("material:bar", "tangential"), expected)
    assert belief.has("material:bar", "tangential")


def test_what_was_asked_before_is_kept_and_nobody_writes_over_it() -> None:
    belief = Belief.of(ALL)
    rows = belief.value(*STEEL.key)
    assert belief.value(*STEEL.key) is rows
    with pytest.raises(ValueError, match="read-only"):
        rows *= 2.0
    moved = belief.with_moved({BATCH.key: belief.z(BATCH.key) + 0.5})
    assert not np.array_equal(moved.value(*STEEL.key), rows), "moved columns are not what was kept before"


def test_thinned_rows_are_the_same_rows() -> None:
    belief = Belief.of(ALL)
    index = np.arange(0, belief.rows, 7)
    thin = belief.thinned(index)
    assert thin.rows == len(index)
    for key in [*(c.key for c in ALL), ("material:bar", "tangential")]:
        assert np.array_equal(thin.value(*key), belief.value(*key)[index])


def test_a_moved_column_moves_what_depends_on_it_and_nothing_else() -> None:
    belief = Belief.of(ALL)
    moved = belief.with_moved({BATCH.key: belief.z(BATCH.key) + 0.5})
    assert moved.value(*STEEL.key) == pytest.approx(belief.value(*STEEL.key) * 1.1**0.5, rel=1e-12)
    assert np.array_equal(moved.value(*BRASS.key), belief.value(*BRASS.key))


def test_a_digest_changes_with_its_own_columns_only() -> None:
    belief = Belief.of(ALL)
    moved = belief.with_moved({BATCH.key: belief.z(BATCH.key) + 0.5})
    assert moved.digest_of([BATCH.key]) != belief.digest_of([BATCH.key])
    assert moved.digest_of([STEEL.key]) != belief.digest_of([STEEL.key]), "through its parent"
    assert moved.digest_of([BRASS.key]) == belief.digest_of([BRASS.key])
    wider = Belief.of([Column(*BRASS.key, "Pa", Level.SHOP, LogNormal(1e9, 1.6))])
    assert wider.digest_of([BRASS.key]) != belief.digest_of([BRASS.key])
    assert Belief.of(ALL, seed=1).digest != belief.digest
    assert Belief.of(ALL, rows=64).digest != belief.digest


def test_a_mixture_depends_on_what_it_may_choose() -> None:
    belief = Belief.of(ALL)
    moved = belief.with_moved({BATCH.key: belief.z(BATCH.key) + 0.5})
    key = ("material:bar", "tangential")
    assert not np.array_equal(moved.value(*key), belief.value(*key))
    assert moved.digest_of([key]) != belief.digest_of([key])


def test_what_is_not_believed_is_told() -> None:
    belief = Belief.of(ALL)
    with pytest.raises(NameUnknown, match="'radial'"):
        belief.value("material:steel", "radial")
    with pytest.raises(NameUnknown, match="'radial'"):
        belief.column("material:steel", "radial")
    assert not belief.has("material:steel", "radial")


def test_without_words_it_is_the_same_belief() -> None:
    plain = Belief.of(ALL)
    silent = plain.wordless().thinned([1, 5])
    assert plain.words and not silent.words and silent.rows == 2
    assert plain.wordless() == plain and plain.wordless().digest == plain.digest


def test_rows_cannot_be_written_into() -> None:
    with pytest.raises(ValueError, match="read-only"):
        Belief.of(ALL).z(BATCH.key)[0] = 0.0


def test_low_median_high_of_a_straight_line() -> None:
    assert low_median_high(np.linspace(0.0, 100.0, 1001)) == pytest.approx((5.0, 50.0, 95.0))


def test_watched_notes_what_is_asked_and_says_the_same() -> None:
    plain = Belief.of(ALL, 64)
    watch = watched(plain)
    assert np.array_equal(watch.value("material:bar", "tangential"), plain.value("material:bar", "tangential"))
    assert watch.has("gone", "by") is False
    assert watch.column("machine:mill", "squareness") is plain.columns[SQUARE.key]
    assert watch.asked >= {BOTH.key, STEEL.key, BRASS.key, BATCH.key, ("gone", "by"), SQUARE.key}
    assert SQUARE.key not in watched(plain).asked


def test_what_was_computed_before_is_noted_too() -> None:
    plain = Belief.of(ALL, 64)
    watch = watched(plain)
    watch.note([STEEL.key])
    plain.note([STEEL.key])
    assert watch.asked == {STEEL.key}
    assert watch.same(plain) and plain.same(watch.wordless()) and not plain.same(plain.thinned(range(8)))


def test_what_is_derived_is_computed_once_and_noted_by_all_that_ask() -> None:
    plain, computed = Belief.of(ALL, 64), []

    def twice(by: Belief) -> Rows:
        computed.append(by)
        return 2.0 * by.value(*STEEL.key)

    first = plain.wordless().derived(("twice", "steel"), twice)
    assert np.array_equal(first, 2.0 * plain.value(*STEEL.key))
    watch = watched(plain)
    assert watch.derived(("twice", "steel"), twice) is first and len(computed) == 1
    assert STEEL.key in watch.asked and SQUARE.key not in watch.asked
    moved = plain.with_moved({STEEL.key: np.zeros(64)})
    assert not np.array_equal(moved.derived(("twice", "steel"), twice), first) and len(computed) == 2


def test_what_is_derived_is_forgotten_when_there_is_too_much_of_it() -> None:
    plain = Belief.of(ALL, 64)
    for number in range(DERIVED + 1):
        plain.derived((number,), lambda by: by.rows)
    assert plain.derived((DERIVED,), lambda by: 0) == 64
    assert plain.derived((0,), lambda by: 1) == 1
