"""A few simulated shops: the oracle keeps to closed forms, and learning there does what the page says of 200."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest

from firstoff.normal import normal_cdf

from .simulated_mill import Cutter, Metal, Mode, Pass, simulated, sings_from
from .simulated_shops import DEPTHS, JOB, LOSSES, Limits, drawn, held_by, known_by_the_book, minutes_of, score_of

STIFF = [Mode(1e12, 0.03, 2000.0)]
PLAIN = Metal(700e6, 0.25, 0.4, 0.0, 0.0)
ONE_TOOTH = Cutter(6e-3, 1, 0.0, 0.0)


def test_a_rigid_slot_has_the_force_of_its_chip() -> None:
    cut = Pass(100.0, 5e-5, 1e-3, 6e-3, True)
    found = simulated(cut, PLAIN, ONE_TOOTH, STIFF, STIFF)
    thickest = PLAIN.force * 1e-3 * 1e-3 * 0.05**0.75          # N: 1 mm of edge, 0.05 mm of chip
    assert found.peak == pytest.approx(thickest * math.hypot(1.0, 0.4), rel=0.01)
    angle = np.linspace(0.0, math.pi, 2001)
    mean = float(np.trapezoid(thickest * np.sin(angle) ** 0.75, angle)) * 3e-3 / (2.0 * math.pi)
    assert found.torque == pytest.approx(mean, rel=0.01)
    assert not found.sang


def test_one_mode_sings_from_the_depth_that_theory_has() -> None:
    """Turning with a wide slot's mean factors is no closed form; a softer machine bears less in proportion."""
    cut, teeth = Pass(150.0, 5e-5, 1e-3, 3e-3, True), Cutter(6e-3, 3, 0.5, 0.0)
    straight = Metal(900e6, 0.0, 0.4, 0.0, 0.0)                     # a force in proportion to the chip
    limits = [sings_from(cut, straight, teeth, [Mode(k, 0.03, 700.0)], [Mode(k, 0.03, 700.0)], 20e-3)
              for k in (2e6, 4e6)]
    assert limits[1] / limits[0] == pytest.approx(2.0, rel=0.12)
    damped = sings_from(cut, straight, teeth, [Mode(2e6, 0.06, 700.0)], [Mode(2e6, 0.06, 700.0)], 20e-3)
    assert damped > 1.3 * limits[0]


def test_a_weak_machine_is_pushed_off_as_its_spring_is() -> None:
    cut = Pass(40.0, 3e-5, 0.2e-3, 1e-3, False)
    soft, hard = (simulated(cut, PLAIN, Cutter(6e-3, 3, 0.5, 0.0), STIFF, [Mode(k, 0.1, 900.0)]).left
                  for k in (1e6, 4e6))
    assert soft / hard == pytest.approx(4.0, rel=0.25)


def test_limits_tell_the_depths_of_a_drawn_mill() -> None:
    limits = Limits(drawn(np.random.default_rng(3)), JOB[0])
    chances = [limits.fails(depth) for depth in DEPTHS]
    assert all(less <= more for less, more in pairwise(chances))
    assert set(limits.deep) == set(LOSSES)
    assert limits.costs(DEPTHS[0]) >= minutes_of(JOB[0], DEPTHS[0]) > minutes_of(JOB[0], DEPTHS[-1])


def test_what_is_held_of_a_calibrated_belief_is_nine_in_ten() -> None:
    """Limits drawn from the belief itself, many of them deeper or shallower than any depth that is asked."""
    random = np.random.default_rng(6)
    for middle in (0.1, 0.4, 2.0):
        limits = middle * 3.0 ** random.standard_normal(20000)
        curve = np.asarray(normal_cdf(np.log(np.array(DEPTHS) / middle) / math.log(3.0)))
        assert np.mean([held_by(curve, limit) for limit in limits]) == pytest.approx(0.9, abs=0.02)
        wide = np.asarray(normal_cdf(np.log(np.array(DEPTHS) / middle) / math.log(6.0)))
        assert np.mean([held_by(wide, limit) for limit in limits]) > 0.92


def test_learning_in_two_shops_helps() -> None:
    """The depth from which it sings is held; what is called good is good; and more is called so than by the book."""
    scores = [score_of(seed, known_by_the_book()) for seed in (0, 2)]
    for found in ([score.habit.by for score in scores], [score.asked.by for score in scores]):
        assert np.mean([by.sings for by in found]) > 0.7
        assert sum(by.found[0] for by in found) > sum(s.book.found[0] for s in scores)
        assert sum(by.fails[0] for by in found) < 0.15 * sum(by.fails[1] for by in found)
    assert sum(s.asked.cost for s in scores) < sum(s.cost_book for s in scores)
