"""Causes of what was measured: against brute force, against the plain update, and with a planted one."""

from __future__ import annotations

import numpy as np
import pytest

from firstoff.errors import OutOfRange
from firstoff.stack.causes import FAR_SDS, FARS, FARS_WEIGHTS, USUAL, explain, forecast, left_over, told_apart
from firstoff.stack.update import update

# three sizes of one part: a cutter's radius takes twice from each, a scale grows with length, zero shifts one
LINES = np.array([[-2.0, 0.03, 0.0], [-2.0, 0.11, 0.0], [0.0, 0.05, 1.0]])
SD = np.array([6e-6, 3e-4, 10e-6])
READ_SD = np.array([3e-6, 3e-6, 3e-6])


def test_as_usual_is_the_plain_update() -> None:
    read = np.array([2e-6, -3e-6, 4e-6])
    found = explain(read, LINES, np.zeros(3), np.diag(SD**2), READ_SD, [0, 1, 2], LINES)
    plain = update(np.zeros((1, 3)), LINES @ np.diag(SD**2) @ LINES.T, np.eye(3), read, READ_SD)
    assert found.size[-1] == pytest.approx(plain.mean[0])
    assert found.size_sd[-1] ** 2 == pytest.approx(np.diag(plain.cov))


def test_against_drawing_shops_at_random() -> None:
    """Of many drawn shops keep those whose readings came out so: the share of each cause among them."""
    rng, draws = np.random.default_rng(5), 400_000
    cause = rng.choice(4, draws, p=[(1 - USUAL) / 3] * 3 + [USUAL])
    sources = rng.standard_normal((draws, 3)) * SD
    hit = cause < 3
    which = rng.choice(len(FARS), draws, p=FARS_WEIGHTS)
    far = rng.choice([-1.0, 1.0], draws) * (FARS[which] + FAR_SDS[which] * rng.standard_normal(draws))
    sources[hit, cause[hit]] = (far[hit] * SD[cause[hit]])
    read = np.array([-40e-6, -42e-6])
    made = sources @ LINES[:2].T
    weight = np.exp(-0.5 * (((made - read) / READ_SD[:2]) ** 2).sum(axis=1))
    shares = np.array([weight[cause == k].sum() for k in range(4)]) / weight.sum()
    found = explain(read, LINES[:2], np.zeros(3), np.diag(SD**2), READ_SD[:2], [0, 1, 2], LINES)
    assert found.chance == pytest.approx(shares, abs=0.03)
    third = (weight @ (sources @ LINES[2])) / weight.sum()
    assert float(found.chance @ found.size[:, 2]) == pytest.approx(third, abs=1e-6)


@pytest.mark.parametrize("planted", [0, 1, 2])
def test_a_planted_cause_is_found(planted: int) -> None:
    error = np.zeros(3)
    error[planted] = 6.0 * SD[planted]
    found = explain(LINES @ error, LINES, np.zeros(3), np.diag(SD**2), READ_SD, [0, 1, 2], LINES)
    assert int(np.argmax(found.chance)) == planted and found.chance[planted] > 0.6
    assert found.source[planted, planted] == pytest.approx(error[planted], rel=0.1)


def test_what_one_reading_cannot_tell_apart_another_can() -> None:
    """One size too small by 40 um: radius or scale. A size of another length decides, and is named."""
    found = explain([-40e-6], LINES[:1], np.zeros(3), np.diag(SD**2), READ_SD[:1], [0, 1, 2], LINES)
    first, second = np.argsort(found.chance)[::-1][:2]
    apart = told_apart(found.size[first], found.size[second], found.size_sd[first], READ_SD)
    assert apart[1] > apart[0]


def test_what_sleeps_moves_nothing_until_it_is_woken() -> None:
    """Steps lost before the second or the third cut: nought when all is usual, one of them when not."""
    lines = np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 1.0], [1.0, 1.0, 1.0]])
    cov, group, rare = np.diag([20e-6, 20e-6, 5e-6]) ** 2, [0, 0, 1], [True, True, False]
    quiet = explain(np.zeros(0), np.zeros((0, 3)), np.zeros(3), cov, np.zeros(0), group, lines, rare)
    assert quiet.size_sd[-1] == pytest.approx([5e-6] * 3)
    lost = explain([0.0, 0.0, 90e-6], lines, np.zeros(3), cov, READ_SD, group, lines, rare)
    assert lost.chance[0] > 0.9 and lost.source[0, 1] == pytest.approx(90e-6, rel=0.05)
    assert abs(lost.source[0, 0]) < 2e-6


def test_nothing_measured_leaves_what_was_believed() -> None:
    found = explain(np.zeros(0), np.zeros((0, 3)), np.zeros(3), np.diag(SD**2), np.zeros(0), [0, 1, 2], LINES)
    assert found.chance == pytest.approx([(1 - USUAL) / 3] * 3 + [USUAL])
    assert found.size_sd[-1] == pytest.approx(np.sqrt(np.diag(LINES @ np.diag(SD**2) @ LINES.T)))


def test_a_forecast_of_equal_rows_is_the_plain_update() -> None:
    read = np.array([2e-6, -3e-6])
    rows = np.array([[1e-6, 0.0, 2e-6], [0.0, 1e-6, 0.0]])
    found = forecast(read - rows[:, :2], LINES[:2], np.array([SD, SD]), READ_SD[:2], LINES, rows)
    plain = update(rows, LINES @ np.diag(SD**2) @ LINES.T, np.eye(3)[:2], read, READ_SD[:2])
    assert found.mean == pytest.approx(plain.mean) and found.sd[0] ** 2 == pytest.approx(np.diag(plain.cov))
    assert np.diff(found.log_likelihood) == pytest.approx(np.diff(plain.log_likelihood))


@pytest.mark.parametrize(("number", "table"), [(1, 10.828), (2, 13.816), (3, 16.266), (5, 20.515)])
def test_what_is_left_is_usual_but_once_in_a_thousand(number: int, table: float) -> None:
    """Readings of one source each: the sum of their squares against the table of chi squared at 0.999."""
    def left(square: float) -> np.ndarray:
        each = np.full(number, np.sqrt(square / number)) * np.hypot(5e-6, 3e-6)
        return left_over(each, np.eye(number), np.zeros(number), np.eye(number) * 25e-12, np.full(number, 3e-6))

    assert not left(0.95 * table).any()
    assert left(1.05 * table) == pytest.approx(np.sqrt(1.05 * table / number))


def test_a_cause_leaves_what_it_does_not_explain() -> None:
    """The radius explains the two widths; the height is off by something else."""
    planted = np.array([6.0 * SD[0], 0.0, 8.0 * SD[2]])
    read, other = LINES @ planted, np.diag(np.where(np.arange(3) == 0, 0.0, SD**2))
    of_radius = left_over(read, LINES, [planted[0], 0.0, 0.0], other, READ_SD)
    assert np.argmax(np.abs(of_radius)) == 2 and abs(of_radius[2]) > 3.0 and np.abs(of_radius[:2]).max() < 1.0
    whole = left_over(LINES[:, 0] * planted[0], LINES, [planted[0], 0.0, 0.0], other, READ_SD)
    assert not whole.any() and left_over([], np.zeros((0, 3)), np.zeros(3), other, []).shape == (0,)


def test_refusals() -> None:
    with pytest.raises(OutOfRange, match="readings"):
        explain([1e-6], LINES, np.zeros(3), np.diag(SD**2), READ_SD, [0, 1, 2], LINES)
    with pytest.raises(OutOfRange, match="reading_sd"):
        explain([1e-6], LINES[:1], np.zeros(3), np.diag(SD**2), [0.0], [0, 1, 2], LINES)
