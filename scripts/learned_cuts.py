"""Learning from 40 rated cuts of a tool, scored on its other experiments, beside a regression on the same cuts.

    python scripts/learned_cuts.py

The physics, its spreads and what it may get wrong are frozen below, before any score was looked at. Rows are weighed
by the likelihood of the words, lapses allowed for; the page says how many rows that leaves. The regression is
that of chatter_cuts.py.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import NamedTuple

import chatter_cuts
import numpy as np
from chatter_cuts import SHARED, Array, Book, Rated, brier, features, logistic, rated
from validate import PAGE, place

from firstoff.checks._chance import OPERATION_SCATTER
from firstoff.checks.base import LAPSE
from firstoff.normal import normal_cdf

ROWS, DRAWS, TRAIN, OWN = 16384, 50, 40, 8
#: what the physics may get wrong, one standard deviation of the logarithm of depth over limit; judged, wide
OFFSET = {"everywhere": np.log(3.0), "up against down": np.log(3.0), "by experiment": np.log(1.3)}
#: how much stiffer the machine may be across the feed than along it, ditto
ACROSS = np.log(2.0)


class Scores(NamedTuple):
    """Brier scores of one draw: learned physics, regression, the mean of both; with eight cuts of the same job."""

    learned: float
    regression: float
    both: float
    own_learned: float
    own_regression: float
    effective: float


class Draw(NamedTuple):
    """A draw: what is trained on, what is scored, by index."""

    train: Array
    test: Array


def ratios(cuts: Sequence[Rated]) -> Array:
    """Logarithm of depth over limit, what the physics gets wrong included, shape (cuts, rows)."""
    chatter_cuts.ROWS = ROWS
    rng = np.random.default_rng(3)
    book = Book(1.0, True)
    book.stiffer = np.exp(ACROSS * rng.standard_normal(ROWS))
    known: dict[tuple[object, ...], Array] = {}
    for cut in cuts:
        key = _key(cut)
        if key not in known:
            known[key] = np.log(np.maximum(book.over(cut), 1e-12)).astype(np.float32)
    lean, everywhere = (OFFSET[name] * rng.standard_normal(ROWS) for name in ("up against down", "everywhere"))
    by = {name: OFFSET["by experiment"] * rng.standard_normal(ROWS) for name in sorted({c.experiment for c in cuts})}
    return np.stack([known[_key(c)] + everywhere + (0.5 if c.up else -0.5) * lean + by[c.experiment] for c in cuts])


def _key(cut: Rated) -> tuple[object, ...]:
    return cut.diameter, cut.setup, cut.material, cut.speed, cut.up, cut.depth, cut.width


def learned(chance: Array, sang: Array, train: Array) -> tuple[Array, float]:
    """Chance of every cut after learning from some, and how many rows are left to speak."""
    p = chance[train]
    log_w = np.sum(np.where(sang[train, None] > 0.5, np.log(p), np.log1p(-p)), axis=0)
    w = np.exp(log_w - log_w.max())
    w /= w.sum()
    return chance @ w, float(1.0 / np.sum(w**2))


def regressed(x: Array, y: Array, train: Array) -> Array:
    """Chance of every cut by a regression on some."""
    weights, centre, spread = logistic(x[train], y[train])
    return np.asarray(1.0 / (1.0 + np.exp(-(weights[0] + ((x - centre) / spread) @ weights[1:]))))


def draw(groups: Array, rng: np.random.Generator) -> Draw:
    """Forty cuts out of as few experiments as hold them, and all cuts of the others."""
    order = rng.permutation(np.unique(groups))
    train: list[int] = []
    many = 0
    for group in order:
        many += 1
        train += list(rng.permutation(np.flatnonzero(groups == group)))
        if len(train) >= TRAIN:
            break
    return Draw(np.array(train[:TRAIN]), np.flatnonzero(np.isin(groups, order[many:])))


def scored(chance: Array, x: Array, y: Array, groups: Array, rng: np.random.Generator) -> tuple[Scores, Draw, Array]:
    """One draw, and the difference of the squared errors of each tested cut."""
    of = draw(groups, rng)
    p, effective = learned(chance, y, of.train)
    q = regressed(x, y, of.train)
    worse = (p - y) ** 2 - (q - y) ** 2
    own = [_own(chance, x, y, of, np.flatnonzero(groups == name), rng) for name in np.unique(groups[of.test])]
    parts = np.concatenate(own, axis=1)
    t = of.test
    return Scores(brier(p[t], y[t]), brier(q[t], y[t]), brier((p[t] + q[t]) / 2, y[t]), *parts.mean(axis=1),
                  effective), of, worse


def _own(chance: Array, x: Array, y: Array, of: Draw, here: Array, rng: np.random.Generator) -> Array:
    """Squared errors of both in an experiment of which eight cuts were heard, too."""
    here = rng.permutation(here)
    train, rest = np.concatenate([of.train, here[:OWN]]), here[OWN:]
    p, q = learned(chance, y, train)[0], regressed(x, y, train)
    return np.stack([(p[rest] - y[rest]) ** 2, (q[rest] - y[rest]) ** 2])


def interval(worse: dict[str, list[float]], rng: np.random.Generator) -> tuple[float, float]:
    """95 % of the mean difference, experiments drawn again: cuts of one are alike."""
    means = np.array([np.mean(values) for values in worse.values()])
    again = rng.choice(means, (4000, len(means))).mean(axis=1)
    low, high = np.percentile(again, [2.5, 97.5])
    return float(low), float(high)


def _said(low: float, high: float) -> str:
    """What an interval of the difference says."""
    return "level" if low < 0.0 < high else "better" if high <= 0.0 else "worse"


def table(cuts: list[Rated]) -> list[str]:
    """A row for each tool."""
    out = []
    for name, big in (("1/2 inch", True), ("1/4 inch", False)):
        some = [c for c in cuts if (c.diameter > 0.01) == big]
        y, groups = np.array([float(c.sang) for c in some]), np.array([c.experiment for c in some])
        over = ratios(some)
        chance = LAPSE + (1 - 2 * LAPSE) * normal_cdf(over / OPERATION_SCATTER["stability"])
        rng, x = np.random.default_rng(17), features(some)
        worse: dict[str, list[float]] = {}
        scores = []
        for _ in range(DRAWS):
            score, of, differences = scored(chance, x, y, groups, rng)
            scores.append(score)
            for group in np.unique(groups[of.test]):
                worse.setdefault(str(group), []).append(float(differences[groups == group].mean()))
        s = np.mean(scores, axis=0)
        low, high = interval(worse, rng)
        difference = np.mean([np.mean(v) for v in worse.values()])
        out.append(f"| {name} | {len(some)}, {len(worse)} | {brier(chance.mean(axis=1), y):.3f} | {s[0]:.3f} | "
                   f"{s[1]:.3f} | {difference:+.3f} ({low:+.3f} to {high:+.3f}), {_said(low, high)} | {s[2]:.3f} | "
                   f"{s[3]:.3f} and {s[4]:.3f} | {s[5]:.0f} |")
    return out


def lines(cuts: list[Rated]) -> list[str]:
    """The section of the page."""
    words = textwrap.wrap(
        f"{TRAIN} cuts of a tool are learned from, and all cuts of its other experiments scored, {DRAWS} times. The "
        "physics is the book's, with what it may get wrong learned beside it: everywhere and up against down within "
        "x 3, from one experiment to the next within x 1.3, the machine stiffer across the feed within x 2; one word "
        "in twenty is a lapse. All of this was set before the first score. The regression is trained on the same "
        "cuts. The difference is that of squared errors, by experiment, below 0 where learned physics is better; its "
        "interval draws experiments again, since cuts of one are alike; where it holds 0 "
        "the two are level. 'Rows that speak' is how many rows the words leave "
        "effective; few make the score itself uncertain. This is not yet the number that `check` prints, whose "
        "figures have no offset of up against down, nor one by job.", 118)
    return ["## Chatter: learning from forty rated cuts", "", *words, "",
            "| tool | cuts, experiments | before learning | learned | regression | difference (95 %) | "
            "mean of both | with 8 cuts of the same job: learned, regression | rows that speak |",
            "|---|---|---|---|---|---|---|---|---|", *table(cuts)]


def main() -> int:
    """Writes the table."""
    path = SHARED / "measured" / "chatter_cuts.csv"
    if not path.exists():
        print(f"{path} is not there: set FIRSTOFF_SHARED to the folder of measured tables")
        return 1
    place(PAGE, "learned cuts", lines(rated(path)))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
