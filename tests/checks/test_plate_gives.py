from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from firstoff.checks._touching import PARALLEL
from firstoff.checks.base import Case
from firstoff.checks.plate_gives import CHECK, free_span, thickness
from firstoff.part.shapes import Feature, Part
from tests.checks.builders import LENGTH, WIDTH, block, case, chance, found, job, operation, rises, setting


def plate(thick: float, *features: Feature) -> Part:
    """The block, so thin."""
    whole = block(*features)
    faces = tuple(replace(f, low=(*f.low[:2], min(f.low[2], thick)), high=(*f.high[:2], min(f.high[2], thick)),
                          centroid=(*f.centroid[:2], min(f.centroid[2], thick))) for f in whole.faces)
    return replace(whole, faces=faces, high=(LENGTH, WIDTH, thick))


def faced(thick: float, depth: float = 1.0, limits: dict[str, Any] | None = None, **holding: Any) -> Case:
    place = setting(holding={"parallels": "10 mm", "grip_height": "1 mm", "stick_up": "1 mm", **holding})
    op = operation(role="face_finish", leaves="0 mm", cut={"depth_of_cut": f"{depth} mm"})
    return case(op=op, part=plate(thick), place=place, of_job=job(limits=limits or {}))


def test_a_sheet_on_two_parallels_bad_on_purpose() -> None:
    finding = found(CHECK, faced(0.5))
    assert finding.p_fail is not None and finding.p_fail > 0.5
    assert "0.5 mm thick over 30 mm that nothing backs" in finding.because and "third parallel" in finding.because


def test_a_plate_that_is_barely_slender_just_good() -> None:
    assert chance(CHECK, faced(3.6, 0.2)) <= 0.01


def test_thinner_is_worse() -> None:
    rises(CHECK, [faced(thick) for thick in (3.0, 2.0, 1.2)])


def test_a_tight_limit_on_what_is_milled_counts() -> None:
    flat = {"kind": "flatness", "part": "block", "between": ["+Z"], "tolerance": "+0.005 mm / 0 mm"}
    assert chance(CHECK, faced(1.5, limits={"flat": flat})) > chance(CHECK, faced(1.5))


def test_the_span_is_between_the_inner_edges_of_the_parallels() -> None:
    free = free_span(faced(2.0))
    assert free is not None
    assert free[0] == pytest.approx(WIDTH - 2.0 * PARALLEL, abs=0.3) and free[1] == pytest.approx(LENGTH)
    assert free_span(faced(2.0, parallels="0 mm")) is None, "flat on the bed"


def test_what_does_not_bend_is_passed_over() -> None:
    assert not CHECK.applies(faced(20.0)) and not CHECK.applies(faced(2.0, parallels="0 mm"))
    deep = Feature("pocket-1", "pocket", (5,), size={"depth": 18.0})
    this = case(op=operation(role="pocket_finish", leaves="0 mm", features=["pocket-1"]), part=block(deep),
                place=setting(holding={"parallels": "10 mm"}))
    assert thickness(this) == pytest.approx(2.0) and CHECK.applies(this)


def test_under_what_is_cut_through_no_plate_is_left() -> None:
    through = Feature("slot-1", "slot", (5,), through=True, size={"depth": 20.0})
    this = case(op=operation(role="pocket_finish", leaves="0 mm", features=["slot-1"]), part=block(through),
                place=setting(holding={"parallels": "10 mm"}))
    assert thickness(this) == 0.0 and not CHECK.applies(this)
