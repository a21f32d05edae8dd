from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from firstoff.checks.base import Case
from firstoff.checks.finish import CHECK, STEP_OVER, heights
from tests.checks.builders import belief, case, chance, found, job, operation, rises, shop, tool


def finishing(feed: float = 0.02, ra: float = 0.0016, role: str = "side_finish", name: str = "em6",
              **cut: Any) -> Case:
    op = operation(role=role, leaves="0 mm", tool=name, cut={"feed_per_tooth": f"{feed} mm", **cut})
    kit = shop(ball=tool(kind="ball"))
    return case(op=op, of_job=job(roughness=f"{ra} mm"), in_shop=kit)


def test_coarse_feed_bad_on_purpose() -> None:
    finding = found(CHECK, finishing(0.1, 0.0004, "face_finish"))
    assert finding.p_fail is not None and finding.p_fail > 0.9
    assert "marks on the floor" in finding.because and finding.unit == "um"


def test_fine_feed_just_good() -> None:
    assert chance(CHECK, finishing(0.01)) <= 0.01


def test_chance_rises_with_feed() -> None:
    rises(CHECK, [finishing(feed, 0.0008) for feed in (0.01, 0.05, 0.15)])


def test_ridges_of_a_ball() -> None:
    ridges = heights(finishing(role="ramp_finish", name="ball", width_of_cut="0.6 mm"), belief())
    assert np.allclose(ridges["ridges between passes"], (3.0 - (9.0 - 0.09) ** 0.5) * 1e-3)


def test_runout_makes_a_wall_rougher() -> None:
    straight, out = (heights(finishing(), belief(collet_er6__runout=r))["marks on the wall"] for r in (1e-6, 0.02))
    assert float(np.median(out)) > float(np.median(straight))
    assert float(np.median(straight)) == pytest.approx(0.02**2 / 24.0 * 1e-3, rel=0.5)


def test_nothing_asked_nothing_checked() -> None:
    assert not CHECK.applies(case(op=operation(role="side_finish", leaves="0 mm")))


def test_passes_as_close_as_the_finish_wants_are_offered() -> None:
    rough = finishing(0.01, 0.0004, role="ramp_finish", name="ball", width_of_cut="0.6 mm")
    steps = [float(str(v)) for v in STEP_OVER.values(rough)]
    assert steps == sorted(steps, reverse=True) and 0.1 < steps[0] < 0.3
    height = 0.0004 * 9.0 * 3.0**0.5 / 4.0 / 1.05                # with the room of one spread of the shop's figure
    assert steps[0] == pytest.approx(2.0 * (height * (6.0 - height)) ** 0.5, abs=0.01)
    close = finishing(0.01, 0.0004, role="ramp_finish", name="ball", width_of_cut=f"{steps[-1]} mm")
    assert chance(CHECK, close) < chance(CHECK, rough)
    assert STEP_OVER.say(rough, steps[0]).endswith("apart, not 0.6 mm")


def test_a_corner_radius_leaves_ridges_only_where_passes_part() -> None:
    kit = shop(bull=tool(kind="corner_radius", corner_radius="1 mm"))

    def face(width: float) -> Case:
        op = operation(role="face_finish", leaves="0 mm", tool="bull", cut={"width_of_cut": f"{width} mm"})
        return case(op=op, of_job=job(roughness="0.0016 mm"), in_shop=kit)

    assert "ridges between passes" not in heights(face(3.9), belief())
    ridge = heights(face(5.0), belief())["ridges between passes"]
    assert np.allclose(ridge, (1.0 - 0.75**0.5) * 1e-3)
    assert not STEP_OVER.values(face(3.9))
