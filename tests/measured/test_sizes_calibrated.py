"""Of sizes that are said to be out once in so many, as many are: parts made at random from shops as believed."""

from __future__ import annotations

import numpy as np

from firstoff.belief import Belief
from firstoff.checks._sizes import sized
from firstoff.checks.base import Case
from firstoff.checks.size import bounds, chance_by_row, expected
from tests.dryrun import stacked

PARTS = 4000
BINS = np.array([0.0, 0.02, 0.05, 0.1, 0.2, 0.3, 0.4, 0.55, 0.7, 0.85, 1.0])


def made(case: Case, belief: Belief, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Chance by row, and whether a part of that row came out wrong at any corner, each source drawn anew."""
    limit = case.limit
    assert limit is not None
    low, high = bounds(limit)
    p = chance_by_row(expected(case, belief), belief, low, high)
    found = sized(case, limit, belief)
    pick = rng.integers(0, belief.rows, PARTS)
    wide = belief.value("discrepancy:size", "factor")[pick]
    off = np.zeros((PARTS, len(found.corners)))
    for name in found.names():
        source = found.sources[name]
        rows = source.rows(belief)[pick]
        value = rows if source.lasting else wide * rows * rng.standard_normal(PARTS)
        off += value[:, None] * np.array([line.get(name, 0.0) for line in found.corners])
    return p[pick], np.asarray(((off < low) | (off > high)).any(axis=1))


def test_chances_are_what_happens() -> None:
    rng = np.random.default_rng(6)
    said, out = [], []
    for band in (0.08, 0.05, 0.03, 0.02, 0.015, 0.01, 0.005):
        for case in stacked.cases(stacked.job(f"±{band} mm")):
            if case.limit is not None:
                p, wrong = made(case, stacked.belief(), rng)
                said.append(p)
                out.append(wrong)
    chances, happened = np.concatenate(said), np.concatenate(out)
    place = np.clip(np.digitize(chances, BINS) - 1, 0, 9)
    for k in range(10):
        here = place == k
        assert here.sum() > 100, "every bin is tried"
        expected_share = chances[here].mean()
        error = np.sqrt(max(expected_share * (1.0 - expected_share), 1e-4) / here.sum())
        assert abs(happened[here].mean() - expected_share) < 3.0 * error + 0.01, (k, expected_share)
