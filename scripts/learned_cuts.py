"""Learning from 40 rated cuts of a tool, scored on its other experiments, beside a regression on the same cuts.

    python scripts/learned_cuts.py [DRAWS]

The cuts are words in records, learned from as `learn` does, and what is scored is the number that `check` prints: the
chatter check of a shop that has this machine, with what was learned. Machine and stickout are not printed and are
judged; the rest is the book's. Some 100 variants of what the physics may get wrong were scored on these cuts before
this one was settled, and the page says so; the regression is that of chatter_cuts.py.
"""

from __future__ import annotations

import math
import sys
import tempfile
import textwrap
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import NamedTuple

import numpy as np
from chatter_cuts import MATERIAL, MM, OUT, SHARED, TURN, Array, Rated, brier, features, logistic, rated
from validate import PAGE, place

from firstoff.belief import LASTING, Belief
from firstoff.checks.base import Case, Finding, Observation, word_loglik
from firstoff.checks.chatter import CHECK
from firstoff.job.route import Cut
from firstoff.records.learn import Evidence, posterior_of
from firstoff.route.lone import Block, lone_case
from firstoff.shop.columns import columns_of
from firstoff.shop.library import load_shop
from firstoff.shop.models import Shop
from firstoff.work import quiet

ROWS, DRAWS, TRAIN, OWN = 512, 50, 40, 8
#: the machine that rated the cuts: judged, as is how far its cutters stand out
SHOP = """
name = "a machining centre"

[use]
tools = ["end_mill_6_2f"]

[collets.chuck]
name = "chuck"
grips = ["3 mm", "16 mm"]
runout = { value = "0.005 mm", factor = 2, source = "judged" }
stiffness = { value = "100 N/um", factor = 2, source = "judged" }

[machines.centre]
name = "machining centre"
like = "knee"
collets = ["chuck"]
mode_frequency = { value = "200 Hz", factor = 2, source = "judged" }
nose_mass = { value = "2 kg", factor = 2, source = "judged" }
[machines.centre.spindle]
slowest = "100 rpm"
fastest = "15000 rpm"
power = { value = "10 kW", factor = 2, source = "judged" }
[machines.centre.stiffness]
x = { value = "20 N/um", factor = 2, source = "judged" }
y = { value = "20 N/um", factor = 2, source = "judged" }
z = { value = "40 N/um", factor = 2, source = "judged" }

[tools.half]
name = "end mill 1/2 in"
kind = "end_mill"
material = "carbide"
diameter = "12.7 mm"
flutes = 5
flute_length = "32 mm"
overall_length = "90 mm"

[tools.quarter]
name = "end mill 1/4 in"
kind = "end_mill"
material = "carbide"
diameter = "6.35 mm"
flutes = 2
flute_length = "19 mm"
overall_length = "60 mm"
"""


class Scores(NamedTuple):
    """Brier scores of one draw: learned checks, regression, the mean of both; with eight cuts of the same job."""

    learned: float
    regression: float
    both: float
    own_learned: float
    own_regression: float
    settled: float


class Draw(NamedTuple):
    """A draw: what is trained on, what is scored, by index."""

    train: Array
    test: Array


@cache
def shop() -> Shop:
    """The shop that has this machine."""
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "shop.toml").write_text(SHOP, encoding="utf-8")
        return load_shop(Path(folder))


def book() -> Belief:
    """Book figures of it."""
    return Belief.of(columns_of(shop()), rows=ROWS)


@cache
def case_of(cut: Rated) -> Case:
    """A rated cut as a check sees it; the same cut made again is the same case."""
    tool = "half" if cut.diameter > 0.01 else "quarter"
    turn = cut.speed / TURN
    feed = cut.feed * 25.4 / 60.0 / turn / cut.teeth
    numbers = Cut().model_copy(update={
        "spindle_speed": cut.speed, "feed_per_tooth": feed, "depth_of_cut": cut.depth / MM,
        "width_of_cut": cut.width / MM, "direction": "conventional" if cut.up else "climb"})
    return lone_case(shop(), "centre", tool, MATERIAL[cut.material], "chuck", Block(cut.depth / MM, cut.width / MM),
                     numbers, OUT[cut.setup] / MM)


class Cuts:
    """Rated cuts of one tool; those that are the same cut have the same case."""

    def __init__(self, cuts: Sequence[Rated]) -> None:
        keys = [(c.setup, c.material, c.speed, c.feed, c.up, c.depth, c.width) for c in cuts]
        first = {key: i for i, key in reversed(list(enumerate(keys)))}
        self.kind = np.array([first[key] for key in keys])
        self.cases = {i: case_of(cuts[i]) for i in sorted(set(self.kind))}
        self.sang = np.array([float(c.sang) for c in cuts])
        self.group = np.array([c.experiment for c in cuts])
        self.plain = features(list(cuts))

    def learned(self, train: Array) -> tuple[Belief, bool]:
        """What is believed after some of them."""
        seen: dict[int, list[tuple[str, Observation]]] = {}
        for i in train:
            said = str(i), Observation("word", word=_word(self.sang[i]))
            seen.setdefault(int(self.kind[i]), []).append(said)
        evidence = [Evidence(CHECK, self.cases[kind], tuple(said)) for kind, said in seen.items()]
        by = book()
        found = posterior_of(evidence, by, quiet)
        lasting = {key: rows for key, rows in found.moved.items() if by.columns[key].level in LASTING}
        return by.wordless().with_moved(lasting), found.settled

    def found(self, belief: Belief, which: Array) -> dict[int, Finding]:
        """What the check finds of each different cut."""
        return {int(kind): CHECK.evaluate(self.cases[int(kind)], belief) for kind in sorted(set(self.kind[which]))}


def regressed(cuts: Cuts, train: Array) -> Array:
    """Chance of every cut by a regression on some."""
    weights, centre, spread = logistic(cuts.plain[train], cuts.sang[train])
    return np.asarray(1.0 / (1.0 + np.exp(-(weights[0] + ((cuts.plain - centre) / spread) @ weights[1:]))))


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


def scored(cuts: Cuts, rng: np.random.Generator) -> tuple[Scores, Draw, Array]:
    """One draw, and the difference of the squared errors of each tested cut."""
    of = draw(cuts.group, rng)
    belief, settled = cuts.learned(of.train)
    found = cuts.found(belief, of.test)
    y, q, p, t = cuts.sang, regressed(cuts, of.train), np.full(len(cuts.sang), math.nan), of.test
    p[t] = [found[int(cuts.kind[i])].p_fail for i in t]
    own = np.concatenate([_own(cuts, found, of, np.flatnonzero(cuts.group == name), rng)
                          for name in np.unique(cuts.group[t])], axis=1)
    return Scores(brier(p[t], y[t]), brier(q[t], y[t]), brier((p[t] + q[t]) / 2, y[t]), *own.mean(axis=1),
                  settled), of, (p - y) ** 2 - (q - y) ** 2


def _own(cuts: Cuts, found: dict[int, Finding], of: Draw, here: Array, rng: np.random.Generator) -> Array:
    """Squared errors of both in an experiment of which eight cuts were heard, too: rows weighed by these."""
    here = rng.permutation(here)
    heard, rest = here[:OWN], here[OWN:]
    said = [word_loglik(CHECK, found[int(cuts.kind[i])], _word(cuts.sang[i])) for i in heard]
    log_w = np.sum([rows for rows in said if rows is not None], axis=0)
    w = np.exp(log_w - log_w.max())
    p = np.array([np.asarray(found[int(cuts.kind[i])].p_rows) @ w / w.sum() for i in rest])
    q = regressed(cuts, np.concatenate([of.train, heard]))[rest]
    return np.stack([(p - cuts.sang[rest]) ** 2, (q - cuts.sang[rest]) ** 2])


def _word(sang: float) -> str:
    return "sang" if sang > 0.5 else "ok"


def interval(worse: dict[str, list[float]], rng: np.random.Generator) -> tuple[float, float]:
    """95 % of the mean difference, experiments drawn again: cuts of one are alike."""
    means = np.array([np.mean(values) for values in worse.values()])
    again = rng.choice(means, (4000, len(means))).mean(axis=1)
    low, high = np.percentile(again, [2.5, 97.5])
    return float(low), float(high)


def _said(low: float, high: float) -> str:
    """What an interval of the difference says."""
    return "level" if low < 0.0 < high else "better" if high <= 0.0 else "worse"


def row(name: str, cuts: Cuts, draws: int) -> str:
    """A row of the table."""
    before = cuts.found(book().wordless(), np.arange(len(cuts.sang)))
    p = np.array([before[int(kind)].p_fail for kind in cuts.kind])
    rng, worse, scores = np.random.default_rng(17), dict[str, list[float]](), list[Scores]()
    for _ in range(draws):
        score, of, differences = scored(cuts, rng)
        scores.append(score)
        for group in np.unique(cuts.group[of.test]):
            worse.setdefault(str(group), []).append(float(differences[cuts.group == group].mean()))
    s = np.mean(scores, axis=0)
    by_draw = np.array([score.learned - score.regression for score in scores])
    wide = 1.96 * by_draw.std(ddof=1) / math.sqrt(draws)
    low, high = interval(worse, rng)
    difference = np.mean([np.mean(v) for v in worse.values()])
    return (f"| {name} | {len(cuts.sang)}, {len(worse)} | {brier(p, cuts.sang):.3f} | {s[0]:.3f} | {s[1]:.3f} | "
            f"{by_draw.mean():+.3f} ({by_draw.mean() - wide:+.3f} to {by_draw.mean() + wide:+.3f}) | "
            f"{difference:+.3f} ({low:+.3f} to {high:+.3f}), {_said(low, high)} | {s[2]:.3f} | "
            f"{s[3]:.3f} and {s[4]:.3f} | {round(s[5] * draws)} of {draws} |")


def table(cuts: list[Rated], draws: int) -> list[str]:
    """A row for each tool."""
    return [row(name, Cuts([c for c in cuts if (c.diameter > 0.01) == big]), draws)
            for name, big in (("1/2 inch", True), ("1/4 inch", False))]


def lines(cuts: list[Rated], draws: int) -> list[str]:
    """The section of the page."""
    words = textwrap.wrap(
        f"{TRAIN} cuts of a tool are learned from as `learn` does, and all cuts of its other experiments "
        f"scored with the number that `check` then prints, {draws} times. Machine and stickout are judged; "
        "the rest is the book's, with what the physics of chatter gets wrong: everywhere (within x 1.27), in cuts "
        "of one kind, alike in speed, depth and width (x 1.6, more in deep cuts), both as simulated shops with "
        "known figures have it; in conventional cuts against climb cuts (x 2), with each cutter and in each metal "
        "(x 1.28). One word in twenty is a lapse. The regression is trained on the same "
        "cuts. The differences are those of squared errors, below 0 where learned checks are better: of the "
        "draws, as if each were another machine; and of the experiments, drawn again, since cuts of one are "
        "alike: the honest one; where its interval holds 0 the two are level. Of an experiment of which "
        "eight cuts are heard too the learned rows are weighed by these. Some 25 variants were tried on "
        "these same cuts before the last but one was settled, and some 75 more, by importance sampling and in "
        "other draws than these, before this one (fields over the cuts of several kinds, reaches and widths, "
        "trends, more scatter, an offset by job, the tool's shape along the flutes), some better on them than "
        "this: a score on cuts that nobody has seen would be the fair one.", 118)
    return ["## Chatter: learning from forty rated cuts", "", *words, "",
            "| tool | cuts, experiments | before learning | learned | regression | difference by draw (95 %) | "
            "difference by experiment (95 %) | mean of both | with 8 cuts of the same job: learned, regression | "
            "converged |",
            "|---|---|---|---|---|---|---|---|---|---|", *table(cuts, draws)]


def main() -> int:
    """Writes the table."""
    path = SHARED / "measured" / "chatter_cuts.csv"
    if not path.exists():
        print(f"{path} is not there: set FIRSTOFF_SHARED to the folder of measured tables")
        return 1
    draws = int(sys.argv[1]) if len(sys.argv) > 1 else DRAWS
    place(PAGE, "learned cuts", lines(rated(path), draws))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
