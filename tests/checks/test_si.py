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


def test_tool_radius() -> None:
    assert si.tool_radius(case()) == pytest.approx(3e-3)
