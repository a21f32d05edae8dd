from __future__ import annotations

import numpy as np
import pytest

from firstoff.checks.base import Case
from firstoff.checks.wander import ALLOWED, CHECK, GUIDED, WALKS, allowed, beyond, book_stiffness, walks
from firstoff.job.models import ScrewJoint
from firstoff.part.shapes import Feature
from tests.checks.builders import block, case, chance, found, job, operation, rises, setting, shop, tool

HOLE = Feature("hole-1", "hole", (6,), through=True, size={"diameter": 4.5, "depth": 12.0})
KIT = shop(
    long3=tool(name="long drill 3 mm", kind="drill", material="hss", diameter="3 mm", flutes=2, flute_length="90 mm",
               overall_length="140 mm", point_angle="118 deg", stickout="95 mm"),
    stub4=tool(name="short drill 4 mm", kind="drill", material="hss", diameter="4 mm", flutes=2, flute_length="22 mm",
               overall_length="55 mm", point_angle="118 deg", stickout="24 mm"),
    spot=tool(name="spot drill", kind="spot_drill", material="hss", diameter="6 mm", flutes=2, flute_length="10 mm",
              point_angle="90 deg"))


def drilled(name: str = "drill4", spotted: bool = False, joint: ScrewJoint | None = None) -> Case:
    cut = {"spindle_speed": "1400 rpm", "feed_per_tooth": "0.02 mm", "depth_of_cut": "0 mm"}
    out = {"long3": "95 mm", "stub4": "24 mm", "drill4": "48 mm"}[name]
    drill = operation(number=20, features=["hole-1"], role="drill", tool=name, stickout=out, collet=None, cut=cut)
    ops = {"op": drill}
    if spotted:
        ops["spot"] = operation(number=10, features=["hole-1"], role="spot", tool="spot", collet=None, cut=cut)
    wanted = job(joints={"screws": joint.model_dump(exclude_none=True)}) if joint else job()
    return case(ops=ops, part=block(HOLE), in_shop=KIT, place=setting(machine="press"), of_job=wanted)


def test_a_long_thin_drill_without_a_spot_bad_on_purpose() -> None:
    finding = found(CHECK, drilled("long3"))
    assert finding.p_fail is not None and finding.p_fail > 0.2
    assert "without a spot" in finding.because


def test_a_short_drill_from_a_spot_just_good() -> None:
    this = drilled("stub4", spotted=True)
    assert chance(CHECK, this) <= 0.01
    assert "from a spot" in found(CHECK, this).because


def test_a_spot_helps_and_a_long_drill_does_not() -> None:
    rises(CHECK, [drilled("stub4", spotted=True), drilled("stub4"), drilled("drill4"), drilled("long3")])


def test_what_a_screw_leaves_counts() -> None:
    room, why = allowed(drilled(joint=ScrewJoint.model_validate({
        "kind": "screw", "screw": "M4 x 12", "through": "block.hole-1", "into": "block.hole-1"})))
    assert room == pytest.approx(min(ALLOWED, 0.25))
    assert why


def test_a_point_walks_by_its_press_over_its_stiffness() -> None:
    free, guided = float(walks(100.0, 2e4, False)), float(walks(100.0, 2e4, True))
    assert free == pytest.approx(WALKS * 100.0 / 2e4) and guided == pytest.approx(GUIDED * free)


def test_stiffness_of_a_standard_drill_is_below_its_machines() -> None:
    alone, held = book_stiffness(220e9, 4.0, None), book_stiffness(220e9, 4.0, 5e5)
    assert 5e3 < held < alone < 1e5
    assert book_stiffness(220e9, 8.0, None) > alone


def test_more_room_is_less_chance() -> None:
    chances = [float(beyond(room, np.array([1e-4]), 10.0)[0]) for room in (0.05, 0.1, 0.3)]
    assert chances == sorted(chances, reverse=True)
