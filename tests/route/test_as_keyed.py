"""What is keyed in at the machine is the feed of the table: the route keeps what a tooth takes of it."""

from __future__ import annotations

import math

import pytest

from firstoff.errors import InputError, NameUnknown
from firstoff.job.edits import apply_edits
from firstoff.job.route import Route
from firstoff.route.as_keyed import as_route_keys
from firstoff.sheets.words import settings_of_cut
from firstoff.shop.library import load_shop

SHOP = load_shop(None)
MILL = next(key for key, tool in SHOP.tools.items() if tool.kind == "end_mill" and tool.flutes == 3)
DRILL = next(key for key, tool in SHOP.tools.items() if tool.kind == "drill")


def setting() -> dict[str, object]:
    return {"workpiece": "plate", "up": [0, 0, 1], "across": [1, 0, 0], "machine": "mill", "datums": ["-Z"],
            "holding": {"device": "vise_100", "rest": "-Z"}, "zero": {"x": "-X", "y": "-Y", "z": "+Z"}}


ROUTE = Route.model_validate({
    "settings": {"one": setting(), "two": setting()},
    "operations": {
        "top": {"number": 10, "setting": "one", "features": ["+Z"], "role": "face_rough", "tool": MILL,
                "cut": {"spindle_speed": "9000 rpm", "feed_per_tooth": "0.03 mm", "depth_of_cut": "1 mm"}},
        "hole": {"number": 20, "setting": "one", "features": ["hole-1"], "role": "drill", "tool": DRILL,
                 "cut": {"spindle_speed": "1500 rpm", "feed_per_tooth": "0.05 mm"}},
        "back": {"number": 30, "setting": "two", "features": ["+Y"], "role": "face_rough", "tool": MILL},
        "file": {"number": 40, "setting": "two", "features": ["+Y"], "role": "file"},
    },
})


def after(*edits: tuple[str, str]) -> Route:
    return apply_edits(ROUTE, as_route_keys(ROUTE, SHOP, edits))


@pytest.mark.parametrize("feed", ["300 mm/min", "1000 mm/min", "20 in/min"])
def test_the_feed_that_was_keyed_in_is_told_again(feed: str) -> None:
    told = dict(settings_of_cut(after(("operations.top.feed", feed)).operations["top"], SHOP.tools[MILL], "mm"))
    assert told["feed"] == ("508 mm/min" if "in/" in feed else feed)


def test_a_feed_stays_as_it_was_keyed_in_when_the_speed_changes_with_it() -> None:
    for order in (1, -1):
        edits = [("operations.top.feed", "600 mm/min"), ("operations.top.cut.spindle_speed", "4500 rpm")][::order]
        cut = after(*edits).operations["top"].cut
        assert cut.feed_per_tooth == pytest.approx(600.0 / 4500.0 / 3, rel=1e-4)


def test_the_feed_of_a_turn_and_of_an_arm() -> None:
    flutes = SHOP.tools[DRILL].flutes
    assert after(("operations.hole.per_turn", "0.2 mm")).operations["hole"].cut.feed_per_tooth == 0.2 / flutes
    for text in ("10 mm in about 4 s", "10 mm in 4 s", "4 s"):
        cut = after(("operations.hole.feed_by_arm", text)).operations["hole"].cut
        assert cut.spindle_speed is not None
        turns = cut.spindle_speed / (2.0 * math.pi)
        assert cut.feed_per_tooth == pytest.approx(10.0 / 4.0 / turns / flutes, rel=1e-4)


@pytest.mark.parametrize(("path", "text", "said"), [
    ("operations.top.feed", "much", "not a number"), ("operations.top.feed", "3 mm", "not a table feed"),
    ("operations.top.feed", "0 mm/min", "no feed"), ("operations.hole.feed_by_arm", "10 mm in 0 s", "no feed by arm"),
    ("operations.hole.feed_by_arm", "slowly!", "no feed by arm"),
    ("operations.file.feed", "300 mm/min", "wants a tool"), ("operations.back.feed", "300 mm/min", "wants a speed"),
    ("operations.top.number", "30", "there is an operation 30"),
    ("operations.top.number", "35", "another setting"),
])
def test_what_cannot_be_is_told_with_its_key(path: str, text: str, said: str) -> None:
    with pytest.raises(InputError, match=said) as told:
        after((path, text))
    assert told.value.where.endswith(path)


def test_an_operation_gets_another_place_among_its_own() -> None:
    assert [key for key, _ in after(("operations.top.number", "25")).in_order()] == ["hole", "top", "back", "file"]


def test_a_feed_of_nothing_is_refused() -> None:
    with pytest.raises(NameUnknown, match="nothing"):
        after(("operations.nothing.feed", "300 mm/min"))
