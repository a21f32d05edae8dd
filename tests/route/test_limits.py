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
    at = {name: key for key, op in route.operations.items() for name in op.measure}
    assert at == {"height": "block-bottom-finish", "pocket": "block-pocket-1-finish"}
    for name, key in at.items():
        assert operation_of(wanted.limits[name], name, wanted, route, parts) == key


def test_each_limit_of_the_example_is_measured_once() -> None:
    route = plan(example_job(), shop(), example_parts())
    told = [name for op in route.operations.values() for name in op.measure]
    assert sorted(told) == sorted(example_job().limits)


def test_nothing_else_changes() -> None:
    wanted, parts = with_limits(), {"block": block()}
    route = plan(wanted, shop(), parts)
    again = measured_after(wanted, route, parts)
    assert again == route
