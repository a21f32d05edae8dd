"""How often a cut that was called good was good: the book's verdicts beside what was said at the machine."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import NamedTuple

import numpy as np

from ..belief import Belief
from ..checks.base import Case, Check, Finding, Observation
from ..dryrun.registry import all_checks

Found = Callable[[Check, Case, Belief], Finding | None]


class Score(NamedTuple):
    """Cuts of which a word was recorded: how many, called good before anything was learned, and good of those."""

    cuts: int
    called: int
    were: int


def score(cuts: Iterable[tuple[Case, Observation]], book: Belief, found: Found) -> Score:
    """Verdicts by the book, which has seen none of these cuts, beside the words.

    Args:
        cuts: each case with each word that was recorded of it.
        book: book figures.
        found: evaluates a check, None where it can't be computed.

    Returns:
        The counts; a cut is called good where the chance of anything that a person would notice is at most that of
        the shop's 'good'.
    """
    called: dict[int, bool] = {}
    many = good = were = 0
    for case, word in cuts:
        if id(case) not in called:
            called[id(case)] = _chance(case, book, found) <= case.shop.good
        many += 1
        good += called[id(case)]
        were += called[id(case)] and word.word == "ok"
    return Score(many, good, were)


def _chance(case: Case, book: Belief, found: Found) -> float:
    """That a person would notice anything; certain where nothing can be computed."""
    checks = [c for c in all_checks() if c.word and c.subject == case.subject and c.applies(case)]
    rows = [f.p_rows for f in (found(c, case, book) for c in checks) if f is not None and f.p_rows is not None]
    return float(1.0 - np.mean(np.prod([1.0 - p for p in rows], axis=0))) if rows else 1.0


def told(score: Score) -> str:
    """In a sentence: "of 50 cuts the book figures called 42 good, and 40 were"."""
    if not score.called:
        return f"of {score.cuts} cuts the book figures called none good"
    verb = "was" if score.were == 1 else "were"
    return f"of {score.cuts} cuts the book figures called {score.called} good, and {score.were} {verb}"
