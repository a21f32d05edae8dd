"""Push-off: beams in closed form, the published order of size, and the sign at the wall."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.cutting.engagement import engagement_angles
from firstoff.cutting.force import Coefficients, Engagement
from firstoff.cutting.push_off import (
    FLUTED_CORE,
    deflection,
    equivalent_diameter,
    floor_error,
    series_stiffness,
    tapered_diameter,
    tool_stiffness,
    wall_by_runout,
    wall_error,
)
from firstoff.errors import OutOfRange
from tests.published import agrees

LAW = Coefficients(767.01e6, 168.8e6, 222.0e6, 27.7e3, 26.6e3, 0.7e3)  # cjme2021, table 5
FEED = 0.05e-3


def cut(direction: str, helix: float, share: float = 0.2, teeth: int = 2) -> Engagement:
    """A side cut of a 10 mm cutter, 8 mm deep."""
    angles = engagement_angles(share * 0.01, 0.01, direction)  # type: ignore[arg-type]
    return Engagement(0.01, teeth, helix, 0.008, float(angles.entry), float(angles.exit))


def test_plain_rod_is_the_textbook_cantilever() -> None:
    # gere: k = 3 E I / L^3, I = pi d^4 / 64
    k = tool_stiffness(6e11, 0.03, 0.012, 0.006, 0.006)
    assert k == pytest.approx(3 * 6e11 * np.pi * 0.006**4 / 64 / 0.03**3)


@given(st.floats(0.05, 0.95))
def test_step_by_integrating_the_curvature(share: float) -> None:
    # deflection at the tip = integral of M x / E I, x from the tip
    length, x = 0.04, 0.04 * (np.arange(4000) + 0.5) / 4000
    d = np.where(x < share * length, 0.0048, 0.006)
    give = np.sum(x**2 / (6e11 * np.pi * d**4 / 64)) * length / 4000
    assert tool_stiffness(6e11, length, share * length, 0.006, 0.0048) == pytest.approx(1 / give, rel=2e-3)


def test_twice_the_stickout_gives_way_eight_times() -> None:
    near, far = (tool_stiffness(6e11, length, length, 0.006, 0.0048) for length in (0.02, 0.04))
    agrees("push-off", "give at twice the overhang, over that at once", "makercourse", 8.0, float(near / far), "1",
           within=1e-6)


def test_small_end_mill_of_a_small_machine() -> None:
    # DE-03: an analysis of a small mill put a 4 x 16 mm tool at 0.6 N/um (its steel is not told);
    # DE-01: core 0.8 D by kops1990, 0.7 to 0.8 by a maker: high-speed steel lies at 0.46 to 0.79 N/um
    thick, thin = equivalent_diameter(0.004, FLUTED_CORE), equivalent_diameter(0.004, 0.7)
    agrees("push-off", "equivalent diameter of an end mill over its diameter", "kops1990", 0.8,
           float(thick) / 0.004, "1", within=1e-6)
    least, most = (tool_stiffness(2.1e11, 0.016, 0.016, 0.004, core) for core in (thin, thick))
    assert least < 0.6e6 < most
    agrees("push-off", "stiffness of a 4 x 16 mm cutter, high-speed steel, core 0.75 D", "cortesi", 0.6,
           float(tool_stiffness(2.1e11, 0.016, 0.016, 0.004, equivalent_diameter(0.004, 0.75))) * 1e-6, "N/um",
           within=0.05)
    agrees("push-off", "give of that cutter under 11 N", "cortesi", 20.0, float(deflection(11.0, 0.6e6)) * 1e6, "um",
           within=0.1)


def test_springs_in_a_row() -> None:
    assert series_stiffness(2e6, 2e6, np.inf) == pytest.approx(1e6)
    assert series_stiffness(3e6, 3e6, 3e6) == pytest.approx(1e6)


def test_climb_leaves_material_on_and_conventional_digs_in() -> None:
    # altintas2012, ch. 2: a helical cutter is pushed off a climb wall and drawn into a conventional one
    # once another tooth stands in the thick of the cut, where its tangential force outweighs the radial one
    climb = wall_error(LAW, cut("climb", 0.5, 0.6, teeth=4), FEED, 1e6, "climb")
    conventional = wall_error(LAW, cut("conventional", 0.5, 0.6, teeth=4), FEED, 1e6, "conventional")
    assert climb.most > 20e-6
    assert climb.least >= 0.0
    assert conventional.least < -10e-6
    # the edge left in the cut: the whole of it at the tip in climb milling, none at the top
    one = wall_error(LAW, cut("climb", 0.5, 0.2, teeth=1), FEED, 1e6, "climb").left_on[0]
    assert np.argmax(one) < 8
    assert one[-1] == pytest.approx(0.0, abs=1e-12)


def test_wall_of_a_straight_flute_by_hand() -> None:
    # at the wall the chip is nil: only the radial edge force pushes off, K_re a / k, on either side
    for direction in ("climb", "conventional"):
        got = wall_error(LAW, cut(direction, 0.0), FEED, 1e6, direction)
        assert got.left_on == pytest.approx(26.6e3 * 0.008 / 1e6, rel=1e-5)


def test_wall_of_a_helix_by_integrating_slices() -> None:
    # at the tip's moment (height 0, phi = pi) slice z stands at pi - lag z
    e, stiffness = cut("climb", 0.5, teeth=1), 2e6
    z = 0.008 * (np.arange(20000) + 0.5) / 20000
    phi = np.pi - 2 * np.tan(0.5) / 0.01 * z
    h, inside = FEED * np.sin(phi), phi >= e.entry
    pressure = (767.01e6 * h + 27.7e3) * np.sin(phi) - (168.8e6 * h + 26.6e3) * np.cos(phi)
    wanted = np.sum(pressure * inside) * 0.008 / 20000 / stiffness
    assert wall_error(LAW, e, FEED, stiffness, "climb").left_on[0, 0] == pytest.approx(wanted, rel=1e-3)


@given(st.floats(2e5, 2e7), st.floats(0.02, 0.9))
def test_wall_error_goes_with_the_inverse_of_stiffness_by_row(stiffness: float, share: float) -> None:
    k = np.array([stiffness, 2 * stiffness])
    got = wall_error(LAW, cut("climb", 0.6, share), FEED, k, "climb")
    assert got.left_on[0] == pytest.approx(2 * got.left_on[1])
    assert np.all(got.least <= got.mean)
    assert np.all(got.mean <= got.most)


def test_a_slot_has_both_walls() -> None:
    slot = Engagement(0.01, 2, 0.5, 0.004, 0.0, float(np.pi))
    assert wall_error(LAW, slot, FEED, 1e6, "climb").mean > 0.0
    assert wall_error(LAW, slot, FEED, 1e6, "conventional").mean < 0.0


def test_runout_and_floor_signs() -> None:
    assert wall_by_runout(np.array([0.0, 5e-6])) == pytest.approx([0.0, -5e-6])
    assert floor_error(np.array([20.0, -20.0]), 4e6) == pytest.approx([5e-6, -5e-6])


def test_impossible_things_are_refused() -> None:
    with pytest.raises(OutOfRange, match="leaves no conventional wall"):
        wall_error(LAW, cut("climb", 0.5), FEED, 1e6, "conventional")
    with pytest.raises(OutOfRange, match="stiffness is 0"):
        wall_error(LAW, cut("climb", 0.5), FEED, 0.0, "climb")
    with pytest.raises(OutOfRange, match="all stiffnesses are infinite"):
        series_stiffness(np.inf, np.inf, np.inf)
    with pytest.raises(OutOfRange, match=r"core ratio is 1\.2"):
        equivalent_diameter(0.006, 1.2)
    with pytest.raises(OutOfRange, match=r"stickout is -0\.01"):
        tool_stiffness(6e11, -0.01, 0.01, 0.006, 0.005)
    with pytest.raises(OutOfRange, match="axial stiffness is 0"):
        floor_error(5.0, 0.0)
    with pytest.raises(OutOfRange, match="eccentricity is -1"):
        wall_by_runout(-1.0)


@pytest.mark.parametrize("tip", [0.5e-3, 2e-3, 6e-3])
def test_a_cone_gives_as_its_closed_form(tip: float) -> None:
    # gere: delta = 64 F L^3 / (3 pi E d_tip d_root^3)
    up = np.linspace(0.0, 12e-3, 129)
    assert tapered_diameter(up, tip + (6e-3 - tip) * up / 12e-3) == pytest.approx((tip * 6e-3**3) ** 0.25, rel=2e-3)


def test_a_bar_of_one_thickness_is_itself() -> None:
    assert tapered_diameter(np.linspace(0.0, 1e-2, 65), np.full(65, 4e-3)) == pytest.approx(4e-3, rel=1e-3)
