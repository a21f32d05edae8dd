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
    assert way.settings == ("first",) and {hop.made[1] for hop in way.hops} == {3}, "-Y itself was touched"


def test_shares_add_up() -> None:
    for name in ("width", "height"):
        size, way = of(name)
        assert sum(way.shares.values()) == pytest.approx(1.0)
        assert way.shares == shares_by_setting(size, stacked.belief())
    assert of("height")[1].shares["second"] > 0.4
    assert of("width")[1].shares[""] > 0.3, "the cutter's radius is no setting's"


def test_what_cannot_be_followed_has_no_way() -> None:
    route = stacked.route()
    less = route.model_copy(update={"operations": {k: o for k, o in route.operations.items() if k != "under"}})
    believed = stacked.belief()
    found = {size.name: way_of(size, believed) for size in sizes_of(stacked.cases(planned=less), believed)}
    assert found["height"] is None and found["width"] is not None
