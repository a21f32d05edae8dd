from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from firstoff.checks.base import Case, Observation
from firstoff.checks.size import CHECK, expected
from firstoff.job.models import Limit
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
    assert finding.unit == "um" and finding.joint_group == "size:block" and "micrometer" in finding.settle_by


def test_wide_height_just_good() -> None:
    assert chance(CHECK, height("±0.1 mm")) <= 0.01


def test_chance_rises_as_the_band_narrows() -> None:
    rises(CHECK, [height(f"±{band} mm") for band in (0.1, 0.05, 0.02, 0.01)])


def test_one_setting_is_better_than_two() -> None:
    _, two, _ = expected(height(), belief())
    _, one, chain = expected(height(one=True), belief(machine_mill__lost_motion=0.001))
    assert np.median(one) < np.median(two)
    assert "how the part sits" not in [name for name, _ in chain.parts]


def test_measuring_before_the_last_cut_helps() -> None:
    assert chance(CHECK, height("±0.02 mm", measure=True)) < 0.5 * chance(CHECK, height("±0.02 mm"))


def test_variances_add() -> None:
    _, sd, chain = expected(height(), belief(discrepancy_size__factor=1.0))
    assert np.all(sd > 0.0)
    together = sum(part**2 for _, part in chain.parts) ** 0.5
    assert np.median(chain.variance) ** 0.5 == pytest.approx(together, rel=0.1)


def test_a_reading_favours_rows_that_expect_it() -> None:
    this, believed = height(), belief()
    assert CHECK.loglik is not None
    offset, _, _ = expected(this, believed)
    scale = believed.value("machine:mill", "axis_scale")
    near = CHECK.loglik(this, believed, Observation("size", value=float(np.median(offset)) * 1e3, sd=0.003))
    far = CHECK.loglik(this, believed, Observation("size", value=0.2, sd=0.003))
    assert near is not None and far is not None and near.shape == scale.shape
    assert np.all(near > far)
    assert CHECK.loglik(this, believed, Observation("watts", value=3.0, sd=1.0)) is None


def test_what_is_not_built_cannot_be_told() -> None:
    assert found(CHECK, height(kind="flatness")).p_rows is None


def test_a_face_that_nothing_makes_cannot_be_told() -> None:
    limit = Limit.model_validate({"kind": "distance", "part": "block", "tolerance": "±0.03 mm",
                                  "between": ["-X", "+X"]})
    finding = found(CHECK, case("limit", "length", limit=limit, ops={"top": face(10, "stock-6")}))
    assert finding.p_rows is None and "no operation" in finding.because


def test_gain_makes_it_larger() -> None:
    this = height("±0.03 mm")
    assert this.limit is not None
    from dataclasses import replace

    steep = replace(this, limit=this.limit.model_copy(update={"gain": 2.5}))
    assert np.allclose(expected(steep, belief())[1], 2.5 * expected(this, belief())[1])


def test_what_remains_after_measuring_is_the_instrument_and_the_last_cut() -> None:
    this = height("+0.06 mm / -0.02 mm", measure=True)
    offset, sd, chain = expected(this, belief(discrepancy_size__factor=1.0))
    names = [name for name, _ in chain.parts]
    assert chain.measured == "bottom-rough" and names == ["the repeat of the axes", "the micrometer"]
    assert np.allclose(offset, 0.02e-3)                     # aimed at the middle; both cuts push off alike
    assert np.median(sd) == pytest.approx(np.hypot(0.005e-3, 0.003e-3), rel=0.1)
    assert "middle of the limits" in found(CHECK, this).because


def test_another_cutter_or_clamping_after_the_measuring_adds_to_it() -> None:
    from dataclasses import replace

    this = height(measure=True)
    ops = dict(this.route.operations)
    ops["bottom"] = ops["bottom"].model_copy(update={"tool": "em10"})
    _, plain, _ = expected(this, belief())
    _, other, chain = expected(replace(this, route=this.route.model_copy(update={"operations": ops})), belief())
    assert np.all(other > plain) and "the change of cutter" in [name for name, _ in chain.parts]


def test_too_coarse_an_instrument_is_told() -> None:
    assert "too coarse" in found(CHECK, height("±0.004 mm")).because
