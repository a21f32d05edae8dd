from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from firstoff.checks.base import Case
from firstoff.checks.holding import CHECK, grip_of
from tests.checks.builders import HEIGHT, LENGTH, WIDTH, belief, case, chance, found, operation, rises, setting


def held(tightness: str = "arm", depth: float = 2.0, **holding: Any) -> Case:
    op = operation(cut={"depth_of_cut": f"{depth} mm", "feed_per_tooth": "0.04 mm"})
    return case(op=op, place=setting(holding={"tightness": tightness, **holding}))


def test_finger_tight_bad_on_purpose() -> None:
    finding = found(CHECK, held("fingers", depth=4.0))
    assert finding.p_fail is not None and finding.p_fail > 0.9
    assert "tightened by fingers" in finding.because and finding.unit == "N"
    assert "luggage scale" in finding.settle_by


def test_arm_on_the_handle_just_good() -> None:
    assert chance(CHECK, held()) <= 0.01


def test_chance_rises_with_depth() -> None:
    rises(CHECK, [held("fingers", depth) for depth in (0.05, 0.2, 1.0, 4.0)])


def test_less_friction_is_worse() -> None:
    weak = belief(device_vise__friction=0.02)
    assert chance(CHECK, held("fingers", 0.5), weak) >= chance(CHECK, held("fingers", 0.5))


def test_a_low_grip_is_worse() -> None:
    low, high = (found(CHECK, held("arm", 8.0, grip_height=f"{h} mm")).capacity for h in (2.0, 12.0))
    assert low is not None and high is not None and low.median < high.median


def test_where_the_jaws_are() -> None:
    grip = grip_of(held())
    assert grip is not None
    assert grip.apart == pytest.approx(WIDTH) and grip.width == pytest.approx(LENGTH)
    assert np.allclose(grip.middle, (LENGTH / 2, WIDTH / 2, 0.0)) and grip.height < HEIGHT
    assert np.allclose(np.cross(grip.to_fixed, grip.up), grip.along)


def test_unknown_tightness_cannot_be_told() -> None:
    assert found(CHECK, held("a cheater bar")).p_rows is None
    assert found(CHECK, held(grip=[])).p_rows is None


def test_by_hand_cannot_be_told() -> None:
    assert found(CHECK, held("fingers", device="hand")).p_rows is None


def glued() -> Case:
    holding = {"device": "carrier", "grip": [], "grip_height": "0 mm", "tightness": ""}
    return case(place=setting(holding=holding))


def test_glue_holds_by_its_own_figures() -> None:
    assert chance(CHECK, glued()) <= 0.01
    weak = CHECK.evaluate(glued(), belief(device_carrier__glue_strength=2e4))
    assert weak.p_fail is not None and weak.p_fail > 0.5 and "glue" in weak.because


def test_glue_of_which_nothing_is_known_cannot_be_told() -> None:
    from dataclasses import replace

    full = belief()
    bare = replace(full, columns={key: c for key, c in full.columns.items() if key[1] != "glue_strength"})
    assert CHECK.evaluate(glued(), bare).p_rows is None
