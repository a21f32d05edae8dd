"""Chatter: the published milling benchmark, the closed form of equal modes, and the equation itself."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.cutting import chatter
from firstoff.cutting.chatter import (
    Factors,
    Mode,
    absolute_depth_limit,
    chatter_frequency,
    depth_limit,
    directional_factors,
)
from firstoff.cutting.engagement import engagement_angles
from firstoff.cutting.process_damping import FlankDamping
from firstoff.errors import OutOfRange
from tests.cutting.shared import table

Array = npt.NDArray[np.float64]
Complex = npt.NDArray[np.complex128]
Modes = tuple[Mode, ...]
TURN = 2 * np.pi
# Benchmark of two teeth, 600 and 200 N/mm2, 922 Hz, 1.1 %: see ST-02, ST-05 of the published cases
KT, RATIO = 6e8, 1 / 3
MODE = Mode(1340049.648, 0.011, TURN * 922.0)
ONE, RIGID = (MODE,), ()
SLOT = directional_factors(RATIO, 0.0, np.pi)


def factors(share: float, direction: str) -> Factors:
    """Directional factors at an immersion."""
    angles = engagement_angles(share, 1.0, direction)  # type: ignore[arg-type]
    return directional_factors(RATIO, angles.entry, angles.exit)


def compliance(modes: Modes, frequency: Array) -> Complex:
    """G of some modes together."""
    total = np.zeros(frequency.shape, dtype=np.complex128)
    for mode in modes:
        r = frequency / mode.natural
        total += 1 / mode.stiffness / (1 - r**2 + 2j * mode.damping * r)
    return total


def determinant(depth: float, speed: float, f: Factors, x: Modes, y: Modes, frequency: Array) -> Complex:
    """The characteristic equation itself: det(I - z a K_t / (4 pi) (1 - e^-i w T) A G), altintas1995."""
    gain = 2 * depth * KT / (4 * np.pi) * (1 - np.exp(-1j * frequency * TURN / (2 * speed)))
    gx, gy = gain * compliance(x, frequency), gain * compliance(y, frequency)
    return np.asarray((1 - f.xx * gx) * (1 - f.yy * gy) - f.xy * f.yx * gx * gy, dtype=np.complex128)


def roots(depth: float, speed: float, f: Factors, x: Modes, y: Modes) -> int:
    """How often the determinant winds about 0 as the frequency runs up: none while the cut is stable."""
    frequency = np.linspace(1.0, 5 * TURN * 922.0, 400001)
    angle = np.unwrap(np.angle(determinant(depth, speed, f, x, y, frequency)))
    return round(abs(float(angle[-1] - angle[0])) / TURN)


def test_symmetric_slot_in_closed_form() -> None:
    # ST-05: altintas1995; a = 1 / (K_t max Re[(-K_r + i) G]) for two teeth
    frequency = TURN * 922.0 * np.linspace(0.9, 1.1, 400001)
    closed = 1 / (KT * np.max(((-RATIO + 1j) * compliance(ONE, frequency)).real))
    got = absolute_depth_limit(KT, 2, SLOT, ONE, ONE)
    assert closed == pytest.approx(0.0479e-3, rel=2e-3)
    assert got == pytest.approx(closed, rel=1e-3)


def test_one_mode_slot_in_closed_form() -> None:
    # one mode: a = 2 pi / (z K_t max Re[alpha_xx G]); the most negative Re G is -1 / (4 k zeta (1 + zeta))
    closed = TURN / (2 * KT) * 4 * MODE.stiffness * 0.011 * 1.011 / abs(float(SLOT.xx))
    assert absolute_depth_limit(KT, 2, SLOT, ONE, RIGID) == pytest.approx(closed, rel=1e-4)


def test_whole_table_of_least_depths() -> None:
    for name, case in table("stability_zero_order.json")["cases"].items():
        f = factors(float(name.rsplit("_", 1)[1]), "climb")
        got = absolute_depth_limit(KT, 2, f, ONE, RIGID if name.startswith("1dof") else ONE)
        assert got == pytest.approx(case["min_alim_mm"] * 1e-3, rel=1e-4), name


def test_whole_table_of_limits_by_speed() -> None:
    # The table is an envelope gathered in narrow bins of speed: it gives the least limit within about 1 in 1000
    # of the speed, which on the flank of a lobe lies up to 8 % below the limit at the speed itself.
    for name, case in table("stability_zero_order.json")["cases"].items():
        f, other = factors(float(name.rsplit("_", 1)[1]), "climb"), RIGID if name.startswith("1dof") else ONE
        speeds = np.array([float(key) for key in case["alim_mm"]]) * TURN / 60
        wanted = np.array(list(case["alim_mm"].values())) * 1e-3
        near = np.stack([depth_limit(KT, 2, f, ONE, other, speeds * (1 + part))
                         for part in np.linspace(-2e-3, 2e-3, 21)])
        assert np.all(wanted >= near.min(axis=0) * (1 - 3e-3)), name
        assert np.all(wanted <= near[10] * (1 + 3e-3)), name


@pytest.mark.parametrize("rpm", [5000, 7000, 9000, 12000, 14000, 20000])
@pytest.mark.parametrize(("share", "second"), [(1.0, RIGID), (0.5, ONE), (0.3, (Mode(2e6, 0.03, TURN * 700.0),)),
                                              (0.6, (Mode(4e6, 0.03, TURN * 150.0), Mode(5e6, 0.02, TURN * 1600.0)))])
def test_at_the_limit_the_equation_begins_to_have_roots(rpm: int, share: float, second: Modes) -> None:
    f, speed = factors(share, "climb"), rpm * TURN / 60
    limit = float(depth_limit(KT, 2, f, ONE, second, speed)[0])
    assert roots(0.995 * limit, speed, f, ONE, second) == 0
    assert roots(1.005 * limit, speed, f, ONE, second) > 0


@pytest.mark.parametrize("rpm", [6000, 16000])
def test_near_the_converged_benchmark_in_a_slot(rpm: int) -> None:
    # ST-02: outputs converged by two independent methods; the zero-order solution is close in a full slot
    case = next(item for item in table("stability.json")["cases"] if item["dof"] == 2 and item["rpm"] == rpm
                and item["a_over_D"] == 1.0 and item["direction"] == "down")
    got = depth_limit(KT, 2, SLOT, ONE, ONE, rpm * TURN / 60)
    assert got == pytest.approx(case["critical_depth_mm"] * 1e-3, rel=0.15)


@given(st.floats(0.05, 1.0), st.floats(200.0, 3000.0))
def test_up_and_down_agree_for_equal_modes(share: float, speed: float) -> None:
    up, down = (factors(share, direction) for direction in ("conventional", "climb"))
    assert absolute_depth_limit(KT, 2, up, ONE, ONE) == pytest.approx(
        absolute_depth_limit(KT, 2, down, ONE, ONE), rel=1e-4)
    assert depth_limit(KT, 2, up, ONE, ONE, speed) == pytest.approx(
        depth_limit(KT, 2, down, ONE, ONE, speed), rel=1e-3)


@given(st.floats(0.2, 1.0), st.floats(0.01, 0.15), st.floats(0.5, 2.0), st.floats(150.0, 3000.0))
def test_no_speed_is_worse_than_the_worst(share: float, damping: float, apart: float, speed: float) -> None:
    f, other = factors(share, "climb"), (Mode(2e6, damping, apart * TURN * 922.0),)
    worst = absolute_depth_limit(KT, 2, f, ONE, other)
    assert np.all(depth_limit(KT, 2, f, ONE, other, np.array([speed, 0.05 * speed])) >= worst * (1 - 2e-3))


def test_rows_equal_single_calls_and_scale() -> None:
    rng = np.random.default_rng(5)
    k, zeta, w = (mean * rng.lognormal(0, 0.4, 12) for mean in (1.5e6, 0.03, 6000.0))
    kt, speed = 7e8 * rng.lognormal(0, 0.2, 12), 900.0 * rng.lognormal(0, 0.3, 12)
    rows = depth_limit(kt, 3, SLOT, (Mode(k, zeta, w),), (Mode(2 * k, zeta, w * 1.2),), speed)
    for i in range(12):
        one = (Mode(k[i], zeta[i], w[i]),), (Mode(2 * k[i], zeta[i], w[i] * 1.2),)
        assert depth_limit(kt[i], 3, SLOT, *one, speed[i])[0] == pytest.approx(rows[i])
    stiffer = depth_limit(kt, 3, SLOT, (Mode(3 * k, zeta, w),), (Mode(6 * k, zeta, w * 1.2),), speed)
    assert stiffer == pytest.approx(3 * rows)


def test_stiff_modes_beside_the_weak_one_change_little() -> None:
    stiff = Mode(1e4 * MODE.stiffness, 0.011, 7 * MODE.natural)
    speeds = np.array([600.0, 900.0, 1400.0])
    assert depth_limit(KT, 2, SLOT, (MODE, stiff), RIGID, speeds) == pytest.approx(
        depth_limit(KT, 2, SLOT, ONE, RIGID, speeds), rel=5e-3)


def test_a_mode_split_in_two_halves_is_one_mode() -> None:
    half = MODE._replace(stiffness=2 * MODE.stiffness)
    assert depth_limit(KT, 2, SLOT, (half, half), ONE, 900.0) == pytest.approx(
        depth_limit(KT, 2, SLOT, ONE, ONE, 900.0), rel=1e-6)


def test_flanks_that_rub_are_more_damping() -> None:
    # one direction: damping D for each depth makes zeta + a D w_n / (2 k), so the limit is that of the other mode
    drag = 1e6
    flanks, speed, depth = FlankDamping(*(np.asarray(x) for x in (drag, 0.3 * drag, 0.0))), 620.0, 0.3e-3
    more = MODE._replace(damping=MODE.damping + depth * drag / speed * MODE.natural / (2 * MODE.stiffness))
    got = depth_limit(KT, 2, SLOT, ONE, RIGID, speed, flanks, depth)
    assert got == pytest.approx(depth_limit(KT, 2, SLOT, (more,), RIGID, speed), rel=2e-3)
    assert got > 1.02 * depth_limit(KT, 2, SLOT, ONE, RIGID, speed)


def test_flanks_count_the_more_the_slower_the_edge() -> None:
    flanks = FlankDamping(*(np.asarray(x) for x in (3e6, 1e5, 3e6)))
    speeds = np.array([60.0, 240.0, 960.0])
    gain = depth_limit(KT, 2, SLOT, ONE, ONE, speeds, flanks, 0.1e-3) / depth_limit(KT, 2, SLOT, ONE, ONE, speeds)
    assert np.all(np.diff(gain) < 0.0) and gain[0] > 1.3


@given(st.floats(100.0, 4000.0), st.floats(0.005, 0.06))
def test_the_frequency_of_a_rigid_square_is_the_closed_form(speed: float, damping: float) -> None:
    # one mode along the feed: at w the lobe's limit is 2 pi / (z K alpha Re G) and its waves are out by pi + 2 arg(G)
    mode = MODE._replace(damping=damping)
    f = directional_factors(RATIO, 0.0, np.pi / 2)
    found = float(chatter_frequency(KT, 2, f, [mode], [], speed)[0])
    value = f.xx * complex(compliance((mode,), np.array([found]))[0])
    limit = float(depth_limit(KT, 2, f, [mode], [], speed)[0])
    assert limit == pytest.approx(TURN / (2 * KT * value.real), rel=2e-3)
    waves = found / (2 * speed) - 0.5 - np.angle(value) / np.pi
    assert waves == pytest.approx(round(float(waves)), abs=2e-3)


def test_it_sings_above_the_mode_and_scales_with_it() -> None:
    speeds = np.linspace(200.0, 2000.0, 40)
    found = chatter_frequency(KT, 2, SLOT, ONE, RIGID, speeds)
    assert np.all(found > MODE.natural) and np.all(found < 1.5 * MODE.natural)
    twice = Mode(MODE.stiffness, MODE.damping, 2 * MODE.natural)
    assert np.allclose(chatter_frequency(KT, 2, SLOT, [twice], [], 2 * speeds), 2 * found)


def test_what_never_sings_has_no_frequency() -> None:
    drag = FlankDamping(np.array([1e9]), np.array([0.0]), np.array([1e9]))
    loud = chatter_frequency(KT, 2, SLOT, ONE, ONE, 50.0, drag, 1.0)
    assert (loud == 0.0) == np.isinf(depth_limit(KT, 2, SLOT, ONE, ONE, 50.0, drag, 1.0))


def test_impossible_things_are_refused() -> None:
    with pytest.raises(OutOfRange, match="spindle speed is 0"):
        depth_limit(KT, 2, SLOT, ONE, ONE, 0.0)
    with pytest.raises(OutOfRange, match="damping ratio is 0"):
        depth_limit(KT, 2, SLOT, (MODE._replace(damping=0.0),), ONE, 900.0)
    with pytest.raises(OutOfRange, match="no mode is given"):
        absolute_depth_limit(KT, 2, SLOT, RIGID, RIGID)
    with pytest.raises(OutOfRange, match="not above entry"):
        directional_factors(RATIO, 2.0, 1.0)
    with pytest.raises(OutOfRange, match="number of teeth is 0"):
        absolute_depth_limit(KT, 0, SLOT, ONE, ONE)


def test_one_tip_is_swept_once_for_both_ways_of_feed() -> None:
    """What is along the feed of one cut is square to that of the other; each is as if asked alone."""
    weak = (Mode(np.array([2e6, 4e6]), 0.03, np.array([400.0, 440.0])),)
    stiff = (Mode(np.array([9e6, 1.8e7]), 0.03, np.array([700.0, 770.0])),)
    factors = directional_factors(0.3, 0.0, 2.0)
    asked = [(weak, stiff), (stiff, weak)]
    alone = []
    for along, square in asked:
        chatter._swept.clear()
        alone.append(depth_limit(7e8, 2, factors, along, square, 900.0))
    after = [depth_limit(7e8, 2, factors, along, square, 900.0) for along, square in asked]
    assert len(chatter._swept) == 1
    assert np.array_equal(alone, after) and np.all(alone[0] != alone[1])
