"""A machine and a direction have each their own share of how far physics is out."""

from __future__ import annotations

import math

import numpy as np
import pytest

from firstoff.belief import Belief, Column, Level, LogNormal
from firstoff.checks._discrepancy import discrepancy_of, leans
from firstoff.checks.chatter import CHECK
from firstoff.shop.columns import apart_name

from .builders import belief, case, columns, operation

CLIMB, CONVENTIONAL, SLOT = (2.6, math.pi), (0.0, math.pi - 2.6), (0.0, math.pi)


def own(**medians: float) -> Belief:
    """The test's belief with own shares of the mill, all certain."""
    more = [Column("machine:mill", f"chatter_{name}", "1", Level.MACHINE, LogNormal(median, 1.0 + 1e-9))
            for name, median in medians.items()]
    return Belief.of([*columns(), *more], rows=64)


def test_without_its_own_a_machine_has_that_of_all() -> None:
    by = belief()
    assert np.array_equal(discrepancy_of(case(), by, "chatter", *CLIMB), by.value("discrepancy:chatter", "factor"))


def test_climb_and_conventional_lean_apart_and_a_slot_between_them() -> None:
    assert leans(*SLOT) == 0.0 and leans(0.0, 0.0) == 1.0 and leans(math.pi, math.pi) == -1.0
    up, down, slot = (discrepancy_of(case(), own(factor=1.2, lean=4.0), "chatter", *arc)
                      for arc in (CONVENTIONAL, CLIMB, SLOT))
    assert slot == pytest.approx(np.full(64, 1.2), rel=1e-6)
    assert up * down == pytest.approx(slot**2, rel=1e-6)
    assert up / down == pytest.approx(np.full(64, 4.0 ** leans(*CONVENTIONAL)), rel=1e-6)


def test_a_cutter_and_a_metal_have_each_their_own_share() -> None:
    of = [apart_name("chatter", name) for name in (f"tool:{case().op.tool}", f"material:{case().material_name}",
                                                   "tool:another")]
    more = [Column("machine:mill", name, "1", Level.MACHINE, LogNormal(median, 1.0 + 1e-9))
            for name, median in zip(of, (1.5, 2.0, 9.0), strict=True)]
    by = Belief.of([*columns(), *more], rows=64)
    without = discrepancy_of(case(), Belief.of(columns(), rows=64), "chatter", *CLIMB)
    assert discrepancy_of(case(), by, "chatter", *CLIMB) == pytest.approx(3.0 * without, rel=1e-6)


def test_a_mill_that_sings_sooner_in_conventional_cuts_is_told_so() -> None:
    def chance(direction: str, by: Belief) -> float:
        cut = {"depth_of_cut": "0.6 mm", "width_of_cut": "1 mm", "direction": direction}
        p = CHECK.evaluate(case(op=operation(role="side_rough", cut=cut)), by).p_fail
        assert p is not None
        return p

    plain, leaning = own(lean=1.0), own(lean=6.0)
    assert chance("conventional", leaning) >= chance("conventional", plain)
    assert chance("climb", leaning) <= chance("climb", plain)
    assert chance("conventional", leaning) - chance("climb", leaning) > 0.05 + (
        chance("conventional", plain) - chance("climb", plain))
