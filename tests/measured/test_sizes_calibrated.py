"""Of sizes that are said to be out once in so many, as many are: parts made at random from shops as believed."""

from __future__ import annotations

import numpy as np
import pytest

from firstoff.belief import Belief
from firstoff.checks._sizes import sized
from firstoff.checks.base import Case
from firstoff.checks.size import bounds, chance_by_row, expected
from tests.dryrun import stacked
from tests.published import agrees

PARTS = 4000
SHOPS = 20_000
BANDS = (0.08, 0.06, 0.05, 0.04, 0.035, 0.03, 0.025, 0.02, 0.018, 0.015, 0.012, 0.01, 0.008, 0.005)
BINS = np.array([0.0, 0.02, 0.05, 0.1, 0.2, 0.3, 0.4, 0.55, 0.7, 0.85, 1.0])


def limits() -> list[Case]:
    """Three sizes of a block, each with limits from wide to narrow."""
    return [case for band in BANDS for case in stacked.cases(stacked.job(f"±{band} mm")) if case.limit is not None]


def made(case: Case, belief: Belief, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Chance by row, and whether a part of that row came out wrong at any corner, each source drawn anew."""
    limit = case.limit
    assert limit is not None
    p = chance_by_row(expected(case, belief), belief, *bounds(limit))
    pick = rng.integers(0, belief.rows, PARTS)
    return p[pick], drawn(case, belief, pick, rng)


def drawn(case: Case, belief: Belief, pick: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Whether a part of each of these rows comes out wrong at any corner."""
    limit = case.limit
    assert limit is not None
    low, high = bounds(limit)
    found = sized(case, limit, belief)
    wide = belief.value("discrepancy:size", "factor")[pick]
    off = np.zeros((len(pick), len(found.corners)))
    for name in found.names():
        source = found.sources[name]
        rows = source.rows(belief)[pick]
        value = rows if source.lasting else wide * rows * rng.standard_normal(len(pick))
        off += value[:, None] * np.array([line.get(name, 0.0) for line in found.corners])
    return np.asarray(((off < low) | (off > high)).any(axis=1))


def two_standard_errors(deviations: np.ndarray) -> None:
    """Of ten bins all lie within two standard errors but for the one in twenty that may not: none by three."""
    assert deviations.shape == (10,) and (np.abs(deviations) > 2.0).sum() <= 1 and np.abs(deviations).max() < 3.0, (
        np.round(deviations, 2))
    assert float((deviations**2).sum()) < 18.3, "all together, by chance once in twenty (chi squared of ten)"


def bins(chances: np.ndarray) -> np.ndarray:
    """In which of ten bins each chance lies."""
    place = np.clip(np.digitize(chances, BINS) - 1, 0, 9)
    assert min((place == k).sum() for k in range(10)) > 0, "every bin is tried"
    return np.asarray(place)


def test_chances_are_what_happens() -> None:
    """Each part of its own shop, whose chance is known: parts are out or not for themselves."""
    rng = np.random.default_rng(6)
    said, out = [], []
    for case in limits():
        p, wrong = made(case, stacked.belief(), rng)
        said.append(p)
        out.append(wrong)
    chances, happened = np.concatenate(said), np.concatenate(out)
    place = bins(chances)
    for k in range(10):
        here = place == k
        error = float(np.sqrt((chances[here] * (1.0 - chances[here])).sum())) / here.sum()
        is_out, told = float(happened[here].mean()), float(chances[here].mean())
        off = f"{(told - is_out) / error:+.1f} standard errors"
        agrees("stack", f"parts of simulated shops said to be out {BINS[k]:.0%} to {BINS[k + 1]:.0%}, {here.sum()} "
               f"of them: share that is ({off})", "own", is_out, told, "", within=3.0 * error, absolute=True)
    two_standard_errors(np.array([
        (happened[place == k] - chances[place == k]).sum()
        / np.sqrt((chances[place == k] * (1.0 - chances[place == k])).sum()) for k in range(10)]))


def test_chances_that_are_told_are_what_happens_in_shops_drawn_at_random() -> None:
    """What is told beforehand, when nobody knows the shop: all that one shop makes shares its errors.

    So each shop counts once: the standard error is that of what whole shops are off by.
    """
    rng, believed = np.random.default_rng(7), stacked.belief()
    shops = rng.integers(0, believed.rows, SHOPS)
    told, out = [], []
    for case in limits():
        limit = case.limit
        assert limit is not None
        came = expected(case, believed)
        told.append(float(chance_by_row(came, believed, *bounds(limit)).mean()))
        out.append(drawn(case, believed, shops, rng))
    place, wrong = bins(np.array(told)), np.array(out, dtype=float)
    off = wrong - np.array(told)[:, None]
    two_standard_errors(np.array([
        off[place == k].sum(axis=0).mean() * np.sqrt(SHOPS) / off[place == k].sum(axis=0).std() for k in range(10)]))


def test_a_chance_by_row_is_told_apart_from_one_of_the_typical_row() -> None:
    """Errors that grow together in one shop and not in another make corners go out together there."""
    case = next(c for c in limits() if c.name == "height")
    believed, rng = stacked.belief(), np.random.default_rng(8)
    limit = case.limit
    assert limit is not None
    p = chance_by_row(expected(case, believed), believed, *bounds(limit))
    happened = np.mean([drawn(case, believed, np.arange(believed.rows), rng) for _ in range(400)], axis=0)
    assert p.mean() == pytest.approx(happened.mean(), abs=3e-3)
    assert np.abs(p - happened).mean() < 0.03
