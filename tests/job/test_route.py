"""The order of a planned route."""

from __future__ import annotations

import math
from typing import Any

import pytest
from pydantic import ValidationError

from firstoff.job.route import Operation, Route

SETTING = {
    "workpiece": "plate", "up": [0, 0, 1], "across": [1, 0, 0], "machine": "mill", "datums": ["-Z"],
    "holding": {"device": "vise_100", "rest": "-Z", "parallels": "10 mm"}, "zero": {"x": "-X", "y": "-Y", "z": "+Z"},
}


def operation(number: int, setting: str = "one", **more: Any) -> dict[str, Any]:
    return {"number": number, "setting": setting, "features": ["hole-1"], "role": "drill"} | more


def test_operations_come_by_number_whatever_their_key() -> None:
    route = Route.model_validate({
        "settings": {"one": SETTING, "two": SETTING},
        "operations": {"a": operation(30), "b": operation(10, "two"), "c": operation(20), "d": operation(20)},
    })
    assert [key for key, _ in route.in_order()] == ["b", "c", "d", "a"]
    assert [key for key, _ in route.of_setting("one")] == ["c", "d", "a"]
    assert route.of_setting("three") == []


def test_a_cut_is_kept_in_mm_and_radians() -> None:
    cut = Operation.model_validate(operation(10, cut={
        "spindle_speed": "3000 rpm", "feed_per_tooth": "0.02 mm", "depth_of_cut": "1/32 in"})).cut
    assert cut.spindle_speed == pytest.approx(100.0 * math.pi)
    assert cut.feed_per_tooth == 0.02
    assert cut.depth_of_cut == pytest.approx(0.79375)


@pytest.mark.parametrize("change", [
    {"number": 0}, {"role": "bend"}, {"cut": {"spindle_speed": 3000}}, {"cut": {"direction": "sideways"}},
    {"stickout": "20 N"}, {"note": "x"},
])
def test_what_cannot_be_an_operation_is_refused(change: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        Operation.model_validate(operation(10) | change)
