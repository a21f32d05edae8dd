"""What is keyed in: never above the speed and feed that were chosen, never below the length that is needed."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.dryrun.choosing import settable
from firstoff.shop.models import Spindle
from firstoff.shop.rounding import at_least, round_feed, round_speed
from firstoff.tomlfile import KEPT

RPM = math.pi / 30.0


@given(st.floats(0.01, 60.0), st.sampled_from(["mm", "in"]))
def test_a_length_reaches_what_is_needed_and_no_further(length: float, units: str) -> None:
    told = at_least(length, settable(length, units), units)
    step = {"mm": 0.05 if length >= 1.0 else 0.01, "in": 25.4 * (0.005 if length >= 1.27 else 0.001)}[units]
    assert length * (1.0 - 1e-9) <= told <= length + step * 1.001


@given(st.floats(0.05, 200.0), st.sampled_from(["mm", "in"]))
def test_a_feed_of_two_figures(feed: float, units: str) -> None:
    told = round_feed(feed, units)
    a_minute = told * 60.0 / (25.4 if units == "in" else 1.0)
    assert a_minute == pytest.approx(float(f"{a_minute:.2g}"))
    assert 0.9 * feed < told <= feed * (1.0 + 1e-9)


def test_a_speed_in_round_figures_within_the_range() -> None:
    power = {"value": 500.0, "sd": 50.0, "source": "measured"}
    spindle = Spindle.model_validate({"slowest": 500.0 * RPM, "fastest": 5050.0 * RPM, "power": power}, context=KEPT)
    told = [round(round_speed(turns * RPM, spindle) / RPM) for turns in (10.0, 777.0, 1234.0, 9000.0)]
    assert told == [500, 770, 1200, 5050]
    assert round_speed(1234.0 * RPM, None) == pytest.approx(1200.0 * RPM)
