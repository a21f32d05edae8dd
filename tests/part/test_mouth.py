"""The face in which a hole opens."""

from __future__ import annotations

import math

import pytest

from firstoff.part.mouth import mouth_slope
from firstoff.part.shapes import Face, Feature
from tests.checks.builders import block

UP, DOWN = (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)


def pierced(top: Face, through: bool = True) -> float | None:
    bore = Face(6, 0, "cylinder", 50.0, (30.0, 20.0, 10.0), UP, (28.0, 18.0, 0.0), (32.0, 22.0, 20.0),
                axis_point=(30.0, 20.0, 20.0), axis=UP, radius=2.0, hollow=True, neighbours=(7, 4))
    hole = Feature("hole-1", "hole", (6,), through=through, axis=UP, axis_point=(30.0, 20.0, 20.0),
                   size={"diameter": 4.0, "depth": 20.0}, access=(UP, DOWN))
    part = block(hole, faces=(bore, top))
    return mouth_slope(hole, part, UP)


@pytest.mark.parametrize("degrees", [0.0, 3.0, 22.0])
def test_a_plane_that_leans(degrees: float) -> None:
    angle = math.radians(degrees)
    top = Face(7, 0, "plane", 400.0, (30.0, 20.0, 20.0), (0.0, math.sin(angle), math.cos(angle)),
               (20.0, 10.0, 18.0), (40.0, 30.0, 22.0))
    assert pierced(top) == pytest.approx(angle, abs=1e-9)


def test_the_crown_of_a_bar_is_square_and_its_flank_is_not() -> None:
    def bar(across: float) -> Face:
        return Face(7, 0, "cylinder", 400.0, (30.0, 20.0, 10.0), UP, (0.0, 10.0, 0.0), (60.0, 30.0, 20.0),
                    axis_point=(0.0, across, 10.0), axis=(1.0, 0.0, 0.0), radius=10.0)
    assert pierced(bar(20.0)) == pytest.approx(0.0, abs=1e-9)
    flank = pierced(bar(15.0))
    assert flank is not None and flank == pytest.approx(math.atan2(5.0, 10.0))


def test_no_mouth_on_a_side_that_it_does_not_open_to() -> None:
    top = Face(7, 0, "plane", 400.0, (30.0, 20.0, 20.0), UP, (20.0, 10.0, 20.0), (40.0, 30.0, 20.0))
    hole = Feature("hole-1", "hole", (6,), axis=UP, axis_point=(30.0, 20.0, 20.0), size={"depth": 5.0})
    part = block(hole, faces=(top,))
    assert mouth_slope(hole, part, DOWN) is None
    assert mouth_slope(hole, part, (1.0, 0.0, 0.0)) is None
    assert mouth_slope(Feature("hole-1", "hole", (6,)), part, UP) is None
