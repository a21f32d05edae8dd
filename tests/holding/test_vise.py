"""A block in a vise: hand-solved cases, the limit load against a linear programme, properties."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from firstoff.errors import OutOfRange
from firstoff.holding.vise import (
    WAYS,
    jaw_forces,
    mean_radius,
    open_use,
    slip_use,
    spin_use,
    tilt_use,
    turn_use,
    vise_use,
)

BLOCK: dict[str, Any] = {
    "point_x": 0.0, "point_y": 0.0, "point_z": 4e-3, "clamp_force": 2000.0, "jaw_friction": 0.1,
    "rest_friction": 0.1, "grip_width": 60e-3, "grip_height": 8e-3, "part_width": 34e-3, "rest_span": 20e-3,
}
LOADS, SHARES = st.floats(-1.0, 1.0), st.floats(0.05, 0.95)


def most(gain: list[float], kept: list[float], load: float, bounds: list[tuple[float, float | None]]) -> float:
    """The largest moment of contact forces that balance a load: an independent way."""
    solved = linprog([-arm for arm in gain], A_eq=[kept], b_eq=[0.0 - load], bounds=bounds)
    assert solved.fun is not None, solved.message
    return -float(solved.fun)


def test_slip_by_hand() -> None:
    # 300 along and 400 up against 2 jaws x 0.1 x 5000 N: 500/1000.
    assert slip_use(300.0, 0.0, 400.0, 5000.0, 0.1, 0.1) == pytest.approx(0.5)
    # A downward load is carried by the parallels and adds their friction: 300/(1000 + 40).
    assert slip_use(300.0, 0.0, -400.0, 5000.0, 0.1, 0.1) == pytest.approx(300.0 / 1040.0)
    # A load towards the fixed jaw presses harder on it: 0.1 x (5000 + 6000).
    assert slip_use(550.0, 1000.0, 0.0, 5000.0, 0.1, 0.1) == pytest.approx(0.5)


def test_pulled_off_the_fixed_jaw() -> None:
    np.testing.assert_allclose(open_use([1000.0, -1000.0, -3000.0], 2000.0), [0.0, 0.5, 1.5])
    jaws = jaw_forces(2000.0, np.array([500.0, -500.0, -3000.0]))
    np.testing.assert_allclose(jaws.fixed, [2500.0, 1500.0, 0.0])
    np.testing.assert_allclose(jaws.moving, 2000.0)


def test_tilt_by_hand_without_friction() -> None:
    # Only pressure centres can move: a push of 100 N at 24 mm (20 above the middle of the grip) asks for 2 N m;
    # jaws of 2100 and 2000 N whose centres move by 4 mm give 16.4 N m.
    use = tilt_use(0.0, 100.0, 0.0, 0.0, 24e-3, 2000.0, 0.0, 8e-3, 34e-3, 20e-3)
    assert use == pytest.approx(2.0 / 16.4)


def test_turn_of_a_round_patch_and_spin_by_hand() -> None:
    # Mean distance from the middle of a unit square: (sqrt 2 + asinh 1)/6 = 0.3826.
    assert mean_radius(1.0, 1.0) == pytest.approx((np.sqrt(2.0) + np.arcsinh(1.0)) / 6.0)
    # A strip: a quarter of its length.
    assert mean_radius(1.0, 1e-6) == pytest.approx(0.25, rel=1e-6)
    # Push of 100 N, 25 mm off the middle, no friction: 2.5 N m against 4100 N whose centres move by 30 mm.
    assert spin_use(0.0, 100.0, 0.0, 25e-3, 0.0, 2000.0, 0.0, 60e-3, 34e-3) == pytest.approx(2.5 / 123.0)


def test_mean_radius_by_numbers() -> None:
    x, y = np.meshgrid((np.arange(400) + 0.5) / 400 - 0.5, (np.arange(400) + 0.5) / 400 - 0.5)
    assert mean_radius(0.09, 0.008) == pytest.approx(np.hypot(x * 0.09, y * 0.008).mean(), rel=1e-4)


@settings(max_examples=60, deadline=None)
@given(LOADS, LOADS, LOADS, st.floats(0.0, 4.0), SHARES, SHARES, SHARES)
def test_tilt_is_the_limit_of_a_linear_programme(
    push: float, lift: float, y: float, z: float, mu: float, height: float, rest: float
) -> None:
    clamp, width = 2000.0, 34e-3
    force_y = push * 0.6 * clamp
    fixed, moving, high, span = clamp + force_y, clamp, height * 30e-3, rest * width
    force_z = lift * 0.95 * mu * (fixed + moving)
    point_y, point_z = y * width / 2.0, z * high
    moment = point_y * force_z - (point_z - high / 2.0) * force_y
    assume(abs(moment) > 1e-6)
    sense = -np.sign(moment)
    most_of_it = most(
        [sense * arm for arm in (1.0, -1.0, width / 2.0, -width / 2.0, span / 2.0, -span / 2.0)],
        [0.0, 0.0, 1.0, 1.0, 1.0, 1.0], force_z,
        [(-fixed * high / 2, fixed * high / 2), (-moving * high / 2, moving * high / 2),
         (-mu * fixed, mu * fixed), (-mu * moving, mu * moving), (0.0, None), (0.0, None)],
    )
    assume(most_of_it > 1e-3)
    use = tilt_use(0.0, force_y, force_z, point_y, point_z, clamp, mu, high, width, span)
    assert use == pytest.approx(abs(moment) / most_of_it, rel=1e-6)


@settings(max_examples=60, deadline=None)
@given(LOADS, LOADS, LOADS, LOADS, SHARES, SHARES)
def test_spin_is_the_limit_of_a_linear_programme(
    push: float, along: float, x: float, y: float, mu: float, grip: float
) -> None:
    clamp, width = 2000.0, 34e-3
    force_y = push * 0.6 * clamp
    fixed, moving, wide = clamp + force_y, clamp, grip * 0.1
    force_x = along * 0.95 * mu * (fixed + moving)
    moment = x * wide * force_y - y * width / 2.0 * force_x
    assume(abs(moment) > 1e-6)
    sense = -np.sign(moment)
    most_of_it = most(
        [sense * arm for arm in (1.0, 1.0, -width / 2.0, width / 2.0)], [0.0, 0.0, 1.0, 1.0], force_x,
        [(-fixed * wide / 2, fixed * wide / 2), (-moving * wide / 2, moving * wide / 2),
         (-mu * fixed, mu * fixed), (-mu * moving, mu * moving)],
    )
    assume(most_of_it > 1e-3)
    use = spin_use(force_x, force_y, 0.0, x * wide, y * width / 2.0, clamp, mu, wide, width)
    assert use == pytest.approx(abs(moment) / most_of_it, rel=1e-6)


@given(LOADS, LOADS, LOADS, LOADS, LOADS, st.floats(0.0, 2.0))
def test_a_mirrored_block_is_held_alike(fx: float, fz: float, x: float, y: float, fy: float, z: float) -> None:
    load = {"force_x": 150.0 * fx, "force_y": 300.0 * fy, "force_z": 100.0 * fz}
    place = BLOCK | {"point_x": 0.03 * x, "point_y": 0.017 * y, "point_z": 0.02 * z}
    one = vise_use(**load, **place)
    other = vise_use(**(load | {"force_x": -load["force_x"]}), **(place | {"point_x": -place["point_x"]}))
    np.testing.assert_allclose(np.array(one), np.array(other), rtol=1e-9)


@given(LOADS, LOADS, LOADS, st.floats(1.0, 5.0))
def test_a_harder_clamp_never_holds_less(fx: float, fz: float, x: float, more: float) -> None:
    load = {"force_x": 150.0 * fx, "force_y": 0.0, "force_z": 100.0 * fz}
    soft = vise_use(**load, **(BLOCK | {"point_x": 0.03 * x, "point_z": 0.03}))
    hard = vise_use(**load, **(BLOCK | {"point_x": 0.03 * x, "point_z": 0.03, "clamp_force": 2000.0 * more}))
    assert np.all(np.array(hard) <= np.array(soft) + 1e-12)


def test_which_way_gives_first() -> None:
    rows: dict[str, Any] = {
        "force_x": np.array([0.0, 500.0, 0.0]), "force_y": np.array([-2500.0, 0.0, 1500.0]), "force_z": 0.0
    }
    use = vise_use(**rows, **(BLOCK | {"point_z": np.array([4e-3, 4e-3, 80e-3])}))
    assert [WAYS[i] for i in use.first] == ["open", "slip", "tilt"]
    np.testing.assert_allclose(use.worst[:2], [1.25, 1.25])
    assert use.worst[2] > 1.0 > use.slip[2]


def test_nothing_holds_without_friction_or_clamp() -> None:
    assert slip_use(1.0, 0.0, 0.0, 2000.0, 0.0, 0.0) == np.inf
    assert slip_use(0.0, 0.0, -5.0, 0.0, 0.1, 0.1) == 0.0
    assert turn_use(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.1, 0.06, 0.008) == 0.0


def test_refusals() -> None:
    with pytest.raises(OutOfRange, match="clamp_force is -1"):
        slip_use(1.0, 0.0, 0.0, -1.0, 0.1, 0.1)
    with pytest.raises(OutOfRange, match="grip_height is 0"):
        vise_use(1.0, 0.0, 0.0, **(BLOCK | {"grip_height": 0.0}))
    with pytest.raises(OutOfRange, match="force_y holds nan"):
        vise_use(1.0, np.nan, 0.0, **BLOCK)
