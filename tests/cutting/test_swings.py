"""Modes between impulses: a free swing is exact, an impulse gives its momentum, a missing mode stands still."""

from __future__ import annotations

import numpy as np
import pytest

from firstoff.cutting._swings import Follower, Node, Swing, stacked, times
from firstoff.cutting.chatter import Mode


def mode(stiffness: float, damping: float, natural: float) -> Mode:
    """One for both rows."""
    return Mode(np.array([stiffness]), np.array([damping]), np.array([natural]))


MODES = ((mode(2.0e6, 0.03, 400.0), mode(8.0e6, 0.02, 2500.0)), (mode(3.0e6, 0.05, 700.0),))


def swing(step: float) -> Swing:
    return Swing(MODES, (2,), np.array([step, 2.0 * step]), np.array([0.1, 0.2]))


def test_a_free_swing_is_the_closed_form() -> None:
    """x = exp(-z w t) (x0 cos(wd t) + (v0 + z w x0) / wd sin(wd t))."""
    step = 3.1e-4
    one = swing(step)
    place, speed = one.place.copy(), one.speed * one.ring.swapaxes(0, 1)
    for _ in range(5):
        one.kick(np.zeros((2, 2)), last=False)
    for way, modes in enumerate(MODES):
        for i, (_, damping, natural) in enumerate(map(np.asarray, one_mode) for one_mode in modes):
            time, ring = 5.0 * step * np.array([1.0, 2.0]), natural * np.sqrt(1.0 - damping**2)
            x, v = place[way, i], speed[way, i]
            fade = np.exp(-damping * natural * time)
            after = fade * (x * np.cos(ring * time) + (v + damping * natural * x) / ring * np.sin(ring * time))
            fall = fade * (v * np.cos(ring * time) - (damping * natural * v + natural**2 * x) / ring
                           * np.sin(ring * time))
            assert one.place[way, i] == pytest.approx(after, rel=1e-10)
            assert one.speed[way, i] * one.ring[i, way] == pytest.approx(fall, rel=1e-10)


def test_an_impulse_takes_its_momentum_from_the_modal_mass() -> None:
    kicked, other = swing(1e-12), swing(1e-12)
    impulse = np.array([[2.0, 3.0], [5.0, 7.0]])
    kicked.kick(impulse, last=False)
    other.kick(np.zeros((2, 2)), last=False)
    mass = [float(np.sum([np.asarray(one.natural) ** 2 / one.stiffness for one in modes])) for modes in MODES]
    assert kicked.speeds() - other.speeds() == pytest.approx(-impulse * np.array(mass)[:, None], rel=1e-6)
    assert kicked.places() == pytest.approx(other.places(), rel=1e-6)


def test_a_direction_with_fewer_modes_has_one_that_stands_still() -> None:
    one = swing(1e-4)
    one.kick(np.full((2, 2), 4.0), last=True)
    assert np.all(one.place[1, 1] == 0.0)
    assert np.all(one.speed[1, 1] == 0.0)
    assert np.all(one.place[1, 0] != 0.0)


@pytest.mark.parametrize("size", [1, 2])
def test_matrix_times_vector_is_linear_algebra(size: int) -> None:
    rng = np.random.default_rng(3)
    parts = [[rng.normal(size=4) for _ in range(size)] for _ in range(size)]
    vector = rng.normal(size=(size, 4))
    assert times(stacked(parts), vector) == pytest.approx(np.einsum("ijn,jn->in", np.array(parts), vector))


@pytest.mark.parametrize("modes", [MODES, MODES[:1]], ids=["two directions", "one"])
def test_a_tooth_is_its_nodes_one_by_one(modes: tuple[tuple[Mode, ...], ...]) -> None:
    rng, ways = np.random.default_rng(5), len(modes)
    parts = rng.normal(size=(3, 3, ways, ways, 2))           # node, kind, to, from, row
    before = rng.normal(size=(3, ways, 2))
    by_node, other = (Swing(modes, (2,), np.array([1e-4, 2e-4]), np.array([0.1, 0.2])) for _ in range(2))
    left = before.copy()
    columns = [[tuple(kind.swapaxes(0, 1)) for kind in part] for part in parts]
    nodes = [Node(impulse, mix, drag, here)
             for (impulse, mix, drag), here in zip(columns, left, strict=True)]
    Follower(by_node, nodes).tooth()
    for i, (impulse, mix, drag) in enumerate(parts):
        moved = other.places() - before[i]
        other.kick(times(impulse, moved) + times(drag, other.speeds()), i == 2)
        before[i] += times(mix, moved)
    assert by_node.swing == pytest.approx(other.swing) and left == pytest.approx(before)
