from __future__ import annotations

from firstoff.checks.base import Case
from firstoff.checks.rated_speed import RULE
from tests.checks.builders import case, operation, shop, tool


def turning(speed: int) -> Case:
    return case(op=operation(cut={"spindle_speed": f"{speed} rpm"}), in_shop=shop(em6=tool(rated_speed="8000 rpm")))


def test_too_fast_not_met() -> None:
    assert RULE.applies(turning(9000)) and not RULE.met(turning(9000))
    assert "9000 rpm is above the 8000 rpm" in RULE.because(turning(9000))


def test_slow_enough_met() -> None:
    assert RULE.met(turning(8000)) and "within" in RULE.because(turning(8000))


def test_without_a_rating_nothing_is_asked() -> None:
    assert not RULE.applies(case())
