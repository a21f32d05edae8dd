"""How much of a tool's life cuts use, by speed, chip, depth and kind of tool."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from firstoff.checks._life import BOOK_ARC, book_speed, used
from firstoff.checks._past import past_of
from firstoff.checks.base import Past
from tests.checks.builders import belief, case


def test_life_by_the_book_s_speed() -> None:
    past: Past = past_of(case())
    at_book = replace(past, speed=float(np.median(book_speed(past, None, belief()))), edge_time=2700.0 * BOOK_ARC)
    assert float(np.median(used([at_book], None, belief()))) == pytest.approx(1.0, rel=0.1)


def test_a_thick_chip_costs_life_and_a_thin_one_gains_none() -> None:
    """By row the chip over the book's to the y over n; below the book's as at the book's."""
    by, past = belief(), replace(past_of(case()), tool_material="hss")
    tiny, thin, thick = (used([replace(past, chip=chip)], None, by) for chip in (1e-7, 1e-6, 2e-4))
    power = by.value("tool_material:hss", "life_by_feed") / by.value("tool_material:hss", "taylor_exponent")
    book = 1e-3 * by.value("shop", "book_feed") * (1.0 - np.cos(BOOK_ARC)) / BOOK_ARC
    assert np.array_equal(tiny, thin) and np.allclose(thick, thin * (2e-4 / book) ** power)
    assert np.median(thick) > 20.0 * np.median(thin)


def test_a_deep_cut_costs_life_and_a_shallow_one_gains_none() -> None:
    by, past = belief(), replace(past_of(case()), tool_material="hss")
    flat, shallow, deep = (used([replace(past, deep=deep)], None, by) for deep in (1e-3, 1e-2, 10.0))
    power = by.value("tool_material:hss", "life_by_depth") / by.value("tool_material:hss", "taylor_exponent")
    assert np.array_equal(flat, shallow)
    assert np.allclose(deep, shallow * (10.0 / by.value("shop", "book_depth")) ** power)
    assert np.median(deep) > 2.0 * np.median(shallow)
    assert past.deep == pytest.approx(past.depth / 1e-3 / case().tool.diameter)


@pytest.mark.parametrize(("law", "tool_life", "share"), [("tap", 5400.0, 0.4), ("ream", 1500.0, 0.5)])
def test_taps_and_reamers_last_by_their_own_law(law: str, tool_life: float, share: float) -> None:
    """At their share of the usual speed they last their life; slower ones longer, by the power of the law."""
    by = belief()
    usual = by.value("material:steel", "cutting_speed:hss") * by.value("shop", f"{law}_speed")
    own = by.value("shop", f"{law}_life") / by.value("discrepancy:wear", "factor")
    past = replace(past_of(case()), tool_material="hss", law=law, coolant="dry", chip=0.0, volume=0.0)
    assert np.median(usual) == pytest.approx(0.5 * share, rel=0.1)
    assert np.median(own) == pytest.approx(tool_life, rel=0.3)
    speed = float(np.median(usual))
    fast, slow = (used([replace(past, edge_time=60.0 * BOOK_ARC, speed=v)], None, by) for v in (speed, speed / 2.0))
    power = 1.0 / by.value("shop", f"{law}_exponent")
    assert np.allclose(fast, 60.0 / own * (speed / usual) ** power)
    assert np.allclose(slow, fast * 0.5**power)


def test_cuts_of_different_chips_add_up() -> None:
    by, one = belief(), past_of(case())
    other = replace(one, chip=4.0 * one.chip + 2e-4)
    assert np.allclose(used([one, other], None, by), used([one], None, by) + used([other], None, by))
