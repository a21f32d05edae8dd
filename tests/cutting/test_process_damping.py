from __future__ import annotations

import numpy as np
import pytest

from firstoff.cutting.process_damping import flank_coefficient, mean_flank_damping
from firstoff.errors import OutOfRange


def test_all_round_half_of_each_tooth_counts_in_each_direction() -> None:
    # a slot: mean of sin^2 over half a turn, z teeth of which half cut: z/4 of C over the radius
    rub = mean_flank_damping(6e5, 0.01, 4, 0.0, np.pi)
    assert rub.along == pytest.approx(6e5 / 0.005) and rub.square == pytest.approx(rub.along)
    assert rub.cross == pytest.approx(0.0, abs=1e-6 * float(rub.along))


def test_the_mean_is_that_of_the_sum_over_the_turn() -> None:
    entry, stop, teeth = 0.4, 1.9, 3
    angle = (np.arange(200000) + 0.5) * 2 * np.pi / 200000
    inside = (angle > entry) & (angle < stop)
    scale = teeth * 1e5 / 0.003
    rub = mean_flank_damping(1e5, 0.006, teeth, entry, stop)
    for got, product in zip(rub, (np.sin(angle) ** 2, np.sin(angle) * np.cos(angle), np.cos(angle) ** 2),
                            strict=True):
        assert got == pytest.approx(scale * np.mean(product * inside), rel=1e-4)


def test_up_and_down_differ_only_in_the_cross_term() -> None:
    up, down = mean_flank_damping(1e5, 0.006, 2, 0.0, 0.8), mean_flank_damping(1e5, 0.006, 2, np.pi - 0.8, np.pi)
    assert up.along == pytest.approx(down.along) and up.cross == pytest.approx(-float(down.cross))


def test_it_never_feeds_a_swing() -> None:
    rub = mean_flank_damping(1e5, 0.006, 2, 0.3, 0.9)
    assert float(rub.along * rub.square - rub.cross**2) >= 0.0


def test_many_cuts_at_once_are_each_as_alone() -> None:
    """Arrays of diameters and angles, broadcast with the coefficients."""
    entry, leave, size = np.array([0.0, 1.2, 2.4]), np.array([0.7, 3.1, 3.14]), np.array([0.004, 0.006, 0.01])
    many = mean_flank_damping(np.array([1e5, 2e5, 3e5]), size, 3, entry, leave)
    for i in range(3):
        alone = mean_flank_damping(1e5 * (i + 1), float(size[i]), 3, float(entry[i]), float(leave[i]))
        assert [float(part[i]) for part in many] == pytest.approx([float(part) for part in alone])
    with pytest.raises(OutOfRange, match="not above entry"):
        mean_flank_damping(1e5, 0.006, 3, entry, np.array([0.7, 1.2, 3.0]))


def test_impossible_things_are_refused() -> None:
    with pytest.raises(OutOfRange, match="not above entry"):
        mean_flank_damping(1e5, 0.006, 2, 1.0, 0.5)
    with pytest.raises(OutOfRange, match="damping length is -1"):
        flank_coefficient(2e9, -1.0)
    with pytest.raises(OutOfRange, match="diameter is 0"):
        mean_flank_damping(1e5, 0.0, 2, 0.3, 0.5)
