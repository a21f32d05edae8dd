"""First pass against scale: the example of the block plane's sole."""

from __future__ import annotations

import numpy as np
import pytest

from firstoff.cutting.scale_crust import lowest_scale
from firstoff.errors import OutOfRange


def test_a_timid_first_pass_runs_in_the_scale() -> None:
    # bow, pits and level 0.1 to 0.4 mm, crust 0.05 mm: 0.15 mm runs free only on the straightest bar
    dip = np.array([0.09e-3, 0.2e-3, 0.4e-3])
    lowest = lowest_scale(dip, 0.05e-3)
    assert lowest == pytest.approx(dip + 0.05e-3)
    assert (lowest < 0.15e-3).tolist() == [True, False, False] and np.all(lowest < 0.5e-3)


def test_impossible_things_are_refused() -> None:
    with pytest.raises(OutOfRange, match="crust is -1"):
        lowest_scale(0.0, -1.0)
