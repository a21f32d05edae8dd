from __future__ import annotations

import math

import pytest

from firstoff.checks._clamped import Wide
from firstoff.checks._hands import Turned, turned
from firstoff.checks._press import bar_bears, draws_wedge, faces_of_wedge, point_pushes, slides_out
from firstoff.checks._threads import thread_named

M6 = thread_named("M6")


def test_a_flatter_wedge_presses_harder_and_grease_helps() -> None:
    turn = turned("key", M6)
    flat, steep = (draws_wedge(M6, math.radians(angle), turn) for angle in (5.0, 15.0))
    assert flat.out.middle > steep.out.middle and flat.screw == steep.screw
    assert draws_wedge(M6, 0.1, turn, lubricated=True).out.middle > draws_wedge(M6, 0.1, turn).out.middle


def test_no_more_work_comes_out_than_goes_in() -> None:
    turn = Turned(2.0, 0.06)
    drawn = draws_wedge(M6, 0.12, turn)
    assert drawn.out.middle * 1e-3 * math.tan(0.12) < 2.0 * math.pi * turn.torque
    assert drawn.out.sd > drawn.screw.sd > turn.sd


def test_a_steep_wedge_slides_out() -> None:
    assert slides_out(math.radians(7.0)) < 0.01 < slides_out(math.radians(16.0)) < slides_out(math.radians(30.0))
    assert slides_out(math.radians(14.0), lubricated=True) > slides_out(math.radians(14.0))
    assert faces_of_wedge(True).middle < faces_of_wedge(False).middle


def test_a_point_rubs_less_than_a_head() -> None:
    turn = Turned(1.0, 0.1)
    assert point_pushes(M6, turn).middle > draws_wedge(M6, 0.1, turn).screw.middle


def test_a_bar_bears_with_the_square_of_its_thickness() -> None:
    thin, thick = (bar_bears(Wide(250e6, 0.1), (14.0, 26.0), 20.0, t) for t in (3.0, 6.0))
    assert thick.middle == pytest.approx(4.0 * thin.middle)
    # A cantilever of the screw's arm: sigma = 6 F a / (b t^2).
    assert thin.middle == pytest.approx(250.0 * 20.0 * 9.0 / (6.0 * 14.0))
