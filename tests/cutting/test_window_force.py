"""Many windows at once are each window alone."""

from __future__ import annotations

import numpy as np
import pytest

from firstoff.cutting.edge import Profile, edge_of_slices
from firstoff.cutting.force import Coefficients, milling_forces
from firstoff.cutting.window_force import ManyCuts, ManyForces, many_forces
from firstoff.errors import OutOfRange

FLAT, BALL = Profile(0.006, 0.0, 0.0, 0.006), Profile(0.006, 0.003, 0.0, 0.0)


def law(rows: int) -> Coefficients:
    """Rows about cjme2021, table 5."""
    rng = np.random.default_rng(4)
    return Coefficients(*(k * rng.lognormal(0.0, 0.4, rows) for k in (767e6, 169e6, 222e6, 27.7e3, 26.6e3, 0.7e3)))


def windows(number: int, slices: int, climb: bool) -> ManyCuts:
    rng = np.random.default_rng(5)
    arc = np.arccos(1.0 - 2.0 * rng.uniform(0.03, 1.0, number))[:, None] * np.ones(slices)
    entry, leave = (np.pi - arc, np.full_like(arc, np.pi)) if climb else (np.zeros_like(arc), arc)
    thick = np.full(slices, 0.002 / slices)
    return ManyCuts(0.002 * (np.arange(slices) + 0.5) / slices, thick, entry, leave, rng.uniform(1e-5, 6e-5, number))


@pytest.mark.parametrize(("profile", "slices"), [(FLAT, 1), (FLAT, 5), (BALL, 6)])
@pytest.mark.parametrize("climb", [True, False])
def test_many_are_each_alone(profile: Profile, slices: int, climb: bool) -> None:
    rows, cuts = law(200), windows(150, slices, climb)
    got = many_forces(rows, profile, 3, 0.5, cuts)
    alone = [milling_forces(rows, edge_of_slices(profile, 3, 0.5, cuts.height, cuts.thickness, a, b), f, 0.0)
             for a, b, f in zip(cuts.entry, cuts.exit, cuts.feed_per_tooth, strict=True)]
    off = np.abs(got.peak_side / np.max([w.peak_side for w in alone], axis=0) - 1.0)
    assert off.max() < 2e-2
    assert np.median(off) < 1e-3
    assert got.mean_torque == pytest.approx(np.max([w.mean_torque for w in alone], axis=0), rel=1e-9)
    assert got.pull == pytest.approx(np.max([w.mean_z for w in alone], axis=0), rel=1e-9)
    chosen = np.array([alone[int(w)].peak_side[n] for n, w in enumerate(got.worst)])
    assert chosen == pytest.approx(got.peak_side, rel=2e-2)
    middle = milling_forces(Coefficients(*(np.median(k) for k in rows)), edge_of_slices(
        profile, 3, 0.5, cuts.height, cuts.thickness, cuts.entry[7], cuts.exit[7]), cuts.feed_per_tooth[7], 0.0)
    assert got.side_by_window[7] == pytest.approx(middle.peak_side, rel=1e-2)
    assert got.torque_by_window[7] == pytest.approx(middle.mean_torque, rel=1e-9)


def test_a_window_out_of_the_cut_changes_nothing() -> None:
    rows, cuts = law(20), windows(10, 3, True)
    idle = cuts._replace(entry=np.vstack([cuts.entry, np.zeros(3)]), exit=np.vstack([cuts.exit, np.zeros(3)]),
                         feed_per_tooth=np.append(cuts.feed_per_tooth, 3e-5))
    one, two = many_forces(rows, BALL, 3, 0.5, cuts), many_forces(rows, BALL, 3, 0.5, idle)
    assert isinstance(two, ManyForces)
    assert two.peak_side == pytest.approx(one.peak_side)
    assert two.side_by_window[-1] == 0.0


def test_impossible_windows_are_refused() -> None:
    rows, cuts = law(4), windows(3, 2, True)
    with pytest.raises(OutOfRange, match="angles of"):
        many_forces(rows, FLAT, 3, 0.5, cuts._replace(entry=cuts.entry[:2]))
    with pytest.raises(OutOfRange, match="no window cuts"):
        many_forces(rows, FLAT, 3, 0.5, cuts._replace(exit=cuts.entry))
    with pytest.raises(OutOfRange, match="angle of exit is 4"):
        many_forces(rows, FLAT, 3, 0.5, cuts._replace(exit=np.full((3, 2), 4.0)))
    with pytest.raises(OutOfRange, match="below the tip"):
        many_forces(rows, FLAT, 3, 0.5, cuts._replace(thickness=np.full(2, 0.01)))
    with pytest.raises(OutOfRange, match="feed per tooth is 0"):
        many_forces(rows, FLAT, 3, 0.5, cuts._replace(feed_per_tooth=np.zeros(3)))
