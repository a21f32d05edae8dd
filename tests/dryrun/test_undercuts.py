"""Nominal passes of undercut cutters against the same cut made in the computer; each check that weighs a cut."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import pairwise
from math import pi
from typing import Any

import numpy as np
import pytest

from firstoff.checks import chatter, power, rubbing, tool_strength, wear
from firstoff.checks._forces import loads, mean_torque, profile_of, slender, tool_give, worst
from firstoff.checks._tip import sections
from firstoff.checks.base import Case
from firstoff.checks.reach import depth_of, reaches
from firstoff.dryrun.cutters import cutter_of
from firstoff.dryrun.nominal import nominal_windows
from firstoff.dryrun.registry import all_checks
from firstoff.dryrun.undercuts import undercut
from firstoff.part.shapes import Feature, Part
from firstoff.removal.cutters import Cutter
from firstoff.removal.cutting import UNDER, cut
from firstoff.removal.stock import Stock
from firstoff.removal.windows import Windows, without_residue
from tests.checks.builders import belief, block, case, chance, found, operation, shop, tool
from tests.removal.paths import along

KINDS = pytest.mark.parametrize("kind", ["t_slot", "dovetail"])
MOUTH, INNER = 6.0, 12.0


def slotted_part(inner: float = INNER) -> Part:
    """The block with a slot 6 mm wide at its mouth, 6 deep, along its middle."""
    return block(Feature("slot-1", "slot", (4, 5), access=((0.0, 0.0, 1.0),), axis=(0.0, 0.0, 1.0), through=True,
                         size={"width": MOUTH, "inner_width": inner, "length": 60.0, "depth": 6.0}))


def made(kind: str, inner: float = INNER, neck: float = 5.0, tall: float = 3.0, **op: Any) -> Case:
    """Such a slot undercut by a cutter of 12 mm."""
    sizes = {"kind": kind, "name": "undercut", "diameter": "12 mm", "flute_length": f"{tall} mm",
             "neck": f"{neck} mm", "neck_length": "16 mm", "shank": "10 mm", "stickout": "25 mm", "flutes": 4}
    cuts = {"spindle_speed": "2000 rpm", "depth_of_cut": None, "width_of_cut": None, **op.pop("cut", {})}
    under = operation(role="slot", features=["slot-1"], tool="under", stickout="25 mm", leaves="0 mm", cut=cuts, **op)
    return case(op=under, in_shop=shop(under=tool(**sizes)), part=slotted_part(inner))


def nominal(this: Case) -> Case:
    """With the windows of nominal passes."""
    return replace(this, windows=nominal_windows(this))


@cache
def program(kind: str, askew: float = 0.0, across: float = 15.0) -> Case:
    """The same pass made in the computer, in the middle of its slot."""
    this = made(kind)
    stock = Stock.block((60.0, 30.0, 12.0))
    ends = [(x, across + askew * (x - 30.0), 6.0) for x in (-15.0, 75.0)]
    cut(stock, along(*ends), Cutter.end_mill(MOUTH))
    windows = without_residue(cut(stock, along(*ends), cutter_of(this), UNDER), 0.05, True)
    inside = windows.take((windows.point[:, 0] > 12.0) & (windows.point[:, 0] < 48.0))
    return replace(this, windows=replace(inside, feed_per_tooth=np.full(len(inside), 0.02)))


def arcs_of(this: Case) -> list[list[tuple[float, float, float]]]:
    """Lower end, entry and exit of each slice of each window."""
    assert this.windows is not None
    slices = this.windows.slices
    return [sorted((slices.low[k], slices.entry[k], slices.exit[k]) for k in range(*ends))
            for ends in pairwise(slices.offsets)]


@KINDS
@pytest.mark.parametrize(("askew", "across"), [(0.0, 15.0), (0.0, 15.037), (0.31, 15.02)])
def test_a_program_cuts_as_the_closed_form_says(kind: str, askew: float, across: float) -> None:
    """Engagement on both sides, slice by slice, from the middle of the slot above; along a grid and across it."""
    this = program(kind, askew, across)
    plan, every = undercut(this), arcs_of(this)
    expected = sorted((a.low, a.entry, a.exit) for a in plan.arcs)
    for window in every:
        assert len(window) == len(expected)
        for (z, entry, leave), (low, first, last) in zip(window, expected, strict=True):
            if last - first > 0.6:      # the last slices are a few cells wide
                assert z == pytest.approx(low) and entry == pytest.approx(first, abs=np.radians(0.6))
                assert leave == pytest.approx(last, abs=np.radians(0.6))
    middle = np.median(np.array([[arc[1:] for arc in window] for window in every]), axis=0)
    wide = np.array([last - first for _, first, last in expected]) > 0.6
    assert middle[wide] == pytest.approx(np.array([arc[1:] for arc in expected])[wide], abs=np.radians(0.3))
    assert this.windows is not None
    assert this.windows.volume == pytest.approx(plan.area * (this.windows.s1 - this.windows.s0), rel=0.01)
    assert this.windows.slices.volume.sum() == pytest.approx(this.windows.volume.sum(), rel=0.005)


@KINDS
def test_forces_of_the_program_are_those_of_the_nominal_pass(kind: str) -> None:
    one, other = (loads(this, belief()) for this in (program(kind), nominal(made(kind))))
    assert mean_torque(one) == pytest.approx(mean_torque(other), rel=0.02)
    for name in ("peak_side", "peak_torque", "mean_x"):
        assert worst(one, name) == pytest.approx(worst(other, name), rel=0.04), name


def test_the_work_of_the_chip_is_the_torque() -> None:
    """Mean torque of a law without edge: force on the chip times what comes off in a radian."""
    pure = belief(material_steel__tangential_edge=1e-3, collet_er6__runout=1e-6)
    for kind in ("t_slot", "dovetail"):
        this = nominal(made(kind, cut={"feed_per_tooth": "0.05 mm"}))
        area = undercut(this).area * 1e-6
        law = pure.value("material:steel", "tangential") * pure.value("discrepancy:force", "factor")
        assert mean_torque(loads(this, pure)) == pytest.approx(law * area * 4 * 0.05e-3 / (2.0 * pi), rel=5e-3)


def test_walls_wider_than_the_cutter_are_cut_after_the_middle() -> None:
    this = nominal(made("t_slot", inner=15.0, cut={"width_of_cut": "0.75 mm"}))
    plan = undercut(this)
    assert (plan.walls, plan.width, plan.layers, plan.depth) == (4, 0.75, 1, 3.0)
    assert this.windows is not None
    whole = 60.0 * 3.0 * (15.0 - 6.0)
    assert this.windows.volume.sum() == pytest.approx(whole)
    assert this.windows.slices.volume.sum() == pytest.approx(whole)
    assert this.windows.exit[1] - this.windows.entry[1] == pytest.approx(np.arccos(1.0 - 2.0 * 0.75 / 12.0))


def test_layers_over_each_other() -> None:
    this = nominal(made("t_slot", height="6 mm"))
    assert undercut(this).layers == 2 and this.windows is not None
    assert this.windows.volume.sum() == pytest.approx(60.0 * 6.0 * 6.0)


def test_climbing_and_conventional_walls_are_as_in_a_glass() -> None:
    one, other = (nominal(made("dovetail", inner=14.0, cut={"direction": way})) for way in ("climb", "conventional"))
    (_, a), (_, b) = arcs_of(one), arcs_of(other)
    assert np.array(a) == pytest.approx(np.array([(z, pi - leave, pi - entry) for z, entry, leave in b]))
    climb, back = (loads(this, belief()) for this in (one, other))
    assert mean_torque(climb) == pytest.approx(mean_torque(back), rel=1e-6)


@KINDS
def test_the_neck_decides_stiffness_and_strength(kind: str) -> None:
    thick, thin = made(kind, neck=5.5), made(kind, neck=3.0)
    assert slender(thin) == (0.016, 0.003)
    assert profile_of(thin).neck == 0.003 and profile_of(thin).head == 0.003
    assert [round(1e3 * part.length, 6) for part in sections(thin)] == [9.0, 13.0, 3.0]
    assert [round(1e3 * part.diameter, 6) for part in sections(thin)] == [10.0, 3.0, 9.6]
    assert np.all(tool_give(thin, belief()) < 0.15 * tool_give(thick, belief()))
    cases = [nominal(made(kind, neck=neck)) for neck in (5.5, 3.0)]
    stout, weak = (found(tool_strength.CHECK, this).demand for this in cases)
    assert stout is not None and weak is not None and weak.median > 4.0 * stout.median
    assert "on a neck of 3 mm" in found(tool_strength.CHECK, cases[1]).because


def test_a_neck_too_thin_breaks_bad_on_purpose_and_a_stout_one_is_just_good() -> None:
    bad, good = (nominal(made("t_slot", neck=neck, cut={"feed_per_tooth": "0.05 mm"})) for neck in (1.6, 5.0))
    assert chance(tool_strength.CHECK, bad) > 0.5 > 0.01 > chance(tool_strength.CHECK, good)


def test_reach_ends_at_the_shank_above_the_neck() -> None:
    this = made("t_slot")
    assert reaches(this) == 16.0 and depth_of(this) > 0.0


@KINDS
def test_both_sides_sing_sooner_than_one(kind: str) -> None:
    """Both walls at once: the teeth are in the metal twice in a turn."""
    both = nominal(made(kind))
    assert both.windows is not None
    slices = both.windows.slices
    alone = slices.exit > pi - 1e-9
    offsets = np.array([0, int(alone.sum())])
    one = replace(both, windows=replace(both.windows, slices=replace(slices, offsets=offsets, **{
        name: getattr(slices, name)[alone] for name in ("low", "high", "entry", "exit", "chip_max", "volume")})))
    two, single = (chatter.depth_over_limit(this, belief()) for this in (both, one))
    assert np.median(two) > 1.2 * np.median(single)


@KINDS
@pytest.mark.parametrize("of_program", [True, False])
def test_every_check_that_weighs_a_cut_weighs_it(kind: str, of_program: bool) -> None:
    this = program(kind) if of_program else nominal(made(kind))
    names = {check.name for check in all_checks() if check.subject == "operation" and check.applies(this)}
    assert {"tool strength", "chatter", "power", "rubbing", "holding", "collet grip", "wear", "reach"} <= names
    for check in (tool_strength.CHECK, chatter.CHECK, power.CHECK, rubbing.CHECK, wear.CHECK):
        finding = found(check, this)
        assert finding.p_rows is not None, check.name


def test_a_slot_hardly_wider_than_its_mouth_rubs() -> None:
    """An arc so brief that the chip never grows: told by the arcs, not by a slot from wall to wall."""
    near = made("t_slot", cut={"feed_per_tooth": "0.006 mm"})
    wide = slotted_part()
    slot = replace(wide.features[-1], size={**wide.features[-1].size, "width": 11.9})
    narrow = nominal(replace(near, parts={"block": replace(wide, features=(*wide.features[:-1], slot))}))
    full = nominal(near)
    assert chance(rubbing.CHECK, narrow) > 0.9 > chance(rubbing.CHECK, full)


def test_along_a_wall_that_is_no_undercut_it_is_an_end_mill() -> None:
    this = made("t_slot", cut={"width_of_cut": "0.5 mm", "depth_of_cut": "2 mm"}, removes="0.5 mm")
    plain = slotted_part()
    size = {name: value for name, value in plain.features[-1].size.items() if name != "inner_width"}
    part = replace(plain, features=(*plain.features[:-1], replace(plain.features[-1], size=size)))
    found_there = nominal(replace(this, parts={"block": part}))
    assert found_there.windows is not None and found_there.windows.volume.sum() > 0.0
    assert len(found_there.windows.slices) == 0 and worst(loads(found_there, belief()), "peak_side").min() > 0.0


def test_windows_without_arcs_have_no_slices() -> None:
    windows: Windows = nominal_windows(case())
    assert len(windows.slices) == 0 and len(windows.slices.offsets) == len(windows) + 1
