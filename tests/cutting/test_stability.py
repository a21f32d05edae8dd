"""Discretization: the converged benchmark, what must not depend on the directions, and the equation itself."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firstoff.cutting.chatter import Mode, depth_limit, directional_factors
from firstoff.cutting.engagement import engagement_angles
from firstoff.cutting.process_damping import mean_flank_damping
from firstoff.cutting.stability import Regeneration, can_follow, largest_multiplier, sings, stability_limit
from firstoff.errors import OutOfRange
from tests.cutting.shared import FOLDER, table
from tests.published import agrees, predicted

Array = npt.NDArray[np.float64]
TURN = 2 * np.pi
KT, KR = 6e8, 2e8
MODE = Mode(1340049.648, 0.011, TURN * 922.0)
OTHER = Mode(2.4e6, 0.03, TURN * 690.0)


def cut(share: float, direction: str = "climb", teeth: int = 2, **more: float) -> Regeneration:
    """A cut of the benchmark at an immersion."""
    angles = engagement_angles(share, 1.0, direction)  # type: ignore[arg-type]
    return Regeneration(KT, KR, teeth, float(angles.entry), float(angles.exit), **more)


def test_the_converged_limits_of_the_benchmark() -> None:
    # ST-01: two independent methods agree there within 0.3 %; flip lobes and islands are among them
    cases = table("stability.json")["cases"]
    assert len(cases) > 80
    for case in cases:
        mill = cut(case["a_over_D"], {"down": "climb", "up": "conventional"}[case["direction"]])
        square = [MODE] if case["dof"] == 2 else []
        got = float(stability_limit(mill, [MODE], square, case["rpm"] * TURN / 60, 2e-5, 2e-2))
        what = (f"limit, {case['dof']} mode(s), {case['direction']} milling, immersion {case['a_over_D']:g}, "
                f"{case['rpm']}/min")
        agrees("chatter", what, "insperger2004", case["critical_depth_mm"], got * 1e3, "mm", within=0.01)


@settings(max_examples=15, deadline=None)
@given(st.floats(0.08, 0.95), st.floats(500.0, 2500.0), st.integers(2, 4), st.floats(1e-5, 3e-3))
def test_up_and_down_are_one_for_an_isotropic_mode(share: float, speed: float, teeth: int, depth: float) -> None:
    up, down = (largest_multiplier(cut(share, direction, teeth), [MODE], [MODE], speed, depth)
                for direction in ("conventional", "climb"))
    assert up == pytest.approx(down, rel=2e-3)


def test_up_and_down_differ_where_one_direction_is_weaker() -> None:
    up, down = (float(stability_limit(cut(0.1, direction), [MODE], [MODE._replace(stiffness=9e6)], 900.0, 1e-5, 0.05))
                for direction in ("conventional", "climb"))
    assert abs(up / down - 1.0) > 0.2


def test_without_depth_a_swing_dies_as_the_mode_does() -> None:
    speed = 700.0
    assert largest_multiplier(cut(0.5), [MODE], [OTHER], speed, 0.0) == pytest.approx(
        np.exp(-MODE.damping * MODE.natural * np.pi / speed), rel=1e-3)


def followed_in_time(mill: Regeneration, x: Mode, y: Mode, speed: float, depth: float, teeth: int) -> Array:
    """The delayed equation itself, by small steps of a classical integration: size of the swing by tooth."""
    steps = 240
    period = TURN / mill.teeth / speed
    dt, half = period / steps, 2 * steps
    natural = np.array([x.natural, y.natural])
    push = natural**2 / np.array([x.stiffness, y.stiffness])
    loss = 2 * natural * np.array([x.damping, y.damping])

    def matrix(i: int) -> Array:
        total = np.zeros((2, 2))
        for tooth in range(mill.teeth):
            phi = TURN / mill.teeth * (i / half + tooth)
            if mill.entry < phi < mill.exit:
                s, c = np.sin(phi), np.cos(phi)
                total += np.outer([KT * c + KR * s, -KT * s + KR * c], [s, c])
        return total

    forces = [depth * matrix(i) for i in range(half + 1)]
    place, speed_of = np.array([1e-6, -5e-7]), np.zeros(2)
    past = np.zeros((half + 1, 2))
    sizes = []

    def rate(q: Array, v: Array, i: int) -> Array:
        return np.asarray(-natural**2 * q - loss * v - push * (forces[i] @ (q - past[i])))

    for _ in range(teeth):
        here = np.empty_like(past)
        for i in range(0, half, 2):
            here[i] = place
            k1, l1 = speed_of, rate(place, speed_of, i)
            k2, l2 = speed_of + dt / 2 * l1, rate(place + dt / 2 * k1, speed_of + dt / 2 * l1, i + 1)
            k3, l3 = speed_of + dt / 2 * l2, rate(place + dt / 2 * k2, speed_of + dt / 2 * l2, i + 1)
            k4, l4 = speed_of + dt * l3, rate(place + dt * k3, speed_of + dt * l3, i + 2)
            here[i + 1] = place + dt / 2 * speed_of + dt**2 / 8 * l1
            place = place + dt / 6 * (k1 + 2 * k2 + 2 * k3 + k4)
            speed_of = speed_of + dt / 6 * (l1 + 2 * l2 + 2 * l3 + l4)
        here[half] = place
        past = here
        sizes.append(float(np.sqrt(np.mean(here**2))))
    return np.array(sizes)


@pytest.mark.parametrize(("share", "direction", "rpm"), [(0.3, "conventional", 9000), (1.0, "climb", 14000)])
def test_the_equation_itself_grows_above_the_limit_and_dies_below(share: float, direction: str, rpm: int) -> None:
    mill, speed = cut(share, direction), rpm * TURN / 60
    limit = float(stability_limit(mill, [MODE], [OTHER], speed, 1e-5, 0.02))
    below, above = (followed_in_time(mill, MODE, OTHER, speed, part * limit, 100) for part in (0.93, 1.07))
    assert below[-20:].mean() < 0.7 * below[40:60].mean()
    assert above[-20:].mean() > 1.4 * above[40:60].mean()


def test_a_deep_helix_leaves_only_the_mean_so_the_zero_order_limit() -> None:
    # an edge that lags a whole pitch at the limit has no steep entry: then the mean factors are exact
    speed, factors = 1100.0, directional_factors(KR / KT, float(cut(0.15).entry), np.pi)
    zero = float(depth_limit(KT, 2, factors, [MODE], [MODE], speed)[0])
    twisted = cut(0.15, lag=np.pi / zero)
    assert float(stability_limit(twisted, [MODE], [MODE], speed, 1e-5, 0.02)) == pytest.approx(zero, rel=0.05)


def test_flanks_damp_as_in_the_mean_where_the_cut_is_full() -> None:
    speed, coefficient, diameter = 620.0, 4e4, 0.006
    rub = mean_flank_damping(coefficient, diameter, 4, 0.0, np.pi)
    mill = cut(1.0, teeth=4)._replace(flank=coefficient / (diameter / 2))
    limit = float(stability_limit(mill, [MODE], [MODE], speed, 1e-6, 0.02))
    factors = directional_factors(KR / KT, 0.0, np.pi)
    assert float(depth_limit(KT, 4, factors, [MODE], [MODE], speed, rub, limit)[0]) == pytest.approx(limit, rel=0.03)
    assert limit > 1.1 * float(stability_limit(mill._replace(flank=0.0), [MODE], [MODE], speed, 1e-6, 0.02))


def test_a_map_is_its_single_points() -> None:
    speeds, depths = np.array([600.0, 800.0, 1000.0]), np.array([2e-4, 6e-4, 2e-3, 3e-3])
    chart = sings(cut(1.0), [MODE], [], speeds[:, None], depths[None, :])
    ones = [[bool(sings(cut(1.0), [MODE], [], s, d)) for d in depths] for s in speeds]
    assert chart.tolist() == ones and chart.any() and not chart.all()
    assert np.array_equal(chart, largest_multiplier(cut(1.0), [MODE], [], speeds[:, None], depths) > 1.0)


def test_rows_are_single_calls() -> None:
    rng = np.random.default_rng(3)
    k, zeta, w = (mean * rng.lognormal(0, 0.3, 6) for mean in (1.5e6, 0.03, 6000.0))
    mill = cut(0.3)
    rows = stability_limit(mill, [Mode(k, zeta, w)], [Mode(2 * k, zeta, w)], 900.0, 1e-5, 0.05)
    for i in range(6):
        one = stability_limit(mill, [Mode(k[i], zeta[i], w[i])], [Mode(2 * k[i], zeta[i], w[i])], 900.0, 1e-5, 0.05)
        assert float(one) == pytest.approx(rows[i], rel=5e-3)


def test_no_limit_in_the_range_is_infinite_and_one_below_it_is_found() -> None:
    assert np.isinf(stability_limit(cut(0.5), [MODE], [MODE], 900.0, 1e-7, 1e-6))
    found = stability_limit(cut(1.0), [MODE], [MODE], 600.0, 1e-5, 1e-2)
    assert stability_limit(cut(1.0), [MODE], [MODE], 600.0, 5e-3, 1e-2) == pytest.approx(found, rel=5e-3)


def test_far_above_the_limit_nothing_overflows() -> None:
    assert np.all(sings(cut(1.0), [MODE], [MODE], 900.0, np.array([0.01, 0.1, 1.0])))


def test_what_cannot_be_followed_is_told_row_by_row_before_it_is_refused() -> None:
    """The lag of a helical edge lengthens its time in the cut."""
    twisted = cut(0.1)._replace(lag=2.0 * np.tan(0.5) / 0.006)
    natural = TURN * np.array([200.0, 2e3, 2e4, 2e5])
    modes = MODE._replace(natural=natural)
    follows = can_follow(twisted, [modes], [], 900.0, 0.004)
    assert follows.tolist() == [True, True, True, False]
    assert not can_follow(twisted, [modes], [], 900.0, 0.004, swings=5.0)[2]
    for one, fine in zip(natural, follows, strict=True):
        here = MODE._replace(natural=float(one))
        if fine:
            sings(twisted, [here], [], 900.0, 0.004)
        else:
            with pytest.raises(OutOfRange, match="while one tooth cuts"):
                sings(twisted, [here], [], 900.0, 0.004)


def test_impossible_things_are_refused() -> None:
    with pytest.raises(OutOfRange, match="depth of cut is -0"):
        sings(cut(0.5), [MODE], [], 900.0, -0.001)
    with pytest.raises(OutOfRange, match="no mode is given"):
        largest_multiplier(cut(0.5), [], [], 900.0, 0.001)
    with pytest.raises(OutOfRange, match="immersion at most 1"):
        sings(cut(0.5)._replace(exit=4.0), [MODE], [], 900.0, 0.001)
    with pytest.raises(OutOfRange, match="not above entry"):
        sings(cut(0.5)._replace(exit=1.0), [MODE], [], 900.0, 0.001)
    with pytest.raises(OutOfRange, match="the zero-order limit holds there"):
        sings(cut(1.0), [MODE], [], 20.0, 0.001)
    with pytest.raises(OutOfRange, match="are no range"):
        stability_limit(cut(1.0), [MODE], [], 900.0, 0.01, 0.001)
    with pytest.raises(OutOfRange, match="damping ratio"):
        sings(cut(1.0), [MODE._replace(damping=np.nan)], [], 900.0, 0.001)


def measured(name: str) -> Any:
    """A measured set of the folder beside the published tables, or a skipped test."""
    path = FOLDER.parent / "measured" / name
    if not path.exists():
        pytest.skip(f"{name} is not there: set FIRSTOFF_SHARED to the folder of published tables")
    return json.loads(path.read_text(encoding="utf-8"))


def foretold(limits: Array) -> tuple[float, float, float]:
    """5, 50 and 95 % of limits that scatter by 15 % beside what is sampled [mm]."""
    rng = np.random.default_rng(8)
    low, middle, high = np.percentile(limits * np.exp(0.15 * rng.standard_normal(limits.shape)) * 1e3, (5, 50, 95))
    return float(low), float(middle), float(high)


def test_measured_lobes_of_a_ramp_in_c45() -> None:
    # chi2014: mode measured; width not printed (single-side up-milling: its whole range), stiffness fitted there, so
    # one scale is fitted here from the other four depths each time: what is foretold is the shape of the lobes
    case = measured("stability_chi2014_c45.json")
    told = case["conditions.json"]
    speeds = np.array([float(row["rpm"]) for row in case["data.csv"]]) * TURN / 60
    depths = np.array([float(row["a_crit_mm"]) for row in case["data.csv"]]) * 1e-3
    rng = np.random.default_rng(7)
    mode = Mode(1e7, told["zeta_measured"], TURN * told["fn_Hz_measured"])
    shapes = []
    for share, ratio, stiffer in zip(rng.uniform(0.1, 1.0, 60), rng.uniform(0.2, 0.5, 60),
                                     rng.choice([0.0, 1.0, 3.0], 60), strict=True):
        angles = engagement_angles(float(share), 1.0, "conventional")
        mill = Regeneration(2e9, float(ratio) * 2e9, 2, float(angles.entry), float(angles.exit))
        other = [mode._replace(stiffness=stiffer * 1e7)] if stiffer else []
        shapes.append(stability_limit(mill, [mode], other, speeds, 1e-5, 10.0))
    logs = np.log(np.array(shapes))
    inside = []
    for i, (speed, depth) in enumerate(zip(speeds, depths, strict=True)):
        rest = np.arange(len(speeds)) != i
        scale = np.mean(np.log(depths[rest]) - logs[:, rest], axis=1)
        inside.append(predicted(
            "chatter", f"limit of a ramp in C45 at {speed * 60 / TURN:.0f}/min, scale by the other four", "chi2014",
            foretold(np.exp(logs[:, i] + scale)), depth * 1e3, "mm"))
    assert sum(inside) >= 3
