from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from firstoff.checks.base import Case
from firstoff.checks.clamp_fouls import CHECK, footprint, worst
from firstoff.part.shapes import Face, Feature, Part
from tests.checks.builders import LENGTH, WIDTH, block, case, chance, found, operation, setting

CLAMPED = {"device": "clamps", "rest": "-Z", "grip": [], "grip_height": "0 mm", "stick_up": "0 mm",
           "tightness": "arm"}


def pocketed() -> Part:
    """The block with a pocket of 20 x 20 in its middle."""
    floor = Face(6, 0, "plane", 400.0, (30.0, 20.0, 15.0), (0.0, 0.0, 1.0), (20.0, 10.0, 15.0), (40.0, 30.0, 15.0))
    return block(Feature("pocket-1", "pocket", (6,)), faces=(floor,))


def clamped(*at: tuple[float, float], features: tuple[str, ...] = ("pocket-1",), role: str = "pocket_rough",
            **op: Any) -> Case:
    holding = {**CLAMPED, "clamps": [[f"{x} mm", f"{y} mm"] for x, y in at]}
    return case(op=operation(features=list(features), role=role, **op), part=pocketed(),
                place=setting(holding=holding))


def test_a_clamp_on_the_pocket_bad_on_purpose() -> None:
    finding = found(CHECK, clamped((5.0, 20.0), (30.0, 20.0)))
    assert finding.p_fail == 1.0 and "clamp 2 stands by" in finding.because and "pocket-1" in finding.because


def test_a_clamp_just_beside_it_just_good() -> None:
    assert chance(CHECK, clamped((14.0, 20.0), (46.0, 20.0))) == 0.0
    assert chance(CHECK, clamped((16.0, 20.0))) == 1.0, "its tip is 10 mm wide"


def test_a_face_that_is_milled_has_no_place_for_clamps() -> None:
    whole = found(CHECK, clamped(features=("stock-6",), role="face_rough"))
    assert whole.p_fail == 1.0 and "no place is left for a clamp" in whole.because


def test_where_nobody_says_where_they_stand_they_are_put_clear() -> None:
    assert not CHECK.applies(clamped()) and CHECK.applies(clamped((5.0, 5.0)))
    assert not CHECK.applies(case()), "no clamps in a vise"
    assert not CHECK.applies(clamped((5.0, 5.0), role="measure"))


def test_the_cutter_goes_on_by_its_radius_beyond_a_face() -> None:
    this = clamped((5.0, 5.0), features=("stock-6",), role="face_rough")
    assert this.operation is not None
    low, high = footprint(this, this.features[0]) or (np.zeros(2), np.zeros(2))
    assert low == pytest.approx([-3.0, -3.0]) and high == pytest.approx([LENGTH + 3.0, WIDTH + 3.0])
    inside = clamped((5.0, 5.0))
    low, high = footprint(inside, inside.features[0]) or (np.zeros(2), np.zeros(2))
    assert low == pytest.approx([20.0, 10.0]) and high == pytest.approx([40.0, 30.0])
    assert worst(inside)[0] == 0.0
