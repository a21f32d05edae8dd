"""Sums over moves: extents as far as they are known, tools, and what a person should look at."""

from __future__ import annotations

import math

import numpy as np
import pytest

from firstoff.program.summary import Summary
from firstoff.program.timing import Limits, timed

from .made import START, read_text

LIMITS = Limits((25.0,) * 3, (1e9,) * 3)


def summary(text: str) -> Summary:
    moves, _ = read_text(text)
    found = Summary()
    found.add_all(timed([moves.take(slice(k, k + 3)) for k in range(0, len(moves), 3)], LIMITS))
    return found


def warnings(text: str) -> list[tuple[int, str]]:
    return [(one.line, one.what) for one in summary(text).warnings()]


def test_extents_of_rapids_and_cuts_with_the_bulge_of_arcs() -> None:
    found = summary(START + "G1 Z-1\nG2 X10 I5\nG0 Z20\nM2")
    assert found.cut.low.tolist() == [0, 0, -1] and found.cut.high == pytest.approx([10, 5, 0])
    assert found.rapid.low.tolist() == [0, 0, -1] and found.rapid.high.tolist() == [10, 0, 20]
    assert (found.moves, found.cutting, found.arcs) == (4, 2, 1)


def test_places_that_nobody_knows_are_in_no_extent() -> None:
    found = summary("G21 F60 S1 M3\nG0 Z5\nG28\nG0 X7 Y8\nZ5\nG1 Z1\nM2")
    assert found.rapid.low.tolist() == [7, 8, 5] and found.cut.low.tolist() == [7, 8, 1]
    assert found.not_timed == 4
    assert not summary("G21\nM0\nM2").rapid.told


def test_each_tool_has_its_speeds_feeds_and_depth() -> None:
    found = summary("G21 G17\nT1 M6\nS60 M3\nG0 X0 Y0 Z5\nG1 Z-1 F60\nX60 F120\nT2 M6\nG0 X0 Y0 Z5\nG1 Z-4 F30\nM2")
    one, two = found.tools[1], found.tools[2]
    assert one.feeds == (1.0, 2.0) and one.lowest == -1.0 and two.lowest == -4.0 and two.feeds == (0.5, 0.5)
    assert list(one.speeds) == pytest.approx([2 * math.pi]) and one.moves == 3
    assert one.seconds == pytest.approx(6.0 + 30.0)


def test_the_spindle_off_is_told_where_each_stretch_begins() -> None:
    text = START + "M5\nG1 X1\nX2\nX3\nX4\nM3 X5\nM5 X6\nM2"
    assert [line for line, what in warnings(text) if "spindle off" in what] == [6, 11]
    assert not [what for _, what in warnings(START + "G1 X1\nM2") if "spindle" in what]


def test_rapids_posted_as_feeds_are_told() -> None:
    posted = START + "G1 Z5 F5000\nX10\nG1 Z-1 F100\nX20\nG1 Z5 F5000\nX0\nM2"
    assert [(line, "posted as G1" in what) for line, what in warnings(posted)] == [(6, True)]
    slow_above = START + "G1 Z5 F100\nX10\nG1 Z-1 F5000\nX20\nM2"
    assert warnings(slow_above) == []


def test_the_lowest_rapid_sideways_is_none_that_only_goes_up_or_down() -> None:
    assert summary(START + "G1 Z-3\nG0 Z5\nX9 Z4\nX0 Z4\nM2").level_rapid == 4.0
    assert math.isinf(summary(START + "G0 Z-5\nM2").level_rapid)


def test_work_zeros_and_no_z_are_told() -> None:
    assert "2 work zeros" in warnings(START + "G55\nG0 X0 Y0 Z0\nG1 Z5\nM2")[0][1]
    assert "no cut has a Z" in warnings("G21 S1 M3 F60 G0 X0 Y0\nG1 X5\nM2")[0][1]
    assert warnings("G21 S1 M3 F60 G0 X0 Y0 Z0\nG1 X5\nM2") == []


def test_chunks_add_up_to_the_whole() -> None:
    text = START + "G1 X5\nG2 X9 I2\nG0 Z5\n" * 9 + "M2"
    moves, _ = read_text(text)
    whole = Summary()
    whole.add_all(timed([moves], LIMITS))
    parts = summary(text)
    assert whole.seconds == pytest.approx(parts.seconds) and whole.moves == parts.moves
    assert np.array_equal(whole.cut.low, parts.cut.low) and np.array_equal(whole.rapid.high, parts.rapid.high)
