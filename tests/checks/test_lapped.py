"""Lapped by hand: the face lies as the one that it is measured from, but for the reading and the lap."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from firstoff.checks._lapped import LAPPED_SD, by_three_points, measured_from
from firstoff.checks._makers import maker
from firstoff.checks.base import Case
from firstoff.checks.size import expected
from firstoff.job.by_hand import by_hand
from firstoff.job.route import Operation
from tests.dryrun import stacked


def lapped(case: str = "height", tolerance: str = "±0.02 mm", measure: tuple[str, ...] = ("height",),
           **limits: dict[str, Any]) -> Case:
    """The block whose bottom is lapped when all else is done."""
    route = stacked.route()
    under = route.operations["under"].model_copy(update={"leaves": 0.05})
    bench = by_hand(stacked.SHOP, route.settings["second"], "block", "", "")
    assert bench is not None
    lap = Operation.model_validate({"number": 70, "setting": "bench", "features": ("stock-5",), "role": "lap",
                                    "removes": "0.05 mm", "measure": measure})
    changed = route.model_copy(update={"settings": {**route.settings, "bench": bench},
                                       "operations": {**route.operations, "under": under, "lap": lap}})
    return next(c for c in stacked.cases(stacked.job(tolerance, **limits), changed) if c.name == case)


def test_a_thickness_that_is_lapped_is_out_by_the_reading_and_the_lap_alone() -> None:
    believed = stacked.belief()
    came = expected(lapped(), believed)
    labels = {came.found.sources[name].label for name in came.found.names()}
    assert labels == {"the micrometer", "how true it is lapped"} and came.found.lapped
    u = float(np.median(believed.value("instrument:mic", "uncertainty")))
    sd = np.sqrt(np.median(came.spreads.variance, axis=0)) * 1e3
    # in the middle of a plane through three points half of one counts and a quarter of each other one
    assert sd[0] == pytest.approx(np.hypot(u, LAPPED_SD * np.sqrt(0.25 + 2 * 0.0625)), rel=0.05)
    assert sd[1:].max() < 3.0 * LAPPED_SD, "and no corner is far worse"


def test_it_is_lapped_for_the_middle_of_its_limits() -> None:
    came = expected(lapped(tolerance="+0.06 mm / 0 mm"), stacked.belief())
    assert came.found.aimed and float(np.median(came.offset)) == pytest.approx(30e-6)


def test_lapped_without_measuring_it_stays_as_far_out_as_it_was_cut() -> None:
    plain, blind = (expected(case, stacked.belief()) for case in (
        next(c for c in stacked.cases(stacked.job("±0.02 mm")) if c.name == "height"), lapped(measure=())))
    assert not blind.found.aimed
    assert float(np.median(blind.sd)) == pytest.approx(float(np.median(plain.sd)), rel=0.1)


def test_a_lapped_face_is_as_flat_as_it_is_lapped() -> None:
    flat = {"kind": "flatness", "part": "block", "between": ["-Z"], "tolerance": "+0.01 mm / 0 mm"}
    came = expected(lapped("flat", flat=flat), stacked.belief())
    assert float(np.median(came.sd)) == pytest.approx(LAPPED_SD * 1e-3, rel=0.1)


def test_each_of_three_points_of_a_plane_moves_as_it_is_told() -> None:
    case = lapped()
    face = case.parts["block"].faces[4]
    moved = by_three_points(face)
    far = [float(np.linalg.norm(row[:3])) for row in moved]
    assert moved.shape == (3, 6) and min(far) > 0.0
    assert np.abs(moved.sum(axis=0)[:3]).max() < 1e-12, "all three alike turn nothing"
    assert moved.sum(axis=0)[3:] == pytest.approx(np.array(face.normal))


def test_what_a_distance_is_measured_from() -> None:
    case = lapped()
    made = maker(case, "block", 4)
    assert made is not None and made.op_name == "lap"
    limits = case.job.limits
    other = measured_from(case, made, limits["height"])
    assert other is not None and other.number == 5
    assert measured_from(case, made, limits["width"]) is None
