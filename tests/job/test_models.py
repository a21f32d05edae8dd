"""What is wanted, read from text: tolerances, limits and joints."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from firstoff.job.models import Job, LeverJoint, Limit, ScrewJoint
from firstoff.tomlfile import KEPT

LIMIT: dict[str, Any] = {"kind": "distance", "between": ["-Z", "+Z"], "part": "sole", "tolerance": "±0.03 mm"}
JOB: dict[str, Any] = {
    "name": "bracket",
    "parts": {"plate": {"model": "plate.step", "material": "c45", "stock": {"size": ["10 mm", "1 in", "5 mm"]}}},
}
SCREW = {"kind": "screw", "screw": "M4 x 12", "through": "lid.hole-1", "into": "plate.hole-1"}


@pytest.mark.parametrize(("text", "limits"), [
    ("±0.03 mm", (-0.03, 0.03)),
    ("+/- 0.03 mm", (-0.03, 0.03)),
    ("+-0.03 mm", (-0.03, 0.03)),
    ("+0.05 mm / -0.02 mm", (-0.02, 0.05)),
    ("+0.05 / -0.02 mm", (-0.02, 0.05)),
    ("+0.02 mm / 0 mm", (0.0, 0.02)),
    ("+0.002 in / -0.001 in", (-0.0254, 0.0508)),
])
def test_tolerances_as_a_drawing_words_them(text: str, limits: tuple[float, float]) -> None:
    assert Limit.model_validate(LIMIT | {"tolerance": text}).tolerance == pytest.approx(limits)


@pytest.mark.parametrize(("size", "text", "limits"), [
    ("10 mm", "H7", (0.0, 0.015)), ("10 mm", "g6", (-0.014, -0.005)), ("25 mm", "js9", (-0.026, 0.026)),
    ("1 in", "H8", (0.0, 0.033)), (" 4 mm", " m6 ", (0.004, 0.012)),
])
def test_a_class_is_read_at_its_size(size: str, text: str, limits: tuple[float, float]) -> None:
    limit = Limit.model_validate(LIMIT | {"size": size, "tolerance": text})
    assert limit.tolerance == pytest.approx(limits)
    again = Limit.model_validate(limit.model_dump(), context=KEPT)
    assert again.tolerance == limit.tolerance, "kept as numbers"


def test_a_class_without_size_or_of_no_table_is_told() -> None:
    with pytest.raises(ValidationError, match=r"H7.*beside a size"):
        Limit.model_validate(LIMIT | {"tolerance": "H7"})
    with pytest.raises(ValidationError, match=r"Q7.*not in the tables"):
        Limit.model_validate(LIMIT | {"size": "10 mm", "tolerance": "Q7"})


def test_a_bought_pin_has_a_class_too() -> None:
    job = Job.model_validate(JOB | {"bought": {"dowel": {"name": "dowel 4", "size": {"diameter": "4 mm"},
                                                         "tolerance": "m6"}}})
    assert job.bought["dowel"].tolerance == pytest.approx((0.004, 0.012))
    with pytest.raises(ValidationError, match="names its piece"):
        Limit.model_validate({"kind": "clearance", "between": ["hole-1"], "tolerance": "+0.02 mm / 0 mm"})


@given(st.floats(1e-4, 10.0))
def test_plus_minus_is_even(half: float) -> None:
    lower, upper = Limit.model_validate(LIMIT | {"tolerance": f"±{half!r} mm"}).tolerance
    assert -lower == upper == pytest.approx(half)


@pytest.mark.parametrize(("change", "said"), [
    ({"tolerance": "0.03 mm"}, "write"),
    ({"tolerance": "-0.02 mm / +0.05 mm"}, "not below"),
    ({"tolerance": "±0 mm"}, "not below"),
    ({"between": ["-Z"]}, "between 2 face"),
    ({"kind": "flatness"}, "between 1 face"),
    ({"size": 5}, "needs a unit"),
])
def test_a_limit_that_cannot_be_meant_is_refused(change: dict[str, Any], said: str) -> None:
    with pytest.raises(ValidationError, match=said):
        Limit.model_validate(LIMIT | change)


def test_stock_is_kept_in_mm() -> None:
    assert Job.model_validate(JOB).parts["plate"].stock.size == pytest.approx((10.0, 25.4, 5.0))


def test_a_joint_is_read_by_its_kind() -> None:
    lever = {"kind": "lever", "part": "plate", "screw": "M5", "thickness": ["-Z", "+Z"], "arms": ["14 mm", "26 mm"],
             "width": "25 mm"}
    job = Job.model_validate(JOB | {"joints": {"lid": SCREW, "cap": lever}})
    assert isinstance(job.joints["lid"], ScrewJoint)
    assert isinstance(job.joints["cap"], LeverJoint)
    with pytest.raises(ValidationError, match="expected tags"):
        Job.model_validate(JOB | {"joints": {"lid": SCREW | {"kind": "nail"}}})


def test_heads_below_are_a_least_and_a_most() -> None:
    assert ScrewJoint.model_validate(SCREW | {"below": "+0.4 mm / 0.2 mm"}).below == (0.2, 0.4)


@pytest.mark.parametrize("budget", [0.0, 1.0, -0.1, 2.0])
def test_a_budget_is_a_chance(budget: float) -> None:
    with pytest.raises(ValidationError):
        Job.model_validate(JOB | {"budget": budget})


def test_a_chain_of_links_has_two_faces_each() -> None:
    faces = {"kind": "chain", "tolerance": "±0.1 mm", "between": ["a.+Z", "a.-Z", "b.+Z", "b.-Z"]}
    limit = Limit.model_validate({**faces, "gains": [2.0, -1.0]})
    assert limit.links == (("a.+Z", "a.-Z", 2.0), ("b.+Z", "b.-Z", -1.0))
    with pytest.raises(ValueError, match="between 6 face"):
        Limit.model_validate({**faces, "gains": [1.0, 1.0, 1.0]})
    with pytest.raises(ValueError, match="not both"):
        Limit.model_validate({**faces, "gains": [1.0, 1.0], "gain": 2.0})
    with pytest.raises(ValueError, match="not of a distance"):
        Limit.model_validate({**faces, "kind": "distance", "gains": [1.0, 1.0]})
