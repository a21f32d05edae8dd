"""How often what was called good was good."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from firstoff.checks.base import Observation
from firstoff.records.learn import _found
from firstoff.records.reading import Reading
from firstoff.records.scoreboard import Score, score, told

from . import made
from .made import FINISH, ROUGH

OK, SANG = Observation("word", word="ok"), Observation("word", word="sang")


def test_what_is_called_good_is_counted_beside_what_was() -> None:
    place = made.place("0.1 mm")
    cases = place.cases()
    timid = replace(cases[ROUGH], shop=place.shop.model_copy(update={"good": 0.999999}))
    strict = replace(cases[FINISH], shop=place.shop.model_copy(update={"good": 0.0}))
    book = made.book()
    assert score([(timid, OK), (timid, OK), (timid, SANG), (strict, OK)], book, _found) == Score(4, 3, 2)


def test_what_cannot_be_computed_is_not_called_good() -> None:
    case = made.place().cases()[ROUGH]
    assert score([(case, OK)], made.book(), lambda *_: None) == Score(1, 0, 0)


@pytest.mark.parametrize(("counts", "said"), [
    (Score(50, 42, 40), "of 50 cuts the book figures called 42 good, and 40 were"),
    (Score(5, 1, 1), "of 5 cuts the book figures called 1 good, and 1 was"),
    (Score(5, 0, 0), "of 5 cuts the book figures called none good"),
])
def test_told(counts: Score, said: str) -> None:
    assert told(counts) == said


def test_a_record_counts_once(tmp_path: Path) -> None:
    """'ok' speaks to many checks and is one cut."""
    learned = made.learn(tmp_path, *[Reading(ROUGH, word="ok")] * 5, Reading(ROUGH, word="sang"))
    assert any(line.startswith("of 6 cuts the book figures called ") for line in learned.sentences)
