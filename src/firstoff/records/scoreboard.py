"""How often a cut that was called good was good: what it was called then beside what was said at the machine."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np

from ..belief import Belief
from ..checks.base import Case, Observation
from .called import EVERY, noticed


class Score(NamedTuple):
    """Cuts of which a word was recorded: how many, called good before the word was said, and good of those."""

    cuts: int
    called: int
    were: int


def score(cuts: Iterable[tuple[Case, Observation, float | None]], book: Belief) -> Score:
    """What cuts were called beside the words.

    Args:
        cuts: each case with each word that was recorded of it, and the chance that was told of it then; None for a
            record that does not say: then what the book has, which has seen none of these cuts.
        book: book figures.

    Returns:
        The counts; a cut is called good where the chance of anything that a person would notice is at most that of
        the shop's 'good'.
    """
    by_book: dict[int, bool] = {}
    few = book.thinned(np.arange(0, book.rows, EVERY)).wordless()      # as when a record keeps what it was called
    many = good = were = 0
    for case, word, then in cuts:
        if then is None and id(case) not in by_book:
            chance = noticed(case, few)
            by_book[id(case)] = chance is not None and chance <= case.shop.good
        called = by_book[id(case)] if then is None else then <= case.shop.good
        many += 1
        good += called
        were += called and word.word == "ok"
    return Score(many, good, were)


def told(score: Score) -> str:
    """In a sentence: "of 50 cuts 42 were called good, and 40 were"."""
    if not score.called:
        return f"of {score.cuts} cuts none was called good"
    was, were = ("was" if many == 1 else "were" for many in (score.called, score.were))
    return f"of {score.cuts} cuts {score.called} {was} called good, and {score.were} {were}"
