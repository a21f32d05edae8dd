"""Words of a route for how something is tightened."""

from __future__ import annotations

import pytest

from firstoff.job.tightened import EXAMPLES, Tightening, tightening


@pytest.mark.parametrize(("text", "means"), [
    ("fingers", Tightening("fingers")), (" fingers ", Tightening("fingers")),
    ("arm on a 150 mm handle", Tightening("arm", 150.0)), ("arm on an 8 in spanner", Tightening("arm", 8 * 25.4)),
    ("mallet on a 15 cm key", Tightening("mallet", 150.0)), ("torque wrench at 20 N m", Tightening("wrench", 20.0)),
    ("torque wrench set to 2 N m", Tightening("wrench", 2.0)), ("torque wrench 2 N m", Tightening("wrench", 2.0)),
    ("torque wrench at 40 in-lb", Tightening("wrench", 40 * 0.0254 * 4.4482216)),
    ("torque wrench at 3 ft lbs", Tightening("wrench", 3 * 0.3048 * 4.4482216)),
])
def test_what_words_mean(text: str, means: Tightening) -> None:
    found = tightening(text)
    assert found is not None and found.by == means.by and found.size == pytest.approx(means.size)


@pytest.mark.parametrize("text", ["", "a good heave", "arm on a handle", "arm on a 150 handle", "torque wrench at 3"])
def test_what_means_nothing(text: str) -> None:
    assert tightening(text) is None


def test_the_examples_of_messages_are_understood() -> None:
    assert all(tightening(word) is not None for word in EXAMPLES)
