"""Shops of the simulator: a person makes the nine tests and ten cuts there, and what was learned is scored."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from firstoff.belief import Belief
from firstoff.checks._forces import loads
from firstoff.checks._push import left_on
from firstoff.checks.base import Case, Check, Observation
from firstoff.cutting import chatter
from firstoff.cutting.process_damping import mean_flank_damping
from firstoff.dryrun.registry import all_checks
from firstoff.job.route import Cut as RouteCut
from firstoff.normal import normal_cdf
from firstoff.records.learn import Evidence, Witness, posterior_of
from firstoff.records.mill_answers import checked
from firstoff.records.mill_learn import Tested
from firstoff.records.mill_models import terms
from firstoff.records.trial import Depths, depth_to_try, saved_by_word
from firstoff.route.lone import Block, lone_case
from firstoff.work import quiet
from tests.records.person import MILL, Person, Truth, book, shop

from .simulated_mill import Cutter, Metal, Mode, Pass, angles, simulated, sings_from

Array = NDArray[np.float64]
#: rows that are learned with, and how much a cut differs from the one before (logarithm): the simulator's own
ROWS, VARIES, LAPSE = 512, 0.08, 0.05
DEPTHS: Final = (0.05, 0.1, 0.15, 0.2, 0.25, 0.35, 0.5, 1.0)    # [mm]
DEEPEST: Final = 6.0
LAYER: Final = 1.0              #: that an operation takes off [mm]
CALM: Final = 0.2               #: a depth that nearly every mill bears [mm]
#: how well a person reads a wall with a micrometer [m]
READ: Final = 3e-6
#: minutes that a failure costs, and of each pass beside its cutting
LOSSES: Final = {"sang": 6.0, "squealed": 6.0, "slowed": 54.0, "broke": 54.0}
PASS_MINUTES: Final = 0.1
#: a phone hears above this, and its log of acceleration ends here [Hz]
HEARD, LOGGED = 200.0, 200.0
#: the logarithm of the depth limit that is computed from a mill's true figures over that of the simulator, mean and
#: standard deviation: of the four operations in fifty other shops
COMPUTED_OFF: Final = (-0.24, 0.49)
ALONG: Final = (1.0, 0.0, 0.0)  #: where the simulated cuts go
TOOLS: Final = {"end_mill_6_2f": (2, 30.0), "end_mill_6_3f": (3, 35.0)}
METALS: Final = ("al_6082", "brass_cz121", "s275_cold_drawn")
#: cuts in a round, after which is learned again
ASKED: Final = (4, 4, 2)
#: how deep a careful person goes first [mm], steel half as deep
GENTLE: Final = {"al_6082": 0.2, "brass_cz121": 0.2, "s275_cold_drawn": 0.1}
_MM, _MINUTE = 1e-3, 60.0


class Planned(NamedTuple):
    """A cut as a person keys it in: mm, 1/min."""

    material: str
    tool: str
    rpm: float
    feed: float
    width: float
    up: bool


JOB: Final = (
    Planned("al_6082", "end_mill_6_2f", 12000.0, 0.03, 2.0, True),
    Planned("al_6082", "end_mill_6_3f", 14000.0, 0.025, 1.0, False),
    Planned("brass_cz121", "end_mill_6_2f", 11000.0, 0.025, 1.5, False),
    Planned("s275_cold_drawn", "end_mill_6_3f", 6000.0, 0.02, 0.6, False),
)


@dataclass(frozen=True)
class Mill:
    """What a simulated shop has: its machine, what cuts there and how it is cut."""

    at_rest: Truth
    square_stiffness: float                  # N/um, where `at_rest` has that along X
    along: tuple[Mode, ...]
    square: tuple[Mode, ...]
    metals: dict[str, Metal]
    watts: float                             # at the cutter, from 9000/min on
    efficiency: float
    strength: float                          # of a cutter [N/m2]
    least_chip: float                        # that is cut [m]


def drawn(random: np.random.Generator) -> Mill:
    """A light mill, its figures spread evenly over what such a mill may have, not as the book has them."""
    def between(low: float, high: float) -> float:
        return float(math.exp(random.uniform(math.log(low), math.log(high))))

    x = between(0.7, 5.0)
    y = x * between(0.6, 1.6)
    slow, share = between(80.0, 300.0), random.uniform(0.4, 0.9)
    cutter = Mode(1.0 / (1.0 / between(8e6, 40e6) + 1.0 / 6e6), random.uniform(0.008, 0.04), between(1500.0, 5000.0))
    along, square = ((
        Mode(k * 1e6 / share, random.uniform(0.015, 0.06), slow * between(0.9, 1.1)),
        Mode(k * 1e6 / (1.0 - share), random.uniform(0.015, 0.06), slow * between(3.0, 6.0)), cutter) for k in (x, y))
    blunt = between(0.002, 0.008) * _MM
    metals = {name: Metal(between(*force), random.uniform(*power), random.uniform(0.2, 0.8), blunt, 0.0)
              for name, force, power in (("al_6082", (350e6, 1000e6), (0.20, 0.28)),
                                         ("brass_cz121", (500e6, 1100e6), (0.15, 0.22)),
                                         ("s275_cold_drawn", (1200e6, 2600e6), (0.18, 0.27)))}
    flank = between(0.03, 0.2) * _MM
    metals = {name: replace(metal, flank=flank * metal.force) for name, metal in metals.items()}
    rest = Truth(x, between(0.015, 0.1), between(5.0, 40.0), random.uniform(-8e-4, 8e-4), between(0.008, 0.04),
                 between(200.0, 900.0), random.uniform(-1e-3, 1e-3), between(0.004, 0.02), between(0.004, 0.02))
    return Mill(rest, y, along, square, metals, random.uniform(200.0, 600.0), random.uniform(0.5, 0.8),
                random.uniform(1.8e9, 3.2e9), between(0.003, 0.01) * _MM * random.uniform(0.2, 0.4))


def cutter_of(mill: Mill, tool: str) -> Cutter:
    """A cutter in its collet."""
    teeth, helix = TOOLS[tool]
    return Cutter(6.0 * _MM, teeth, math.radians(helix), mill.at_rest.runout * _MM)


def pass_of(planned: Planned, depth: float) -> Pass:
    """One pass so deep [mm]."""
    return Pass(planned.rpm / _MINUTE, planned.feed * _MM, depth * _MM, planned.width * _MM, planned.up)


class Limits:
    """How deep an operation can be made in a simulated shop before something goes wrong [mm], by the word for it."""

    def __init__(self, mill: Mill, planned: Planned) -> None:
        self.mill, self.planned = mill, planned
        metal, cutter = mill.metals[planned.material], cutter_of(mill, planned.tool)
        by = (metal, cutter, list(mill.along), list(mill.square))
        self.calm = simulated(pass_of(planned, CALM), *by)
        first, last = angles(pass_of(planned, CALM), cutter.diameter)
        sine = 1.0 if first < math.pi / 2 < last else max(math.sin(first), math.sin(last))
        power = mill.watts * min(1.0, planned.rpm / 9000.0)
        bending = mill.strength * math.pi * (0.8 * cutter.diameter) ** 3 / 32.0 / (21.0 * _MM)
        self.deep = {
            "sang": sings_from(pass_of(planned, 1.0), *by, DEEPEST * _MM) / _MM,
            "slowed": CALM * power / (self.calm.torque * planned.rpm * 2.0 * math.pi / _MINUTE),
            "broke": CALM * bending / self.calm.peak,
            "squealed": 0.0 if planned.feed * _MM * sine < mill.least_chip else math.inf,
        }

    def chances(self, depth: float) -> dict[str, float]:
        """Chance of each at a depth: cuts differ."""
        return {word: float(deep == 0.0) if deep in (0.0, math.inf)
                else float(normal_cdf(np.log(depth / deep) / VARIES)) for word, deep in self.deep.items()}

    def fails(self, depth: float) -> float:
        """That anything goes wrong."""
        return 1.0 - math.prod(1.0 - p for p in self.chances(depth).values())

    def word(self, depth: float, random: np.random.Generator) -> str:
        """What a person says of such a cut; one in twenty is a lapse."""
        gone = [word for word, p in self.chances(depth).items() if random.random() < p]
        said = gone[0] if gone else "ok"
        return ("ok" if gone else "sang") if random.random() < LAPSE else said

    def costs(self, depth: float) -> float:
        """Minutes in the mean, with what fails."""
        return minutes_of(self.planned, depth) + sum(p * LOSSES[word] for word, p in self.chances(depth).items())


def computed(mill: Mill, planned: Planned) -> float:
    """Depth from which it would sing if the program's physics, told every figure of the mill, were right [mm]."""
    metal, cutter, cut = mill.metals[planned.material], cutter_of(mill, planned.tool), pass_of(planned, 1.0)
    first, last = angles(cut, cutter.diameter)
    chip = cut.feed * (math.cos(first) - math.cos(last)) / (last - first)
    grows = metal.force * (1.0 - metal.power) * ((chip + metal.blunt) / _MM) ** -metal.power
    along, square = (tuple(chatter.Mode(mode.stiffness, mode.damping, 2.0 * math.pi * mode.hertz) for mode in some)
                     for some in (mill.along, mill.square))
    flanks = mean_flank_damping(metal.flank, cutter.diameter, cutter.teeth, first, last)
    factors = chatter.directional_factors(metal.across, first, last)
    deep = 1.0 * _MM
    for _ in range(12):                      # the flanks rub at the limit itself
        limit = chatter.depth_limit(grows, cutter.teeth, factors, along, square, 2.0 * math.pi * cut.turns, flanks,
                                    deep)
        deep = math.sqrt(deep * min(float(np.ravel(limit)[0]), DEEPEST * _MM))
    return deep / _MM


@cache
def case_of(planned: Planned, depth: float) -> Case:
    """The same cut as the program's checks see it."""
    numbers = RouteCut().model_copy(update={
        "spindle_speed": planned.rpm / _MINUTE * 2.0 * math.pi, "feed_per_tooth": planned.feed, "depth_of_cut": depth,
        "width_of_cut": planned.width, "direction": "conventional" if planned.up else "climb"})
    return lone_case(shop(), MILL, planned.tool, planned.material, "collet_6", Block(depth, planned.width), numbers)


@cache
def worded() -> tuple[Check, ...]:
    """Checks of what a person would notice in a cut that stands alone."""
    return tuple(c for c in all_checks() if c.word in LOSSES)


def tests_of(mill: Mill, random: np.random.Generator) -> Iterator[Tested]:
    """The nine tests, one reading in twenty wrong by two."""
    seed = int(random.integers(1 << 30))
    people = {axis: Person(replace(mill.at_rest, stiffness=k * (0.5 if random.random() < LAPSE else 1.0)), seed + i)
              for i, (axis, k) in enumerate((("x", mill.at_rest.stiffness), ("y", mill.square_stiffness)))}
    done = [("pull", people["y"].pull("y")), *people["x"].all(), *_watts(mill, random), *_taps(mill, random)]
    for i, (name, texts) in enumerate(done):
        found = checked(name, texts, shop(), MILL)
        yield Tested(f"test{i}", f"{name}{i}", terms(found))


def _watts(mill: Mill, random: np.random.Generator) -> Iterator[tuple[str, dict[str, str]]]:
    """Watts of a known cut in aluminium and in steel."""
    for planned in (Planned("al_6082", "end_mill_6_2f", 9000.0, 0.03, 3.0, True),
                    Planned("s275_cold_drawn", "end_mill_6_3f", 6000.0, 0.02, 1.0, True)):
        cut = Limits(mill, planned)
        depth = max(0.05, round(min(1.5, 0.7 * (min(cut.deep.values()) or 0.2)), 2))
        turning = planned.rpm * 2.0 * math.pi / _MINUTE
        watts = cut.calm.torque * depth / CALM * turning / mill.efficiency
        watts *= math.exp(VARIES * random.standard_normal())
        idle = 90.0 + 3.0 * random.standard_normal()
        read = max(idle + 1.0, idle + watts + 4.0 * random.standard_normal())
        yield "watts", {
            "tool": planned.tool, "material": planned.material, "speed": f"{planned.rpm:.0f} rpm",
            "feed": f"{planned.rpm * planned.feed * TOOLS[planned.tool][0]:.0f} mm/min", "depth": f"{depth:.2f} mm",
            "width": f"{planned.width:.0f} mm", "idle": f"{idle:.0f} W", "cutting": f"{read:.0f} W"}


def _taps(mill: Mill, random: np.random.Generator) -> Iterator[tuple[str, dict[str, str]]]:
    """What rings loudest when the cutter is tapped, along X and along Y, to a phone's ear, and in its log."""
    for axis, modes in (("x", mill.along), ("y", mill.square)):
        for able in ([m for m in modes if m.hertz > HEARD], [m for m in modes if m.hertz < LOGGED]):
            if not able:
                continue
            loudest = max(able, key=lambda mode: mode.hertz**2 / (mode.stiffness * mode.damping))
            yield "tap", {
                "tool": "end_mill_6_2f", "axis": axis,
                "frequency": f"{loudest.hertz * math.exp(0.02 * random.standard_normal()):.1f} Hz",
                "damping": f"{min(0.3, loudest.damping * math.exp(0.2 * random.standard_normal())):.4f}"}


def cuts_of(mill: Mill, random: np.random.Generator) -> Iterator[tuple[Planned, float, str]]:
    """Ten cuts much like those of the job, each set-up used twice: gently first, then deeper if that was well, else
    half as deep. Depths go by habit and by what happened, since nobody knows the limit beforehand.
    """
    for base in (*JOB, JOB[int(random.integers(len(JOB)))]):
        planned = base._replace(rpm=float(round(base.rpm * random.uniform(0.9, 1.1), -2)),
                                width=round(base.width * random.uniform(0.8, 1.25), 1))
        limits = Limits(mill, planned)
        depth = round(GENTLE[planned.material] * random.uniform(0.7, 1.4), 2)
        for _ in range(2):
            word = limits.word(depth, random)
            yield planned, depth, word
            depth = round(depth * (random.uniform(3.0, 6.0) if word == "ok" else 0.5), 2)


def asked_cuts(mill: Mill, tests: Sequence[Witness], random: np.random.Generator) -> list[tuple[Planned, float, str]]:
    """Ten cuts in scrap as the program asks for them, each operation as the job has it: all four, then all four again
    with what was heard, then the two of which a word saves most.
    """
    cuts: list[tuple[Planned, float, str]] = []
    for many in ASKED:
        known = posterior_of([*evidence_of(cuts), *tests], book(ROWS), quiet)
        depths = job_depths(book(ROWS).wordless().with_moved(known.moved))
        asked = [depth_to_try(each, depths) for each in depths]
        at = [each.best if deep is None else deep for each, deep in zip(depths, asked, strict=True)]
        saves = [saved_by_word(each.fails[deep], each.by_row) for each, deep in zip(depths, at, strict=True)]
        for i in sorted(range(len(JOB)), key=lambda i: -saves[i])[:many]:
            cuts.append((JOB[i], DEPTHS[at[i]], Limits(mill, JOB[i]).word(DEPTHS[at[i]], random)))
    return cuts


def job_depths(belief: Belief) -> list[Depths]:
    """Each operation of the job at every depth, as a belief has it."""
    out = []
    for planned in JOB:
        costs, well = np.zeros((len(DEPTHS), belief.rows)), np.ones((len(DEPTHS), belief.rows))
        for j, depth in enumerate(DEPTHS):
            for check in worded():
                rows = check.evaluate(case_of(planned, depth), belief).p_rows
                assert rows is not None
                costs[j] += LOSSES[check.word] * rows
                well[j] *= 1.0 - rows
        out.append(Depths(np.array([minutes_of(planned, depth) for depth in DEPTHS]), costs, 1.0 - well))
    return out


def minutes_of(planned: Planned, depth: float) -> float:
    """To take off 1 mm over 100 mm."""
    feed = planned.rpm * planned.feed * TOOLS[planned.tool][0]
    return math.ceil(LAYER / depth) * (100.0 / feed + PASS_MINUTES)


def evidence_of(cuts: Sequence[tuple[Planned, float, str]]) -> list[Evidence]:
    """Each cut beside every check that its word speaks to."""
    out = []
    for i, (planned, depth, word) in enumerate(cuts):
        case, said = case_of(planned, depth), ((f"cut{i}", Observation("word", word=word)),)
        out += [Evidence(check, case, said) for check in worded() if word in ("ok", check.word)]
    return out


@dataclass(frozen=True)
class Said:
    """What a belief says of the job: chances by operation and depth, and what can be seen, by row."""

    chances: dict[str, Array]                # word -> [operations, depths]
    together: Array                          # that anything fails, [operations, depths]
    force: Array                             # [operations, rows] at a depth that is calm [N]
    left: Array                              # ditto [m]


def said_by(belief: Belief) -> Said:
    """Ask every check of every operation of the job at every depth."""
    shape = len(JOB), len(DEPTHS)
    chances, together = {word: np.zeros(shape) for word in LOSSES}, np.zeros(shape)
    for i, planned in enumerate(JOB):
        for j, depth in enumerate(DEPTHS):
            case, whole = case_of(planned, depth), np.ones(belief.rows)
            for check in worded():
                rows = check.evaluate(case, belief).p_rows
                assert rows is not None
                chances[check.word][i, j] = rows.mean()
                whole *= 1.0 - rows
            together[i, j] = 1.0 - whole.mean()
    calm = [case_of(planned, CALM) for planned in JOB]
    force = np.stack([np.max([load.forces.peak_side for load in loads(case, belief)], axis=0) for case in calm])
    left = np.stack([np.asarray(left_on(case, belief, "wall", ALONG)) for case in calm])
    return Said(chances, together, force, left)


@dataclass(frozen=True)
class By:
    """How one belief fares in one shop: what its intervals hold, how what it calls good fares (part, of whole)."""

    force: Array
    left: Array
    sings: Array
    fails: tuple[float, float]
    found: tuple[float, float]


@dataclass(frozen=True)
class Learned:
    """What was learned of one shop from its nine tests and ten cuts."""

    by: By
    cost: float                              # of the four operations as they are chosen then [min]
    settled: bool
    ok: int                                  # words of the cuts


@dataclass(frozen=True)
class Score:
    """What was learned in one shop, by habit and as asked, beside the book and the truth; costs in minutes."""

    book: By
    habit: Learned
    asked: Learned
    cost_book: float
    cost_known: float
    cost_computed: float
    cuts: int


@cache
def known_by_the_book() -> Said:
    """What the book says of the job."""
    return said_by(book(ROWS).wordless())


def score_of(seed: int, by_book: Said) -> Score:
    """Draw a shop, let a person test it and cut there, learn, and hold it against the truth."""
    random = np.random.default_rng((seed, 5))
    mill = drawn(random)
    cuts = list(cuts_of(mill, random))
    tests = list(tests_of(mill, random))
    truth = [Limits(mill, planned) for planned in JOB]
    unknown = sum(limits.costs(DEPTHS[_chosen(by_book, i, limits)]) for i, limits in enumerate(truth))
    known = sum(min(limits.costs(depth) for depth in DEPTHS) for limits in truth)
    figures = sum(_with_figures(limits) for limits in truth)
    own = np.random.default_rng((seed, 7))
    return Score(_by(by_book, truth, random), _learned(cuts, tests, truth, random),
                 _learned(asked_cuts(mill, tests, own), tests, truth, own), unknown, known, figures, len(cuts))


def _learned(cuts: Sequence[tuple[Planned, float, str]], tests: Sequence[Witness], truth: Sequence[Limits],
             random: np.random.Generator) -> Learned:
    """Learn from the tests and these cuts, choose the depths of the job, and hold all of it against the truth."""
    found = posterior_of([*evidence_of(cuts), *tests], book(ROWS), quiet)
    said = said_by(book(ROWS).wordless().with_moved(found.moved))
    cost = sum(limits.costs(DEPTHS[_chosen(said, i, limits)]) for i, limits in enumerate(truth))
    return Learned(_by(said, truth, random), cost, found.settled, sum(word == "ok" for _, _, word in cuts))


def _chosen(said: Said, i: int, limits: Limits) -> int:
    """The depth of least expected cost as a belief has it."""
    minutes = np.array([minutes_of(limits.planned, depth) for depth in DEPTHS])
    return int(np.argmin(minutes + sum(loss * said.chances[word][i] for word, loss in LOSSES.items())))


def _with_figures(limits: Limits) -> float:
    """Cost of the depth that is chosen by who knows all figures, and how far the physics is usually off."""
    mean, deviation = COMPUTED_OFF
    at = np.log(np.array(DEPTHS) / computed(limits.mill, limits.planned)) + mean
    sings = normal_cdf(at / math.hypot(deviation, VARIES))
    minutes = np.array([minutes_of(limits.planned, depth) for depth in DEPTHS])
    return limits.costs(DEPTHS[int(np.argmin(minutes + LOSSES["sang"] * sings))])


def _by(said: Said, truth: Sequence[Limits], random: np.random.Generator) -> By:
    held: dict[str, list[float]] = {"force": [], "left": [], "sings": []}
    good = called = failed = both = 0.0
    for i, limits in enumerate(truth):
        again = np.exp(VARIES * random.standard_normal(3))
        held["force"].append(_within(limits.calm.peak * again[0], said.force[i], 0.0, random))
        left = limits.calm.left * again[1] + READ * random.standard_normal()
        held["left"].append(_within(left, said.left[i], READ, random))
        sings = limits.deep["sang"] * again[2]
        held["sings"].append(held_by(np.maximum.accumulate(said.chances["sang"][i]), sings))
        for j, depth in enumerate(DEPTHS):
            p, is_good = limits.fails(depth), said.together[i, j] <= shop().good
            called += is_good
            failed += p * is_good
            good += p <= shop().good
            both += is_good and p <= shop().good
    force, left, sung = (np.array(held[name], float) for name in ("force", "left", "sings"))
    return By(force, left, sung, (failed, called), (both, good))


def held_by(curve: Array, sings: float) -> float:
    """Share to which 90 % of what is believed hold the depth from which it sings [mm].

    Beyond the depths that were asked only the chance of all that lies there is told: so much of it as is held counts.

    Args:
        curve: chance that it sings by depth, never falling.
        sings: depth from which it does.
    """
    low = 0.0 if sings < DEPTHS[0] else float(np.interp(np.log(min(sings, DEPTHS[-1])), np.log(DEPTHS), curve))
    high = float(curve[0]) if sings < DEPTHS[0] else 1.0 if sings > DEPTHS[-1] else low
    if high - low < 1e-9:
        return float(0.05 <= low <= 0.95)
    return max(0.0, min(high, 0.95) - max(low, 0.05)) / (high - low)


def _within(seen: float, rows: Array, read: float, random: np.random.Generator) -> bool:
    """Whether 90 % of what is expected, cuts differing and readings in doubt, holds what was seen."""
    scatter = np.exp(0.1 * random.standard_normal(rows.shape))
    low, high = np.percentile(rows * scatter + read * random.standard_normal(rows.shape), (5.0, 95.0))
    return bool(low <= seen <= high)
