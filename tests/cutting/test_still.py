"""Readings of simple tests against closed forms."""

from __future__ import annotations

import numpy as np
import pytest

from firstoff.cutting.still import pull_loop, ring_of, square_size, swing_difference, turned_over_travel
from firstoff.errors import OutOfRange


def test_the_loop_holds_spring_and_play_apart() -> None:
    loop = pull_loop(100.0, np.array([2e6, 1e7]), np.array([4e-5, 1e-5]), np.array([15.0, 60.0]))
    assert loop.pulled - loop.released == pytest.approx([50e-6, 10e-6])
    assert loop.released - loop.released_back == pytest.approx([4e-5, 1e-5])
    assert loop.pulled == pytest.approx(-loop.pushed)


def test_a_pull_below_the_drag_shows_no_play() -> None:
    loop = pull_loop(100.0, 2e6, 1e-4, np.array([250.0, 99.0]))
    assert (loop.released - loop.released_back) == pytest.approx([0.0, 1e-4])


def test_slopes_and_reversal() -> None:
    assert swing_difference(4e-4, 0.15) == pytest.approx(60e-6)
    assert turned_over_travel(np.array([5e-4, -5e-4]), 0.045) == pytest.approx([45e-6, -45e-6])
    assert square_size(0.05, 3e-4, -2e-5) == pytest.approx(0.05 + 15e-6 - 20e-6)


def _ring(natural: float, damping: float, rate: float = 44100.0, seconds: float = 0.6) -> np.ndarray:
    t = np.arange(int(rate * seconds)) / rate
    turning = natural * np.sqrt(1.0 - damping**2)
    return np.asarray(np.exp(-damping * natural * t) * np.sin(turning * t))


@pytest.mark.parametrize("damping", [0.01, 0.03, 0.08])
@pytest.mark.parametrize("hertz", [250.0, 900.0, 2400.0])
def test_a_ring_is_found_with_its_damping(hertz: float, damping: float) -> None:
    natural = 2.0 * np.pi * hertz
    generator = np.random.default_rng(7)
    quiet = 1e-3 * generator.standard_normal(3000)
    tapped = _ring(natural, damping) + 1e-3 * generator.standard_normal(26460)
    heard = ring_of(np.concatenate([quiet, tapped]), 44100.0)
    assert heard.natural == pytest.approx(natural, rel=0.02)
    assert heard.damping == pytest.approx(damping, rel=0.2)
    assert heard.clear > 10.0


def test_a_slow_ring_in_the_log_of_an_accelerometer() -> None:
    heard = ring_of(_ring(2.0 * np.pi * 70.0, 0.04, rate=400.0, seconds=1.5), 400.0)
    assert heard.natural == pytest.approx(2.0 * np.pi * 70.0, rel=0.03)
    assert heard.damping == pytest.approx(0.04, rel=0.25)


def test_the_louder_of_two_rings_is_the_one() -> None:
    both = _ring(2.0 * np.pi * 400.0, 0.03) + 0.2 * _ring(2.0 * np.pi * 1500.0, 0.02)
    assert ring_of(both, 44100.0).natural == pytest.approx(2.0 * np.pi * 400.0, rel=0.02)
    assert ring_of(both, 44100.0, lowest=2.0 * np.pi * 800.0).natural == pytest.approx(2.0 * np.pi * 1500.0, rel=0.02)


@pytest.mark.parametrize("signal", [np.zeros(5000), np.ones(5000), np.zeros(0), np.sin(np.arange(20000) * 0.1)])
def test_silence_and_a_hum_are_refused(signal: np.ndarray) -> None:
    with pytest.raises(OutOfRange):
        ring_of(signal, 44100.0)
