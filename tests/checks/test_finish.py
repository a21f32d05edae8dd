from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from firstoff.checks.base import Case
from firstoff.checks.finish import CHECK, heights
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
