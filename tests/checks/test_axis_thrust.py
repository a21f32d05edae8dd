from __future__ import annotations

from dataclasses import replace

from firstoff.checks.axis_thrust import CHECK
from tests.checks.builders import belief, case, chance, found, operation, rises, setting


def test_heavy_cut_on_weak_drives_bad_on_purpose() -> None:
    deep = case(op=operation(cut={"depth_of_cut": "6 mm", "feed_per_tooth": "0.06 mm"}))
    finding = found(CHECK, deep, belief(machine_mill__axis_thrust=200.0))
    assert finding.p_fail is not None and finding.p_fail > 0.9
    assert finding.unit == "N" and "luggage scale" in finding.settle_by


def test_light_cut_just_good() -> None:
    assert chance(CHECK, case()) <= 0.01


def test_chance_rises_with_feed() -> None:
    rises(CHECK, [case(op=operation(cut={"depth_of_cut": "6 mm", "feed_per_tooth": f"{f} mm"}))
                  for f in (0.02, 0.05, 0.1)])


def test_a_press_has_no_driven_axis() -> None:
    assert not CHECK.applies(case(place=setting(machine="press")))
    assert not CHECK.applies(replace(case(), windows=None))
