"""The nine tests are nine, each with what a card needs."""

from __future__ import annotations

import pytest

from firstoff.errors import NameUnknown
from firstoff.records.mill_models import _MODELS
from firstoff.records.mill_tests import STILL, TESTS, the_test


def test_there_are_nine_and_each_has_a_model() -> None:
    assert len(TESTS) == 9
    assert {test.name for test in TESTS} == _MODELS.keys()
    assert [test.number for test in TESTS] == list(range(1, 10))


@pytest.mark.parametrize("test", TESTS, ids=lambda test: test.name)
def test_each_says_how_with_what_and_what_to_mind(test) -> None:  # type: ignore[no-untyped-def]
    assert sum(test.how.count(mark) for mark in ".:;") >= 2 and len(test.how) < 420
    assert test.cautions and test.narrows and test.needs and test.asks
    assert "safe" not in f"{test.how} {' '.join(test.cautions)}".lower()


@pytest.mark.parametrize("name", ["pull", "runout", "circle", "tap", "thrust"])
def test_where_hands_are_near_the_spindle_is_stopped_and_isolated(name: str) -> None:
    assert STILL in the_test(name).cautions


def test_a_test_is_found_by_name_or_number() -> None:
    assert the_test("3").name == "circle"
    with pytest.raises(NameUnknown, match="no test"):
        the_test("ten")
