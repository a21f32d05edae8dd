"""Tables of integrals: the mean of all positions is the mean, rows between two nodes are between them."""

from __future__ import annotations

import numpy as np
import pytest

from firstoff.cutting._integrals import _in_cut, mean, shares, tables, unit, units
from firstoff.cutting.edge import Profile, edge_in_cut

EDGE = edge_in_cut(Profile(0.006, 0.001, 0.0, 0.004), 3, 0.5, 0.003, 0.3, 2.0, 0.1)


@pytest.mark.parametrize("ratio", [0.0, 0.4])
def test_positions_of_a_turn_make_the_mean(ratio: float) -> None:
    turn = 2 * np.pi * (np.arange(3000) + 0.5) / 3000
    ratios = np.array([ratio, 0.2])
    at, over = units(EDGE, turn, ratios), mean(EDGE, ratios)
    assert at.keys() == over.keys()
    for name, values in at.items():
        assert values.shape == (2, 3000)
        assert values.mean(axis=1) == pytest.approx(over[name][:, 0], rel=5e-3, abs=1e-3 * np.abs(values).max()), name


def test_ratios_together_are_as_one_by_one() -> None:
    turn, ratios = np.linspace(0.0, 2 * np.pi, 40), np.array([0.0, 0.3, 2.0])
    together = units(EDGE, turn, ratios)
    for i, ratio in enumerate(ratios):
        alone = unit(EDGE, turn, float(ratio))
        for name, values in together.items():
            assert values[i] == pytest.approx(alone[name], rel=1e-12, abs=1e-15), name


def test_shares_are_linear_between_nodes() -> None:
    nodes = np.array([0.0, 1.0, 4.0])
    ratio = np.array([0.0, 0.25, 1.0, 3.0, 9.0])
    assert shares(ratio, nodes) @ nodes == pytest.approx(np.minimum(ratio, 4.0))
    assert shares(ratio, nodes).sum(axis=1) == pytest.approx(1.0)


def test_tables_leave_out_what_a_cylinder_has_not() -> None:
    flat = tables(edge_in_cut(Profile(0.006, 0.0, 0.0, 0.006), 3, 0.5, 0.003, 0.3, 2.0), False)
    assert [term.number for term in flat.terms["z"]] == [2, 5]
    assert [term.number for term in tables(EDGE, False).terms["z"]] == [1, 4, 2, 5]


def test_what_is_in_the_cut_is_found_wherever_it_stands() -> None:
    width = np.zeros((3, 2, 1, 4))                      # positions, teeth, turns, slices
    width[0, 1, 0, 2], width[0, 0, 0, 3], width[1, 1, 0, 0] = 0.3, 0.1, 0.2
    here, tooth, slices = _in_cut(width)
    assert here.shape == (3, 2)
    found = {(i, int(t), int(s)) for i in range(3) for t, s in zip(tooth[i], slices[i], strict=True)
             if width[i, t, 0, s] > 0.0}
    assert found == {(0, 1, 2), (0, 0, 3), (1, 1, 0)}
    assert np.array_equal(np.take_along_axis(width.reshape(3, -1), here, axis=1)[0], [0.1, 0.3])
    assert _in_cut(np.zeros((2, 1, 1, 3)))[0].shape == (2, 1)
