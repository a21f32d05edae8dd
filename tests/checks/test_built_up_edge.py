from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from firstoff.checks.base import Case, Observation
from firstoff.checks.built_up_edge import CHECK
from tests.checks.builders import belief, case, chance, found, job, knobs_say, operation, rises, shop, without

MILD = {"steel": {"name": "steel", "group": "P"}}


def finishing(ra: float = 0.0008, **cut: Any) -> Case:
    op = operation(role="side_finish", leaves="0 mm", cut={"spindle_speed": "2000 rpm", **cut})
    return case(op=op, of_job=job(roughness=f"{ra} mm"))


def test_slow_and_fine_bad_on_purpose() -> None:
    finding = found(CHECK, finishing())
    assert finding.p_fail is not None and finding.p_fail > 0.9
    assert finding.unit == "um" and "metal stays on it" in finding.because


def test_no_speed_is_told_that_the_spindle_has_not() -> None:
    """Wanted: no "up to 6435 m/min" where the spindle comes to 200."""
    slow = shop()
    mill = slow.machines["mill"]
    assert mill.spindle is not None

    def said(fastest: float) -> str:
        spindle = mill.spindle and mill.spindle.model_copy(update={"fastest": fastest})
        machines = {**slow.machines, "mill": mill.model_copy(update={"spindle": spindle})}
        return found(CHECK, replace(finishing(), shop=slow.model_copy(update={"machines": machines}))).because

    assert "m/min" not in said(250.0) and "at any speed that this spindle has" in said(250.0)
    assert "here up to about" in said(1.0e5) and "m/min" in said(1.0e5)


def test_a_coarse_finish_just_good() -> None:
    assert chance(CHECK, finishing(0.0125)) <= 0.01


def test_hot_enough_nothing_stays() -> None:
    assert chance(CHECK, finishing(spindle_speed="90000 rpm", feed_per_tooth="0.1 mm")) < chance(CHECK, finishing())


def test_chance_rises_as_the_wanted_finish_falls() -> None:
    rises(CHECK, [finishing(ra) for ra in (0.0063, 0.0032, 0.0008)])


def test_what_is_brushed_on_leaves_less() -> None:
    assert chance(CHECK, finishing(0.0016, coolant="brushed")) < chance(CHECK, finishing(0.0016))
    assert "mist, not brushed" in knobs_say(CHECK, finishing(coolant="brushed"))["cut.coolant"]


def test_only_where_a_finish_is_wanted_and_metal_builds_up() -> None:
    assert not CHECK.applies(case(op=operation(role="side_finish", leaves="0 mm")))
    plain = shop()
    brittle = plain.materials["steel"].model_copy(update={"build_up": None})
    this = case(op=operation(role="side_finish", leaves="0 mm"), of_job=job(roughness="0.0008 mm"),
                in_shop=plain.model_copy(update={"materials": {"steel": brittle}}))
    assert not CHECK.applies(this)
    assert belief().has("material:steel", "build_up")


def test_welded_chips_speak_for_metal_that_stays_and_other_forms_for_nothing() -> None:
    assert CHECK.loglik is not None
    cool, hot = finishing(), finishing(spindle_speed="15000 rpm")
    welded = Observation("form", word="welded")
    slow, quick = (np.asarray(CHECK.loglik(this, belief(), welded)) for this in (cool, hot))
    assert np.median(slow) > np.median(quick) + 0.5 and slow.max() <= np.log(0.95) + 1e-12
    torn = Observation("face", word="torn")
    assert np.array_equal(slow, np.asarray(CHECK.loglik(cool, belief(), torn)))
    assert CHECK.loglik(cool, belief(), Observation("face", word="good")) is None
    assert np.corrcoef(quick, belief().value("material:steel", "build_up"))[0, 1] > 0.4
    assert CHECK.loglik(cool, belief(), Observation("form", word="curls")) is None
    assert CHECK.loglik(cool, belief(), Observation("word", word="ok")) is None


def test_a_metal_that_carries_heat_nobody_knows_how() -> None:
    finding = found(CHECK, finishing(), without("conductivity"))
    assert finding.p_rows is None and "write conductivity under" in finding.settle_by
    assert CHECK.loglik is not None and CHECK.loglik(
        finishing(), without("conductivity"), Observation("face", "torn")) is None
