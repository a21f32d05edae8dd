from __future__ import annotations

from typing import Any

from firstoff.checks.base import Case
from firstoff.checks.collet_grip import CHECK
from tests.checks.builders import belief, case, chance, found, operation, rises, windows


def slot(depth: float = 1.0, **changed: Any) -> Case:
    return case(op=operation(cut={"depth_of_cut": f"{depth} mm", "feed_per_tooth": "0.05 mm", "width_of_cut": "6 mm",
                                  "direction": "slot"}, **changed))


def test_a_deep_slot_in_a_loose_collet_bad_on_purpose() -> None:
    finding = found(CHECK, slot(8.0), belief(collet_er6__grip=300.0))
    assert finding.p_fail is not None and finding.p_fail > 0.9
    assert finding.unit == "N" and "the helix pulls with up to about" in finding.because


def test_a_light_cut_just_good() -> None:
    assert chance(CHECK, slot()) <= 0.01


def test_chance_rises_with_depth() -> None:
    rises(CHECK, [slot(depth) for depth in (1.0, 6.0, 14.0)])


def test_an_unknown_grip_is_said() -> None:
    this = slot(collet="er8")
    finding = CHECK.evaluate(this, belief())
    assert finding.p_rows is None and "er8" in finding.because
    assert not CHECK.applies(slot(collet=None))


def test_straight_down_nothing_pulls_and_the_torque_turns() -> None:
    this = case(cut=windows(1.0, 6.0, 0.03, direction="slot"))
    assert this.windows is not None
    this.windows.direction[:] = (0.0, 0.0, -1.0)
    said = found(CHECK, this).because
    assert "nothing pulls it out here; its torque alone asks about" in said and "pulls with" not in said
