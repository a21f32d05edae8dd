"""Sums, roots and crossings of a chatter limit: each against the plain way."""

from __future__ import annotations

import numpy as np
import pytest

from firstoff.cutting._lobes import best_crossing, columns, either_root, responses, summed


def test_columns_stand_one_above_the_other() -> None:
    assert columns([2.0, np.array([3.0, 4.0])])[..., 0].tolist() == [[2.0, 2.0], [3.0, 4.0]]


def test_a_sum_of_columns_times_arrays() -> None:
    rng = np.random.default_rng(2)
    one, two = rng.normal(size=(2, 3, 1))
    left, right = rng.normal(size=(2, 3, 5)) + 1j * rng.normal(size=(2, 3, 5))
    assert summed((one, left), (two, right)) == pytest.approx(one * left + two * right)


def test_a_root_of_either_sign() -> None:
    square = np.array([[4.0, -9.0, 3.0 + 4.0j, -3.0 - 4.0j, 0.0, 2.0j]], dtype=np.complex128)
    assert either_root(square) ** 2 == pytest.approx(square)


def test_each_mode_gives_as_one_that_is_damped() -> None:
    modes = np.array([[2e6, 5e6], [0.03, 0.05], [400.0, 900.0]])[:, :, None, None]
    frequency = np.array([[100.0, 400.0, 1200.0]])
    stiffness, damping, natural = modes
    ratio = frequency / natural
    real, imag = responses(modes, frequency)
    assert real + 1j * imag == pytest.approx(1.0 / (stiffness * (1.0 - ratio**2 + 2j * damping * ratio)))


def test_the_best_of_the_crossings_of_a_row() -> None:
    turns = np.array([[[0.2, 0.6, 1.4, 1.8, 2.2], [0.1, 0.2, 0.3, 0.4, 0.5]]])
    real = np.array([[[1.0, 1.0, 3.0, 2.0, 1.0], [1.0, 1.0, 1.0, 1.0, 1.0]]])
    found = best_crossing(turns, real)
    assert found.there.tolist() == [True, False]
    assert (found.cell[0], found.whole[0], found.share[0]) == (1, 1.0, pytest.approx(0.5))
