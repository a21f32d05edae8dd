"""A tone beside the machine: a published recording, and the cut's own tones."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.cutting.singing import off_the_teeth, over_teeth
from firstoff.errors import OutOfRange
from tests.published import agrees

TURN = 2.0 * np.pi


def test_a_recording_of_the_trade() -> None:
    # CH-01: 8 mm, two teeth, 40167 /min, a peak at 5600 Hz
    speed = 40167.0 * TURN / 60.0
    agrees("chatter", "tone of the teeth, two at 40167 /min (recording)", "smith2013", 1338.9,
           5600.0 / float(over_teeth(5600.0 * TURN, speed, 2)), "Hz", within=1e-4)
    agrees("chatter", "loudest tone over that of the teeth (recording, chatter)", "smith2013", 4.18,
           float(over_teeth(5600.0 * TURN, speed, 2)), "1", within=2e-3, measured=True)
    assert off_the_teeth(5600.0 * TURN, speed, 2) > 0.15                   # no multiple of the teeth: it sings


@given(st.integers(1, 9), st.integers(1, 6), st.floats(20.0, 5000.0))
def test_the_cuts_own_tones_are_on_the_teeth(times: int, teeth: int, speed: float) -> None:
    assert off_the_teeth(times * teeth * speed, speed, teeth) == pytest.approx(0.0, abs=1e-9)
    assert off_the_teeth((times + 0.5) * teeth * speed, speed, teeth) == pytest.approx(0.5)


def test_below_the_teeth_there_is_no_multiple() -> None:
    assert off_the_teeth(0.2, 1.0, 1) == pytest.approx(0.8)                # a slow swing is no multiple nought
    with pytest.raises(OutOfRange, match="tone is 0"):
        off_the_teeth(0.0, 1.0, 2)
