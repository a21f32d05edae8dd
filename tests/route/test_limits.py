"""A limit is measured after the last operation that cuts a face of it."""

from __future__ import annotations

from firstoff.job.models import Job
from firstoff.route.limits import measured_after, operation_of
from firstoff.route.plan import plan
from tests.route.made import block, example_job, example_parts, job, shop


def with_limits() -> Job:
    limits = {
        "height": {"kind": "distance", "part": "block", "between": ["-Z", "+Z"], "tolerance": "±0.05 mm"},
        "pocket": {"kind": "depth", "part": "block", "between": ["pocket-1"], "tolerance": "±0.1 mm"},
    }
    return Job.model_validate({**job().model_dump(exclude={"parts", "file"}, exclude_unset=True), "limits": limits,
                               "parts": {"block": {"model": "b", "material": "al_6082",
                                                   "stock": {"size": ["62 mm", "44 mm", "22 mm"]}}}})


def test_after_the_last_cut_of_its_faces() -> None:
    wanted, parts = with_limits(), {"block": block()}
    route = plan(wanted, shop(), parts)
    at = {name: key for key, op in route.in_order() for name in op.measure}
    assert at == {"height": "block-bottom-finish", "pocket": "block-pocket-1-finish"}
    for name, key in at.items():
        assert operation_of(wanted.limits[name], name, wanted, route, parts) == key


def test_measured_once_more_before_the_last_cut_where_stock_is_left() -> None:
    route = plan(example_job(), shop(), example_parts())
    told: dict[str, list[str]] = {}
    for key, op in route.in_order():
        for name in op.measure:
            told.setdefault(name, []).append(key)
    assert sorted(told) == sorted(example_job().limits)
    assert told["body_height"] == ["body-bottom-rough", "body-bottom-finish"]
    assert told["sole_thickness"] == ["sole-bottom-semi", "sole-bottom-finish"]
    assert told["throat"] == ["body-passage-1-semi", "body-passage-1-finish"]
    assert told["mouth_opening"] == ["sole-mouth-opening-measure", "sole-passage-1-file"]
    for keys in told.values():
        assert all(route.operations[key].leaves > 0.0 or route.operations[key].role == "measure"
                   for key in keys[:-1])


def test_too_coarse_an_instrument_is_only_asked_at_the_end() -> None:
    wanted, parts = example_job(), example_parts()
    wanted.limits["body_height"] = wanted.limits["body_height"].model_copy(update={"tolerance": (-0.001, 0.001)})
    route = plan(wanted, shop(), parts)
    assert [key for key, op in route.in_order() if "body_height" in op.measure] == ["body-bottom-finish"]


def test_nothing_else_changes() -> None:
    wanted, parts = with_limits(), {"block": block()}
    route = plan(wanted, shop(), parts)
    again = measured_after(wanted, route, parts, shop())
    assert again == route
