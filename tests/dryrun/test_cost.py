"""What may go wrong, in money: by what is at risk, and at what point of the route."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstoff.checks.base import AtRisk, Case, Finding
from firstoff.dryrun.cost import (
    FINISH_MINUTES,
    SIZE_MINUTES,
    TOOL_MINUTES,
    expected_loss,
    loss,
    part_loss,
    wages,
)
from firstoff.shop.models import Rates
from tests.checks import builders
from tests.dryrun import small
from tests.dryrun.small import DRILL, FACE, POCKET


def finding(at_risk: AtRisk, p: float | None = 1.0) -> Finding:
    return Finding("c", "operation", "op", at_risk, None if p is None else np.full(4, p), None, None, "", "so")


def dear() -> dict[str, Case]:
    """Thirty an hour, a cutter of 25, a part worth 40 beside its stock of 5."""
    shop = small.shop(em6=builders.tool(price=25.0)).model_copy(update={"rates": Rates(hour=30.0)})
    return small.cases(in_shop=shop, wanted=small.job(part_value={"block": 40.0}))


def test_an_hour_is_an_hour() -> None:
    shop = small.shop().model_copy(update={"rates": Rates(hour=30.0)})
    assert wages(60.0, shop) == pytest.approx(30.0)
    assert wages(-10.0, shop) == pytest.approx(-5.0)


def test_losses_by_hand() -> None:
    case = dear()[FACE]
    assert loss(finding("finish"), case) == pytest.approx(FINISH_MINUTES / 2.0)
    assert loss(finding("size"), case) == pytest.approx(SIZE_MINUTES / 2.0)
    assert loss(finding("tool"), case) == pytest.approx(TOOL_MINUTES / 2.0 + 25.0)
    assert loss(finding("part"), case) == pytest.approx(5.0 + 40.0)


def test_a_part_is_dearer_the_more_is_done_to_it() -> None:
    cases = dear()
    losses = [loss(finding("part"), cases[name]) for name in (FACE, POCKET, DRILL)]
    for (less, more), name in zip(pairwise(losses), (FACE, POCKET), strict=True):
        later = cases[POCKET if name == FACE else DRILL]
        assert more - less == pytest.approx((later.minutes_so_far - cases[name].minutes_so_far) / 2.0)
        assert more > less


def test_outside_an_operation_no_tool_is_lost() -> None:
    assert loss(finding("tool"), dear()["height"]) == pytest.approx(TOOL_MINUTES / 2.0)


def test_a_part_that_nothing_is_said_of_costs_only_its_time() -> None:
    assert part_loss(small.job(), small.shop(), None, 60.0) == pytest.approx(small.shop().rates.hour)
    assert part_loss(small.job(), small.shop(), "block", 0.0) == pytest.approx(5.0)


@given(st.lists(st.tuples(st.sampled_from(["finish", "size", "tool", "part"]), st.floats(0, 1)), max_size=5),
       st.floats(0, 50))
def test_the_sum_is_chance_times_loss_and_the_weight_falls_on_parts_alone(
    items: list[tuple[AtRisk, float]], weight: float
) -> None:
    case = replace(small.cases()[POCKET], minutes_so_far=12.0)
    pairs = [(finding(at_risk, p), case) for at_risk, p in items]
    plain = sum(p * loss(finding(at_risk), case) for at_risk, p in items)
    parts = sum(p * loss(finding("part"), case) for at_risk, p in items if at_risk == "part")
    assert expected_loss(pairs) == pytest.approx(plain)
    assert expected_loss(pairs, weight) == pytest.approx(plain + weight * parts)


def test_what_cannot_be_computed_adds_nothing() -> None:
    assert expected_loss([(finding("part", None), small.cases()[FACE])]) == 0.0
