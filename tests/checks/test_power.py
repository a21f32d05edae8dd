from __future__ import annotations

import numpy as np
import pytest

from firstoff.checks.base import Observation
from firstoff.checks.power import CHECK, EFFICIENCY, spindle_base
from firstoff.shop.models import Shop
from tests.checks.builders import belief, case, chance, found, operation, rises, shop


def _without_spindle() -> Shop:
    full = shop()
    bare = full.machines["mill"].model_copy(update={"spindle": None})
    return full.model_copy(update={"machines": {**full.machines, "mill": bare}})


def test_weak_spindle_bad_on_purpose() -> None:
    heavy = case(op=operation(cut={"depth_of_cut": "6 mm", "feed_per_tooth": "0.06 mm"}))
    finding = found(CHECK, heavy, belief(machine_mill__power=100.0))
    assert finding.p_fail is not None and finding.p_fail > 0.9
    assert finding.unit == "N m" and "6000 rpm" in finding.because


def test_light_cut_just_good() -> None:
    assert chance(CHECK, case()) <= 0.01


def test_chance_rises_with_depth() -> None:
    rises(CHECK, [case(op=operation(cut={"depth_of_cut": f"{d} mm"})) for d in (1, 5, 10)])


def test_no_spindle_cannot_be_told() -> None:
    finding = found(CHECK, case(in_shop=_without_spindle()))
    assert finding.p_rows is None and "nameplate" in finding.settle_by


def test_watts_favour_rows_that_draw_as_much() -> None:
    here, believed = case(), belief()
    drawn = found(CHECK, here, believed)
    assert CHECK.loglik is not None and drawn.demand is not None
    tangential = believed.value("material:steel", "tangential")

    def slope(watts: float) -> float:
        logs = CHECK.loglik(here, believed, Observation("watts", value=watts, sd=1.0))  # type: ignore[misc]
        assert logs is not None and logs.shape == tangential.shape and np.all(np.isfinite(logs))
        return float(np.corrcoef(tangential, logs)[0, 1])

    middle = drawn.demand.median * 6000.0 * 2.0 * np.pi / 60.0 / EFFICIENCY
    assert slope(middle * 3.0) > 0.3 and slope(middle / 3.0) < -0.3


def test_only_watts_say_something() -> None:
    assert CHECK.loglik is not None
    assert CHECK.loglik(case(), belief(), Observation("size", value=0.01, sd=0.01)) is None


def test_power_falls_below_an_electronic_drive_s_top_speed() -> None:
    spindle = shop().machines["mill"].spindle
    belt = shop().machines["press"].spindle
    assert spindle is not None and belt is not None
    assert spindle_base(spindle) == pytest.approx(spindle.fastest)
    assert spindle_base(belt) == pytest.approx(belt.slowest)
    known = spindle.model_copy(update={"base_speed": 300.0})
    assert spindle_base(known) == 300.0
