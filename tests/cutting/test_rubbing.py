"""Rubbing: arcs in closed form."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.cutting.engagement import engagement_angles, largest_chip
from firstoff.cutting.rubbing import chip_margin, minimum_chip, rubbing_share
from firstoff.errors import OutOfRange


def test_minimum_chip_of_a_sharp_edge() -> None:
    # wojciechowski2022: 0.2 to 0.4 of the edge radius; 5 um gives 1 to 2 um
    assert minimum_chip(5e-6, np.array([0.2, 0.4])) == pytest.approx([1e-6, 2e-6])


def test_slot_rubs_at_both_ends() -> None:
    # h = f / 2 at 30 degrees: a sixth of half a turn at each end
    assert rubbing_share(2e-5, 0.0, float(np.pi), 1e-5) == pytest.approx(1 / 3)


@given(st.floats(0.01, 1.0), st.floats(1e-6, 1e-4), st.floats(1e-7, 1e-4), st.sampled_from(["climb", "conventional"]))
def test_share_by_counting(width: float, feed: float, least: float, direction: str) -> None:
    angles = engagement_angles(width, 1.0, direction)  # type: ignore[arg-type]
    phi = angles.entry + (angles.exit - angles.entry) * (np.arange(5000) + 0.5) / 5000
    share = rubbing_share(feed, angles.entry, angles.exit, least)
    assert share == pytest.approx(np.mean(feed * np.sin(phi) < least), abs=1e-3)
    if chip_margin(largest_chip(feed, width, 1.0), least) < 1.0:
        assert share == pytest.approx(1.0)


def test_impossible_things_are_refused() -> None:
    with pytest.raises(OutOfRange, match="minimum chip is 0"):
        chip_margin(1e-5, 0.0)
    with pytest.raises(OutOfRange, match="edge radius is -1"):
        minimum_chip(-1.0, 0.3)
    with pytest.raises(OutOfRange, match="arc from 2 to 1"):
        rubbing_share(1e-5, 2.0, 1.0, 1e-6)
