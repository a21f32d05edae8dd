"""Force laws turned into each other: the fitted line, the way back, and what the tables say."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.cutting.force_law import ThinChips, growth_of_power, line_of_power, power_of_line, share_of_edge
from firstoff.errors import OutOfRange


@given(st.floats(0.0, 0.6), st.floats(0.02, 0.8))
def test_the_line_is_that_of_least_relative_error(exponent: float, share: float) -> None:
    high = 1e-4
    low = share * high
    h = low + (high - low) * (np.arange(8000) + 0.5) / 8000
    force = 1.8e9 * (h / 1e-3) ** -exponent * h
    slope, edge = np.polyfit(h * 1e4, force, 1, w=1.0 / force)
    line = line_of_power(1.8e9, exponent, low, high, 1e-3)
    assert line.cutting == pytest.approx(slope * 1e4, rel=1e-3)
    assert line.edge == pytest.approx(edge, rel=1e-3, abs=1.0)
    worst = np.abs((line.edge + line.cutting * h) / force - 1.0).max()
    assert line.departure == pytest.approx(worst, rel=2e-2, abs=1e-4)


def test_the_starter_librarys_mild_steel() -> None:
    # klocke2011: 1780 N/mm2 and 0.17 for St 37/42
    line = line_of_power(np.array([1780e6, 2220e6]), np.array([0.17, 0.14]), 1e-5, 1e-4, 1e-3)
    assert line.cutting == pytest.approx([2564e6, 3009e6], rel=1e-3)
    assert line.edge == pytest.approx([17e3, 15.7e3], rel=5e-3)
    assert np.all(line.departure < 0.11)


@given(st.floats(0.05, 0.5))
def test_there_and_back(exponent: float) -> None:
    line = line_of_power(1.8e9, exponent, 2e-5, 1e-4, 1e-3)
    back = power_of_line(line.cutting, line.edge, 2e-5, 1e-4, 1e-3)
    force = np.array([1.8e9 * (h / 1e-3) ** -exponent for h in (2e-5, 5e-5, 1e-4)])
    again = np.array([back.kc11 * (h / 1e-3) ** -back.exponent for h in (2e-5, 5e-5, 1e-4)])
    assert again == pytest.approx(force, rel=2.5 * float(line.departure) + 1e-9)


def test_a_law_without_an_edge_has_no_exponent() -> None:
    assert power_of_line(2e9, 0.0, 1e-5, 1e-4, 1e-3) == pytest.approx((2e9, 0.0))
    line = line_of_power(2e9, 0.0, 1e-5, 1e-4, 1e-3)
    assert (line.cutting, line.edge) == pytest.approx((2e9, 0.0), abs=1e-3)


@given(st.floats(0.0, 0.6), st.floats(1e-5, 1e-4))
def test_growth_is_the_slope_of_the_power_law_over_that_of_its_line(exponent: float, chip: float) -> None:
    step = 1e-4 * chip
    low, high = (1.8e9 * (h / 1e-3) ** -exponent * h for h in (chip - step, chip + step))
    line = line_of_power(1.8e9, exponent, 1e-5, 1e-4, 1e-3)
    inside = growth_of_power(exponent, np.clip(chip, 1e-5, 1e-4), 1e-5, 1e-4)
    assert float(inside * line.cutting) == pytest.approx((high - low) / (2.0 * step), rel=1e-5)


def test_thin_chips_make_the_force_grow_faster_and_thick_ones_slower() -> None:
    # mild steel, 0.17: the same slope as the line at 0.04 mm; outside of the span its end counts
    chips = np.array([2e-6, 1e-5, 4e-5, 1e-4, 3e-4])
    assert growth_of_power(0.17, chips, 1e-5, 1e-4) == pytest.approx([1.261, 1.261, 0.996, 0.852, 0.852], abs=2e-3)
    assert growth_of_power(0.0, chips, 1e-5, 1e-4) == pytest.approx(1.0)


def test_impossible_laws_are_refused() -> None:
    with pytest.raises(OutOfRange, match="span of chip thickness"):
        line_of_power(2e9, 0.2, 1e-4, 1e-5, 1e-3)
    with pytest.raises(OutOfRange, match=r"exponent mc is 1\.2"):
        line_of_power(2e9, 1.2, 1e-5, 1e-4, 1e-3)
    with pytest.raises(OutOfRange, match="slope is -"):
        power_of_line(-2e9, 0.0, 1e-5, 1e-4, 1e-3)
    with pytest.raises(OutOfRange, match="least chip thickness is 0"):
        power_of_line(2e9, 0.0, 0.0, 1e-4, 1e-3)
    with pytest.raises(OutOfRange, match="chip thickness is nan"):
        growth_of_power(0.2, np.nan, 1e-5, 1e-4)


MILD = ThinChips(2e-5, 2564e6, 17e3, 0.0, 1e-5, 1e-4)


@given(st.floats(1e-7, 1e-5))
def test_below_its_span_a_line_gives_way_to_the_power_law(chip: float) -> None:
    law = power_of_line(MILD.cutting, MILD.edge, MILD.chip_low, MILD.chip_high, 1e-3)
    force = MILD.cutting * chip + float(share_of_edge(chip, MILD)) * MILD.edge
    assert force == pytest.approx(float(law.kc11 * (chip / 1e-3) ** -law.exponent * chip), rel=1e-9)


def test_inside_its_span_a_line_keeps_its_edge_force() -> None:
    assert share_of_edge(np.array([1e-5, 3e-5, 2e-4]), MILD) == pytest.approx(1.0)
    assert share_of_edge(1e-6, MILD._replace(edge=0.0)) == 1.0       # there is none to have a share of


@given(st.integers(2, 400))
def test_an_edge_slides_turn_by_turn_until_it_cuts(turns: int) -> None:
    """By counting: what stands before it grows by a chip a turn, and each turn presses as that much would."""
    floor, n = MILD._replace(floor=3e-6), 2000
    chip = floor.floor / turns
    force = MILD.cutting * chip + float(share_of_edge(chip, floor)) * MILD.edge
    law = power_of_line(MILD.cutting, MILD.edge, MILD.chip_low, MILD.chip_high, 1e-3)
    stands = chip + (floor.floor - chip) * (np.arange(n) + 0.5) / n
    assert force == pytest.approx(float((law.kc11 * (stands / 1e-3) ** -law.exponent * stands).mean()), rel=1e-4)


def test_sliding_goes_over_into_cutting() -> None:
    floor = MILD._replace(floor=2e-6)
    below, at = (float(share_of_edge(h, floor)) for h in (2e-6 * (1.0 - 1e-7), 2e-6))
    assert below == pytest.approx(at, rel=1e-5) and at == pytest.approx(float(share_of_edge(2e-6, MILD)))
    assert share_of_edge(0.0, floor) == 0.0                          # out of the work
    assert 0.2 < float(share_of_edge(1e-9, floor)) < at


def test_thin_chips_of_no_line_are_refused() -> None:
    with pytest.raises(OutOfRange, match="least chip"):
        share_of_edge(1e-6, MILD._replace(floor=-1e-6))
    with pytest.raises(OutOfRange, match="span"):
        share_of_edge(1e-6, MILD._replace(chip_low=1e-3))
