"""Sums of errors by number of source."""

from __future__ import annotations

import numpy as np
import pytest

from firstoff.checks._forms import about, along, plus, shifted

UP = np.array([0.0, 0.0, 1.0])


def test_sums_take_in_sources_that_became_known_later() -> None:
    assert plus((np.array([1.0, 2.0]), 1.0), (np.array([1.0, 1.0, 5.0]), -2.0)).tolist() == [-1.0, 0.0, -10.0]
    assert plus((np.ones((1, 6)), 2.0), (np.ones((3, 6)), 1.0)).tolist() == [[3.0] * 6, [1.0] * 6, [1.0] * 6]


def test_a_shift_moves_all_points_alike() -> None:
    form = shifted(np.array([2.0, -1.0]), UP)
    for point in (np.zeros(3), np.array([0.1, 0.2, 0.3])):
        assert along(form, point, UP) == pytest.approx([2.0, -1.0])
        assert along(form, point, np.array([1.0, 0.0, 0.0])) == pytest.approx([0.0, 0.0])


def test_a_turn_leaves_its_axis_where_it_is_and_lifts_what_is_beside_it() -> None:
    axis = np.array([0.0, 0.5, 0.2])
    form = about(np.array([1e-3, 0.0, 0.0]), axis)[None, :]
    assert along(form, axis + np.array([7.0, 0.0, 0.0]), UP) == pytest.approx([0.0])
    assert along(form, axis + np.array([0.0, 0.03, 0.0]), UP) == pytest.approx([30e-6])
