"""The work after a program: what is left and what is cut too deep is where it should be, and told."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from firstoff.belief import Belief
from firstoff.dryrun.result import Result
from firstoff.dryrun.run import dry_run
from firstoff.dryrun.running import place_of
from firstoff.sheets.stand_drawing import differences, stand_drawing, stand_drawings
from tests.dryrun import milled, small
from tests.dryrun.small import POCKET

SLOPPY = milled.program(milled.rings(bottom=-7.6))
DEEP = milled.program([*milled.rings(), "G0 X30 Y20", "G1 Z-8.3 F60", "X34 F360"])


def thin() -> Belief:
    return small.belief(machine_mill__stiffness_x=6e6, machine_mill__stiffness_y=6e6).thinned(np.arange(32))


def result(folder: Path, text: str) -> Result:
    case = milled.pocket(folder, text, ("leaves", "0 mm"))
    return dry_run(case.job, case.shop, case.route, case.parts, thin(), instead=False)


@pytest.mark.parametrize(("text", "left", "gouged"), [(SLOPPY, 0.4, 0.0), (milled.GOOD, 0.0, 0.0), (DEEP, 0.0, 0.3)])
def test_what_is_left_and_what_is_too_deep(tmp_path: Path, text: str, left: float, gouged: float) -> None:
    case = milled.pocket(tmp_path, text, ("leaves", "0 mm"))
    place = place_of(case)
    assert not isinstance(place, str) and case.standing is not None
    stays, deeper = differences(case, place)
    assert stays.max() == pytest.approx(left, abs=1e-4) and deeper.max() == pytest.approx(gouged, abs=1e-4)
    if left:
        assert (stays > 0.02).sum() * case.standing.step**2 == pytest.approx(30.0 * 20.0, rel=0.15)
    if gouged:
        spot = (deeper > 0.02).sum() * case.standing.step**2
        assert spot == pytest.approx(4.0 * 6.0 + np.pi * 9.0, rel=0.05)


def test_the_drawing_says_what_its_hatching_means(tmp_path: Path) -> None:
    drawn = stand_drawings(result(tmp_path, SLOPPY))
    assert [stand.name for stand in drawn] == [f"{small.route().operations[POCKET].number} {POCKET}"]
    assert "hatched wide: left on, up to 0.4 mm" in drawn[0].svg
    assert "hatched wide: left on, up to 0.4 mm" not in stand_drawings(result(tmp_path, milled.GOOD))[0].svg
    assert "hatched close: cut too deep, up to 0.3 mm" in stand_drawings(result(tmp_path, DEEP))[0].svg


def test_pushes_stand_beside_the_walls_that_are_made_last(tmp_path: Path) -> None:
    found = result(tmp_path, milled.GOOD)
    pushes = found.pushed[POCKET]
    case = next(case for case in found.cases if case.name == POCKET)
    assert case.windows is not None and len(pushes) == len(case.windows)
    made = np.isfinite(pushes)
    assert 0.02 < made.mean() < 0.7          # the walls, and not the rings inside
    x, y = case.windows.point[made, 0] - 30.0, case.windows.point[made, 1] - 20.0
    rim = np.maximum(np.abs(x) / 12.0, np.abs(y) / 7.0)
    assert rim.min() > 0.9
    assert "strokes: the cutter is pushed off the wall" in stand_drawings(found)[0].svg


def test_without_a_program_there_is_no_drawing(tmp_path: Path) -> None:
    found = result(tmp_path, milled.GOOD)
    assert all(stand_drawing(case, found) is None for case in found.cases if case.run is None)
