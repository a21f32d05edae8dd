from __future__ import annotations

import numpy as np
import pytest

from firstoff.belief import Belief
from firstoff.checks._tip import MODE_SHARE, flank, middle_tip, sections, tip
from firstoff.cutting.chatter import Mode
from firstoff.cutting.receptance import compliance
from tests.checks.builders import belief, case, column, operation, tool


def test_the_tool_is_its_shank_and_its_flutes() -> None:
    shank, flutes = sections(case())
    assert shank.length + flutes.length == pytest.approx(0.020) and flutes.length == pytest.approx(0.013)
    assert shank.diameter == pytest.approx(0.006) and flutes.diameter == pytest.approx(0.8 * 0.006)


def test_flutes_that_reach_into_the_collet_are_all_that_bends() -> None:
    (only,) = sections(case(op=operation(stickout="10 mm")))
    assert only.length == pytest.approx(0.010)


def test_all_modes_together_give_way_as_machine_collet_and_tool_do() -> None:
    here = middle_tip(case(), belief(), (1.0, 0.0, 0.0))
    assert len(here.along) == 3
    machine, collet = 1 / 5e6, 1 / 20e6
    give = float(compliance(here.along, 0.0)[0])
    assert machine + collet < give < 2.0 * (machine + collet)
    assert give == pytest.approx(float(compliance(here.square, 0.0)[0]))


def test_the_weakest_mode_is_the_machine_s_and_does_not_feel_the_tool() -> None:
    slender, stout = (middle_tip(case(op=operation(stickout=out)), belief(), (1.0, 0.0, 0.0)).along[0]
                      for out in ("45 mm", "15 mm"))
    assert float(np.asarray(slender.stiffness)[0]) == pytest.approx(5e6 / MODE_SHARE, rel=0.1)
    assert float(np.asarray(slender.stiffness)[0]) == pytest.approx(float(np.asarray(stout.stiffness)[0]), rel=0.01)


def test_a_longer_stickout_lowers_the_tool_s_own_mode() -> None:
    short, long = (middle_tip(case(op=operation(stickout=out)), belief(), (1.0, 0.0, 0.0)).along[2]
                   for out in ("15 mm", "40 mm"))
    assert float(np.asarray(long.natural)[0]) < 0.5 * float(np.asarray(short.natural)[0])


def test_the_softer_axis_counts_along_the_heading_that_it_lies_in() -> None:
    soft = belief(machine_mill__stiffness_x=1e6)
    x, y = (tip(case(), soft, heading) for heading in ((1.0, 0.0, 0.0), (0.0, -1.0, 0.0)))
    assert np.allclose(x.along[0].stiffness, y.square[0].stiffness)
    assert np.all(x.along[0].stiffness < x.square[0].stiffness)


def test_flanks_damp_more_in_what_is_harder_to_cut() -> None:
    soft, hard = (flank(case(), belief(material_steel__tangential=k)) for k in (0.8e9, 2.4e9))
    assert np.allclose(3.0 * soft, hard)


def test_a_tool_of_steel_swings_slower_than_one_of_carbide() -> None:
    from tests.checks.builders import shop

    steel = case(in_shop=shop(em6=tool(material="hss")))
    slow, quick = (middle_tip(c, belief(), (1.0, 0.0, 0.0)).along[2] for c in (steel, case()))
    assert float(np.asarray(slow.natural)[0]) < 0.9 * float(np.asarray(quick.natural)[0])


def rested() -> Belief:
    """A mill of which the stiffer modes are believed, too."""
    more = [column("machine:mill", "rest_frequency", 4.0), column("machine:mill", "rest_damping", 0.05)]
    return belief().extend(more)


def test_what_else_gives_in_a_machine_rings_by_itself_and_not_with_its_nose() -> None:
    here = tip(case(), rested(), (1.0, 0.0, 0.0)).along
    assert len(here) == 4
    rest, seat = here[1:3]
    by = rested()
    assert np.allclose(rest.natural, 4.0 * by.value("machine:mill", "mode_frequency"), rtol=0.35)
    assert np.allclose(rest.damping, by.value("machine:mill", "rest_damping"))
    assert np.allclose(rest.stiffness, by.value("machine:mill", "stiffness_x") / (1.0 - MODE_SHARE))
    assert np.median(np.asarray(seat.natural)) > 1.5 * np.median(np.asarray(
        tip(case(), belief(), (1.0, 0.0, 0.0)).along[1].natural))
    static = [float(compliance(tuple(Mode(*(np.atleast_1d(np.median(x)) for x in m)) for m in some), 0.0)[0])
              for some in (here, tip(case(), belief(), (1.0, 0.0, 0.0)).along)]
    assert static[0] == pytest.approx(static[1], rel=0.1)      # at rest all is as it was
