"""What a cut was called when its word was recorded, as the figures of that day had it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from firstoff.belief import Belief
from firstoff.checks.base import Case, Check, Finding
from firstoff.dryrun.walk import walk
from firstoff.records.called import as_cut, as_fed, called, found, in_scrap, noticed
from firstoff.records.reading import Reading
from firstoff.records.store import CALLED, Record, open_store

from . import made
from .made import FINISH, ROUGH


def logged(folder: Path, said: Reading) -> tuple[Record, made.Place]:
    place = made.place()
    with open_store(folder) as store:
        (record,) = place.log(store, said)
    return record, place


def told(record: Record, place: made.Place, by: Belief | None = None) -> dict[str, str]:
    return called(record, place.job, place.shop, place.route, place.parts, by or made.book())


def test_a_word_keeps_the_chance_that_was_told_of_its_cut(tmp_path: Path) -> None:
    record, place = logged(tmp_path, Reading(ROUGH, word="ok"))
    chance = float(told(record, place)[CALLED])
    whole = noticed(place.cases()[ROUGH], made.book())
    assert whole is not None and 0.05 < whole <= 1.0
    assert chance == pytest.approx(whole, abs=0.04)


def test_watts_keep_none(tmp_path: Path) -> None:
    assert told(*logged(tmp_path, Reading(ROUGH, watts="120 W", idle="60 W"))) == {}


def test_what_was_learned_before_counts(tmp_path: Path) -> None:
    """The same cut is called better once it went well so often: the word is scored by what was told that day."""
    record, place = logged(tmp_path, Reading(FINISH, word="ok"))
    learned = made.after(made.learn(tmp_path / "learned", *[Reading(FINISH, word="ok")] * 12))
    assert float(told(record, place, learned)[CALLED]) < 0.7 * float(told(record, place)[CALLED])


def test_a_cut_is_called_as_it_was_fed() -> None:
    route = made.place().route
    half = as_fed(route, ROUGH, 0.5).operations[ROUGH].cut.feed_per_tooth
    assert half == pytest.approx(0.5 * (route.operations[ROUGH].cut.feed_per_tooth or 0.0))
    assert as_fed(route, "nothing", 0.5) is route


@pytest.mark.parametrize("depth", ["0.5 mm", "1/8 in"])
def test_a_trial_in_scrap_is_called_as_deep_as_it_was_cut(tmp_path: Path, depth: str) -> None:
    """Deeper, too, than there is to take off the part: the cutter stands so deep in every window."""
    record, place = logged(tmp_path, Reading(ROUGH, word="sang", depth=depth, scrap=True))
    assert in_scrap(record)
    (case,) = (c for c in walk(place.job, place.shop, as_cut(place.route, record), place.parts)
               if c.subject == "operation" and c.name == ROUGH)
    assert case.windows is not None
    assert case.windows.depth == pytest.approx({"0.5 mm": 0.5, "1/8 in": 3.175}[depth])
    chance = noticed(case, made.book(), scrap=True)
    assert float(told(record, place)[CALLED]) == pytest.approx(chance, abs=0.04)


def test_in_scrap_the_hold_of_the_part_does_not_count(monkeypatch: pytest.MonkeyPatch) -> None:
    """A trial in scrap is called as if the part were held for sure: no check is asked of whose trouble that is."""
    asked: list[str] = []

    def spy(check: Check, case: Case, belief: Belief) -> Finding | None:
        asked.append(check.word)
        return found(check, case, belief)

    monkeypatch.setattr("firstoff.records.called.found", spy)
    case = made.place().cases()[ROUGH]
    noticed(case, made.book())
    whole = asked.copy()
    noticed(case, made.book(), scrap=True)
    assert "moved" in whole and asked[len(whole):] == [word for word in whole if word != "moved"]


def test_what_cannot_be_computed_has_no_chance() -> None:
    assert noticed(replace(made.place().cases()[ROUGH], windows=None), made.book()) is None


def test_sent_again_after_learning_it_is_the_same_record(tmp_path: Path) -> None:
    record, _ = logged(tmp_path, Reading(ROUGH, word="ok", id="0123456789abcdef0123456789abcdef"))
    with open_store(tmp_path) as store:
        store.add(replace(record, conditions={**record.conditions, CALLED: "0.5"}))
        assert len(store.all()) == 1
