from __future__ import annotations

import re
from dataclasses import replace
from math import pi

import numpy as np
import pytest

from firstoff.checks.chatter import CHECK, _to_try, depth_over_limit, is_brief, quiet_speeds
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


def test_thin_chips_sing_earlier_as_their_force_grows_faster() -> None:
    # Kienzle's law at the mean chip of a slot, 0.64 of the feed: 0.0127 and 0.051 mm; flanks that do not damp
    still = belief(tool_material_carbide__flank_damping=1e-9)
    thin, thick = (depth_over_limit(case(cut=windows(0.4, 6.0, feed, direction="slot")), still)
                   for feed in (0.02, 0.08))
    exponent = case().material.drilling_exponent
    assert thin / thick == pytest.approx(4.0 ** exponent, rel=1e-4)


def test_demand_is_the_depth() -> None:
    demand = found(CHECK, case(op=operation(cut={"depth_of_cut": "1.5 mm"}))).demand
    assert demand is not None and demand.low == demand.high == pytest.approx(1.5)


def test_no_deeper_cut_is_told_as_the_cure() -> None:
    just = case(op=operation(cut={"depth_of_cut": "0.3 mm", "width_of_cut": "6 mm", "direction": "slot"}))
    quiet = np.full(belief().rows, 0.5)                  # begins to sing deeper than it is
    tried = re.search(r"([\d.]+) mm deep$", _to_try(just, belief(), quiet))
    assert tried is not None and float(tried[1]) < 0.3


def test_a_narrow_cut_is_brief_and_a_slot_is_not() -> None:
    assert is_brief(case(cut=windows(0.2, 0.05)), belief())
    assert not is_brief(case(cut=windows(0.2, 6.0, direction="slot")), belief())


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


def test_the_words_say_what_sings_and_what_to_try() -> None:
    deep = case(op=operation(cut={"depth_of_cut": "4 mm", "width_of_cut": "6 mm", "direction": "slot"}))
    finding = found(CHECK, deep, belief())
    assert finding.p_fail is not None and finding.p_fail > 0.05
    assert "it begins to sing at about" in finding.because
    assert ": the machine first" in finding.because or ": the cutter in its collet first" in finding.because
    assert re.search(r"(try [\d ]+rpm|no other speed helps; try)", finding.because), finding.because
    assert "mm deep" in finding.because.split("try")[-1]
    tone = re.search(r"with a tone of about (\d+) Hz", finding.because)
    assert tone and 100 < float(tone[1]) < 1000          # the mill of this shop swings at 900 rad/s, 143 Hz


def test_a_pass_that_is_thin_already_is_not_told_thinner() -> None:
    soft = belief(machine_mill__stiffness_x=5e4, machine_mill__stiffness_y=5e4, machine_mill__mode_damping=0.01)
    for depth, told in (("0.04 mm", "it is thin already"), ("1 mm", "under 0.05 mm deep, or another cutter")):
        slot = case(op=operation(cut={"depth_of_cut": depth, "width_of_cut": "6 mm", "direction": "slot"}))
        assert told in found(CHECK, slot, soft).because


def test_an_inch_shop_reads_inches() -> None:
    this = case(op=operation(cut={"depth_of_cut": "4 mm", "width_of_cut": "6 mm", "direction": "slot"}))
    inches = replace(this, job=this.job.model_copy(update={"units": "in"}))
    said = found(CHECK, inches, belief()).because
    assert " in deep" in said and " mm" not in said and re.search(r"sing at about 0\.\d+ in, anywhere", said)


def test_a_good_cut_is_told_without_advice() -> None:
    assert "try" not in found(CHECK, case(op=operation(cut={"depth_of_cut": "0.05 mm"}))).because


def test_speeds_to_try_are_what_a_person_sets_and_apart() -> None:
    from firstoff.checks.chatter import _to_set

    deep = case(op=operation(cut={"depth_of_cut": "1.2 mm", "width_of_cut": "6 mm", "direction": "slot"}))
    told = [deep.op.cut.spindle_speed or 0.0, *_to_set(deep, belief())]
    assert len(told) > 1
    assert all(round(n * 30 / pi, 6) % 10 == 0 for n in told)
    assert all(abs(a / b - 1.0) > 0.05 for i, a in enumerate(told) for b in told[:i])


def test_a_speed_that_is_told_to_try_is_quieter() -> None:
    from firstoff.checks.chatter import _chance_at, _quieter

    deep = case(op=operation(cut={"depth_of_cut": "1.2 mm", "width_of_cut": "6 mm", "direction": "slot"}))
    finding = found(CHECK, deep)
    assert finding.to_try and finding.because.endswith(finding.to_try)
    told = re.search(r"^try ([\d ]+) rpm", finding.to_try)
    by = belief()
    if told is None:
        now = _chance_at(deep, by, deep.op.cut.spindle_speed or 0.0)
        assert min([_chance_at(deep, by, other) for other in _quieter(deep, by)], default=1.0) >= 0.6 * now
    else:
        speed = f"{told[1].replace(' ', '')} rpm"
        again = operation(cut={"depth_of_cut": "1.2 mm", "width_of_cut": "6 mm", "direction": "slot",
                               "spindle_speed": speed})
        assert chance(CHECK, case(op=again)) < chance(CHECK, deep)


def test_a_slender_cutter_whose_flanks_do_not_rub_sings_before_the_machine() -> None:
    keen = belief(tool_material_carbide__flank_damping=1e-5)
    told = found(CHECK, case(op=operation(stickout="48 mm", cut={"depth_of_cut": "1 mm"})), keen).because
    assert "the cutter in its collet first" in told


def test_a_slow_edge_is_damped_by_its_flank() -> None:
    slow = operation(cut={"depth_of_cut": "1 mm", "spindle_speed": "2000 rpm"})
    sharp = found(CHECK, case(op=slow), belief(tool_material_carbide__flank_damping=1e-5)).p_fail
    assert sharp is not None and chance(CHECK, case(op=slow)) < sharp


def test_the_limit_that_is_told_is_nearly_one_and_the_same_however_deep_the_cut_is() -> None:
    """Its flanks rub as at that limit: told at the damping of the cut's own depth it grew by half and more."""
    told = [found(CHECK, case(op=operation(cut={"depth_of_cut": f"{deep} mm", "spindle_speed": "3000 rpm"})))
            for deep in (0.1, 0.4, 1.6)]
    middles, lows = ([getattr(each.capacity, name) for each in told] for name in ("median", "low"))
    assert max(middles) < 1.2 * min(middles)
    assert max(lows) < 1.35 * min(lows)


def test_a_brief_cut_is_followed_where_it_may_flip(monkeypatch: pytest.MonkeyPatch) -> None:
    # teeth as often as the machine swings: 900 rad/s and 600 rad/s of three teeth; an arc of a twentieth of the width
    import firstoff.checks.chatter as module
    from firstoff.cutting import stability

    seen = []

    def sings(*arguments: object) -> object:
        seen.append(arguments)
        return original(*arguments)  # type: ignore[arg-type]

    original = stability.sings
    monkeypatch.setattr(module, "sings", sings)
    brief = operation(cut={"depth_of_cut": "0.6 mm", "width_of_cut": "0.15 mm", "spindle_speed": "5730 rpm"})
    monkeypatch.setattr(module, "_recent", {})
    soft = belief(machine_mill__stiffness_x=5e5, machine_mill__stiffness_y=5e5)
    assert found(CHECK, case(op=brief), soft).p_rows is not None and seen
    seen.clear()
    monkeypatch.setattr(module, "_recent", {})
    found(CHECK, case(op=operation(cut={"depth_of_cut": "4 mm", "width_of_cut": "5 mm"})))
    assert not seen


def test_damping_never_leaves_its_range() -> None:
    from firstoff.belief import Belief
    from firstoff.shop.columns import columns_of
    from firstoff.shop.library import load_shop

    columns = columns_of(load_shop(None))
    key = ("machine:light_gantry", "mode_damping")
    by = Belief.of(columns).with_moved({key: np.full(2048, 20.0),
                                        ("class:light_gantry", "mode_damping"): np.full(2048, 5.0)})
    assert 0.5 < by.value(*key).max() < 1.0


def test_asked_without_words_the_chances_are_the_same() -> None:
    at, by = case(op=operation(cut={"depth_of_cut": "3 mm"})), belief()
    told, silent = CHECK.evaluate(at, by), CHECK.evaluate(at, by.wordless())
    assert told.because and not silent.because
    assert told.p_rows is not None and np.array_equal(told.p_rows, np.asarray(silent.p_rows))


def test_straight_down_is_not_told() -> None:
    finding = found(CHECK, case(op=operation(down="90 deg")))
    assert finding.p_rows is None and "straight down" in finding.because
    assert found(CHECK, case(op=operation(down="3 deg"))).p_rows is not None
