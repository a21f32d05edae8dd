from __future__ import annotations

import numpy as np
import pytest

from firstoff.belief import Belief
from firstoff.checks import si
from tests.checks.builders import case, column, operation, shop, tool


def test_there_and_back() -> None:
    assert si.metres(25.4) == pytest.approx(0.0254)
    assert si.millimetres(si.metres(3.0)) == pytest.approx(3.0)
    assert si.micrometres(np.array([1e-6]))[0] == pytest.approx(1.0)
    assert si.mpa(np.array([210e9]))[0] == pytest.approx(210e3)
    assert si.per_mm(np.array([15e3]))[0] == pytest.approx(15.0)
    assert si.newtons_per_micrometre(np.array([2e6]))[0] == pytest.approx(2.0)


def test_a_column_in_mm_comes_out_in_metres() -> None:
    made = [column("machine:m", "lost_motion", 0.02, unit="mm"), column("machine:m", "k", 5.0)]
    believed = Belief.of(made, rows=64)
    assert np.median(si.value(believed, "machine:m", "lost_motion")) == pytest.approx(2e-5, rel=1e-2)
    assert np.median(si.value(believed, "machine:m", "k")) == pytest.approx(5.0, rel=1e-2)


def test_working_diameter_by_kind_of_tool() -> None:
    kit = shop(ball=tool(kind="ball"), bull=tool(kind="corner_radius", corner_radius="1 mm"))
    assert si.working_diameter(case(), 1.0) == pytest.approx(6e-3)
    assert si.working_diameter(case(op=operation(tool="ball"), in_shop=kit), 3.0) == pytest.approx(6e-3)
    assert si.working_diameter(case(op=operation(tool="ball"), in_shop=kit), 1.0) == pytest.approx(2 * 5**0.5 * 1e-3)
    assert si.working_diameter(case(op=operation(tool="bull"), in_shop=kit), 0.0) == pytest.approx(4e-3)
    assert si.working_diameter(case(op=operation(tool="chamfer6"), in_shop=kit), 1.5) == pytest.approx(3e-3)


def test_a_tapered_cutter_is_as_wide_as_its_cone_where_it_cuts() -> None:
    """Tip 2 mm, 20 degrees included: 2 + 2 tan(10) at 1 mm, never more than the whole; on a ball nose of 1 mm too."""
    cone = tool(tip_diameter="2 mm", point_angle="20 deg")
    nose = tool(kind="ball", corner_radius="1 mm", point_angle="20 deg")
    kit, slope = shop(cone=cone, nose=nose), np.tan(np.radians(10.0))
    assert si.width_at(kit.tools["cone"], 1.0) == pytest.approx((2.0 + 2.0 * slope) * 1e-3)
    assert si.width_at(kit.tools["cone"], 20.0) == pytest.approx(6e-3)
    assert si.width_at(kit.tools["nose"], 0.1) == pytest.approx(2e-3 * np.sqrt(0.1 * 1.9))
    assert si.working_diameter(case(op=operation(tool="cone"), in_shop=kit), 1.0) == pytest.approx(
        si.width_at(kit.tools["cone"], 1.0))


def test_a_ball_takes_a_pass_no_wider_than_it_is_there() -> None:
    """R - sqrt(R2 - w2 / 4): 3 - sqrt(9 - 2.25) = 0.402 mm for 3 mm; a cutter with upright flanks takes any."""
    kit = shop(ball=tool(kind="ball")).tools
    assert si.shallowest(kit["ball"], 3.0) == pytest.approx(3.0 - 6.75**0.5, rel=1e-4)
    assert si.takes(kit["ball"], 0.41, 3.0) and not si.takes(kit["ball"], 0.39, 3.0)
    assert si.takes(kit["em6"], 0.01, 6.0) and si.shallowest(kit["em6"], 6.0) == pytest.approx(0.0, abs=1e-6)


def test_tool_radius() -> None:
    assert si.tool_radius(case()) == pytest.approx(3e-3)
