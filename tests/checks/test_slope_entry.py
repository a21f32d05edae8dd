from __future__ import annotations

import math

import pytest

from firstoff.checks.base import Case
from firstoff.checks.slope_entry import CHECK, slope
from firstoff.part.shapes import Face, Feature
from tests.checks.builders import block, case, chance, found, operation, setting
from tests.checks.test_wander import KIT


def drilled(degrees: float, name: str = "stub4", before: str = "") -> Case:
    """A hole straight down into a face that leans over by some degrees."""
    angle = math.radians(degrees)
    leaning = Face(7, 0, "plane", 400.0, (30.0, 20.0, 20.0), (math.sin(angle), 0.0, math.cos(angle)),
                   (20.0, 10.0, 18.0), (40.0, 30.0, 22.0), neighbours=(6,))
    bore = Face(6, 0, "cylinder", 50.0, (30.0, 20.0, 14.0), (0.0, 0.0, 1.0), (28.0, 18.0, 8.0), (32.0, 22.0, 20.0),
                axis_point=(30.0, 20.0, 20.0), axis=(0.0, 0.0, 1.0), radius=2.0, hollow=True, neighbours=(7,))
    hole = Feature("hole-1", "hole", (6,), axis=(0.0, 0.0, 1.0), axis_point=(30.0, 20.0, 20.0),
                   size={"diameter": 4.0, "depth": 12.0}, access=((0.0, 0.0, 1.0),))
    cut = {"spindle_speed": "1400 rpm", "feed_per_tooth": "0.02 mm", "depth_of_cut": "0 mm"}
    ops = {"op": operation(number=20, features=["hole-1"], role="drill", tool=name, stickout="24 mm", collet=None,
                           cut=cut)}
    if before:
        ops["flat"] = operation(number=10, features=["hole-1"], role="spot", tool=before, collet=None, cut=cut)
    return case(ops=ops, part=block(hole, faces=(bore, leaning)), in_shop=KIT, place=setting(machine="press"))


def test_twenty_degrees_bad_on_purpose() -> None:
    finding = found(CHECK, drilled(20.0, "drill4"))
    assert finding.p_fail is not None and finding.p_fail > 0.5
    assert "20° off square" in finding.because and "end mill of up to 4 mm" in finding.because


def test_a_little_over_a_degree_with_a_short_drill_just_good() -> None:
    assert chance(CHECK, drilled(1.2)) <= 0.01


def test_the_steeper_the_worse() -> None:
    chances = [chance(CHECK, drilled(degrees)) for degrees in (1.5, 4.0, 8.0, 20.0)]
    assert chances == sorted(chances) and chances[-1] > chances[0]


def test_where_a_lip_touches_first_it_skids_for_certain() -> None:
    finding = found(CHECK, drilled(40.0))
    assert finding.p_fail == 1.0 and "a lip touches it before the point" in finding.because


def test_a_flat_or_a_flat_mill_before_it_settles_it() -> None:
    assert not CHECK.applies(drilled(20.0, before="em6"))
    assert not CHECK.applies(drilled(0.0))
    assert slope(drilled(20.0)) == pytest.approx(math.radians(20.0))
