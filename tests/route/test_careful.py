"""The careful first cut: the cheapest that all rows let pass, and the calmest where none does."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import count
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from firstoff.job.route import Cut
from firstoff.route import careful as room
from firstoff.tomlfile import KEPT

_numbers = count(1)


def some_cut() -> Cut:
    """A cut that no other is."""
    return Cut.model_validate({"feed_per_tooth": 0.001 * next(_numbers)}, context=KEPT)


@dataclass
class Looked:
    """A candidate of which the few rows and all rows say so much."""

    few: float
    every: float
    money: float
    cut: Cut = field(default_factory=some_cut)

    @property
    def case(self) -> Looked:
        return self

    @property
    def op(self) -> Looked:
        return self

    @property
    def look(self) -> Looked:
        return self

    @property
    def p_spoil(self) -> float:
        return self.few

    def of(self, _check: str) -> Any:
        return SimpleNamespace(p_fail=self.few)

    def within(self, most: float) -> bool:
        return self.few <= most

    def cost(self, _weight: float, *, most: float = 0.0) -> float:
        del most
        return self.money


class Tried:
    """A chooser that has looked at some."""

    search = SimpleNamespace(fixed=frozenset({"depth_of_cut"}))

    def __init__(self, *tried: Looked) -> None:
        self.tried = tried


class Rows:
    """A belief; what it says is what a candidate says itself."""

    rows = 1

    def wordless(self) -> Rows:
        return self

    def thinned(self, _rows: object) -> Rows:
        return Part()


class Part(Rows):
    """Some of its rows."""


class OnAllRows:
    def __init__(self, p_spoil: float) -> None:
        self.p_spoil = p_spoil

    def of(self, _check: str) -> Any:
        return SimpleNamespace(p_fail=self.p_spoil or None)


@pytest.fixture(autouse=True)
def all_rows(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(room, "look_now", lambda case, _belief: OnAllRows(case.every))
    monkeypatch.setattr(room, "_calmer", lambda pair, _allowed: [pair])
    monkeypatch.setattr(room, "is_brief", lambda _case, _belief: False)
    monkeypatch.setattr(room, "depth_over_limit", lambda _case, _belief: np.zeros(1))


def taken(*tried: Looked, allowed: float = 0.05) -> Looked:
    choosers: Any = [Tried(*tried[::2]), Tried(*tried[1::2])] if len(tried) > 1 else [Tried(*tried)]
    rows: Any = Rows()
    found: Any = room.careful(choosers, rows, allowed)[1]
    assert isinstance(found, Looked)
    return found


def test_the_cheapest_within_the_chance() -> None:
    dear, cheap, risky = Looked(0.01, 0.01, 9.0), Looked(0.03, 0.03, 4.0), Looked(0.3, 0.3, 1.0)
    assert taken(dear, cheap, risky) is cheap


def test_all_rows_have_the_last_word() -> None:
    flips, calm = Looked(0.02, 0.20, 1.0), Looked(0.004, 0.01, 5.0)
    assert taken(flips, calm) is calm


def test_few_rows_that_say_a_little_too_much_do_not_decide() -> None:
    assert taken(Looked(0.055, 0.045, 1.0), Looked(0.01, 0.01, 3.0)).money == 1.0


def test_where_nothing_is_calm_enough_the_calmest() -> None:
    worst, calmest = Looked(0.6, 0.6, 1.0), Looked(0.2, 0.25, 9.0)
    assert taken(worst, calmest) is calmest


def test_one_that_all_rows_find_calmer_is_not_given_up_for_one_that_the_few_do() -> None:
    near, few_say = Looked(0.05, 0.06, 1.0), Looked(0.04, 0.09, 2.0)
    assert taken(near, few_say) is near


def test_what_a_part_of_the_rows_finds_far_too_risky_is_not_asked_of_all(monkeypatch: pytest.MonkeyPatch) -> None:
    risky, close, calm = Looked(0.03, 0.2, 1.0), Looked(0.005, 0.055, 2.0), Looked(0.003, 0.03, 5.0)
    asked: list[tuple[Looked, bool]] = []

    def looked(case: Looked, belief: Rows) -> OnAllRows:
        asked.append((case, isinstance(belief, Part)))
        return OnAllRows(case.every)

    monkeypatch.setattr(room, "look_now", looked)
    assert taken(risky, close, calm) is calm
    assert [case for case, part in asked if not part] == [close, calm]
    assert all((case, True) in asked for case in (risky, close, calm))


def test_what_sings_too_often_and_cannot_be_shallower_is_asked_of_no_part(monkeypatch: pytest.MonkeyPatch) -> None:
    loud, calm = Looked(0.055, 0.045, 1.0), Looked(0.01, 0.03, 5.0)
    monkeypatch.setattr(room, "_singing", lambda pair, _rows: np.ones(1) if pair[1] is loud else np.full(1, 1e-3))
    monkeypatch.setattr(room, "_as_deep", lambda pair, _times: pair)
    asked: list[Looked] = []

    def looked(case: Looked, _belief: Rows) -> OnAllRows:
        asked.append(case)
        return OnAllRows(case.every)

    monkeypatch.setattr(room, "look_now", looked)
    assert taken(loud, calm) is calm and loud not in asked


def test_one_that_may_flip_is_asked_of_all_rows_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[bool] = []
    monkeypatch.setattr(room, "is_brief", lambda _case, _belief: True)

    def looked(case: Looked, belief: Rows) -> OnAllRows:
        asked.append(isinstance(belief, Part))
        return OnAllRows(case.every)

    monkeypatch.setattr(room, "look_now", looked)
    calm = Looked(0.01, 0.03, 5.0)
    assert taken(calm) is calm and asked == [False]


def test_of_those_nearly_as_calm_the_cheapest() -> None:
    """Passes of a twentieth for a chance of 1 in 6 instead of 1 in 5 are of no use."""
    thin, usual, deep = Looked(0.16, 0.16, 9.0), Looked(0.19, 0.19, 2.0), Looked(0.4, 0.4, 1.0)
    assert taken(thin, usual, deep) is usual


def test_beside_what_cannot_be_helped_there_is_no_more_room_than_is_allowed() -> None:
    """A built-up edge in 7 of 10 is no reason for a cut that sings, too."""
    quiet, loud = Looked(0.70, 0.70, 9.0), Looked(0.80, 0.80, 1.0)
    assert taken(quiet, loud) is quiet
    assert room._nearly(0.06, 0.05) == pytest.approx(room.NEARLY * 0.06)
    assert room._nearly(0.7, 0.05) == pytest.approx(0.715)


def test_where_the_few_rows_say_too_little_it_looks_again(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[float] = []
    calm = Looked(0.01, 0.03, 6.0)

    def calmer(_pair: object, allowed: float) -> list[Any]:
        asked.append(allowed)
        return [(Tried(calm), calm)]

    monkeypatch.setattr(room, "_calmer", calmer)
    assert taken(Looked(0.03, 0.09, 1.0)) is calm
    assert asked == [pytest.approx(0.05 * 0.03 / 0.09)]


def test_what_cannot_be_said_on_all_rows_is_not_calm() -> None:
    unknown, known = Looked(0.02, 0.0, 1.0), Looked(0.03, 0.04, 5.0)
    assert taken(unknown, known) is known


def test_one_cut_at_several_depths() -> None:
    shallow, deep = (Looked(0.1, 0.1, 1.0, Cut.model_validate({"depth_of_cut": d, "width_of_cut": 1.0}, context=KEPT))
                     for d in (0.1, 0.2))
    narrow = Looked(0.1, 0.1, 1.0, Cut.model_validate({"depth_of_cut": 0.2, "width_of_cut": 0.5}, context=KEPT))
    pairs: list[Any] = [(Tried(), one) for one in (shallow, deep, narrow)]
    assert room._one_cut(pairs[0], pairs[1]) and not room._one_cut(pairs[1], pairs[2])
    assert room._no_shallower(pairs[1], pairs[0]) and not room._no_shallower(pairs[0], pairs[1])


def test_what_all_rows_were_asked_is_not_asked_of_a_part_again(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[object] = []
    order = np.linspace(2.0, 1.0, 1024)

    def singing(_pair: object, rows: object) -> Any:
        asked.append(rows)
        return order

    monkeypatch.setattr(room, "_singing", singing)
    belief: Any = Rows()
    rows = room._AllRows(belief, lambda case: case, 0.05)
    first, other = (Looked(0.01, 0.01, 1.0) for _ in range(2))
    pairs: list[Any] = [(Tried(one), one) for one in (first, other)]
    part = rows.part(pairs[0])
    assert asked == [rows]
    known = part.singing(pairs[0])
    assert known is not None and np.array_equal(known, order[np.sort(np.argsort(order)[1::2])]) and asked == [rows]
    part.singing(pairs[1])
    assert asked == [rows, part] and rows.part(pairs[1]) is part
