"""Chances that sizes are out: exact limits, quadrature, drawn samples, properties."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import special

from firstoff.errors import OutOfRange
from firstoff.normal import normal_cdf
from firstoff.stack.chance import chance_out, joint_chance_out
from tests.published import agrees

ROWS = np.array([[0.0, 0.1, -0.2], [0.5, 0.0, 0.3]])


def equal(rho: float, size: int) -> npt.NDArray[np.float64]:
    """Correlation rho between any two."""
    return np.full((size, size), rho) + (1.0 - rho) * np.eye(size)


def any_above(rows: npt.NDArray[np.float64], rho: float, limit: float) -> npt.NDArray[np.float64]:
    """Chance that any is above the limit by quadrature over the one shared error: an independent way."""
    x = np.linspace(-9.0, 9.0, 8001)
    weight = np.exp(-x * x / 2.0) / np.sqrt(2.0 * np.pi) * (x[1] - x[0])
    inside = np.ones((len(rows), len(x)))
    for mean in rows.T:
        inside *= 1.0 - special.ndtr((mean[:, None] + np.sqrt(rho) * x - limit) / np.sqrt(1.0 - rho))
    return np.asarray(((1.0 - inside) * weight).sum(axis=1))


def test_one_size_by_hand_and_far_in_the_tail() -> None:
    # Half a tolerance of 3 sd: 0.27 % out; the tail at 10 sd is 7.62e-24 on one side.
    out = chance_out([0.0, 7e-6], 1e-6, -3e-6, 3e-6)
    np.testing.assert_allclose(out, np.array([0.0026997960632602, 1.0 - float(normal_cdf(-4.0))]), rtol=1e-9)
    far = chance_out([0.0], 1e-6, -np.inf, 1e-5)
    np.testing.assert_allclose(far, special.ndtr(-10.0), rtol=1e-9)


def test_a_size_that_does_not_vary_is_in_or_out() -> None:
    np.testing.assert_array_equal(chance_out([0.0, 2e-6, -2e-6], 0.0, -1e-6, 1e-6), [0.0, 1.0, 1.0])
    cov = np.zeros((2, 2))
    out = joint_chance_out([[0.0, 0.0], [2.0, 2.0], [2.0, 0.0]], cov, [-1.0, -1.0], [1.0, 1.0])
    np.testing.assert_array_equal(out, [0.0, 1.0, 1.0])


def test_a_single_size_is_exact() -> None:
    joint = joint_chance_out(ROWS[:, :1], [[2.0]], [-1.0], [3.0])
    np.testing.assert_allclose(joint, chance_out(ROWS[:, 0], np.sqrt(2.0), -1.0, 3.0), rtol=1e-12)


def test_the_same_size_twice_counts_once() -> None:
    rows = np.repeat(ROWS[:, :1], 3, axis=1)
    joint = joint_chance_out(rows, np.ones((3, 3)), np.full(3, -2.0), np.full(3, 2.5))
    np.testing.assert_allclose(joint, chance_out(ROWS[:, 0], 1.0, -2.0, 2.5), rtol=1e-9)


@pytest.mark.parametrize("limit", [1.0, 2.0, 3.5, 5.0])
def test_independent_sizes_multiply(limit: float) -> None:
    joint = joint_chance_out(ROWS, np.eye(3), np.full(3, -np.inf), np.full(3, limit))
    exact = -np.expm1(np.log1p(-chance_out(ROWS, 1.0, -np.inf, limit)).sum(axis=1))
    np.testing.assert_allclose(joint, exact, rtol=0.02)


@pytest.mark.parametrize("rho", [0.3, 0.9, 0.99])
@pytest.mark.parametrize("limit", [0.5, 2.0, 3.0])
def test_a_shared_error_against_quadrature(rho: float, limit: float) -> None:
    joint = joint_chance_out(ROWS, equal(rho, 3), np.full(3, -np.inf), np.full(3, limit))
    np.testing.assert_allclose(joint, any_above(ROWS, rho, limit), rtol=0.04)


def test_opposite_sizes_are_never_out_on_one_side_together() -> None:
    # Correlation -1: x and -x above 2 exclude each other, so the chances add up.
    joint = joint_chance_out([[0.0, 0.0]], [[1.0, -1.0], [-1.0, 1.0]], [-np.inf] * 2, [2.0, 2.0])
    np.testing.assert_allclose(joint, 2.0 * special.ndtr(-2.0), rtol=1e-9)


def test_against_drawn_sizes_with_both_limits() -> None:
    rng = np.random.default_rng(3)
    mix = rng.normal(size=(4, 6))
    cov = mix @ mix.T
    low, high = np.array([-6.0, -4.0, -np.inf, -7.0]), np.array([5.0, 6.0, 4.0, np.inf])
    drawn = np.array([0.5, 0.0, -1.0, 1.0]) + rng.normal(size=(400_000, 6)) @ mix.T
    share = ((drawn < low) | (drawn > high)).any(axis=1).mean()
    joint = joint_chance_out([[0.5, 0.0, -1.0, 1.0]], cov, low, high)
    np.testing.assert_allclose(joint, share, rtol=0.03)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.floats(-3.0, 3.0), min_size=3, max_size=3), st.floats(-0.4, 0.99), st.floats(0.5, 6.0))
def test_between_the_largest_and_the_sum(means: list[float], rho: float, limit: float) -> None:
    joint = joint_chance_out([means], equal(rho, 3), np.full(3, -limit), np.full(3, limit))[0]
    single = chance_out(means, 1.0, -limit, limit)
    assert single.max() <= joint <= min(1.0, single.sum())


@given(st.floats(1e-6, 1e3))
def test_the_unit_does_not_matter(scale: float) -> None:
    one = joint_chance_out(ROWS, equal(0.5, 3), np.full(3, -2.0), np.full(3, 2.0))
    other = joint_chance_out(ROWS * scale, equal(0.5, 3) * scale**2, np.full(3, -2.0 * scale),
                             np.full(3, 2.0 * scale))
    np.testing.assert_allclose(other, one, rtol=0.02)


def test_refusals() -> None:
    with pytest.raises(OutOfRange, match="limits"):
        chance_out([0.0], 1.0, 1.0, -1.0)
    with pytest.raises(OutOfRange, match="sd is -1"):
        chance_out([0.0], -1.0, -1.0, 1.0)
    with pytest.raises(OutOfRange, match="shape"):
        joint_chance_out([[0.0, 0.0]], np.eye(3), [-1.0], [1.0])
    with pytest.raises(OutOfRange, match="26 sizes"):
        joint_chance_out(np.zeros((1, 26)), np.eye(26), -np.ones(26), np.ones(26))


def test_many_rows_with_few_points_come_to_the_same() -> None:
    """One row may be out by a tenth; all together are not, since each looks at other points."""
    rng = np.random.default_rng(4)
    rows, wide = rng.normal(0.0, 0.7, (2048, 4)), rng.uniform(0.7, 1.4, 2048)
    low, high = np.full(4, -2.0), np.full(4, 2.0)
    whole = joint_chance_out(rows, equal(0.6, 4), low, high, wide)
    few = joint_chance_out(rows, equal(0.6, 4), low, high, wide, points=32)
    assert few.mean() == pytest.approx(whole.mean(), rel=5e-3)
    assert np.abs(few / whole - 1.0).mean() < 0.1


def test_each_row_may_have_its_own_covariance() -> None:
    """Rows of one covariance come to what they come to with it shared; others to what is drawn of them."""
    rng = np.random.default_rng(9)
    low, high = np.full(3, -2.0), np.full(3, 2.5)
    shared = joint_chance_out(ROWS, equal(0.6, 3), low, high)
    each = joint_chance_out(ROWS, np.repeat(equal(0.6, 3)[None], 2, axis=0), low, high)
    np.testing.assert_allclose(each, shared, rtol=0.05)
    mix = rng.normal(size=(400, 3, 4)) * rng.uniform(0.3, 1.5, (400, 1, 1))
    rows = rng.normal(0.0, 0.5, (400, 3))
    out = joint_chance_out(rows, mix @ mix.transpose(0, 2, 1), low, high)
    drawn = np.zeros(400)
    for _ in range(20):
        value = rows[:, :, None] + mix @ rng.normal(size=(400, 4, 200))
        drawn += ((value < low[:, None]) | (value > high[:, None])).any(axis=1).mean(axis=1) / 20.0
    assert out.mean() == pytest.approx(drawn.mean(), abs=2e-3)
    assert np.abs(out - drawn).mean() < 0.01


def test_corners_of_a_plane_have_no_more_than_three_ways_to_move() -> None:
    """The fourth is the sum of two less one: a covariance of each row that is singular is none the worse."""
    plane = np.array([[1.0, 1.0, 1.0], [1.0, 1.0, -1.0], [1.0, -1.0, 1.0], [1.0, -1.0, -1.0]])
    sd = np.random.default_rng(2).uniform(0.2, 1.0, (60, 3))
    cov = np.einsum("ks,ns,ls->nkl", plane, sd**2, plane)
    low, high = np.full(4, -2.0), np.full(4, 2.0)
    out = joint_chance_out(np.zeros((60, 4)), cov, low, high)
    drawn = np.random.default_rng(3).normal(size=(60, 3, 20_000)) * sd[:, :, None]
    share = (np.abs(plane @ drawn) > 2.0).any(axis=1).mean(axis=1)
    np.testing.assert_allclose(out, share, atol=0.02)
    with pytest.raises(OutOfRange, match="negative variance"):
        joint_chance_out(np.zeros((2, 2)), np.array([np.eye(2), [[1.0, 2.0], [2.0, 1.0]]]), [-1.0] * 2, [1.0] * 2)
    with pytest.raises(OutOfRange, match="shape"):
        joint_chance_out(np.zeros((2, 2)), np.ones((3, 2, 2)), [-1.0] * 2, [1.0] * 2)


def test_chances_of_the_guide_to_conformity() -> None:
    # a limit of -5.40 V read as -5.47 with 0.05; 12.5 to 16.3 mm2/s read as 13.6 with 1.8
    one = 1.0 - float(chance_out(-5.47, 0.05, -np.inf, -5.40))
    two = 1.0 - float(chance_out(13.6, 1.8, 12.5, 16.3))
    agrees("decisions", "upper limit, read 1.4 standard uncertainties inside it: chance that it conforms (recalled)",
           "jcgm106", 0.92, one, "1", within=0.005, absolute=True)
    agrees("decisions", "both limits, read near the lower one, coarsely: chance that it conforms (recalled)",
           "jcgm106", 0.66, two, "1", within=0.005, absolute=True)
