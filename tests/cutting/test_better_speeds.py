"""Speeds between lobes bear more."""

from __future__ import annotations

import numpy as np
import pytest

from firstoff.cutting.better_speeds import better_speeds
from firstoff.cutting.chatter import absolute_depth_limit, depth_limit
from firstoff.errors import OutOfRange
from tests.cutting.test_chatter import KT, ONE, RIGID, SLOT, TURN


def test_better_speeds_are_better() -> None:
    found = better_speeds(KT, 2, SLOT, ONE, RIGID, 5000 * TURN / 60, 25000 * TURN / 60)
    assert np.all(np.diff(found.depth_limit) <= 0)
    assert found.depth_limit[0] > 10 * absolute_depth_limit(KT, 2, SLOT, ONE, RIGID)
    again = depth_limit(KT, 2, SLOT, ONE, RIGID, found.spindle_speed)
    assert again == pytest.approx(found.depth_limit)
    # the second lobe: tooth frequency a little above half of the natural one, 13 000 to 13 900 a minute
    assert np.any(np.abs(found.spindle_speed * 60 / TURN - 13500) < 600)


def test_no_range_is_refused() -> None:
    with pytest.raises(OutOfRange, match="are no range"):
        better_speeds(KT, 2, SLOT, ONE, ONE, 900.0, 800.0)
