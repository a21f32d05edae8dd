"""Pull on the table: climb against conventional, and by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.cutting.engagement import engagement_angles
from firstoff.cutting.force import Coefficients, Engagement, milling_forces
from firstoff.cutting.lost_motion import feed_pull, snatched_chip
from firstoff.errors import OutOfRange
from tests.cutting.shared import table

LAW = Coefficients(767.01e6, 168.8e6, 222.0e6, 27.7e3, 26.6e3, 0.7e3)  # cjme2021, table 5
FEED = 0.05e-3


def cut(direction: str, share: float, helix: float = 0.5) -> Engagement:
    angles = engagement_angles(share * 0.01, 0.01, direction)  # type: ignore[arg-type]
    return Engagement(0.01, 3, helix, 0.004, float(angles.entry), float(angles.exit))


@given(st.floats(0.02, 1.0), st.sampled_from(["climb", "conventional"]))
def test_the_mean_is_that_of_the_forces(share: float, direction: str) -> None:
    pull, forces = feed_pull(LAW, cut(direction, share), FEED), milling_forces(LAW, cut(direction, share), FEED, 0.0)
    assert pull.steady == pytest.approx(forces.mean_x, abs=2e-2 * float(forces.peak_side))
    assert pull.most <= forces.peak_x * (1 + 1e-9)


@given(st.floats(0.02, 0.5))
def test_climb_pulls_and_conventional_pushes_back(share: float) -> None:
    assert feed_pull(LAW, cut("climb", share), FEED).most > 0.0
    assert feed_pull(LAW, cut("conventional", share), FEED).most <= 1e-9


def test_published_ends_of_the_force_along_the_feed() -> None:
    # forces.json: largest and least F_x of the half-immersion cuts of cjme2021's 7075
    for case in table("forces.json"):
        e = Engagement(case["D"] * 1e-3, case["N"], np.radians(case["helix_deg"]), case["axial_mm"] * 1e-3,
                       np.radians(case["phi_st_deg"]), np.radians(case["phi_ex_deg"]))
        most = feed_pull(LAW, e, case["feed_mm_tooth"] * 1e-3).most
        assert most == pytest.approx(case["max"][0], rel=2e-3)


def test_one_straight_tooth_by_hand() -> None:
    # climb, a quarter: at exit phi = pi the tangential edge force alone drags along the feed, K_te a
    e = cut("climb", 0.5, helix=0.0)._replace(teeth=1)
    phi = np.linspace(np.pi / 2, np.pi, 20001)
    h = FEED * np.sin(phi)
    along = 0.004 * (-(767.01e6 * h + 27.7e3) * np.cos(phi) - (168.8e6 * h + 26.6e3) * np.sin(phi))
    assert feed_pull(LAW, e, FEED).most == pytest.approx(along.max(), rel=1e-3)


def test_a_snatched_tooth_takes_its_chip_and_the_play() -> None:
    assert snatched_chip(np.array([2e-5]), 1e-4) == pytest.approx(1.2e-4)
    with pytest.raises(OutOfRange, match="lost motion is -"):
        snatched_chip(2e-5, -1e-4)
    with pytest.raises(OutOfRange, match="feed per tooth is 0"):
        feed_pull(LAW, cut("climb", 0.3), 0.0)
