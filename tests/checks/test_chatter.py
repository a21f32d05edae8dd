from __future__ import annotations

from math import pi

import numpy as np
import pytest

from firstoff.checks.chatter import CHECK, quiet_speeds
from firstoff.removal.windows import joined
from tests.checks.builders import belief, case, chance, found, operation, rises, setting, shop, windows


def test_deep_cut_on_a_soft_machine_bad_on_purpose() -> None:
    deep = case(op=operation(cut={"depth_of_cut": "8 mm", "width_of_cut": "6 mm", "direction": "slot"}))
    soft = belief(machine_mill__stiffness_x=1e6, machine_mill__stiffness_y=1e6, machine_mill__mode_damping=0.015)
    finding = found(CHECK, deep, soft)
    assert finding.p_fail is not None and finding.p_fail > 0.8
    assert finding.unit == "mm" and "8 mm deep" in finding.because and "tap the cutter" in finding.settle_by


def test_shallow_cut_just_good() -> None:
    assert chance(CHECK, case(op=operation(cut={"depth_of_cut": "0.05 mm"}))) <= 0.01


def test_chance_rises_with_depth() -> None:
    rises(CHECK, [case(op=operation(cut={"depth_of_cut": f"{d} mm"})) for d in (0.2, 1.0, 4.0, 12.0)])


def test_the_worst_engagement_counts_by_row() -> None:
    side, slot = windows(2.0, 1.0), windows(2.0, 6.0, direction="slot")
    both = joined([side, slot])
    alone, together = (found(CHECK, case(cut=cut)).p_rows for cut in (slot, both))
    assert alone is not None and together is not None and np.allclose(alone, together)


def test_demand_is_the_depth() -> None:
    demand = found(CHECK, case(op=operation(cut={"depth_of_cut": "1.5 mm"}))).demand
    assert demand is not None and demand.low == demand.high == pytest.approx(1.5)


def test_quiet_speeds_lie_in_the_spindle_s_range() -> None:
    speeds = quiet_speeds(case(), belief())
    assert speeds and all(2000 <= speed * 30 / pi <= 10000.1 for speed, _ in speeds)
    assert [depth for _, depth in speeds] == sorted((depth for _, depth in speeds), reverse=True)


def test_candidates_are_quiet_speeds_of_the_library_s_machine() -> None:
    from firstoff.checks.chatter import SPEED
    from firstoff.shop.library import load_shop

    library = load_shop(None)
    machine = library.machines.get("mill") or next(
        m for m in library.machines.values() if library.classes[m.like].kind == "mill" and m.spindle)
    tiny = shop()
    full = tiny.model_copy(update={
        "classes": {**tiny.classes, **library.classes}, "materials": {"steel": library.materials["al_6082"]},
        "machines": {**tiny.machines, "mill": machine}, "tool_materials": library.tool_materials})
    this = case(in_shop=full)
    assert machine.spindle is not None
    values = [float(str(value)) for value in SPEED.values(this)]
    assert len(values) > 2 and all(
        machine.spindle.slowest * 0.999 <= v <= machine.spindle.fastest * 1.001 for v in values)
    assert SPEED.say(this, values[0]).endswith("not 6000 rpm")


def test_a_belt_offers_its_steps() -> None:
    from firstoff.checks.chatter import SPEED

    press = case(op=operation(cut={"spindle_speed": "1400 rpm"}), place=setting(machine="press"))
    assert [round(float(str(v)) * 30 / pi) for v in SPEED.values(press)] == [900, 500, 2500]
