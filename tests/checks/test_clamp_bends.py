from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from firstoff.checks.base import Case, State
from firstoff.checks.clamp_bends import CHECK, FLAT, bent, gaps, pulled_flat
from firstoff.dryrun.quick import Quick
from firstoff.dryrun.remedies import trials
from firstoff.part.shapes import Face, Feature, Part
from tests.checks.builders import LENGTH, WIDTH, belief, block, case, chance, found, job, operation, setting


def plate(thick: float) -> Part:
    """The block as thin as that, its foot at 0."""
    part = block()
    flat = {face.number: replace(face, low=(*face.low[:2], min(face.low[2], thick)),
                                 high=(*face.high[:2], min(face.high[2], thick)),
                                 centroid=(*face.centroid[:2], min(face.centroid[2], thick))) for face in part.faces}
    return replace(part, sha256=f"{thick:064.3f}", high=(LENGTH, WIDTH, thick),
                   faces=tuple(flat[face.number] for face in part.faces))


def clamped(thick: float = 5.0, parallels: float = 10.0, at: tuple[tuple[float, float], ...] = ((30.0, 20.0),),
            tightness: str = "arm", **changed: Any) -> Case:
    holding = {"device": "clamps", "rest": "-Z", "grip": [], "grip_height": "0 mm", "stick_up": "0 mm",
               "tightness": tightness, "parallels": f"{parallels} mm",
               "clamps": [[f"{x} mm", f"{y} mm"] for x, y in at]}
    return case(op=operation(leaves="0 mm", role="face_finish", features=["stock-6"]), part=plate(thick),
                place=setting(holding=holding), **changed)


def median(this: Case) -> float:
    rows = bent(this, belief(), gaps(this)[0])
    assert rows is not None
    return float(np.median(rows))


def test_a_thin_plate_in_the_middle_of_its_parallels_bad_on_purpose() -> None:
    finding = found(CHECK, clamped(4.0))
    assert finding.p_fail is not None and finding.p_fail > 0.9
    assert "between two rests" in finding.because and "Packing right under each clamp" in finding.because


def test_a_thick_one_just_good() -> None:
    assert chance(CHECK, clamped(18.0)) <= 0.01


def test_over_a_parallel_or_on_the_table_nothing_bends() -> None:
    here = clamped(at=((30.0, 20.0), (5.0, 20.0)))
    assert [gap.clamp for gap in gaps(here)] == [0], "only the one in the middle"
    nowhere = here.setting.model_copy(update={"holding": here.setting.holding.model_copy(update={"clamps": ()})})
    assert not gaps(replace(here, route=here.route.model_copy(update={"settings": {"first": nowhere}})))
    assert not gaps(clamped(parallels=0.0)) and not CHECK.applies(clamped(parallels=0.0))
    rough = clamped()
    assert not CHECK.applies(replace(rough, operation=rough.op.model_copy(update={"leaves": 0.2})))


def test_the_gap_is_that_between_the_parallels() -> None:
    gap = gaps(clamped())[0]
    assert gap.near == pytest.approx(gap.far, abs=2.0) and gap.thick == pytest.approx(5.0)
    assert gap.near + gap.far == pytest.approx(LENGTH - 10.0, abs=2.0)


def test_beyond_the_last_rest_it_hangs_over() -> None:
    part = plate(5.0)
    under = tuple(replace(face, low=(20.0, 0.0, 0.0), high=(60.0, WIDTH, 0.0)) if face.number == 4 else face
                  for face in part.faces)
    gone = Face(6, 0, "plane", 1.0, (10.0, 20.0, 1.0), (0.0, 0.0, -1.0), (0.0, 0.0, 1.0), (20.0, WIDTH, 1.0))
    wall = Face(7, 0, "plane", 1.0, (20.0, 20.0, 0.5), (-1.0, 0.0, 0.0), (20.0, 0.0, 0.0), (20.0, WIDTH, 1.0))
    step = Feature("step-1", "step", (6, 7), open=True)
    part = replace(part, sha256="3" * 64, faces=(*under, gone, wall), features=(*part.features, step))
    this = replace(clamped(parallels=0.0, at=((8.0, 20.0),)), parts={"block": part},
                   state=State("block", frozenset({"step-1"})))
    gap = gaps(this)[0]
    assert gap.far == 0.0 and gap.near == pytest.approx(12.0, abs=1.5) and gap.back == pytest.approx(40.0, abs=2.0)
    assert "beyond the last rest" in found(CHECK, this).because


def test_give_goes_with_the_cube_of_thickness_and_with_the_force() -> None:
    assert median(clamped(5.0)) == pytest.approx(8.0 * median(clamped(10.0)), rel=1e-6)
    rows = bent(clamped(), belief(device_clamps__squeeze_arm=8000.0), gaps(clamped())[0])
    assert rows is not None and float(np.median(rows)) == pytest.approx(2.0 * median(clamped()), rel=0.02)


def test_a_flatness_counts() -> None:
    strict = job(limits={"flat": {"kind": "flatness", "part": "block", "between": ["+Z"],
                                  "tolerance": "+0.01 mm / 0 mm"}})
    assert chance(CHECK, clamped(9.0, of_job=strict)) > chance(CHECK, clamped(9.0))


def test_instead_flat_on_the_table_unless_something_goes_through() -> None:
    assert FLAT.values(clamped()) == ["0 mm"] and "flat on the table" in FLAT.say(clamped(), "0 mm")
    assert FLAT.values(clamped(parallels=0.0)) == []
    (trial,) = trials(CHECK, clamped(), FLAT, Quick(belief()))
    assert trial.edits == (("settings.first.holding.parallels", "0 mm"),) and trial.p_check == 0.0
    this = clamped()
    hole = replace(this.part, features=(*this.part.features, Feature("hole-1", "hole", (), through=True)))
    drilled = this.route.operations["op"].model_copy(update={"features": ("hole-1",)})
    this = replace(this, parts={"block": hole}, route=this.route.model_copy(update={"operations": {"op": drilled}}))
    assert FLAT.values(this) == []


def test_unknown_tightness_cannot_be_told() -> None:
    assert found(CHECK, clamped(tightness="somehow")).p_rows is None


def bowed_bar(thick: float, bow: float, raw: bool = True) -> Case:
    """The plate on the table, its lower face raw and so bowed [mm]."""
    stock = {"size": ["62 mm", "42 mm", "22 mm"], "condition": "hot_rolled", "bow": f"{bow} mm"}
    this = clamped(thick, parallels=0.0, of_job=job(stock=stock))
    place = this.setting.model_copy(update={"stock_left": {"-Z": 0.5} if raw else {}})
    return replace(this, route=this.route.model_copy(update={"settings": {"first": place}}))


def test_a_bowed_raw_bar_is_pulled_flat_and_springs_back() -> None:
    finding = found(CHECK, bowed_bar(4.0, 0.4))
    assert finding.p_fail is not None and finding.p_fail > 0.9 and "bowed by 0.4 mm" in finding.because
    rows = pulled_flat(bowed_bar(1.5, 0.4), belief())
    assert rows is not None and rows == pytest.approx(np.full(len(rows), 0.4e-3)), "thin: all of its bow"
    stiff = pulled_flat(bowed_bar(40.0, 0.4), belief())
    # F L3/(48 E I), one clamp of 4000 N on 60 x 40 x 40.5 of steel
    by_hand = 4000.0 * 0.06**3 / (48.0 * 210e9 * 0.04 * 0.0405**3 / 12.0)
    assert stiff is not None and float(np.median(stiff)) == pytest.approx(by_hand, rel=0.05)
    assert not CHECK.applies(bowed_bar(4.0, 0.4, raw=False)) and not CHECK.applies(bowed_bar(4.0, 0.0))
