"""One program over one stock: where it is, how fast the machine really goes, and what is told."""

from __future__ import annotations

from pathlib import Path

import pytest

from firstoff.dryrun.running import limits_of, place_of
from firstoff.shop.models import Figure, Shop
from tests.dryrun import milled, small


def _slow_to_start(acceleration: float) -> Shop:
    full = small.shop()
    figure = Figure(value=acceleration, factor=2.0, source="judged")
    mill = full.machines["mill"].model_copy(update={"acceleration": figure})
    return full.model_copy(update={"machines": {**full.machines, "mill": mill}})


def test_zero_lies_where_the_setting_says(tmp_path: Path) -> None:
    case = milled.pocket(tmp_path, milled.SHALLOW)
    place = place_of(case)
    assert not isinstance(place, str)
    assert place.low == (0.0, 0.0, -20.0) and place.high == (60.0, 40.0, 0.0)
    assert place.in_part(place.turn * 0.0)[0].tolist() == [0.0, 0.0, 20.0]


def test_stock_that_is_left_moves_zero_out_with_its_face(tmp_path: Path) -> None:
    case = milled.pocket(tmp_path, milled.SHALLOW)
    setting = case.setting.model_copy(update={"stock_left": {"+Z": 1.0, "-X": 2.0}})
    route = case.route.model_copy(update={"settings": {**case.route.settings, "block-1": setting}})
    place = place_of(type(case)(**{**vars(case), "route": route}))
    assert not isinstance(place, str)
    assert place.low == (0.0, 0.0, -21.0) and place.high == (62.0, 40.0, 0.0)
    assert place.zero == (-2.0, 0.0, 21.0)


def test_a_machine_that_is_slow_to_start_takes_longer_and_cuts_thinner(tmp_path: Path) -> None:
    quick = milled.pocket(tmp_path, milled.SHALLOW)
    slow = milled.pocket(tmp_path, milled.SHALLOW, shop=_slow_to_start(20.0))
    assert quick.windows is not None and slow.windows is not None
    assert limits_of(quick).acceleration is None and limits_of(slow).acceleration == (20.0,) * 3
    assert slow.windows.minutes > 1.05 * quick.windows.minutes
    assert slow.windows.feed_per_tooth.max() <= quick.windows.feed_per_tooth.max() + 1e-12
    assert slow.windows.volume.sum() == pytest.approx(quick.windows.volume.sum(), rel=1e-6)


def test_another_work_zero_is_told_and_left_out(tmp_path: Path) -> None:
    second = milled.program([*milled.rings(-2.0), "G55 G0 X0 Y0 Z5", "G0 X30 Y20", "G1 Z-19"])
    run = milled.pocket(tmp_path, second).run
    assert run is not None and run.low[2] == -2.0
    assert any("another work zero" in what for what in run.lacking)
