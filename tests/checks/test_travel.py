"""A cut further than the slides go."""

from __future__ import annotations

from typing import Any

import pytest

from firstoff.checks.base import Case
from firstoff.checks.travel import CHECK, needed
from firstoff.part.shapes import Feature
from tests.checks.builders import LENGTH, WIDTH, block, case, found, operation, shop


def cut(x: float, y: float, **changed: Any) -> Case:
    """A cut on a mill with such slides."""
    whole = shop()
    mill = whole.machines["mill"].model_copy(update={"travel": (x, y, 100.0)})
    short = whole.model_copy(update={"machines": {**whole.machines, "mill": mill}})
    return case(op=operation(**changed), in_shop=short,
                part=block(Feature("pocket-1", "pocket", (4,), size={"depth": 2.0})))


def test_a_face_longer_than_the_slides_bad_on_purpose() -> None:
    finding = found(CHECK, cut(30.0, 200.0, role="face_rough"))
    assert finding.p_fail == 1.0 and "along X" in finding.because and "30 mm" in finding.because


def test_just_as_far_as_there_is_just_good() -> None:
    this = cut(LENGTH + 6.0, WIDTH, role="face_rough")
    assert needed(this) == pytest.approx((LENGTH + 6.0, WIDTH))
    assert found(CHECK, this).p_fail == 0.0
    assert found(CHECK, cut(LENGTH + 5.9, WIDTH, role="face_rough")).p_fail == 1.0


def test_within_a_pocket_the_cutter_stays_between_its_walls() -> None:
    this = cut(200.0, 200.0, role="pocket_rough", features=["pocket-1"])
    face = this.part.faces[4]
    sizes = [high - low for low, high in zip(face.low, face.high, strict=True)]
    assert needed(this) == pytest.approx((max(sizes[0] - 6.0, 0.0), max(sizes[1] - 6.0, 0.0)))


def test_slides_that_nobody_wrote_down_are_passed_over() -> None:
    assert not CHECK.applies(case())
