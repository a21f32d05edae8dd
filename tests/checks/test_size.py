from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from firstoff.checks.base import Case, Observation
from firstoff.checks.size import CHECK, chance_by_row, expected
from firstoff.job.models import Limit
from firstoff.stack.chance import chance_out
from tests.checks.builders import belief, case, chance, found, job, operation, rises, setting

TURNED = setting(up=[0, 0, -1], holding={"rest": "+Z", "parallels": "6 mm"}, datums=["+Z", "-Y", "-X"])


def face(number: int, feature: str, where: str = "first", **changed: Any) -> dict[str, Any]:
    return operation(number=number, features=[feature], setting=where, role="face_finish", leaves="0 mm",
                     removes="0.2 mm", cut={"depth_of_cut": "0.2 mm", "width_of_cut": "4 mm"}, **changed)


def height(tolerance: str = "±0.03 mm", kind: str = "distance", measure: bool = False, one: bool = False) -> Case:
    """The height of the block: bottom and top cut in two settings, or both walls in one."""
    between = ["-Z", "+Z"] if not one else ["-Y", "+Y"]
    limit = Limit.model_validate({"kind": kind, "part": "block", "tolerance": tolerance, "instrument": "mic",
                                  "between": between if kind == "distance" else between[:1]})
    if one:
        ops = {"front": face(10, "stock-3"), "back": face(20, "stock-4")}
    else:
        ops = {"top": face(10, "stock-6"), "bottom-rough": face(20, "stock-5", "second"),
               "bottom": face(30, "stock-5", "second")}
    if measure:
        ops["bottom-rough"] |= {"measure": ["height"], "leaves": "0.2 mm"}
    return case("limit", "height", limit=limit, of_job=job(limits={"height": limit.model_dump(exclude_unset=True)}),
                ops=ops, settings={"first": setting(), "second": TURNED})


def test_tight_height_across_two_settings_bad_on_purpose() -> None:
    finding = found(CHECK, height("±0.01 mm"))
    assert finding.p_fail is not None and finding.p_fail > 0.2
    assert finding.unit == "µm" and finding.joint_group == "size:block" and "micrometer" in finding.settle_by


def test_wide_height_just_good() -> None:
    assert chance(CHECK, height("±0.1 mm")) <= 0.01


def test_chance_rises_as_the_band_narrows() -> None:
    rises(CHECK, [height(f"±{band} mm") for band in (0.1, 0.05, 0.02, 0.01)])


def test_one_setting_is_better_than_two() -> None:
    two = expected(height(), belief())
    one = expected(height(one=True), belief(machine_mill__lost_motion=0.001))
    corner = [float(np.median(came.spreads.variance[:, 1])) for came in (one, two)]
    assert corner[0] < corner[1]
    assert "how the part sits" in two.spreads.labels and "how the part sits" not in one.spreads.labels


def test_measuring_before_the_last_cut_helps() -> None:
    measured, plain = height("±0.02 mm", measure=True), height("±0.02 mm")
    assert chance(CHECK, measured) < chance(CHECK, plain)
    assert np.median(expected(measured, belief()).sd) < 0.8 * np.median(expected(plain, belief()).sd)


def test_variances_add() -> None:
    came = expected(height(), belief(discrepancy_size__factor=1.0))
    assert np.all(came.sd > 0.0)
    made = came.spreads
    by_hand = sum((made.lines[0, k] * made.sd[k]) ** 2 for k in range(len(made.labels)))
    assert made.variance[:, 0] == pytest.approx(by_hand)
    assert sum(made.shares().values()) == pytest.approx(1.0) and made.largest() in made.labels


def test_a_reading_favours_rows_that_expect_it() -> None:
    this, believed = height(), belief()
    assert CHECK.loglik is not None
    offset = expected(this, believed).offset
    scale = believed.value("machine:mill", "axis_scale")
    near = CHECK.loglik(this, believed, Observation("size", value=float(np.median(offset)) * 1e3, sd=0.003))
    far = CHECK.loglik(this, believed, Observation("size", value=0.2, sd=0.003))
    assert near is not None and far is not None and near.shape == scale.shape
    assert np.all(near > far)
    assert CHECK.loglik(this, believed, Observation("watts", value=3.0, sd=1.0)) is None


def test_a_depth_over_which_nothing_lies_is_told_to_be_a_distance() -> None:
    finding = found(CHECK, height(kind="depth"))
    assert finding.p_rows is None and "write the depth as a distance" in finding.because


def test_a_face_that_nothing_makes_cannot_be_told() -> None:
    limit = Limit.model_validate({"kind": "distance", "part": "block", "tolerance": "±0.03 mm",
                                  "between": ["-X", "+X"]})
    finding = found(CHECK, case("limit", "length", limit=limit, ops={"top": face(10, "stock-6")}))
    assert finding.p_rows is None and "no operation" in finding.because


def test_gain_makes_it_larger() -> None:
    this = height("±0.03 mm")
    assert this.limit is not None
    steep = replace(this, limit=this.limit.model_copy(update={"kind": "chain", "gain": 2.5}))
    assert np.allclose(expected(steep, belief()).sd, 2.5 * expected(this, belief()).sd)


def test_what_remains_after_measuring_is_the_instrument_and_the_last_cut() -> None:
    this = height("+0.06 mm / -0.02 mm", measure=True)
    came = expected(this, belief(discrepancy_size__factor=1.0))
    assert came.found.measured == "bottom-rough" and came.found.late == "bottom"
    assert set(came.spreads.shares()) == {"the repeat of the axes", "the micrometer"}, "what both cuts share is gone"
    assert np.allclose(came.offset, 0.02e-3)                # aimed at the middle; both cuts push off alike
    assert np.median(came.sd) == pytest.approx(np.sqrt(2 * 0.005e-3**2 + 0.003e-3**2), rel=0.1)
    assert "middle of the limits" in found(CHECK, this).because


def test_another_cutter_or_clamping_after_the_measuring_adds_to_it() -> None:
    this = height(measure=True)
    ops = dict(this.route.operations)
    ops["bottom"] = ops["bottom"].model_copy(update={"tool": "em10"})
    plain = expected(this, belief())
    other = expected(replace(this, route=this.route.model_copy(update={"operations": ops})), belief())
    assert np.all(other.sd > plain.sd) and "setting zero in z" in other.spreads.shares()


def test_a_tilt_puts_corners_out_that_one_reading_cannot_see() -> None:
    """Measured and cut to the middle, the part that sat tilted is still thicker on one side."""
    this = height("±0.03 mm", measure=True)
    came = expected(this, belief())
    middle, corner = np.median(np.sqrt(came.spreads.variance), axis=0)[[0, 1]]
    assert corner > 1.5 * middle and came.spreads.largest(1) == "how the part sits"
    low, high = -0.03e-3, 0.03e-3
    alone = chance_out(came.offset, came.sd, low, high)
    assert np.all(chance_by_row(came, belief(), low, high) >= alone)


def test_tapping_it_down_leaves_less_lift() -> None:
    this = height()
    settings = {name: s.model_copy(update={"holding": s.holding.model_copy(update={"tapped": True})})
                for name, s in this.route.settings.items()}
    tapped = replace(this, route=this.route.model_copy(update={"settings": settings}))
    assert chance(CHECK, tapped) < chance(CHECK, this)


def test_a_distance_over_two_parts_is_told_to_be_a_chain() -> None:
    this = height()
    assert this.limit is not None
    other = replace(this, parts={**this.parts, "lid": this.parts["block"]},
                    job=this.job.model_copy(update={"parts": {**this.job.parts, "lid": this.job.parts["block"]}}),
                    limit=this.limit.model_copy(update={"between": ("-Z", "lid.+Z")}))
    assert "write a chain of distances" in found(CHECK, other).because


def test_too_coarse_an_instrument_is_told() -> None:
    assert "too coarse" in found(CHECK, height("±0.004 mm")).because
