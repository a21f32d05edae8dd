from __future__ import annotations

import pytest

from firstoff.dryrun.sizes import Size, sizes_of
from firstoff.dryrun.way import Way, shares_by_setting, way_of
from tests.dryrun import stacked


def of(name: str) -> tuple[Size, Way]:
    size = next(size for size in sizes_of(stacked.cases(), stacked.belief()) if size.name == name)
    way = way_of(size, stacked.belief())
    assert way is not None
    return size, way


def test_the_height_goes_over_both_settings() -> None:
    _, way = of("height")
    assert way.settings == ("first", "second") and way.names[:2] == ("-Z", "+Z")
    assert [(hop.setting, hop.made[1], hop.datum[1]) for hop in way.hops] == [
        ("second", 4, 5), ("first", 5, 4)], "the bottom is cut from the top, the top from the raw bottom"


def test_a_width_of_one_setting_stays_in_it() -> None:
    _, way = of("width")
    assert way.settings == ("first",)
    assert {(hop.made[1], hop.datum[1]) for hop in way.hops} == {(3, 2), (2, 2)}, "-Y itself was touched, then cut"


def test_shares_add_up() -> None:
    for name in ("width", "height"):
        size, way = of(name)
        assert sum(way.shares.values()) == pytest.approx(1.0)
        assert way.shares == shares_by_setting(size, stacked.belief())
    assert of("height")[1].shares["second"] > 0.4
    assert of("width")[1].shares[""] > 0.3, "the cutter's radius is no setting's"


def test_what_a_step_adds_by_itself_is_part_of_its_setting() -> None:
    for name in ("width", "height"):
        _, way = of(name)
        assert set(way.own) == set(way.hops) and all(hop.operation for hop in way.hops)
        for setting in way.settings:
            own = sum(share for hop, share in way.own.items() if hop.setting == setting)
            assert 0.0 <= own <= way.shares.get(setting, 0.0) + 1e-9
    walls = list(of("width")[1].own.values())
    assert len(walls) == 2 and walls[0] == pytest.approx(walls[1], rel=0.2) and walls[0] > 0.1, "two walls cut alike"
    assert sum(of("height")[1].own.values()) < of("height")[1].shares["second"], "how it sits is the setting's"


def test_what_cannot_be_followed_has_no_way() -> None:
    route = stacked.route()
    less = route.model_copy(update={"operations": {k: o for k, o in route.operations.items() if k != "under"}})
    believed = stacked.belief()
    found = {size.name: way_of(size, believed) for size in sizes_of(stacked.cases(planned=less), believed)}
    assert found["height"] is None and found["width"] is not None
