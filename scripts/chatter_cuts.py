"""What the physics explains of 403 rated cuts on a machining centre, for docs/validation.md.

    python scripts/chatter_cuts.py

A big machine, deep and thin cuts: not a light mill. A cut sang where the ratings of its two listeners add up to 2 or
more. The physics has book figures only and is fitted to nothing; what is trained (a ridge logistic regression, alone
or on the logit of the physics) is always scored on an experiment that it has not seen.
"""

from __future__ import annotations

import csv
import os
import textwrap
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from validate import PAGE, place

from firstoff.belief import Belief
from firstoff.checks._discrepancy import further
from firstoff.cutting.chatter import Mode, depth_limit, directional_factors
from firstoff.cutting.engagement import engagement_angles
from firstoff.cutting.process_damping import flank_coefficient, mean_flank_damping
from firstoff.cutting.receptance import Section, clamped_modes, tip_modes
from firstoff.normal import normal_cdf
from firstoff.shop.columns import columns_of
from firstoff.shop.library import load_shop

Array = NDArray[np.float64]
ROWS, INCH, MM, TURN = 256, 0.0254, 1e-3, 2.0 * np.pi
SHARED = Path(os.environ.get("FIRSTOFF_SHARED", Path(__file__).resolve().parents[2] / "shared"))
#: how far a cutter stands out [m]: not printed; judged, wide
OUT = {"Long": 0.055, "Short": 0.042, "Tight": 0.022}
MATERIAL = {"Steel 4140": "c45", "AL6061": "al_6061"}
RIDGE = 1.0
BOOK, UNDAMPED = "the book alone", "the book alone, flanks that do not damp"
STIFFER = "the book alone, machine three times as stiff across the feed"
#: ranked right by less than this above or below a coin is no better than a coin
COIN = 0.1


@dataclass(frozen=True)
class Rated:
    """One rated cut, lengths in m."""

    experiment: str
    diameter: float
    teeth: int
    setup: str
    material: str
    speed: float
    feed: float
    up: bool
    depth: float
    width: float
    sang: bool


def rated(path: Path) -> list[Rated]:
    """All cuts of the table."""
    with path.open(encoding="utf-8", newline="") as file:
        return [Rated(
            row["experiment"], INCH / (2 if row["tool"].startswith("1/2") else 4),
            5 if "5-flute" in row["tool"] else 2, row["tool_setup"], row["workpiece"], float(row["rpm"]) * TURN / 60,
            float(row["feed_ipm"]), row["direction"] == "up", float(row["doc_in"]) * INCH,
            float(row["woc_in"]) * INCH, int(row["chatter_op1"]) + int(row["chatter_op2"]) >= 2,
        ) for row in csv.DictReader(file)]


class Book:
    """Book figures as rows: the library's where it has them; the machine of this size judged."""

    def __init__(self, stiffer: float | Array, damped: bool) -> None:
        shop = load_shop(None)
        self.by, self.stiffer, self.damped = Belief.of(columns_of(shop), rows=ROWS), stiffer, damped
        self.density = shop.tool_materials["carbide"].density
        like = shop.discrepancies["chatter"].like          # out in cuts of one kind, in the logarithm
        self.apart = np.log(like.factor) if like is not None and like.factor is not None else 0.0
        rng = np.random.default_rng(11)
        self.stiffness, self.seat, self.mass, self.pace, self.out = (
            middle * factor ** rng.standard_normal(ROWS) for middle, factor in (
                (40e6, 2.0), (30e6, 2.0), (2.0, 2.0), (200.0 * TURN, 2.0), (1.0, 1.15)))

    def modes(self, cut: Rated, by: float | Array) -> tuple[Mode, ...]:
        """At the tip, in a direction in which machine and seat are so many times as stiff."""
        out = OUT[cut.setup]
        fluted = 0.6 * out
        beam = clamped_modes((Section(out - fluted, cut.diameter), Section(fluted, 0.8 * cut.diameter)), 6e11,
                             self.density)
        return tip_modes(beam, self.out**-2, self.by.value("tool_material:carbide", "mode_damping"), by * self.seat,
                         self.mass, Mode(by * self.stiffness, self.by.value("class:knee", "mode_damping"), self.pace))

    def chance(self, cut: Rated) -> float:
        """That the cut sings."""
        apart = self.apart * further(cut.depth / cut.diameter)
        return float(normal_cdf(np.log(np.maximum(self.over(cut), 1e-12)) / np.hypot(0.15, apart)).mean())

    def over(self, cut: Rated) -> Array:
        """Depth of the cut over the depth at which it begins to sing, by row."""
        angles = engagement_angles(cut.width, cut.diameter, "conventional" if cut.up else "climb")
        start, stop = float(angles.entry), float(angles.exit)
        law = [self.by.value(f"material:{MATERIAL[cut.material]}", name) for name in ("tangential", "radial")]
        rub = flank_coefficient(law[0], self.by.value("tool_material:carbide", "flank_damping") * MM)
        limit = depth_limit(law[0], cut.teeth, directional_factors(law[1] / law[0], start, stop),
                            self.modes(cut, 1.0), self.modes(cut, self.stiffer), cut.speed,
                            mean_flank_damping(rub, cut.diameter, cut.teeth, start, stop) if self.damped else None,
                            cut.depth)
        return np.asarray(cut.depth / limit * self.by.value("discrepancy:chatter", "factor"))


def physics(cuts: list[Rated], stiffer: float, damped: bool) -> Array:
    """Chance of each cut by the book alone."""
    book, known = Book(stiffer, damped), dict[tuple[object, ...], float]()
    for cut in cuts:
        key = (cut.diameter, cut.setup, cut.material, cut.speed, cut.up, cut.depth, cut.width)
        if key not in known:
            known[key] = book.chance(cut)
    return np.array([known[cut.diameter, cut.setup, cut.material, cut.speed, cut.up, cut.depth, cut.width]
                     for cut in cuts])


def features(cuts: list[Rated]) -> Array:
    """What a plain regression sees."""
    return np.array([[np.log(c.speed), np.log(c.depth), np.log(c.width), np.log(c.feed), c.up, c.diameter > 0.01,
                      c.material == "AL6061"] for c in cuts], dtype=float)


def logistic(x: Array, y: Array) -> tuple[Array, Array, Array]:
    """Weights of a ridge logistic regression on standardised columns, by Newton's steps; centre and spread."""
    centre, spread = x.mean(axis=0), np.maximum(x.std(axis=0), 1e-9)
    z = np.column_stack([np.ones(len(x)), (x - centre) / spread])
    weights, ridge = np.zeros(z.shape[1]), np.diag([0.0] + [RIDGE] * x.shape[1])
    for _ in range(30):
        p = 1.0 / (1.0 + np.exp(-z @ weights))
        slope = z.T @ (p - y) + ridge @ weights
        bend = z.T @ (z * (p * (1 - p))[:, None]) + ridge + 1e-9 * np.eye(len(ridge))
        weights = weights - np.linalg.solve(bend, slope)
    return weights, centre, spread


def left_out(x: Array, y: Array, groups: Array) -> Array:
    """Chance of each cut by a regression that has not seen its experiment."""
    found = np.zeros(len(y))
    for group in np.unique(groups):
        here = groups == group
        weights, centre, spread = logistic(x[~here], y[~here])
        found[here] = 1.0 / (1.0 + np.exp(-(weights[0] + ((x[here] - centre) / spread) @ weights[1:])))
    return found


def brier(p: Array, y: Array) -> float:
    """Mean square of the error."""
    return float(np.mean((p - y) ** 2))


def ranked(p: Array, y: Array) -> float:
    """How often a cut that sang has the higher chance of two (area under the curve); one half for nothing known."""
    loud, quiet = p[y > 0.5][:, None], p[y < 0.5][None, :]
    return float(np.mean((loud > quiet) + 0.5 * (loud == quiet))) if loud.size and quiet.size else float("nan")


def within(p: Array, cuts: list[Rated], y: Array) -> tuple[float, float]:
    """Ranked right within the 1/2 inch and within the 1/4 inch cutter."""
    half = np.array([c.diameter > 0.01 for c in cuts])
    return ranked(p[half], y[half]), ranked(p[~half], y[~half])


def up_and_down(p: Array, cuts: list[Rated]) -> tuple[float, float]:
    """Mean chance of the 1/2 inch cutter at a width of a twentieth, up and down."""
    thin = np.array([c.diameter > 0.01 and abs(c.width / c.diameter - 0.05) < 0.002 for c in cuts])
    up = np.array([c.up for c in cuts])
    return float(p[thin & up].mean()), float(p[thin & ~up].mean())


def row(name: str, p: Array, cuts: list[Rated], y: Array) -> str:
    """A row of the table."""
    (half, quarter), (up, down) = within(p, cuts, y), up_and_down(p, cuts)
    return (f"| {name} | {brier(p, y):.3f} | {ranked(p, y):.2f} | {half:.2f} | {quarter:.2f} | "
            f"{up:.2f} and {down:.2f} |")


def lines(cuts: list[Rated]) -> list[str]:
    """The section of the page."""
    y, groups = np.array([float(c.sang) for c in cuts]), np.array([c.experiment for c in cuts])
    books = {BOOK: (1.0, True), UNDAMPED: (1.0, False), STIFFER: (3.0, True)}
    chances = {name: physics(cuts, *which) for name, which in books.items()}
    plain = features(cuts)
    table = [row(name, p, cuts, y) for name, p in chances.items()]
    table.append(row("regression on seven numbers of the cut", left_out(plain, y, groups), cuts, y))
    for name, p in chances.items():
        logit = np.log(np.clip(p, 1e-4, 1 - 1e-4) / (1 - np.clip(p, 1e-4, 1 - 1e-4)))[:, None]
        table.append(row(f"regression on {name}", left_out(logit, y, groups), cuts, y))
        both = np.hstack([plain, logit])
        table.append(row(f"regression on the seven numbers and {name}", left_out(both, y, groups), cuts, y))
    table.append(row("what was heard", y, cuts, y))
    return ["## Chatter: rated cuts on a machining centre", "", *_words(y, cuts, chances), "",
            "| chance by | Brier | ranked right | within 1/2 inch | within 1/4 inch | up and down, 5 % wide |",
            "|---|---|---|---|---|---|", *table]


def _words(y: Array, cuts: list[Rated], chances: dict[str, Array]) -> list[str]:
    share = float(y.mean())
    return textwrap.wrap(
        f"{len(y)} cuts, deep and thin, on a big machine: not a light mill. {share:.0%} sang (the ratings of two "
        f"listeners add up to 2 or more); always saying {share:.2f} has a Brier score of {share * (1 - share):.3f}. "
        "The book is fitted to nothing here; stickout and machine are not printed and are judged. A regression is "
        "scored on experiments that it was not trained on. 'Ranked right' is how often, of a cut that sang and one "
        "that did not, the first has the higher chance. The last column is the mean chance of the 1/2 inch cutter at "
        f"a width of a twentieth, up and down: {_ways(y, cuts, chances)} {_tools(y, cuts, chances)}", 118)


def _ways(y: Array, cuts: list[Rated], chances: dict[str, Array]) -> str:
    """Whether the book tells up from down as it was heard."""
    up, down = up_and_down(y, cuts)
    heard = up - down
    told = {name: np.subtract(*up_and_down(p, cuts)) for name, p in chances.items()}
    return (f"heard {up:.2f} and {down:.2f}; an isotropic machine {_leans(told[BOOK], heard)}, one three times as "
            f"stiff across the feed {_leans(told[STIFFER], heard)}.")


def _leans(told: float, heard: float) -> str:
    """How a difference that is told compares with the one that was heard."""
    if abs(told) < 0.05 * abs(heard):
        return "cannot tell them apart"
    if told * heard < 0.0:
        return f"leans the wrong way by {abs(told):.2f}"
    return f"leans the right way by {abs(told):.2f}{', too little' if abs(told) < 0.8 * abs(heard) else ''}"


def _tools(y: Array, cuts: list[Rated], chances: dict[str, Array]) -> str:
    """Whether the book ranks cuts of one cutter, and what the damping of the flanks does to that."""
    book, undamped = within(chances[BOOK], cuts, y), within(chances[UNDAMPED], cuts, y)
    best = "little better or worse than a coin" if max(abs(r - 0.5) for r in book) < COIN else (
        "better than a coin" if min(book) > 0.5 else "not always better than a coin")
    less = sum(book) - sum(undamped)
    then = "the same" if abs(less) < 0.02 else "worse" if less > 0.0 else "better"
    return (f"Within a cutter the book alone ranks {book[0]:.0%} and {book[1]:.0%} of the pairs right, {best}; "
            f"without the damping of the flanks {undamped[0]:.0%} and {undamped[1]:.0%}, {then}.")


def main() -> int:
    """Writes the table."""
    path = SHARED / "measured" / "chatter_cuts.csv"
    if not path.exists():
        print(f"{path} is not there: set FIRSTOFF_SHARED to the folder of measured tables")
        return 1
    place(PAGE, "chatter cuts", lines(rated(path)))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
