from __future__ import annotations

from firstoff.dryrun.causes import Reading
from firstoff.dryrun.saving import ways
from firstoff.dryrun.sizes import Size, sizes_of
from tests.dryrun import stacked


def of(name: str) -> Size:
    return next(size for size in sizes_of(stacked.cases(), stacked.belief()) if size.name == name)


def told(name: str, off: float) -> dict[str, float]:
    reading = Reading(name, stacked.SIZES[name][2] + off, off, 0.003, "does not conform")
    return {way.text: way.chance for way in ways(reading, of(name), stacked.cases(), stacked.belief())}


def test_too_large_is_cut_again() -> None:
    found = told("height", 0.09)
    still = next(text for text in found if text.startswith("if it is still clamped: under"))
    again = next(text for text in found if text.startswith("clamp it again in second"))
    assert "0.09 mm" in still and found[still] > found[again] > 0.5
    assert not any(text.startswith("if it is still clamped: top") for text in found), "that setting is over"


def test_too_small_is_not_cut_again() -> None:
    found = told("height", -0.09)
    assert not any("once more" in text or "clamp it again" in text for text in found)
    assert found["use it as it is"] < 0.01 and "make the block anew" in found


def test_a_size_at_the_edge_may_be_right_as_it_is() -> None:
    assert 0.3 < told("width", 0.05)["use it as it is"] < 0.7


def test_making_it_anew_costs_all_its_minutes() -> None:
    reading = Reading("height", 20.09, 0.09, 0.003, "does not conform")
    found = ways(reading, of("height"), stacked.cases(), stacked.belief())
    anew = next(way for way in found if way.text == "make the block anew")
    assert anew.minutes > 2 * max(way.minutes for way in found if way is not anew) and found[-1].minutes >= 0.0
