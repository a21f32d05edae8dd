"""How often what was called good was good."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from firstoff.checks.base import Observation
from firstoff.records.reading import Reading
from firstoff.records.scoreboard import Score, score, told

from . import made
from .made import FINISH, ROUGH

OK, SANG = Observation("word", word="ok"), Observation("word", word="sang")


def test_what_was_called_good_then_counts_beside_what_was() -> None:
    case, book = made.place("0.1 mm").cases()[ROUGH], made.book()
    cuts = [(case, OK, 0.004), (case, SANG, 0.01), (case, OK, 0.011), (case, OK, 0.9)]
    assert score(cuts, book) == Score(4, 2, 1)


def test_a_record_that_does_not_say_is_called_by_the_book() -> None:
    place = made.place("0.1 mm")
    cases = place.cases()
    timid = replace(cases[ROUGH], shop=place.shop.model_copy(update={"good": 0.999999}))
    strict = replace(cases[FINISH], shop=place.shop.model_copy(update={"good": 0.0}))
    cuts = [(timid, OK, None), (timid, OK, None), (timid, SANG, None), (strict, OK, None)]
    assert score(cuts, made.book()) == Score(4, 3, 2)


@pytest.mark.parametrize(("counts", "said"), [
    (Score(50, 42, 40), "of 50 cuts 42 were called good, and 40 were"),
    (Score(5, 1, 1), "of 5 cuts 1 was called good, and 1 was"),
    (Score(5, 0, 0), "of 5 cuts none was called good"),
])
def test_told(counts: Score, said: str) -> None:
    assert told(counts) == said


def test_a_record_counts_once(tmp_path: Path) -> None:
    """'ok' speaks to many checks and is one cut."""
    learned = made.learn(tmp_path, *[Reading(ROUGH, word="ok")] * 5, Reading(ROUGH, word="sang"))
    assert any(line.startswith("of 6 cuts ") for line in learned.sentences)
