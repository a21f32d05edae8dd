"""A few rows that stand for all: even steps of an order, as good as many more taken blindly."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.belief import ROWS, Belief
from firstoff.checks.base import Case
from firstoff.dryrun.quick import found_now
from firstoff.dryrun.totals import chance_spoiled
from firstoff.route import quick_cut as room
from firstoff.route.asked_cut import Wanted, bench_of
from firstoff.route.few_rows import FEW, evenly, few_rows
from firstoff.shop.columns import columns_of
from firstoff.shop.library import load_shop


@cache
def asked(depth: float) -> tuple[Case, Belief]:
    wanted = Wanted("small_column", "end_mill_10_3f", "al_6082", depth=depth)
    bench = bench_of(load_shop(None), wanted)
    return room._start(bench, wanted), Belief.of(columns_of(bench.shop), rows=ROWS)


@pytest.mark.parametrize("depth", [0.3, 0.6, 1.2])
def test_they_tell_the_chance_that_all_rows_tell(depth: float) -> None:
    case, belief = asked(depth)
    few = few_rows(case, belief).belief
    assert few.rows == FEW and not few.words
    every = chance_spoiled(found_now(case, belief.wordless()), belief.rows)
    assert chance_spoiled(found_now(case, few), few.rows) == pytest.approx(every, rel=0.35)


def test_few_rows_told_blindly_are_further_off() -> None:
    case, belief = asked(0.6)
    few = few_rows(case, belief).belief
    step = belief.rows // FEW
    blind = [belief.wordless().thinned(np.arange(start, belief.rows, step)) for start in range(0, step, 4)]
    every = chance_spoiled(found_now(case, belief.wordless()), belief.rows)
    off = [abs(np.log(chance_spoiled(found_now(case, one), one.rows) / every)) for one in blind]
    assert abs(np.log(chance_spoiled(found_now(case, few), few.rows) / every)) < np.sqrt(np.mean(np.square(off)))


@given(st.integers(1, 300), st.integers(1, 80))
def test_even_steps_of_the_order(rows: int, many: int) -> None:
    order = np.random.default_rng(3).permutation(rows).astype(float)
    found = evenly(order, many)
    assert len(found) == min(rows, many) and len(set(found.tolist())) == len(found)
    steps = np.diff(np.sort(order[found]))
    assert not len(steps) or steps.max() - steps.min() <= 1.0
