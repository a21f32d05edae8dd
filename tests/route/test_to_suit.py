"""What is cut last is measured with the parts together first."""

from __future__ import annotations

from firstoff.job.route import Operation, Route
from firstoff.route.plan import plan
from firstoff.route.to_suit import offered_up
from tests.route.made import example_job, example_parts, shop


def routed() -> Route:
    return plan(example_job(), shop(), example_parts())


def measuring(route: Route) -> Operation:
    return next(op for op in route.operations.values() if op.role == "measure")


def test_the_parts_are_together_before_the_lip_is_cut() -> None:
    route = routed()
    names = [key for key, _ in route.in_order()]
    op = measuring(route)
    setting = route.settings[op.setting]
    assert setting.workpiece == "sole+body" and op.measure == ("mouth_opening",)
    before, after = names[: names.index("sole-mouth-opening-measure")], names[names.index("sole-passage-1-finish"):]
    assert "sole-passage-1-rough" in before and "body-ramp-1-finish" in before
    assert "sole-passage-1-finish" in after and list(route.settings).index(op.setting) > 0


def test_numbers_stay_in_tens_and_every_setting_exists() -> None:
    route = routed()
    assert [op.number for _, op in route.in_order()] == [10 * (i + 1) for i in range(len(route.operations))]
    assert {op.setting for op in route.operations.values()} <= set(route.settings)


def test_nothing_to_suit_where_nothing_is_left_for_it() -> None:
    job, parts = example_job(), example_parts()
    job.parts["sole"] = job.parts["sole"].model_copy(update={"last": ()})
    route = plan(job, shop(), parts)
    assert not any(op.role == "measure" for op in route.operations.values())
    assert offered_up(job, shop(), route, parts) == route


def test_a_coarse_instrument_is_not_asked() -> None:
    job = example_job()
    job.limits["mouth_opening"] = job.limits["mouth_opening"].model_copy(update={"tolerance": (-0.01, 0.01)})
    assert not any(op.role == "measure" for op in plan(job, shop(), example_parts()).operations.values())
