from __future__ import annotations

import numpy as np
import pytest

from firstoff.checks._locators import INSIDE, locators
from firstoff.job.route import Setting
from tests.checks.builders import HEIGHT, LENGTH, WIDTH, block, setting


def of(**changed: object) -> Setting:
    return Setting.model_validate(setting(**changed))


def test_three_below_two_at_the_side_one_at_the_end() -> None:
    found = locators(of(), block(), {})
    assert [p.kind for p in found] == ["rest", "rest", "rest", "side", "side", "end"]
    assert [tuple(p.normal) for p in found] == [(0, 0, -1)] * 3 + [(0, -1, 0)] * 2 + [(-1, 0, 0)]
    rest = np.array([p.point for p in found[:3]])
    assert np.all(rest[:, 2] == 0.0)
    assert rest[:, 0].max() - rest[:, 0].min() == pytest.approx(INSIDE * LENGTH * 1e-3)
    assert rest[:, 1].max() - rest[:, 1].min() == pytest.approx(INSIDE * WIDTH * 1e-3)
    side = np.array([p.point for p in found[3:5]])
    assert np.all(side[:, 1] == 0.0) and side[:, 2] == pytest.approx(HEIGHT * 0.5e-3)


def test_far_from_the_fixed_jaw() -> None:
    far = [p.far for p in locators(of(), block(), {})]
    assert far[3] == far[4] == pytest.approx(0.0) and min(far[:3]) == pytest.approx((1 - INSIDE) / 2)
    assert max(far[:3]) == pytest.approx((1 + INSIDE) / 2)


def test_where_no_face_places_it_the_eye_does() -> None:
    found = locators(of(datums=["-Z"]), block(), {})
    assert [p.face is None for p in found] == [False] * 3 + [True] * 3
    twice = locators(of(datums=["-Z", "+Z", "-Y", "+Y", "-X"]), block(), {})
    assert [p.face.number for p in twice if p.face] == [4, 4, 4, 2, 2, 0], "nothing new is passed over"
