"""Breakthrough: closed forms and limits."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.cutting.breakthrough import feed_of_breaking_through, point_length
from firstoff.errors import OutOfRange


def test_length_of_a_point() -> None:
    assert point_length(0.01, np.pi / 2) == pytest.approx(0.005)
    assert point_length(0.01, np.radians(118)) == pytest.approx(0.003, abs=5e-6)


def test_a_stiff_machine_without_play_goes_on_as_it_was() -> None:
    assert feed_of_breaking_through(1e-4, 500.0, 1e15, 0.0, 1e-3) == pytest.approx(1e-4)


def test_in_a_sheet_all_of_it_is_bitten_in_half_a_turn() -> None:
    # 500 N on 2 N/um spring 0.25 mm: over half a turn that is 0.5 mm a turn more
    assert feed_of_breaking_through(1e-4, 500.0, 2e6, 0.0, 0.0) == pytest.approx(6e-4)


@given(st.floats(0.0, 2e3), st.floats(0.0, 5e-4), st.floats(0.0, 5e-3))
def test_what_springs_forward_is_bitten_over_the_turns(thrust: float, play: float, length: float) -> None:
    feed = 1e-4
    got = feed_of_breaking_through(feed, thrust, 2e6, play, length)
    turns = max(length / feed, 0.5)
    assert (got - feed) * turns == pytest.approx(thrust / 2e6 + play)


def test_impossible_things_are_refused() -> None:
    with pytest.raises(OutOfRange, match="play is -1"):
        feed_of_breaking_through(1e-4, 1.0, 1e6, -1.0, 1e-3)
    with pytest.raises(OutOfRange, match="point angle is 4"):
        point_length(0.01, 4.0)
