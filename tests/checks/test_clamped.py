from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.checks._clamped import FRICTION, Clamp, Metal, Wide, head_face_of
from firstoff.checks._threads import thread_named
from tests.published import agrees

STEEL = Metal("steel", Wide(470e6, 0.08), 210e9, "P")
ALUMINIUM = Metal("aluminium", Wide(310e6, 0.08), 70e9, "N")
M4 = Clamp(thread_named("M4"), "8.8", "socket", 5.0, 8.3, 4.5, 3.3, STEEL, ALUMINIUM)
POSITIVE, SPREADS = st.floats(0.1, 1e5), st.floats(0.0, 1.0)


def test_nine_in_ten_lie_between() -> None:
    wide = Wide.between(0.08, 0.24)
    assert (wide.low, wide.high) == pytest.approx((0.08, 0.24))


@given(POSITIVE, SPREADS, POSITIVE, SPREADS)
def test_one_is_above_or_below_the_other(one: float, sd: float, other: float, other_sd: float) -> None:
    a, b = Wide(one, sd), Wide(other, other_sd)
    if one != other:
        assert a.above(b) + b.above(a) == pytest.approx(1.0)
    assert (a.above(b) > 0.5) == (one > other) or sd == other_sd == 0.0 or math.isclose(one, other)


@pytest.mark.parametrize(("greased", "published"), [(False, 0.35), (True, 0.25)])
def test_scatter_of_preload_is_as_published(greased: bool, published: float) -> None:
    """Thread and head each rub for themselves: what comes out is the scatter that people allow for."""
    pull = replace(M4, lubricated=greased).pull(2.0, 0.06)
    half = (pull.high - pull.low) / (pull.high + pull.low)
    agrees("joints", f"preload by a torque wrench, {'lubricated' if greased else 'as received'}: it comes within",
           "preloadscatter", 100.0 * published, 100.0 * half, "%", within=5.0, absolute=True)


def test_a_tight_screw_pulls_as_the_tables_say() -> None:
    # vdi2230, table A1, M4 8.8 at mu 0.14: 4.05 kN at 90 % of yield, 3.3 N m.
    middle = math.sqrt(FRICTION[False][0] * FRICTION[False][1])
    assert middle == pytest.approx(0.14, abs=0.002)
    assert 0.9 * M4.stretches.middle == pytest.approx(4050.0, rel=0.08)
    assert M4.arm.middle * 0.9 * M4.stretches.middle == pytest.approx(3.3, rel=0.08)


def test_grease_pulls_more_for_the_same_torque_and_longer_thread_bears_more() -> None:
    assert replace(M4, lubricated=True).pull(2.0, 0.06).middle > M4.pull(2.0, 0.06).middle
    assert replace(M4, engaged=4.0).strips.middle < M4.strips.middle
    assert replace(M4, grade="12.9").stretches.middle > M4.stretches.middle
    assert replace(M4, head="countersunk").arm.middle > M4.arm.middle


def test_a_longer_screw_loses_less_by_bedding_in() -> None:
    pull = M4.pull(2.0, 0.06)
    left = [replace(M4, thick=thick).kept(pull).middle for thick in (2.0, 5.0, 20.0)]
    assert left == sorted(left) and left[-1] < pull.middle


def test_a_load_along_takes_from_what_it_holds_across() -> None:
    kept = M4.kept(M4.pull(2.0, 0.06))
    alone, loaded = (M4.slips(kept, 2, along).middle for along in (0.0, 1000.0))
    assert loaded < alone and alone == pytest.approx(2.0 * M4.slips(kept, 1).middle)
    opens = M4.opens(kept, 2)
    assert M4.slips(kept, 2, 1.001 * opens.middle).middle == 0.0


def test_the_slippier_face_counts() -> None:
    assert M4.faces.high == pytest.approx(0.20)
    assert replace(M4, into=STEEL).faces.high == pytest.approx(0.25)


def test_a_cone_goes_deep_and_a_flat_head_does_not() -> None:
    assert M4.cone_depth() == 0.0
    assert replace(M4, head="countersunk").cone_depth() == pytest.approx((8.96 - 4.0) / 2.0)
    assert head_face_of("hex", thread_named("M20")) == pytest.approx(29.0)


def test_a_soft_part_is_crushed_before_a_hard_one() -> None:
    assert replace(M4, plate=ALUMINIUM).crushes.middle < M4.crushes.middle
