"""Tools of the shop as solids."""

from __future__ import annotations

import math

import numpy as np
import pytest

from firstoff.checks._forces import profile_of
from firstoff.cutting.edge import profile_radius
from firstoff.dryrun.cutters import POINT, cutter_of, rings
from tests.checks.builders import case, operation, shop, tool


def test_an_end_mill_is_as_wide_as_it_is() -> None:
    cutter = cutter_of(case())
    assert (cutter.radius, cutter.flat, cutter.length, cutter.teeth) == (3.0, 3.0, 13.0, 3)


@pytest.mark.parametrize(("kind", "extra", "away", "height"), [
    ("ball", {}, 3.0, 3.0), ("corner_radius", {"corner_radius": "1 mm"}, 3.0, 1.0),
    ("chamfer", {"point_angle": "90 deg"}, 3.0, 3.0), ("drill", {}, 3.0, 3.0 / math.tan(POINT / 2.0))])
def test_the_rim_stands_as_high_as_the_tip_is_long(kind: str, extra: dict[str, str], away: float,
                                                   height: float) -> None:
    cutter = cutter_of(case(in_shop=shop(em6=tool(kind=kind, **extra))))
    assert cutter.radius == away and cutter.rim == pytest.approx(height)


@pytest.mark.parametrize(("kind", "extra"), [
    ("end_mill", {"tip_diameter": "2 mm"}), ("ball", {"corner_radius": "1 mm"}),
    ("corner_radius", {"tip_diameter": "1 mm", "corner_radius": "0.5 mm"})])
def test_a_tapered_cutter_is_in_the_dry_run_what_it_is_for_its_forces(kind: str, extra: dict[str, str]) -> None:
    this = case(in_shop=shop(em6=tool(kind=kind, point_angle="20 deg", **extra)))
    cutter, outline = cutter_of(this), profile_of(this)
    away = np.linspace(cutter.flat + 1e-3, cutter.radius, 20)
    height = cutter.height(away)
    assert 1e3 * profile_radius(outline, height / 1e3) == pytest.approx(away, rel=1e-6)


def test_above_it_stand_shank_nut_and_spindle() -> None:
    this = case(in_shop=shop(em6=tool(shank="8 mm")))
    found, lacking = rings(this, cutter_of(this))
    assert [(r.name, r.radius, r.low) for r in found] == [
        ("cutter", 3.0, 0.0), ("shank", 4.0, 13.0), ("nut", 16.0, 20.0), ("spindle", 24.0, 38.0)]
    assert lacking == ()


def test_a_nut_that_nobody_measured_is_told() -> None:
    this = case(op=operation(collet=None))
    found, lacking = rings(this, cutter_of(this))
    assert {ring.name for ring in found} == {"cutter", "shank"} and "nut_diameter" in lacking[0]


@pytest.mark.parametrize("kind", ["t_slot", "dovetail"])
def test_an_undercut_has_a_head_a_neck_and_a_shank(kind: str) -> None:
    sizes = {"flute_length": "4 mm", "neck": "3 mm", "neck_length": "14 mm", "shank": "6 mm"}
    this = case(in_shop=shop(em6=tool(kind=kind, **sizes)))
    cutter = cutter_of(this)
    assert (cutter.neck, cutter.length, cutter.land) == (1.5, 4.0, 4.0 if kind == "t_slot" else 0.0)
    found, _ = rings(this, cutter)
    assert [(r.name, r.radius, r.low) for r in found][:3] == [
        ("cutter", 3.0, 0.0), ("neck", 1.5, 4.0), ("shank", 3.0, 14.0)]


@pytest.mark.parametrize(("kind", "extra"), [
    ("t_slot", {}), ("end_mill", {"neck": "3 mm"}), ("dovetail", {"neck": "7 mm", "neck_length": "20 mm"}),
    ("t_slot", {"neck": "3 mm", "neck_length": "2 mm"})])
def test_a_neck_that_cannot_be_is_refused(kind: str, extra: dict[str, str]) -> None:
    with pytest.raises(ValueError, match="neck"):
        shop(em6=tool(kind=kind, **extra))
