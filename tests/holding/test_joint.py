"""Screws in their holes: lengths, heads, slipping."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.errors import OutOfRange
from firstoff.holding.joint import (
    bottoming,
    countersink_for_depth,
    engaged_length,
    head_depth,
    projection,
    slip_capacity,
    slip_use,
)

RIGHT_ANGLE = np.pi / 2.0
HEAD_M4 = 8.96e-3  # ISO 10642, theoretical head diameter of M4


def test_sole_screws_by_hand() -> None:
    # Sole 5 mm, head 0.3 below, thread 9 deep: M4 x 16 stands out 11.3 and bottoms by 2.3; x 12 has 1.7 to spare.
    length = np.array([16e-3, 12e-3])
    np.testing.assert_allclose(projection(length, 5e-3, 0.3e-3), [11.3e-3, 7.3e-3])
    np.testing.assert_allclose(bottoming(length, 5e-3, 0.3e-3, 9e-3), [2.3e-3, -1.7e-3])
    np.testing.assert_allclose(engaged_length(length, 5e-3, 0.3e-3, 9e-3, 0.7e-3), [8.3e-3, 6.6e-3])
    assert engaged_length(4e-3, 5e-3, 0.0, 9e-3, 0.7e-3) == 0.0


@given(st.floats(5e-3, 0.05), st.floats(1e-3, 0.03), st.floats(-1e-3, 2e-3), st.floats(0.0, 0.05))
def test_thread_in_use_plus_what_bottoms_is_what_stands_out(
    length: float, thick: float, depth: float, room: float
) -> None:
    out = float(projection(length, thick, depth))
    over = max(float(bottoming(length, thick, depth, room)), 0.0)
    engaged = float(engaged_length(length, thick, depth, room, 0.0))
    if out > 0.0:
        assert engaged + over == pytest.approx(out, abs=1e-12)


def test_a_right_angled_head_sinks_by_half_the_difference() -> None:
    depth = head_depth(np.array([9.56e-3, 8.96e-3, 8.36e-3]), RIGHT_ANGLE, 4.5e-3, HEAD_M4, RIGHT_ANGLE)
    np.testing.assert_allclose(depth, [0.3e-3, 0.0, -0.3e-3], atol=1e-15)


@given(st.floats(-1e-3, 1e-3), st.floats(1.0, 2.2))
def test_diameter_for_a_depth_gives_that_depth(depth: float, angle: float) -> None:
    sink = countersink_for_depth(depth, HEAD_M4, angle)
    assert head_depth(sink, angle, 3e-3, HEAD_M4, angle) == pytest.approx(depth, abs=1e-12)


@given(st.floats(5e-3, 12e-3), st.floats(1.2, 1.9), st.floats(1.2, 1.9))
def test_two_cones_touch_but_do_not_overlap(sink: float, angle: float, head_angle: float) -> None:
    hole = 4.5e-3
    depth = float(head_depth(sink, angle, hole, HEAD_M4, head_angle))
    bottom = (sink - hole) / 2.0 / np.tan(angle / 2.0)
    z = np.linspace(max(depth, 0.0), max(bottom, depth, 0.0), 2001)
    room = np.maximum(sink / 2.0 - z * np.tan(angle / 2.0), hole / 2.0)
    head = HEAD_M4 / 2.0 - (z - depth) * np.tan(head_angle / 2.0)
    gap = room - head
    assert gap.min() > -1e-9
    assert gap.min() < 1e-5


def test_slip_by_hand() -> None:
    # Four screws of 2000 N, one pair of faces, 0.15: 1200 N.
    assert slip_capacity(2000.0, 4.0, 1.0, 0.15) == pytest.approx(1200.0)
    np.testing.assert_allclose(slip_use([600.0, -1800.0], 1200.0), [0.5, 1.5])
    assert slip_use(1.0, 0.0) == np.inf


def test_refusals() -> None:
    with pytest.raises(OutOfRange, match="screw_length is 0"):
        projection(0.0, 5e-3, 0.0)
    with pytest.raises(OutOfRange, match="usable_depth is -1"):
        bottoming(1.0, 1.0, 0.0, -1.0)
    with pytest.raises(OutOfRange, match=r"countersink 0\.004"):
        head_depth(4e-3, RIGHT_ANGLE, 4.5e-3, HEAD_M4, RIGHT_ANGLE)
    with pytest.raises(OutOfRange, match=r"angle is 3\.2"):
        countersink_for_depth(1e-3, HEAD_M4, 3.2)
    with pytest.raises(OutOfRange, match=r"friction is -0\.1"):
        slip_capacity(1.0, 1.0, 1.0, -0.1)
