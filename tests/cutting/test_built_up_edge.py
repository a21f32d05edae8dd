from __future__ import annotations

import numpy as np
import pytest

from firstoff.cutting.built_up_edge import build_up_margin, rough_with_build_up, speed_without_build_up
from firstoff.cutting.heat import rise_by_similarity
from firstoff.errors import OutOfRange


def test_margin_is_one_where_it_vanishes() -> None:
    assert np.allclose(build_up_margin(np.array([270.0, 540.0]), 540.0), [0.5, 1.0])


def test_the_speed_that_is_told_is_hot_enough() -> None:
    # by the law of similarity itself: at the told speed the rise is the one at which build-up vanishes
    rise = rise_by_similarity(2.5e9, 3.5e6, 1.4e-5, 0.5, 1e-4)
    fast = speed_without_build_up(0.5, build_up_margin(rise, 700.0))
    assert rise_by_similarity(2.5e9, 3.5e6, 1.4e-5, fast, 1e-4) == pytest.approx(700.0)


def test_fragments_come_on_top() -> None:
    assert rough_with_build_up(3e-6, 4e-6) == pytest.approx(5e-6)
    assert rough_with_build_up(3e-6, 0.0) == pytest.approx(3e-6)


def test_impossible_things_are_refused() -> None:
    with pytest.raises(OutOfRange, match="vanishing rise is 0"):
        build_up_margin(100.0, 0.0)
    with pytest.raises(OutOfRange, match="margin is 0"):
        speed_without_build_up(1.0, 0.0)
    with pytest.raises(OutOfRange, match="fragments is -1"):
        rough_with_build_up(1e-6, -1.0)
