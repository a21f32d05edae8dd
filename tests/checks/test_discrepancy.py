"""A machine and a direction have each their own share of how far physics is out."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from firstoff.belief import Belief, Column, Level, LogNormal, Rows
from firstoff.checks._discrepancy import Arc, discrepancy_of, further, leans
from firstoff.checks.chatter import CHECK
from firstoff.shop.columns import KINDS, apart_name, like_name

from .builders import belief, case, columns, operation

CLIMB, CONVENTIONAL, SLOT = Arc(2.6, math.pi, 1e-3), Arc(0.0, math.pi - 2.6, 1e-3), Arc(0.0, math.pi, 1e-3)


def own(**medians: float) -> Belief:
    """The test's belief with own shares of the mill, all certain."""
    more = [Column("machine:mill", f"chatter_{name}", "1", Level.MACHINE, LogNormal(median, 1.0 + 1e-9))
            for name, median in medians.items()]
    return Belief.of([*columns(), *more], rows=64)


def test_without_its_own_a_machine_has_that_of_all() -> None:
    by = belief()
    assert np.array_equal(discrepancy_of(case(), by, "chatter", CLIMB), by.value("discrepancy:chatter", "factor"))


def test_climb_and_conventional_lean_apart_and_a_slot_between_them() -> None:
    assert leans(*SLOT[:2]) == 0.0 and leans(0.0, 0.0) == 1.0 and leans(math.pi, math.pi) == -1.0
    up, down, slot = (discrepancy_of(case(), own(factor=1.2, lean=4.0), "chatter", arc)
                      for arc in (CONVENTIONAL, CLIMB, SLOT))
    assert slot == pytest.approx(np.full(64, 1.2), rel=1e-6)
    assert up * down == pytest.approx(slot**2, rel=1e-6)
    assert up / down == pytest.approx(np.full(64, 4.0 ** leans(*CONVENTIONAL[:2])), rel=1e-6)


def test_a_cutter_and_a_metal_have_each_their_own_share() -> None:
    of = [apart_name("chatter", name) for name in (f"tool:{case().op.tool}", f"material:{case().material_name}",
                                                   "tool:another")]
    more = [Column("machine:mill", name, "1", Level.MACHINE, LogNormal(median, 1.0 + 1e-9))
            for name, median in zip(of, (1.5, 2.0, 9.0), strict=True)]
    by = Belief.of([*columns(), *more], rows=64)
    without = discrepancy_of(case(), Belief.of(columns(), rows=64), "chatter", CLIMB)
    assert discrepancy_of(case(), by, "chatter", CLIMB) == pytest.approx(3.0 * without, rel=1e-6)


def in_kinds(factor: float) -> Belief:
    """The test's belief, physics out by this in each kind of cut and by nothing else."""
    sure = LogNormal(1.0, 1.0 + 1e-9)
    certain = [replace(each, transform=sure) if each.entity == "discrepancy:chatter" else each for each in columns()]
    more = [Column("machine:mill", like_name("chatter", number), "1", Level.MACHINE, LogNormal(1.0, factor))
            for number in range(KINDS)]
    return Belief.of([*certain, *more], rows=2048)


def out(by: Belief, arc: Arc, faster: float = 1.0) -> Rows:
    """Logarithm of how far it is out in a cut."""
    cut = {"spindle_speed": f"{5000.0 * faster} rpm", "depth_of_cut": "1 mm", "width_of_cut": "1 mm"}
    return np.log(discrepancy_of(case(op=operation(role="side_rough", cut=cut)), by, "chatter", arc))


def alike(one: Rows, other: Rows) -> float:
    """How far two are one."""
    return float(np.corrcoef(one, other)[0, 1])


def test_in_every_shallow_cut_it_is_as_far_out_and_nearly_the_same_in_cuts_that_are_alike() -> None:
    by = in_kinds(1.7)
    cuts = [(Arc(0.0, arc, depth), faster) for arc in (0.4, 1.5, math.pi) for depth in (1e-4, 8e-3)
            for faster in (1.0, 1.3)]
    for arc, faster in cuts:
        here = out(by, arc, faster)
        assert here.std() == pytest.approx(math.log(1.7) * further(arc.depth / 6e-3), rel=0.1)
        assert alike(here, out(by, arc, 1.03 * faster)) > 0.95
        assert abs(alike(here, out(by, arc, 4.5 * faster))) < 0.2 or faster > 1.0
    narrow, wide = (out(by, Arc(0.0, arc, 1e-3)) for arc in (0.3, 2.5))
    assert abs(alike(narrow, wide)) < 0.2


def test_a_shallow_cut_is_one_kind_however_shallow_and_a_deep_one_another() -> None:
    by = in_kinds(1.7)
    here, half, deep, deeper = (out(by, Arc(0.0, 0.8, depth)) for depth in (4e-4, 2e-4, 6e-3, 12e-3))
    assert alike(here, half) > 0.99
    assert alike(deep, deeper) < 0.8 and alike(here, deeper) < 0.5


def test_the_deeper_a_cut_is_the_further_it_may_be_out() -> None:
    assert further(0.0) == 1.0 and further(0.15) < 1.02
    for over, give in ((1.0, 0.69), (2.0, 0.47)):      # of a cutter of 12.7 mm, 55 mm out, as a beam
        added = 0.47 * math.sqrt(further(over) ** 2 - 1.0)
        assert added == pytest.approx(-math.log(give), rel=0.3)


def test_a_mill_without_kinds_is_out_as_before() -> None:
    by, plain = in_kinds(1.0 + 1e-9), Belief.of(columns(), rows=2048)
    assert out(by, CLIMB) == pytest.approx(np.zeros(2048), abs=1e-6)
    assert np.ptp(out(plain, CLIMB)) > 0.1


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
