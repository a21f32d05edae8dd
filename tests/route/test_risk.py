"""A risk as it is told."""

from __future__ import annotations

from firstoff.route.risk import Risk


def test_what_is_no_matter_of_chance_has_none() -> None:
    told, sure = Risk("it stalls", 0.2, "slower"), Risk("it does not reach", None)
    assert told.p == 0.2 and sure.p is None and not sure.instead
    assert told != sure and hash(told) != hash(sure)
