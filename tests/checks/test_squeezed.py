from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from firstoff.checks.base import Case, State
from firstoff.checks.squeezed import CHECK, FILLED, GENTLER, bow, walls
from firstoff.part.shapes import Face, Feature, Part
from tests.checks.builders import HEIGHT, LENGTH, WIDTH, belief, block, case, found, job, operation, setting


def hollow(thick: float, start: float = 10.0, end: float = 50.0) -> Part:
    """The block with a window right through it, so that walls of a thickness stand at -Y and +Y."""
    near = Face(6, 0, "plane", 1.0, (30.0, thick, 10.0), (0.0, 1.0, 0.0), (start, thick, 0.0), (end, thick, HEIGHT))
    far = Face(7, 0, "plane", 1.0, (30.0, WIDTH - thick, 10.0), (0.0, -1.0, 0.0), (start, WIDTH - thick, 0.0),
               (end, WIDTH - thick, HEIGHT))
    return block(Feature("passage-1", "passage", (6, 7), through=True), faces=(near, far))


def held(thick: float = 3.0, tightness: str = "arm", cut: bool = True, **reach: Any) -> Case:
    state = State("block", frozenset({"passage-1"} if cut else ()))
    holding = {"tightness": tightness, "grip_height": "15 mm", **{k: reach.pop(k) for k in ("filled",) if k in reach}}
    return case(op=operation(leaves="0 mm"), place=setting(holding=holding), part=hollow(thick, **reach), state=state)


def test_a_thin_wall_without_ends_bad_on_purpose() -> None:
    finding = found(CHECK, held(2.0, start=0.0, end=LENGTH - 3.0))
    assert finding.p_fail is not None and finding.p_fail > 0.9
    assert "one end bears some of it" in finding.because


def test_a_thick_short_wall_just_good() -> None:
    finding = found(CHECK, held(8.0, start=25.0, end=47.0))
    assert finding.p_fail is not None and finding.p_fail <= 0.01
    assert "its ends bear most of it" in finding.because


def test_roughing_does_no_harm() -> None:
    assert not CHECK.applies(replace(held(), operation=held().op.model_copy(update={"leaves": 0.3})))


def test_before_it_is_cut_there_is_no_wall() -> None:
    assert not CHECK.applies(held(cut=False)) and CHECK.applies(held())
    assert not CHECK.applies(held(filled=True))


def test_walls_as_the_jaws_see_them() -> None:
    first, second = sorted(walls(held(3.0)), key=lambda wall: wall.face)
    assert (first.thickness, first.length, first.height, first.ends) == pytest.approx((3.0, 40.0, 15.0, 2), rel=0.05)
    assert {first.face, second.face} == {6, 7} and not first.floor


def test_solid_ends_keep_a_flat_jaw_from_bending_the_wall_far() -> None:
    def median(this: Case) -> float:
        rows = bow(this, belief(), walls(this)[0])
        assert rows is not None
        return float(np.median(rows))

    ends, thicker, longer = held(3.0), held(6.0), held(3.0, start=3.0, end=57.0)
    assert median(thicker) < median(ends) < median(longer)
    # 8000 N on 20 mm x 15 mm of solid metal: 1 um for each N/mm2
    assert median(ends) <= 8000.0 / (20.0 * 15.0) * 1e-6 * 1.05


def test_gentler_is_better_and_so_is_a_block_between() -> None:
    arm, fingers = (found(CHECK, held(3.0, how, start=3.0, end=57.0)) for how in ("arm", "fingers"))
    assert arm.p_fail is not None and fingers.p_fail is not None and fingers.p_fail < arm.p_fail
    assert GENTLER.values(held()) == ["fingers"] and "not arm" in GENTLER.say(held(), "fingers")
    assert FILLED.values(held()) == ["true"] and "block" in FILLED.say(held(), "true")


def test_a_limit_on_what_is_milled_counts() -> None:
    tight = replace(held(3.0, start=3.0, end=57.0), job=job(limits={
        "width": {"kind": "distance", "part": "block", "between": ["face 6", "face 7"], "tolerance": "±0.01 mm"}}))
    loose = found(CHECK, held(3.0, start=3.0, end=57.0))
    strict = CHECK.evaluate(tight, belief())
    assert strict.capacity is not None and strict.capacity.median == pytest.approx(10.0)
    assert strict.p_fail is not None and loose.p_fail is not None and strict.p_fail > loose.p_fail


def test_unknown_tightness_cannot_be_told() -> None:
    assert found(CHECK, held(tightness="a cheater bar")).p_rows is None
