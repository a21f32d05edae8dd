"""Sizes of 109 milled parts against the torque of their finishing cut: sign, slope and taper of push-off.

Stated are cutter, its length and the torque; not stated are material, feed, depth, shank and machine. They are
drawn from what is usual for aluminium on a small machining centre, so that the intervals are wide.
"""

from __future__ import annotations

import csv
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from firstoff.cutting.engagement import engagement_angles
from firstoff.cutting.force import Coefficients, Engagement, milling_forces
from firstoff.cutting.push_off import series_stiffness, tool_stiffness, wall_error
from tests.cutting.shared import SHARED
from tests.published import predicted

Rows = NDArray[np.float64]
DRAWS = 400
#: whether more left on makes the size larger: a boss or web grows, a pocket or bore shrinks
GROWS = {"outer_contour_60": 1.0, "pocket_40": -1.0, "bore_10H7": -1.0, "bore_8H7": -1.0}


@cache
def parts() -> list[dict[str, str]]:
    path = SHARED / "measured" / "size_errors.csv"
    if not path.exists():
        pytest.skip("size_errors.csv is not there: set FIRSTOFF_SHARED to the folder of published tables")
    with path.open(encoding="utf-8") as file:
        return [row for row in csv.DictReader(file) if row["stage"] == "finish" and row["feature"] in GROWS]


def group(feature: str, diameter: float) -> tuple[Rows, Rows, Rows]:
    """Error of size at both heights [mm], and torque x length3 / diameter4 [N m/mm], part by part."""
    low, high, load = [], [], []
    for row in parts():
        ends = [[row[f"{axis}_{end}_mm"] for axis in ("x_size", "y_size", "dia") if row[f"{axis}_{end}_mm"]]
                for end in ("low", "high")]
        if row["feature"] != feature or float(row["tool_d_mm"]) != diameter or not all(ends):
            continue
        if not row["torque_mean_Nm"] or not row["tool_length_mm"]:
            continue
        sizes = [float(np.mean([float(size) for size in end])) - float(row["nominal_mm"]) for end in ends]
        low.append(sizes[0])
        high.append(sizes[1])
        load.append(float(row["torque_mean_Nm"]) * float(row["tool_length_mm"]) ** 3 / diameter**4)
    return np.array(low), np.array(high), np.array(load)


GROUPS = [(feature, d) for feature in GROWS for d in (4.0, 6.0, 8.0) if not (feature.startswith("bore") and d > 4.0)]


@cache
def foretold(diameter: float, length: float) -> tuple[Rows, Rows]:
    """Error of size by torque x length3 / diameter4 [1/N], and error at the tip less that on top [mm], by draw.

    Aluminium by cjme2021 and its scatter; depth, width and feed of a finish; two walls to a size.
    """
    rng, size = np.random.default_rng(11), diameter * 1e-3
    slope, taper = np.empty(DRAWS), np.empty(DRAWS)
    for i in range(DRAWS):
        law = Coefficients(*(k * 1.6 ** rng.standard_normal() for k in (652e6, 202e6, 222e6, 14.8e3, 15.4e3, 1.6e3)))
        depth, width = rng.uniform(3e-3, 12e-3), rng.uniform(0.05e-3, 0.3e-3)
        angles = engagement_angles(width, size, "climb")
        cut = Engagement(size, 3, rng.uniform(0.5, 0.8), depth, float(angles.entry), float(angles.exit))
        feed = rng.uniform(0.01e-3, 0.05e-3)
        shank = max(size, rng.choice([size, 6e-3]))
        tool = tool_stiffness(6e11 * rng.uniform(0.95, 1.05), length * 1e-3, rng.uniform(2.5, 4.0) * size, shank,
                              rng.uniform(0.7, 0.8) * size)
        stiffness = series_stiffness(tool, 20e6 * 2.0 ** rng.standard_normal(), 10e6 * 2.0 ** rng.standard_normal())
        wall = wall_error(law, cut, feed, stiffness, "climb")
        torque = float(milling_forces(law, cut, feed, 0.0).mean_torque)
        slope[i] = 2e3 * float(wall.mean[0]) / (torque * length**3 / diameter**4)
        taper[i] = 2e3 * float(wall.left_on[0, 0] - wall.left_on[0, -1])
    return slope, taper


def interval(values: Rows) -> tuple[float, float, float]:
    low, middle, high = np.quantile(values, [0.05, 0.5, 0.95])
    return float(low), float(middle), float(high)


@pytest.mark.parametrize(("feature", "diameter"), GROUPS)
def test_what_is_left_on_has_the_sign_that_is_foretold(feature: str, diameter: float) -> None:
    low, high, load = group(feature, diameter)
    error = GROWS[feature] * (low + high) / 2.0
    assert np.mean(error > 0.0) >= 0.9
    assert np.corrcoef(load, error)[0, 1] > 0.5


def test_slope_and_taper_against_what_was_measured() -> None:
    inside = []
    for feature, diameter in GROUPS:
        low, high, load = group(feature, diameter)
        slope, taper = foretold(diameter, {4.0: 44.0, 6.0: 37.5, 8.0: 46.4}[diameter])
        case = f"{feature.replace('_', ' ')}, Ø{diameter:g} cutter, {len(load)} parts"
        error = GROWS[feature] * (low + high) / 2.0
        inside.append(predicted("push-off", f"left on the size for torque x length3 / diameter4, {case}", "size2025",
                                interval(slope), float(error.mean() / load.mean()), "mm for N m/mm"))
        predicted("push-off", f"low less high end of the size, {case}", "size2025", interval(taper),
                  float(GROWS[feature] * (low - high).mean()), "mm")
    assert sum(inside) >= len(inside) / 2
