"""First pass against scale: the example of the block plane's sole."""

from __future__ import annotations

import numpy as np
import pytest

from firstoff.cutting.scale_crust import lowest_scale, scale_margin
from firstoff.errors import OutOfRange


def test_a_timid_first_pass_runs_in_the_scale() -> None:
    # bow, pits and level 0.1 to 0.4 mm, crust 0.05 mm: 0.15 mm runs free only on the straightest bar
    dip = np.array([0.09e-3, 0.2e-3, 0.4e-3])
    assert np.sign(scale_margin(0.15e-3, dip, 0.05e-3)) == pytest.approx([1, -1, -1])
    assert np.all(scale_margin(0.5e-3, dip, 0.05e-3) > 0)


def test_a_pass_at_the_lowest_scale_has_no_margin() -> None:
    assert scale_margin(lowest_scale(2e-4, 5e-5), 2e-4, 5e-5) == pytest.approx(0.0, abs=1e-15)


def test_impossible_things_are_refused() -> None:
    with pytest.raises(OutOfRange, match="crust is -1"):
        lowest_scale(0.0, -1.0)
    with pytest.raises(OutOfRange, match="depth of cut is nan"):
        scale_margin(float("nan"), 1e-4, 1e-5)
