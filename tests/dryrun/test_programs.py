"""Programs in the walk: the stock from operation to operation, what is kept, and the cut that checks see."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from firstoff.checks.base import Case
from firstoff.dryrun import programs
from firstoff.dryrun.choosing import choosable, with_operation
from firstoff.dryrun.programs import fed
from firstoff.dryrun.running import Place, Runner, place_of
from firstoff.errors import FileError
from firstoff.removal.windows import Windows
from tests.dryrun import milled
from tests.dryrun.small import DRILL, FACE, POCKET


def volume(windows: Windows | None) -> float:
    assert windows is not None
    return float(windows.volume.sum())


def test_a_pocket_is_taken_out_once(tmp_path: Path) -> None:
    case = milled.pocket(tmp_path)
    # 30 x 20 x 8 with corners of a cutter of 6 mm
    assert volume(case.windows) == pytest.approx(8.0 * (30.0 * 20.0 - (4.0 - np.pi) * 9.0), rel=2e-3)
    assert case.windows is not None and case.windows.point[:, 2].min() == pytest.approx(12.0, abs=1e-6)
    assert 15.0 < case.windows.point[:, 0].mean() < 45.0


def test_the_cut_that_checks_see_is_that_of_the_program(tmp_path: Path) -> None:
    case = milled.pocket(tmp_path, milled.GOOD.replace("S6000", "S5000"))
    assert case.op.cut.spindle_speed == pytest.approx(5000.0 * np.pi / 30.0)
    assert case.op.cut.feed_per_tooth == pytest.approx(360.0 / 5000.0 / 3.0, rel=1e-3)
    assert case.op.cut.depth_of_cut == pytest.approx(1.0, abs=1.01)
    assert case.route.operations[POCKET].cut.spindle_speed == pytest.approx(6000.0 * np.pi / 30.0)


def test_the_second_program_finds_the_stock_as_the_first_left_it(tmp_path: Path) -> None:
    (tmp_path / "again.nc").write_text(milled.GOOD)
    again = ((f"operations.{DRILL}.program", "again.nc"), (f"operations.{DRILL}.tool", "em6"))
    cases = milled.cases(tmp_path, milled.GOOD, again)
    assert volume(cases[POCKET].windows) > 4000.0 > 20.0 > volume(cases[DRILL].windows)


def test_a_side_that_was_faced_without_a_program_is_off(tmp_path: Path) -> None:
    left = milled.cases(tmp_path, milled.SHALLOW, ((f"operations.{FACE}.leaves", "0.5 mm"),))
    run = left[POCKET].run
    assert run is not None and run.uncut == ()
    assert run.stock_high[2] == 0.0          # no allowance stood on it when the setting began
    assert run.stock_low == (0.0, 0.0, -20.0)


def test_what_was_run_is_kept_and_not_run_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = milled.pocket(tmp_path, cache=tmp_path / "kept")

    def never(_self: Runner) -> None:
        raise AssertionError("it was run again")

    monkeypatch.setattr(Runner, "run", never)
    second = milled.pocket(tmp_path, cache=tmp_path / "kept")
    assert second.run == first.run
    assert first.windows is not None and second.windows is not None
    assert second.windows.digest == first.windows.digest
    with pytest.raises(AssertionError, match="run again"):
        milled.pocket(tmp_path, milled.SHALLOW, cache=tmp_path / "kept")


def test_a_damaged_file_is_only_a_missing_one(tmp_path: Path) -> None:
    first = milled.pocket(tmp_path, milled.SHALLOW, cache=tmp_path / "kept")
    for file in (tmp_path / "kept").iterdir():
        file.write_bytes(file.read_bytes()[:100])
    assert milled.pocket(tmp_path, milled.SHALLOW, cache=tmp_path / "kept").run == first.run


def test_a_program_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(FileError, match=r"there is no program 'other\.nc'"):
        milled.pocket(tmp_path, milled.GOOD, ("program", "other.nc"))


TILT = {"up": (0.6, 0.0, 0.8), "across": (0.8, 0.0, -0.6)}


def slanting(case: Case, **setting: Any) -> Case:
    """The same in a setting at an angle."""
    turned = case.setting.model_copy(update={**TILT, **setting})
    route = case.route.model_copy(update={"settings": {**case.route.settings, "block-1": turned}})
    return replace(case, route=route, run=None, windows=None)


def test_a_program_in_a_tilted_setting_cuts_the_stock_as_it_stands_there(tmp_path: Path) -> None:
    """The block, 60 x 40 x 20, stands on its edge; zero is the corner in which the three faces of zero meet."""
    case = slanting(milled.pocket(tmp_path))
    told = programs.Programs(tmp_path).windowed(case)
    run, windows = told.run, told.windows
    assert run is not None and windows is not None and run.moves > 100 and not run.lacking
    long, high = run.stock_high[0] - run.stock_low[0], run.stock_high[2] - run.stock_low[2]
    assert (long, high) == pytest.approx((60.0 * 0.8 + 20.0 * 0.6, 60.0 * 0.6 + 20.0 * 0.8))
    assert windows.volume.sum() == pytest.approx(run.removed) and run.removed > 1000.0
    place = place_of(case)
    assert isinstance(place, Place)
    heights = (windows.point @ place.turn.T - np.array(place.zero))[:, 2]
    assert heights[windows.volume > 0.0].min() == pytest.approx(-8.0)       # as deep as the program goes


def test_what_was_cut_before_a_tilt_is_off(tmp_path: Path) -> None:
    """The same program upright and then at an angle: the second time less is left to cut."""
    upright = milled.pocket(tmp_path)
    alone = programs.Programs(tmp_path).windowed(slanting(upright))
    both = programs.Programs(tmp_path)
    both.windowed(replace(upright, run=None, windows=None))
    after = both.windowed(slanting(upright))
    assert alone.run is not None and after.run is not None and after.run.uncut == ()
    assert 0.0 < after.run.removed < 0.9 * alone.run.removed


def test_faces_of_zero_that_meet_in_no_corner_are_told_and_nominal_passes_stand_in(tmp_path: Path) -> None:
    case = milled.pocket(tmp_path)
    flat = slanting(case, zero=case.setting.zero.model_copy(update={"x": case.setting.zero.z}))
    told = programs.Programs(tmp_path).windowed(flat)
    assert told.run is not None and not told.run.moves and "meet in one corner" in told.run.lacking[0]
    assert told.windows is not None and len(told.windows)


def test_the_feed_override_makes_the_chip_thicker_and_the_time_shorter(tmp_path: Path) -> None:
    case = milled.pocket(tmp_path, milled.SHALLOW)
    assert case.windows is not None and not choosable(case)
    slower = with_operation(case, case.op.model_copy(update={"program_feed": 0.5}))
    ran = milled.pocket(tmp_path, milled.SHALLOW, ("program_feed", "0.5"))
    assert slower.windows is not None and ran.windows is not None
    assert slower.windows.minutes == pytest.approx(ran.windows.minutes, rel=1e-6)
    assert slower.windows.feed_per_tooth == pytest.approx(ran.windows.feed_per_tooth)
    assert fed(case.windows, 1.0).digest == case.windows.digest


def test_one_tool_of_a_file_with_stops_for_hand_changes(tmp_path: Path) -> None:
    two = milled.program([*milled.rings(-2.0), "G0 Z5", "M0 (the other cutter)", "S4000", *milled.rings(-4.0)[-37:]])
    first, second = (milled.pocket(tmp_path, two, ("program_tool", n)) for n in "12")
    assert first.run is not None and second.run is not None
    assert first.run.speeds == pytest.approx([6000.0 * np.pi / 30.0])
    assert second.run.speeds == pytest.approx([4000.0 * np.pi / 30.0])
    assert first.run.low[2] == -2.0 and second.run.low[2] == -4.0


def test_every_check_of_a_cut_works_on_a_program(tmp_path: Path) -> None:
    from firstoff.dryrun.quick import found_now
    from tests.dryrun import small

    case = milled.pocket(tmp_path, milled.SHALLOW, ("leaves", "0 mm"))
    found = {finding.check: finding for finding in found_now(case, small.belief().thinned(np.arange(16)))}
    assert {"power", "holding", "chatter", "rubbing", "tool strength", "program gouge"} <= set(found)
    assert all(finding.p_rows is not None for finding in found.values())
    assert FACE not in found


def test_what_is_told_before_programs_are_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    route = milled.pocket(tmp_path).route
    for before, said in ((True, "running the programs"), (False, programs.FIRST_TIME)):
        monkeypatch.setattr(programs, "kept", lambda before=before: before)
        assert programs.getting_ready(route) == said
    without = {name: op.model_copy(update={"program": None}) for name, op in route.operations.items()}
    assert programs.getting_ready(route.model_copy(update={"operations": without})) == ""
