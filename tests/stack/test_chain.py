"""The chain of errors: a published stack, closed forms, properties."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from firstoff.errors import OutOfRange
from firstoff.stack.chain import (
    ErrorSource,
    Gaussian,
    covariance,
    gaussian_of,
    sd_of_equally_likely,
    share_of_each_source,
    worst_case,
)
from tests.published import agrees

INCH = 0.0254
MATRICES = hnp.arrays(float, (3, 4), elements=st.floats(-5.0, 5.0))
SPREADS = hnp.arrays(float, 4, elements=st.floats(0.0, 1e-4))


#: block 1.000 in with a slot 0.500, three sequences: A 1.030 +- 0.002, B 0.530 from A's face, C 1.000 +- 0.002
#: located as A, slot = B - (A - C)
SEQUENCES = [
    ("first, B +- 0.010", [[-1.0, 1.0, 1.0]], [0.002, 0.010, 0.002], 0.014),
    ("second, B +- 0.006", [[-1.0, 1.0, 1.0]], [0.002, 0.006, 0.002], 0.010),
    ("third, the slot after C", [[0.0, 1.0, 0.0]], [0.002, 0.010, 0.002], 0.010),
]


@pytest.mark.parametrize(("name", "chain", "errors", "out"), SEQUENCES)
def test_three_sequences_of_a_slotted_block(
    name: str, chain: list[list[float]], errors: list[float], out: float
) -> None:
    worst = worst_case(chain, np.array(errors) * INCH)
    agrees("stack", f"slotted block, sequence {name}: the slot is off at worst", "stacklecture", out,
           float(worst[0]) / INCH, "in", within=1e-9)


def test_a_shouldered_screw_with_three_parts_on_it() -> None:
    # gap = 1.750 +- 0.003 - 0.750 +- 0.001 - 0.120 +- 0.005 - 0.875 +- 0.001 in
    half = np.array([0.003, 0.001, 0.005, 0.001])
    signs = np.array([[1.0, -1.0, -1.0, -1.0]])
    gap = float((signs @ [1.750, 0.750, 0.120, 0.875])[0])
    agrees("stack", "gap at the shoulder of a screw, in the mean (ex. 1-7)", "shigley", 0.005, gap, "in",
           within=1e-9, absolute=True)
    agrees("stack", "the same gap, at worst either way", "shigley", 0.010, float(worst_case(signs, half)[0]), "in",
           within=1e-9)


def test_an_end_gauge_of_the_guide() -> None:
    # example H.1: standard 25, comparison 9.7, expansion 2.9 and temperature 16.6 nm
    cov = covariance([[1.0, 1.0, 1.0, 1.0]], np.array([25.0, 9.7, 2.9, 16.6]) * 1e-9)
    agrees("stack", "end gauge calibrated by comparison: combined standard uncertainty (H.1)", "gum2008", 32.0,
           float(np.sqrt(cov[0, 0])) * 1e9, "nm", within=0.5, absolute=True)


def test_a_gauge_block_by_comparison() -> None:
    # S4: standard 15, its drift 17.3, comparison 5.37, comparator 18.5, temperature 16.6 and 11.8, place 3.87 nm
    parts = np.array([15.0, 17.3, 5.37, 18.5, 16.6, 11.8, 3.87]) * 1e-9
    cov = covariance(np.ones((1, 7)), parts)
    agrees("stack", "gauge block of 50 mm by comparison: combined standard uncertainty (S4, recalled)", "ea402", 36.4,
           float(np.sqrt(cov[0, 0])) * 1e9, "nm", within=0.1, absolute=True)


def test_a_caliper_read_against_a_gauge_block() -> None:
    # S10: block 0.46, temperature 2.0, division 15 and play 29 um, as the budget has them
    cov = covariance(np.ones((1, 4)), np.array([0.46, 2.0, 15.0, 29.0]) * 1e-6)
    agrees("stack", "caliper at 150 mm: combined standard uncertainty (S10, recalled)", "ea402", 33.0,
           float(np.sqrt(cov[0, 0])) * 1e6, "um", within=0.5, absolute=True)


def test_a_shaft_in_its_housing_with_two_bearings() -> None:
    # ring 0.0505, shaft 8.000, bearings 0.5093, sleeves 0.400, housing 7.711 in
    signs = np.array([[-1.0, 1.0, -1.0, 1.0, -1.0, 1.0, -1.0]])
    sizes = np.array([0.0505, 8.000, 0.5093, 0.400, 7.711, 0.400, 0.5093])
    half = np.array([0.0015, 0.008, 0.0025, 0.002, 0.006, 0.002, 0.0025])
    for what, published, ours, within in (
        ("in the mean", 0.0199, float((signs @ sizes)[0]), 1e-9),
        ("at worst either way", 0.0245, float(worst_case(signs, half)[0]), 1e-9),
        ("by the root of the squares", 0.01108, float(np.sqrt(covariance(signs, half)[0, 0])), 5e-6)):
        agrees("stack", f"end play of a shaft between two bearings, {what} (recalled)", "greenwood1988", published,
               ours, "in", within=within, absolute=True)


def test_the_gap_of_a_motor() -> None:
    # less a screw .3595 and a housing 3.0250; washer, caps, bearings, spacers, rotor, thread between them [in]
    sizes = np.array([0.3595, 0.0320, 0.0600, 0.4305, 0.1200, 1.5030, 0.1200, 0.4305, 0.4500, 3.0250, 0.3000])
    half = np.array([0.0155, 0.0020, 0.0030, 0.0075, 0.0050, 0.0070, 0.0050, 0.0075, 0.0070, 0.0060, 0.0300])
    signs = np.ones((1, 11))
    signs[0, [0, 9]] = -1.0
    mean, worst = float((signs @ sizes)[0]), float(worst_case(signs, half)[0])
    for what, published, ours, within in (
        ("in the mean", 0.0615, mean, 1e-9), ("at worst either way", 0.0955, worst, 1e-9),
        ("at the least", -0.0340, mean - worst, 1e-9), ("at the most", 0.1570, mean + worst, 1e-9),
        ("by the root of the squares", 0.0381, float(np.sqrt(covariance(signs, half)[0, 0])), 5e-5)):
        agrees("stack", f"gap behind the bearings of a motor, {what} (recalled)", "drake1999", published, ours, "in",
               within=within, absolute=True)


def test_three_blocks_in_a_channel() -> None:
    # 18.75 +- 0.08, 25 +- 0.12, 28.125 +- 0.1 mm and a gap of 0.125 at least: how wide must it be? 72.35 - 0.05
    half, gap = np.array([0.08, 0.12, 0.10]), 0.125
    widest = 18.75 + 25.0 + 28.125 + float(worst_case(np.ones((1, 3)), half)[0]) + gap
    agrees("stack", "three blocks in a channel: what it may be less than 72.35 mm", "gate", -0.05, widest - 72.35,
           "mm", within=1e-9, absolute=True)


def test_a_plated_pin() -> None:
    # pin 25.010 to 25.020 mm, plated 30 +- 2 um all round: the size that the largest has
    largest = 25.015 + 2.0 * 0.030 + float(worst_case([[1.0, 2.0]], [0.005, 0.002])[0])
    agrees("stack", "a plated pin at its largest (recalled)", "gate", 25.084, largest, "mm", within=1e-9,
           absolute=True)


def test_equally_likely_temperatures_of_the_guide() -> None:
    # 4.4.5: from 96 to 104, all equally likely
    agrees("stack", "equally likely from 96 to 104 degrees: standard uncertainty (4.4.5)", "gum2008", 2.3,
           float(sd_of_equally_likely(4.0)), "K", within=0.05, absolute=True)


def test_two_sizes_from_one_face_share_its_error() -> None:
    # Both sizes start from one face (sd 30 um) and have own errors of 40 um: variance 2500, covariance 900.
    cov = covariance([[1, 1, 0], [1, 0, 1]], np.array([30e-6, 40e-6, 40e-6]))
    np.testing.assert_allclose(cov, np.array([[2500.0, 900.0], [900.0, 2500.0]]) * 1e-12, rtol=1e-12)
    shares = share_of_each_source([[1, 1, 0], [1, 0, 1]], np.array([30e-6, 40e-6, 40e-6]))
    np.testing.assert_allclose(shares, [[0.36, 0.64, 0.0], [0.36, 0.0, 0.64]], rtol=1e-12)


@given(MATRICES, SPREADS)
def test_shares_add_up_and_the_worst_case_is_beyond_one_sd(
    chain: npt.NDArray[np.float64], sd: npt.NDArray[np.float64]
) -> None:
    shares = share_of_each_source(chain, sd).sum(axis=1)
    assert np.all((np.abs(shares - 1.0) < 1e-9) | (shares == 0.0))
    spread = np.sqrt(np.diag(covariance(chain, sd)))
    assert np.all(worst_case(chain, sd) >= spread * (1.0 - 1e-9))


def test_covariance_equals_that_of_drawn_errors() -> None:
    rng = np.random.default_rng(7)
    chain, sd = rng.normal(size=(3, 4)), np.array([1.0, 2.0, 0.5, 0.0])
    drawn = rng.normal(size=(200_000, 4)) * sd @ chain.T
    np.testing.assert_allclose(np.cov(drawn.T), covariance(chain, sd), atol=0.1)


def test_equally_likely_is_the_variance_of_the_uniform() -> None:
    assert sd_of_equally_likely(3e-6) == pytest.approx(np.sqrt((6e-6) ** 2 / 12.0))


def test_belief_about_some_of_the_sizes() -> None:
    sources = [ErrorSource("edge", 30e-6, "setting"), ErrorSource("seat", 40e-6, "setting")]
    both = gaussian_of(["slot", "step"], [1e-3, 2e-3], [[1.0, 1.0], [1.0, 0.0]], sources)
    np.testing.assert_allclose(both.sd, [50e-6, 30e-6])
    one = both.part(["step"])
    assert one.names == ("step",) and one.mean == 2e-3 and one.cov[0, 0] == both.cov[1, 1]
    with pytest.raises(OutOfRange, match="no size 'width'"):
        both.part(["width"])


def test_refusals_name_what_is_wrong() -> None:
    with pytest.raises(OutOfRange, match=r"\(1, 2\)"):
        covariance([[1.0, 1.0]], [1e-6])
    with pytest.raises(OutOfRange, match="-1e-06"):
        worst_case([[1.0]], [-1e-6])
    with pytest.raises(OutOfRange, match="not symmetric"):
        Gaussian(("a", "b"), np.zeros(2), np.array([[1.0, 0.5], [0.0, 1.0]]))
    with pytest.raises(OutOfRange, match="negative variance"):
        Gaussian(("a", "b"), np.zeros(2), np.array([[1.0, 2.0], [2.0, 1.0]]))
