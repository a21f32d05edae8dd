"""Minutes beside the running: counted by hand."""

from __future__ import annotations

import pytest

from firstoff.dryrun.times import MEASURE_MINUTES, handling_minutes
from tests.dryrun import small
from tests.dryrun.small import DRILL, FACE, POCKET, SINK


def test_first_operation_is_set_up_tool_and_measured() -> None:
    """Ten minutes to set up, two to change the tool, one size to measure: what the shop's machine says."""
    assert handling_minutes(small.cases()[FACE], None) == pytest.approx(10.0 + 2.0 + MEASURE_MINUTES)


def test_same_setting_same_tool_costs_nothing() -> None:
    cases = small.cases()
    assert handling_minutes(cases[POCKET], cases[FACE].op) == 0.0


def test_another_tool_is_changed_and_another_setting_set_up() -> None:
    cases = small.cases()
    assert handling_minutes(cases[DRILL], cases[POCKET].op) == pytest.approx(2.0)
    assert handling_minutes(cases[SINK], cases[DRILL].op) == pytest.approx(12.0)


def test_in_a_new_setting_even_the_same_tool_is_put_in() -> None:
    cases = small.cases(small.route(((f"operations.{SINK}.tool", "drill5"),)))
    assert handling_minutes(cases[SINK], cases[DRILL].op) == pytest.approx(12.0)


@pytest.mark.parametrize("number", [0, 1, 3])
def test_each_size_takes_its_time(number: int) -> None:
    case = small.cases()[POCKET]
    before = small.cases()[FACE].op
    measured = case.op.model_copy(update={"measure": ("height",) * number})
    from firstoff.dryrun.choosing import with_operation

    assert handling_minutes(with_operation(case, measured), before) == pytest.approx(number * MEASURE_MINUTES)
