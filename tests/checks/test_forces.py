from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from firstoff.checks._forces import (
    bends_as,
    bites,
    coefficients,
    eccentricity,
    is_milling,
    loads,
    mean_torque,
    side_stiffness,
    stickout,
    tool_give,
    worst,
)
from firstoff.cutting.edge import Edge
from firstoff.errors import OutOfRange
from firstoff.removal.windows import joined
from tests.checks.builders import belief, case, operation, shop, tool, windows

TAN = 2.8 / np.sqrt(0.2 * 5.8)           #: slope of the outline of a ball of 6 mm, out for up, 0.2 mm above its tip


def test_equal_windows_are_computed_once() -> None:
    found = loads(case(cut=windows(number=7)), belief())
    assert len(found) == 1 and found[0].seconds == pytest.approx(14.0)


def test_air_is_no_load() -> None:
    this = case(cut=joined([windows(1.0), windows(0.0)]))
    assert [load.depth for load in loads(this, belief())] == [1.0]


def test_a_cut_of_nothing_is_told_and_not_computed() -> None:
    """As of a wall that is no wall from where the tool looks; every check that asks for forces can't say, then."""
    for cut in (windows(0.0), windows(1.0, feed=0.0)):
        with pytest.raises(OutOfRange, match="takes nothing off"):
            loads(case(cut=cut), belief())


def test_the_worst_window_counts_by_row() -> None:
    both, deep = (worst(loads(case(cut=cut), belief()), "peak_side")
                  for cut in (joined([windows(1.0), windows(3.0)]), windows(3.0)))
    assert np.allclose(both, deep)


def test_torque_balances_the_work_of_the_chip() -> None:
    """Mean torque times speed is force on the chip times removal rate, for a law without edge force."""
    pure = belief(material_steel__tangential_edge=1e-3, collet_er6__runout=1e-6)
    this = case(op=operation(cut={"feed_per_tooth": "0.05 mm"}))
    torque = mean_torque(loads(this, pure))
    volume_a_turn = 1e-3 * 3e-3 * 0.05e-3 * 3
    expected = coefficients(this, pure).tangential * volume_a_turn / (2.0 * np.pi)
    assert torque == pytest.approx(expected, rel=1e-3)


def test_changed_rows_are_not_taken_from_memory() -> None:
    this = case()
    first = worst(loads(this, belief()), "peak_x")
    second = worst(loads(this, belief(material_steel__tangential=4e9)), "peak_x")
    assert np.all(second > 1.3 * first)
    assert np.allclose(worst(loads(this, belief()), "peak_x"), first)


def test_another_tool_is_not_taken_from_memory() -> None:
    two = shop(em6=tool(flutes=2))
    assert not np.allclose(worst(loads(case(), belief()), "mean_torque"),
                           worst(loads(case(in_shop=two), belief()), "mean_torque"))


def test_what_mills() -> None:
    assert is_milling(case())
    assert not is_milling(case(op=operation(role="file")))
    assert not is_milling(case(op=operation(tool="drill4")))
    assert not is_milling(replace(case(), windows=None))


def test_no_collet_no_runout() -> None:
    assert np.all(eccentricity(case(op=operation(collet=None)), belief()) == 0.0)


def test_stickout_as_planned_or_as_usual() -> None:
    assert stickout(case(op=operation(stickout="31 mm"))) == 31.0
    assert stickout(case(op=operation(stickout=None))) == 20.0
    bare = shop(em6=tool(stickout=None))
    assert stickout(case(op=operation(stickout=None), in_shop=bare)) == 19.0


def test_springs_in_a_row_are_softer_than_each() -> None:
    k = side_stiffness(case(), belief(), (1.0, 0.0, 0.0))
    assert np.all(k < tool_give(case(), belief())) and np.all(k < belief().value("machine:mill", "stiffness_y"))


def test_square_to_the_feed_is_the_other_axis() -> None:
    soft_y = belief(machine_mill__stiffness_y=1e5)
    along_x, along_y = (side_stiffness(case(), soft_y, way) for way in ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0)))
    assert np.all(along_x < along_y)


def test_on_a_way_down_the_end_has_its_share_of_the_edge_force() -> None:
    level, ramp, plunge = (case(cut=windows(0.1, 6.0, 0.03, direction="slot")) for _ in range(3))
    for this, way in ((ramp, (0.9986, 0.0, -0.0523)), (plunge, (0.0, 0.0, -1.0))):
        assert this.windows is not None
        this.windows.direction[:] = way
    by = belief()
    found = [bites(this, by)[0].edge for this in (level, ramp, plunge)]
    assert not isinstance(found[0], Edge) and isinstance(found[1], Edge) and isinstance(found[2], Edge)
    end = [share for share, high in zip(found[1].edge_share, found[1].high, strict=True) if high == 0.0]
    assert end and all(0.1 < share < 0.9 for share in end)
    assert found[2].edge_share == pytest.approx([1.0] * len(found[2].low))       # chips as thick as the feed
    # a blunter edge slides for longer, and presses harder while it does
    blunt = bites(ramp, belief(tool_material_carbide__edge_radius=0.02))[0].edge
    assert isinstance(blunt, Edge) and max(blunt.edge_share) == 1.0
    assert sum(blunt.edge_share) > sum(found[1].edge_share)


@pytest.mark.parametrize(("role", "takes"), [("form", 0.2 * 0.02), ("side_finish", 0.02**2 / 2.0 / TAN)])
def test_a_narrow_row_of_a_ball_is_no_air(role: str, takes: float) -> None:
    """Beside another row it takes depth x step; beside an upright wall no more than a wedge by the slope of its edge
    there."""
    ball = tool(name="ball nose", kind="ball", corner_radius="3 mm", flute_length="10 mm")
    this = case(op=operation(tool="ball6", role=role, cut={"depth_of_cut": "0.2 mm", "width_of_cut": "0.02 mm"}),
                cut=windows(0.2, 0.02, 0.02, diameter=2.0 * np.sqrt(0.2 * 5.8), direction="conventional"),
                in_shop=shop(ball6=ball))
    law = belief(material_steel__tangential_edge=1e-3)
    torque = float(np.median(worst(loads(this, law), "mean_torque")))
    energy = float(np.median(coefficients(this, law).tangential))
    assert 2.0 * np.pi * torque == pytest.approx(energy * 3 * takes * 0.02 * 1e-9, rel=0.03)


def test_a_tapered_cutter_bends_as_its_cone() -> None:
    """(t d^3)^(1/4) of a cone up to where its flutes end; 0.8 of it, as of any flutes."""
    cone = tool(tip_diameter="2 mm", point_angle="20 deg", flute_length="11 mm")
    kit = shop(cone=cone)
    top = 2.0 + 2.0 * 11.0 * np.tan(np.radians(10.0))
    this = case(op=operation(tool="cone"), in_shop=kit)
    assert bends_as(this) == pytest.approx(0.8e-3 * (2.0 * top**3) ** 0.25, rel=1e-2)
    assert np.all(tool_give(this, belief()) < tool_give(case(), belief()))
    assert bends_as(case()) == pytest.approx(4.8e-3)
