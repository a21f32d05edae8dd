from __future__ import annotations

import numpy as np
import pytest

from firstoff.checks._tails import SIDES, drawn_in, typical_sd, within

RNG = np.random.default_rng(4)


def test_a_normal_spread_is_its_standard_deviation() -> None:
    rows = RNG.normal(3.0, 2.0, 4000)
    assert within(rows, np.zeros(4000)) == pytest.approx(1.96, rel=0.06)
    assert within(np.zeros(4000), np.full(4000, 2.0)) == pytest.approx(2.0, rel=0.08)
    assert within(rows, np.full(4000, 1.5)) == pytest.approx(2.5, rel=0.08), "both together, by squares"


def test_a_few_rows_far_out_do_not_rule() -> None:
    rows = np.concatenate([RNG.normal(0.0, 1.0, 1980), np.full(20, 500.0)])
    assert rows.std() > 40.0 and within(rows, np.zeros(2000)) < 1.1
    calm = drawn_in(rows)
    assert calm.max() < 3.0 and (np.sort(calm)[100:-100] == np.sort(rows)[100:-100]).all()
    assert typical_sd(rows) < 1.1 and typical_sd(RNG.normal(0.0, 2.0, 4000)) == pytest.approx(2.0, rel=0.06)
    assert SIDES[1] - SIDES[0] == 95.0
