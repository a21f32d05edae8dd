from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from firstoff.checks._forces import loads
from firstoff.checks.tool_strength import CHECK
from firstoff.cutting.strength import bending_stress
from tests.checks.builders import belief, case, chance, found, knobs_say, operation, rises, shop, tool, windows


def test_slender_cutter_bad_on_purpose() -> None:
    thin = shop(em2=tool(diameter="2 mm", shank="4 mm", flute_length="8 mm", flutes=2))
    deep = operation(tool="em2", stickout="25 mm", cut={
        "depth_of_cut": "4 mm", "width_of_cut": "2 mm", "feed_per_tooth": "0.05 mm", "direction": "slot"})
    finding = found(CHECK, case(op=deep, in_shop=thin))
    assert finding.p_fail is not None and finding.p_fail > 0.9
    assert "N/mm2" in finding.because and finding.unit == "N/mm2"


def test_stout_cutter_just_good() -> None:
    assert chance(CHECK, case(op=operation(cut={"depth_of_cut": "2 mm"}))) <= 0.01


def test_chance_rises_with_depth_and_stickout() -> None:
    rises(CHECK, [case(op=operation(cut={"depth_of_cut": f"{d} mm"})) for d in (1, 4, 8, 12)])
    rises(CHECK, [case(op=operation(cut={"depth_of_cut": "8 mm"}, stickout=f"{s} mm")) for s in (20, 30, 45)])


def test_a_pass_deeper_than_one_tooth_is_in_the_cut_breaks_no_less() -> None:
    """A 2 mm cutter, half wide: at 6 mm deep it was told to break in 1 of 14, at 3 mm in 1 of 6: the load of a tooth
    that is 2.7 mm long in the cut was put at half of the depth, though it begins at the tip."""
    thin = shop(em2=tool(diameter="2 mm", shank="4 mm", flute_length="6 mm", flutes=2))
    deep = [case(op=operation(tool="em2", stickout="12 mm", cut={
        "depth_of_cut": f"{d} mm", "width_of_cut": "1 mm", "feed_per_tooth": "0.04 mm", "direction": "conventional"}),
        in_shop=thin) for d in (1.0, 2.0, 3.0, 4.0, 6.0)]
    stresses = [found(CHECK, this).demand for this in deep]
    medians = [stress.median for stress in stresses if stress is not None]
    assert len(medians) == 5 and all(more >= 0.999 * less for less, more in pairwise(medians))


def test_stress_is_proportional_to_the_law() -> None:
    once = found(CHECK, case()).demand
    twice = found(CHECK, case(), belief(discrepancy_force__factor=2.0)).demand
    assert once is not None and twice is not None
    assert twice.median == pytest.approx(2.0 * once.median, rel=1e-9)


def test_what_to_turn() -> None:
    said = knobs_say(CHECK, case(op=operation(cut={"depth_of_cut": "1 mm"})))
    assert "0.65 mm deep, not 1 mm" in said["cut.depth_of_cut"]
    assert said["tool"] == ["end mill 10 mm, not end mill 6 mm"]
    assert said["stickout"] and all("out of the collet" in words for words in said["stickout"])


def test_a_tapered_cutter_breaks_near_its_tip() -> None:
    """A cone from 2 to 6 mm, pushed aside 0.5 mm above its tip: at 3 mm thickness or so; a 6 mm mill bears it."""
    cone = tool(tip_diameter="2 mm", point_angle="20 deg")
    this = case(op=operation(tool="cone"), cut=windows(1.0, 1.0, 0.02), in_shop=shop(cone=cone))
    whole = case(cut=windows(1.0, 1.0, 0.02))
    stress, other = found(CHECK, this).demand, found(CHECK, whole).demand
    assert stress is not None and other is not None
    (load,) = loads(this, belief())
    slope = 2.0 * np.tan(np.radians(10.0))
    up = 1e-3 / slope + 1.5 * 0.5e-3        # where (x - h) / (t + s x)^3 is largest
    by_hand = bending_stress(load.forces.peak_side, up - 0.5e-3, 0.8 * (2e-3 + slope * up)) / 1e6
    assert stress.median == pytest.approx(float(np.median(by_hand)), rel=0.02)
    assert stress.median > 1.5 * other.median
