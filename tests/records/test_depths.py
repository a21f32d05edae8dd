"""How deep a cut may be, by the book and by what was learned."""

from __future__ import annotations

from pathlib import Path

import pytest

from firstoff.belief import Belief
from firstoff.checks.base import Case, Check, Finding, Spread
from firstoff.records import depths
from firstoff.records.called import found
from firstoff.records.depths import DEPTHS, deepest, sentences
from firstoff.records.reading import Reading

from . import made
from .made import FINISH, ROUGH


def until(limit: float) -> depths.Found:
    """Every check fails for sure beyond a depth, and never before it."""
    def found(check: Check, case: Case, belief: Belief) -> Finding:
        here = case.op.cut.depth_of_cut or 0.0
        fails = belief.z(("a", "b")) * 0.0 + (1.0 if here > limit else 0.0)
        return Finding(check.name, "operation", case.name, "part", fails, Spread.of(here), Spread.of(limit), "mm", "")
    return found


@pytest.mark.parametrize("limit", [0.3, 0.7, 1.0, 2.2, 9.0, 0.1])
def test_the_deepest_that_is_good(limit: float) -> None:
    case = made.place("1 mm").cases()[ROUGH]
    right = max((d for d in DEPTHS if 0.25 <= d <= 4.0 and d <= limit), default=None)
    assert deepest(case, made.book(), until(limit)) == right


def test_it_is_good_by_every_check_on_all_rows() -> None:
    case = made.place("0.2 mm").cases()[FINISH]
    book = made.book()
    depth = deepest(case, book, found)
    if depth is not None:
        assert depths._good(case, book, depth, found)


def test_a_change_is_a_sentence_and_none_is_none() -> None:
    case = made.place("1 mm").cases()[ROUGH]
    book, other = made.book(), made.book(material_steel__tangential=1.9)
    shallow, deep = until(0.6), until(0.75)

    def found(check: Check, case: Case, belief: Belief) -> Finding | None:
        law = belief.columns["material:steel", "tangential"].transform
        return (deep if law == other.columns["material:steel", "tangential"].transform else shallow)(
            check, case, belief)

    assert sentences([case], book, other, found) == [
        f"{ROUGH}: good to 0.6 mm deep by the book, now good to 0.75 mm deep"]
    assert sentences([case], book, book, found) == []
    assert sentences([], book, other, found) == []


def test_many_quiet_cuts_let_it_go_deeper(tmp_path: Path) -> None:
    case = made.place("0.2 mm").cases()[FINISH]
    learned = made.learn(tmp_path, *[Reading(FINISH, word="ok")] * 12, at=made.place("0.2 mm"))
    was, now = (deepest(case, belief, found) or 0.0 for belief in (made.book(), made.after(learned)))
    assert now >= was
