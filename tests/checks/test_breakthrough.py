from __future__ import annotations

import numpy as np
import pytest

from firstoff.belief import Belief
from firstoff.checks.base import Case
from firstoff.checks.breakthrough import CHECK, bitten
from firstoff.part.shapes import Feature
from tests.checks.builders import belief, block, case, chance, column, found, operation, setting, shop, tool

KIT = shop(drill2=tool(name="drill 2 mm", kind="drill", material="hss", diameter="2 mm", flutes=2,
                       flute_length="24 mm", overall_length="49 mm", point_angle="118 deg"),
           drill10=tool(name="drill 10 mm", kind="drill", material="hss", diameter="10 mm", flutes=2,
                        flute_length="87 mm", overall_length="130 mm", point_angle="118 deg"))
GRABBY = KIT.model_copy(update={"materials": {"steel": KIT.materials["steel"].model_copy(update={"grabs": True})}})


def drilled(name: str = "drill4", thick: float = 12.0, grabs: bool = False, through: bool = True,
            held: str = "vise") -> Case:
    hole = Feature("hole-1", "hole", (6,), through=through, size={"diameter": 4.0, "depth": thick})
    op = operation(features=["hole-1"], role="drill", tool=name, cut={
        "spindle_speed": "900 rpm", "feed_per_tooth": "0.03 mm", "depth_of_cut": "0 mm"})
    holding = {"device": held, "rest": "-Z", "grip": [], "tightness": "fingers"} if held == "hand" else {}
    return case(op=op, part=block(hole), in_shop=GRABBY if grabs else KIT,
                place=setting(machine="press", holding=holding))


def springy(stiffness: float = 2e6) -> Belief:
    return belief().extend([column("machine:press", "stiffness_z", stiffness)])


def test_thin_sheet_on_a_press_that_gives_bad_on_purpose() -> None:
    finding = found(CHECK, drilled("drill2", 0.3), springy(5e4))
    assert finding.p_fail is not None and finding.p_fail > 0.5
    assert "thinner than its point" in finding.because


def test_thick_work_on_a_stiff_press_just_good() -> None:
    assert chance(CHECK, drilled("drill4", 12.0), springy()) <= 0.01


def test_metal_that_pulls_the_drill_in_is_worse() -> None:
    usual, pulled = (found(CHECK, drilled("drill4", 4.0, grabs), springy()) for grabs in (False, True))
    assert usual.demand is not None and pulled.demand is not None and pulled.demand.median > usual.demand.median
    assert "pulls it in" in pulled.because


def test_a_blind_hole_has_nothing_to_break_through() -> None:
    assert not CHECK.applies(drilled(through=False))


def test_a_machine_of_which_nothing_is_known_cannot_be_told() -> None:
    assert found(CHECK, drilled()).p_rows is None


def test_what_springs_out_is_bitten() -> None:
    out = bitten(0.1, np.array([0.0, 1000.0]), 2e6, 0.0, 10.0, np.radians(118), 50.0)
    assert out[0] == pytest.approx(1e-4)
    assert out[1] == pytest.approx(1e-4 + 0.5e-3 / (3.0043e-3 / 1e-4), rel=1e-3)
