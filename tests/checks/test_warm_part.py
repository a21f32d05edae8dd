from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from firstoff.belief import Belief
from firstoff.checks._past import past_of
from firstoff.checks.base import Case
from firstoff.checks.warm_part import CHECK, cooling, measured, rise_when_measured
from tests.checks.builders import (
    belief,
    case,
    chance,
    column,
    columns,
    found,
    job,
    knobs_say,
    operation,
    rises,
    setting,
    without,
)

WIDTH = {"width": {"kind": "distance", "between": ["-Y", "+Y"], "size": "40 mm", "tolerance": "±0.02 mm"}}
GLUED = {"device": "carrier", "grip": [], "grip_height": "0 mm", "tightness": ""}


def measuring(volumes: float = 1.0, held: dict[str, Any] | None = None, **op: Any) -> Case:
    """A cut that takes so many times the usual off, in as much time, and is measured after."""
    this = case(op=operation(measure=["width"], **op), of_job=job(limits=WIDTH),
                place=setting(holding=held or {}))
    assert this.windows is not None
    more = replace(this.windows, volume=this.windows.volume * volumes, seconds=this.windows.seconds * volumes)
    return replace(this, windows=more)


def test_a_glued_part_bad_on_purpose() -> None:
    finding = found(CHECK, measuring(300.0, GLUED))
    assert finding.p_fail is not None and finding.p_fail > 0.8
    assert "warmer than the shop" in finding.because and "wait" in finding.because
    assert finding.at_risk == "size" and finding.joint_group == "size:block"


def test_a_part_in_a_vise_just_good() -> None:
    finding = found(CHECK, measuring(10.0))
    assert finding.p_fail is not None and finding.p_fail <= 0.01
    assert "has cooled" in found(CHECK, measuring(0.5)).because


def test_chance_rises_with_what_is_cut() -> None:
    rises(CHECK, [measuring(volumes, GLUED) for volumes in (1.0, 60.0, 300.0)])


def test_waiting_helps_and_is_offered() -> None:
    hot = measuring(300.0, GLUED)
    waited = measuring(300.0, GLUED, cooling="60 min")
    assert chance(CHECK, waited) < chance(CHECK, hot)
    assert knobs_say(CHECK, hot)["cooling"][1] == "leave it to cool for 5 min first"
    assert "2 min" not in " ".join(knobs_say(CHECK, measuring(1.0, GLUED, cooling="4 min"))["cooling"])


def test_heat_of_earlier_cuts_is_still_there() -> None:
    alone = measuring(60.0, GLUED)
    second = replace(alone, before=(past_of(alone),))
    elsewhere = replace(alone, before=(replace(past_of(alone), setting="other"),))
    rows = [float(np.median(rise_when_measured(c, belief()))) for c in (alone, second, elsewhere)]
    assert rows[1] > 1.3 * rows[0] and rows[2] == pytest.approx(rows[0])


def test_jaws_carry_more_away_than_air() -> None:
    vise, glue = (cooling(measuring(1.0, held), belief()) for held in (None, GLUED))
    assert float(np.median(vise.conductance)) > 10.0 * float(np.median(glue.conductance))
    assert float(np.median(glue.capacity)) == pytest.approx(60e-3 * 40e-3 * 20e-3 * 3.5e6, rel=0.02)


def test_only_sizes_that_are_measured_here() -> None:
    assert not CHECK.applies(case())
    flat = {"flat": {"kind": "flatness", "between": ["+Z"], "tolerance": "+0.02 mm / 0 mm"}}
    assert measured(case(op=operation(measure=["flat"]), of_job=job(limits=flat))) == []


def test_heat_goes_through_the_glue_to_the_carrier() -> None:
    """60 x 40 mm on 0.03 mm of 0.15 W/(m K): 12 W/K, a hundred times what air takes."""
    this = case(place=setting(holding=GLUED))
    glue = Belief.of([*columns(), column("device:carrier", "glue_line", 0.03, 1.01, "mm"),
                      column("device:carrier", "glue_conductivity", 0.15, 1.01)], rows=256)
    through, bare = (float(np.median(cooling(this, about).conductance)) for about in (glue, belief()))
    assert through - bare == pytest.approx(0.15 * 0.06 * 0.04 / 3e-5, rel=0.01) and through > 100.0 * bare


def test_a_metal_that_grows_nobody_knows_how_much() -> None:
    finding = found(CHECK, measuring(), without("expansion"))
    assert finding.p_rows is None and "write expansion under" in finding.settle_by
