from __future__ import annotations

import re
from typing import Any

import pytest

from firstoff.checks.base import Case
from firstoff.checks.push_off import CHECK, allowed, limits_on
from firstoff.job.models import Job
from tests.checks.builders import belief, case, chance, found, job, operation


def limited(tolerance: str = "±0.02 mm", between: tuple[str, str] = ("-Y", "+Y")) -> Job:
    return job(limits={"width": {"kind": "distance", "part": "block", "between": list(between),
                                 "tolerance": tolerance}})


def finishing(depth: float = 5.0, tolerance: str = "±0.02 mm", **changed: Any) -> Case:
    op = operation(features=["stock-4"], role="side_finish", leaves="0 mm", removes="0.2 mm",
                   cut={"depth_of_cut": f"{depth} mm", "width_of_cut": "0.2 mm"}, **changed)
    return case(op=op, of_job=limited(tolerance))


def test_long_thin_reach_bad_on_purpose() -> None:
    finding = found(CHECK, finishing(12.0, "±0.005 mm", stickout="45 mm"))
    assert finding.p_fail is not None and finding.p_fail > 0.9
    assert "a third of the band of width" in finding.because and finding.unit == "um"
    assert finding.joint_group == "size:block" and "luggage scale" in finding.settle_by


def test_light_finish_just_good() -> None:
    assert chance(CHECK, finishing(1.0, "±0.05 mm")) <= 0.01


def test_chance_rises_with_depth() -> None:
    """In the mean: a row in which teeth come as the machine swings may be worse with less."""
    less, more, most = (chance(CHECK, finishing(depth)) for depth in (1.0, 4.0, 10.0))
    assert less < more < most


def test_roughing_is_weighed_against_what_it_leaves() -> None:
    rough = case()
    assert allowed(rough) == pytest.approx(0.2)
    finding = found(CHECK, rough)
    assert finding.joint_group == "" and "what it leaves" in finding.because


def test_a_third_of_the_band() -> None:
    assert allowed(finishing()) == pytest.approx(0.04 / 3.0)
    assert [name for name, _ in limits_on(finishing())] == ["width"]


def test_no_limit_and_nothing_left_is_not_weighed() -> None:
    other = case(op=operation(features=["stock-6"], role="side_finish", leaves="0 mm"), of_job=limited())
    assert not CHECK.applies(other)


def test_a_stiffer_machine_is_better() -> None:
    stiff = belief(machine_mill__stiffness_x=50e6, machine_mill__stiffness_y=50e6)
    assert chance(CHECK, finishing(8.0), stiff) < chance(CHECK, finishing(8.0))


def test_a_spring_pass_leaves_less_of_what_was_told() -> None:
    """One figure for what the pass leaves, and of the same a share."""
    told = found(CHECK, finishing(12.0, "±0.005 mm", stickout="45 mm")).because
    said = re.search(r"about ([\d.]+) um off on the wall, .*; a spring pass leaves about ([\d.]+) um of it", told)
    assert said, told
    assert 0.0 < float(said[2]) < 0.8 * float(said[1])


def test_its_spread_is_told() -> None:
    told = found(CHECK, finishing(12.0, "±0.005 mm", stickout="45 mm"))
    said = re.search(r"about ([\d.]+) um off on the wall, anywhere from ([\d.]+) um to ([\d.]+) um", told.because)
    assert said and told.demand is not None
    spread = (told.demand.median, told.demand.low, told.demand.high)
    assert [float(one) for one in said.groups()] == pytest.approx(spread, rel=0.06)
